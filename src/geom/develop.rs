//! Flat patterns of turned surfaces (development): the rectangle of a cylinder, the annular sector of a cone frustum,
//! bands for curved profiles.
//!
//! A turned surface can be developed without stretch just where its radius is linear in the arc length of the profile;
//! how far the radius strays from that says how much a sheet laid on it must stretch or shrink (the ease). Each band
//! keeps the true arc length of the profile and the true circumference at both its edges.

use std::f64::consts::{PI, TAU};

use glam::{DVec2, dvec2};

use super::{Region, Tolerance};
use crate::real;

/// The frustum that a band of a turned surface is developed as.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FlatPattern {
    /// Radius of its lower edge on the cake, mm.
    pub lower: f64,
    /// Radius of its upper edge on the cake, mm.
    pub upper: f64,
    /// Arc length of the profile from edge to edge, mm.
    pub slant: f64,
}

/// An annular sector, or a rectangle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum PatternForm {
    /// A straight upright side.
    Rectangle {
        /// Length round, mm.
        width: f64,
        /// From edge to edge, mm.
        height: f64,
    },
    /// A flared side, or a level ring or disc where the angle is 360°.
    AnnularSector {
        /// Radius of the longer arc, mm.
        outer: f64,
        /// Radius of the shorter arc, mm.
        inner: f64,
        /// Degrees from seam to seam.
        angle: f64,
    },
}

/// Radii closer than this are one, mm: an arc of ten metres' radius is a straight line on paper.
const SAME_RADIUS: f64 = 5e-3;

impl FlatPattern {
    /// Its form: for a frustum the angle is 2π(R − r)/s and the radii are s·R/(R − r) and s·r/(R − r) (any
    /// handbook of mathematics).
    pub fn form(&self) -> PatternForm {
        let (wide, narrow) = (self.lower.max(self.upper), self.lower.min(self.upper));
        let flare = wide - narrow;
        if flare < SAME_RADIUS {
            return PatternForm::Rectangle { width: PI * (wide + narrow), height: self.slant };
        }
        // The arc length of a profile is never shorter than its flare but for round-off.
        let slant = self.slant.max(flare);
        PatternForm::AnnularSector {
            outer: slant * wide / flare,
            inner: slant * narrow / flare,
            angle: 360.0 * flare / slant,
        }
    }

    /// Area, mm²: the slant times the mean length round.
    pub fn area(&self) -> f64 {
        PI * (self.lower + self.upper) * self.slant
    }

    /// The pattern with the front upright in its middle and the seam at the back, y up: the lower edge
    /// below.
    pub fn region(&self, tolerance: Tolerance) -> Region {
        match self.form() {
            PatternForm::Rectangle { width, height } => {
                Region::rectangle(dvec2(-width / 2.0, 0.0), dvec2(width / 2.0, height))
            }
            PatternForm::AnnularSector { outer, inner, angle } => {
                let (middle, half) = (self.middle(), angle.to_radians() / 2.0);
                sector(outer, inner, (middle - half, middle + half), tolerance)
            }
        }
    }

    /// Half of the pattern, from the front line to the right, to be cut on the fold.
    pub fn half(&self, tolerance: Tolerance) -> Region {
        match self.form() {
            PatternForm::Rectangle { width, height } => {
                Region::rectangle(DVec2::ZERO, dvec2(width / 2.0, height))
            }
            PatternForm::AnnularSector { outer, inner, angle } => {
                let (middle, half) = (self.middle(), angle.to_radians() / 2.0);
                let other = if self.is_flared() { middle - half } else { middle + half };
                sector(outer, inner, (middle.min(other), middle.max(other)), tolerance)
            }
        }
    }

    /// Direction from the centre of the arcs to the front line, radians.
    fn middle(&self) -> f64 {
        if self.is_flared() { PI / 2.0 } else { -PI / 2.0 }
    }

    /// Where the front line meets the lower and the upper edge of `Flat::region`.
    pub fn front(&self) -> (DVec2, DVec2) {
        match self.form() {
            PatternForm::Rectangle { height, .. } => (DVec2::ZERO, dvec2(0.0, height)),
            PatternForm::AnnularSector { outer, inner, .. } if self.is_flared() => {
                (dvec2(0.0, inner), dvec2(0.0, outer))
            }
            PatternForm::AnnularSector { outer, inner, .. } => (dvec2(0.0, -outer), dvec2(0.0, -inner)),
        }
    }

    /// Whether it is wider above than below.
    fn is_flared(&self) -> bool {
        self.upper > self.lower
    }
}

