//! What is painted or brushed on the outside of a part, and how the part looks with it.

use geom::{TriMesh, real};

use crate::model::{Part, Rgb};

/// A layer of colour or shine on the outside of a part.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tint {
    /// Its colour.
    pub colour: Rgb,
    /// How much of what lies under it it hides where it is full, 0 to 1.
    pub opacity: f64,
    /// How far it mirrors like metal, 0 to 1.
    pub metal: f64,
    /// Where it fades: full at the first of these heights above the board, gone at the second, mm.
    pub fade: Option<[f64; 2]>,
}

impl Tint {
    /// How full it is at a height, 0 to 1.
    ///
    /// ```
    /// use formats::{model::Rgb, tint::Tint};
    /// let dust = Tint { colour: Rgb(90, 60, 30), opacity: 0.5, metal: 0.0, fade: Some([0.0, 40.0]) };
    /// assert_eq!([-5.0, 10.0, 40.0, 90.0].map(|height| dust.share_at(height)), [1.0, 0.75, 0.0, 0.0]);
    /// ```
    pub fn share_at(&self, height: f64) -> f64 {
        self.fade.map_or(1.0, |[full, gone]| ((height - gone) / (full - gone)).clamp(0.0, 1.0))
    }
}

/// The heights of a fade that is full wherever a cake is, for shaders, mm.
pub const ALL_OVER: [f64; 2] = [1e8, 1e9];

/// A surface as it is seen: its colour, linear light, 0 to 1, and how far it mirrors like metal.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Seen {
    /// Its colour, linear light, 0 to 1 each.
    pub colour: [f64; 3],
    /// 0 to 1.
    pub metal: f64,
}

impl Seen {
    /// A colour without any shine.
    pub fn plain(Rgb(r, g, b): Rgb) -> Self {
        Self { colour: [r, g, b].map(linear), metal: 0.0 }
    }

    /// With `tint` over it, `share` of it as full as it can be.
    #[must_use]
    pub fn under(self, tint: &Tint, share: f64) -> Self {
        let covers = tint.opacity * share;
        let mix = |under: f64, over: f64| under + (over - under) * covers;
        let over = Self::plain(tint.colour);
        let colour = [0, 1, 2].map(|i| mix(self.colour[i], over.colour[i]));
        Self { colour, metal: mix(self.metal, tint.metal) }
    }

    /// Its colour as stored.
    pub fn stored(&self) -> Rgb {
        let [r, g, b] = self.colour.map(|light| {
            let value = if light <= 0.003_130_8 {
                light * 12.92
            } else {
                1.055 * real::powf(light, 1.0 / 2.4) - 0.055
            };
            (value * 255.0).round().clamp(0.0, 255.0) as u8
        });
        Rgb(r, g, b)
    }
}

/// How a part looks on the whole: fades at the mean over its surface.
pub fn seen(part: &Part) -> Seen {
    part.tints
        .iter()
        .fold(Seen::plain(part.colour), |under, tint| under.under(tint, mean_share(tint, &part.mesh)))
}

/// How full a tint is on the mean over a surface.
fn mean_share(tint: &Tint, mesh: &TriMesh) -> f64 {
    if tint.fade.is_none() {
        return 1.0;
    }
    let (mut area, mut full) = (0.0, 0.0);
    for i in 0..mesh.len() {
        let [a, b, c] = mesh.corners(i);
        let own = (b - a).cross(c - a).length();
        area += own;
        // Linear but for the ends of the fade, so the mean of the middles of the sides is exact there.
        let heights = [f64::midpoint(a.z, b.z), f64::midpoint(b.z, c.z), f64::midpoint(c.z, a.z)];
        full += own * heights.map(|height| tint.share_at(height)).iter().sum::<f64>() / 3.0;
    }
    if area > 0.0 { full / area } else { 0.0 }
}

/// A part of a colour in sRGB as linear light, 0 to 1 (IEC 61966-2-1).
pub fn linear(part: u8) -> f64 {
    let value = f64::from(part) / 255.0;
    if value <= 0.040_45 { value / 12.92 } else { real::powf((value + 0.055) / 1.055, 2.4) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_opaque_paint_hides_what_is_under_it() {
        let paint = Tint { colour: Rgb(200, 10, 90), opacity: 1.0, metal: 0.0, fade: None };
        let seen = Seen::plain(Rgb(255, 255, 255)).under(&paint, 1.0);
        assert_eq!((seen.stored(), seen.metal), (Rgb(200, 10, 90), 0.0));
        // Half of white and half of black, in light: 188 of 255 by the curve of IEC 61966-2-1.
        let veil = Tint { colour: Rgb(0, 0, 0), opacity: 0.5, ..paint };
        assert_eq!(Seen::plain(Rgb(255, 255, 255)).under(&veil, 1.0).stored(), Rgb(188, 188, 188));
    }

    #[test]
    fn colours_come_back_as_they_were_stored() {
        for value in 0..=255u8 {
            assert_eq!(Seen::plain(Rgb(value, 255 - value, value)).stored(), Rgb(value, 255 - value, value));
        }
    }
}
