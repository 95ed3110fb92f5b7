//! Where the mass of a body lies, and its outlines, given its edited sectors.

use glam::DVec2;

use geom::{MeridianRange, Moments, Region, Tolerance, revolve::at_bearing};

use super::{
    Body, Edited,
    body::{looked_up, rings},
};

impl Body {
    /// Volume and centroid of the part between two heights, given all edited sectors: exact in the
    /// half-plane, with what cuts and adds change measured on these.
    pub fn moments_between(&self, low: f64, high: f64, edited: &[Edited]) -> Moments {
        if let Some(mesh) = self.layered() {
            return mesh.moments_between(low, high);
        }
        let plain = Moments::revolved(&self.section.between(low, high));
        plain + edited.iter().map(|edited| self.change_of_moments(low, high, edited)).sum()
    }

    fn change_of_moments(&self, low: f64, high: f64, edited: &Edited) -> Moments {
        let plain = edited.sector.bands().into_iter().filter_map(|((bottom, top), range)| {
            let (low, high) = (low.max(bottom), high.min(top));
            (low < high).then(|| {
                Moments::of_meridian_range(&self.section.between(low, high), range, edited.sector.meridians)
            })
        });
        edited.mesh.moments_between(low, high) - plain.sum()
    }

    /// [`Body::outline_at`] with all edited sectors given: no boolean of solids.
    pub fn outline_among(&self, z: f64, tolerance: Tolerance, edited: &[Edited]) -> Region {
        let z = looked_up(z, self.heights());
        if self.free.is_some() {
            return self.outline_at(z, tolerance);
        }
        let plain = rings(&self.section.row(z), tolerance);
        edited.iter().fold(plain, |all, edited| {
            let range = edited.sector.range_at(z);
            let part = edited.mesh.section(z);
            let n = edited.sector.meridians;
            match range.steps {
                0 => all,
                steps if steps == n => part,
                _ => all.difference(&plane_sector(range, n, self.widest)).union(&part),
            }
        })
    }
}

/// The steps of `range` out of `n`, seen from above, further out than anything within `widest`; narrower by `OVERLAP`
/// on both sides, so that what is put there overlaps what is left beside it.
fn plane_sector(range: MeridianRange, n: u32, widest: f64) -> Region {
    /// Degrees: a hundredth of a millimetre on the widest cake.
    const OVERLAP: f64 = 1e-3;
    // Far enough for the chord of a step to lie outside.
    let radius = 2.0 * widest + 1000.0;
    let step = 360.0 / f64::from(n);
    let corner = |k: u32| {
        let inwards = if k == 0 {
            OVERLAP
        } else if k == range.steps {
            -OVERLAP
        } else {
            0.0
        };
        at_bearing(radius, 0.0, step * f64::from(range.first + k) + inwards).truncate()
    };
    Region::new(vec![std::iter::once(DVec2::ZERO).chain((0..=range.steps).map(corner)).collect()])
}