/// An annular sector about the origin between two directions, radians.
fn sector(outer: f64, inner: f64, (from, to): (f64, f64), tolerance: Tolerance) -> Region {
    /// Sectors that lack less than this of a turn are full rings, radians.
    const FULL: f64 = 1e-8;
    if to - from > TAU - FULL {
        let disc = |r: f64| Region::disc(DVec2::ZERO, r, tolerance);
        let full = disc(outer);
        return if inner > 0.0 { full.difference(&disc(inner)) } else { full };
    }
    let steps = (f64::from(tolerance.segments(outer)) * (to - from) / TAU).ceil().max(1.0) as u32;
    let at = |r: f64, i: u32| r * real::unit_vector(from + (to - from) * f64::from(i) / f64::from(steps));
    let mut contour: Vec<DVec2> = (0..=steps).map(|i| at(outer, i)).collect();
    if inner > 0.0 {
        contour.extend((0..=steps).rev().map(|i| at(inner, i)));
    } else {
        contour.push(DVec2::ZERO);
    }
    Region::from_simple(contour)
}

/// A part of a profile as one flat pattern.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Band {
    /// The pattern.
    pub flat: FlatPattern,
    /// Height of its lower edge on the cake, mm.
    pub bottom: f64,
    /// Height of its upper edge on the cake, mm.
    pub top: f64,
    /// The most that the pattern is too short or too long round, anywhere between its edges, mm.
    pub ease: f64,
}

/// Cuts a profile, given from its foot up as corners (radius, height), into the fewest bands that are
/// nowhere more than `ease` mm too short or too long round. A band ends at every corner sharper than
/// [`CORNER`] degrees.
pub fn bands(profile: &[DVec2], ease: f64) -> Vec<Band> {
    smooth_parts(profile).into_iter().flat_map(|part| split(part, ease)).collect()
}

/// Where a profile turns by more than this, a band ends, degrees: curves are straightened finely enough to
/// turn by less from piece to piece.
pub const CORNER: f64 = 25.0;

fn smooth_parts(profile: &[DVec2]) -> Vec<&[DVec2]> {
    let mut parts = Vec::new();
    let mut start = 0;
    for i in 1..profile.len().saturating_sub(1) {
        let (before, after) = (profile[i] - profile[i - 1], profile[i + 1] - profile[i]);
        if real::angle_from_to(before, after).to_degrees().abs() > CORNER {
            parts.push(&profile[start..=i]);
            start = i;
        }
    }
    if profile.len() > start + 1 {
        parts.push(&profile[start..]);
    }
    parts
}

/// Splits a smooth part of a profile into the fewest bands within `ease`, with about the same ease each.
fn split(part: &[DVec2], ease: f64) -> Vec<Band> {
    /// Bisections of the ease: more move no edge of a band by what can be cut.
    const BISECTIONS: u32 = 20;
    let fine = refined(part);
    let mut best = greedy(&fine, ease);
    let (mut low, mut high) = (0.0, ease);
    for _ in 0..BISECTIONS {
        let middle = (low + high) / 2.0;
        let tried = greedy(&fine, middle);
        if tried.len() > best.len() {
            low = middle;
        } else {
            high = middle;
            best = tried;
        }
    }
    best
}

/// The part with its long pieces split, so that a band may end within one.
fn refined(part: &[DVec2]) -> Vec<DVec2> {
    const PIECE: f64 = 1.0;
    let straight = part.len() == 2;
    let mut points = vec![part[0]];
    for pair in part.windows(2) {
        let pieces = if straight { 1 } else { (pair[0].distance(pair[1]) / PIECE).ceil().max(1.0) as u32 };
        points.extend((1..=pieces).map(|i| pair[0].lerp(pair[1], f64::from(i) / f64::from(pieces))));
    }
    points
}

/// Bands from the foot up, each as long as `ease` lets it be.
fn greedy(points: &[DVec2], ease: f64) -> Vec<Band> {
    let mut bands = Vec::new();
    let mut start = 0;
    while start + 1 < points.len() {
        // The ease hardly ever falls as a band grows: search for the longest by doubling, then bisection.
        let fits = |end: usize| band(&points[start..=end]).ease <= ease;
        let (mut good, mut bad) = (start + 1, points.len());
        let mut step = 1;
        while good + step < points.len() && fits(good + step) {
            good += step;
            step *= 2;
        }
        bad = bad.min(good + step);
        while good + 1 < bad {
            let middle = usize::midpoint(good, bad);
            if fits(middle) { good = middle } else { bad = middle }
        }
        bands.push(band(&points[start..=good]));
        start = good;
    }
    bands
}

fn band(points: &[DVec2]) -> Band {
    let (first, last) = (points[0], points[points.len() - 1]);
    let lengths: Vec<f64> = std::iter::once(0.0)
        .chain(points.windows(2).scan(0.0, |length, pair| {
            *length += pair[0].distance(pair[1]);
            Some(*length)
        }))
        .collect();
    let slant = lengths[lengths.len() - 1];
    /// Keeps the length of coincident points from being a divisor of zero, mm.
    const LEAST: f64 = 1e-12;
    let share = |length: f64| length / slant.max(LEAST);
    let off = |(p, length): (&DVec2, &f64)| (p.x - (first.x + (last.x - first.x) * share(*length))).abs();
    let ease = TAU * points.iter().zip(&lengths).map(off).fold(0.0, f64::max);
    Band { flat: FlatPattern { lower: first.x, upper: last.x, slant }, bottom: first.y, top: last.y, ease }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn close(got: f64, expected: f64, within: f64) {
        assert!((got - expected).abs() <= within, "{got} is not {expected}");
    }

    /// CRC Standard Mathematical Tables, lateral surface of a frustum: θ = 2π(R − r)/s, radii s·R/(R − r)
    /// and s·r/(R − r); the figures were worked out outside this program with numpy.
    #[test]
    fn frusta_develop_as_the_handbook_says() {
        let cases = [
            (100.0, 60.0, 120.0, 113.841_996, 316.227_766, 189.736_660, 63_581.364_90),
            (127.0, 101.6, 101.6, 87.312_825, 523.634_414, 418.907_532, 75_211.504_47),
        ];
        for (wide, narrow, height, angle, outer, inner, area) in cases {
            let slant = f64::hypot(wide - narrow, height);
            for flat in [
                FlatPattern { lower: wide, upper: narrow, slant },
                FlatPattern { lower: narrow, upper: wide, slant },
            ] {
                let PatternForm::AnnularSector { outer: o, inner: i, angle: a } = flat.form() else {
                    panic!("flared")
                };
                close(a, angle, 1e-6);
                close(o, outer, 1e-4);
                close(i, inner, 1e-4);
                close(flat.area(), area, 1e-4);
                let fine = Tolerance::new(1e-4).unwrap();
                close(flat.region(fine).area() / area, 1.0, 1e-5);
                let half = flat.half(fine);
                close(half.area() / area, 0.5, 1e-5);
                assert!(half.bounds().unwrap().0.x > -1e-9, "the front line is its left edge");
            }
        }
    }

    #[test]
    fn an_upright_side_is_a_rectangle_and_a_level_one_a_ring() {
        let side = FlatPattern { lower: 50.0, upper: 50.0, slant: 80.0 };
        assert_eq!(side.form(), PatternForm::Rectangle { width: TAU * 50.0, height: 80.0 });
        let top = FlatPattern { lower: 50.0, upper: 20.0, slant: 30.0 };
        assert_eq!(top.form(), PatternForm::AnnularSector { outer: 50.0, inner: 20.0, angle: 360.0 });
        close(top.region(Tolerance::new(1e-4).unwrap()).area(), PI * 2100.0, 0.1);
    }

    /// A quarter of a circle of radius 100 turned about the axis: half a ball. Bands keep the arc length of
    /// the profile (a quarter of 2π·100) and are nowhere worse than they state.
    #[test]
    fn bands_of_half_a_ball() {
        let quarter: Vec<DVec2> =
            (0..=400).map(|i| 100.0 * DVec2::from_angle(PI / 2.0 * f64::from(i) / 400.0)).collect();
        for ease in [2.0, 6.0, 20.0] {
            let bands = bands(&quarter, ease);
            close(bands.iter().map(|b| b.flat.slant).sum(), 50.0 * PI, 0.01);
            for band in &bands {
                assert!(band.ease <= ease);
                // The true circumference at half the arc length, by the circle's own formula.
                let angle = |height: f64| (height / 100.0).asin();
                let middle = 100.0 * f64::midpoint(angle(band.bottom), angle(band.top)).cos();
                let off = TAU * (middle - f64::midpoint(band.flat.lower, band.flat.upper)).abs();
                assert!(off <= band.ease + 1e-3 && off > 0.5 * band.ease, "{off} {band:?}");
            }
            assert!(bands.windows(2).all(|pair| pair[0].top == pair[1].bottom));
        }
        assert!(bands(&quarter, 2.0).len() > bands(&quarter, 20.0).len());
    }

    #[test]
    fn a_band_ends_at_a_corner() {
        let stepped = [(80.0, 0.0), (80.0, 60.0), (50.0, 60.0), (40.0, 120.0)].map(|(r, z)| dvec2(r, z));
        let bands = bands(&stepped, 6.0);
        assert_eq!(bands.len(), 3);
        assert!(bands.iter().all(|band| band.ease < 1e-9));
    }
}
