//! Flat patterns of turned surfaces (development): the rectangle of a cylinder, the annular sector of a cone frustum,
//! discs laid from the middle, parts of a curved meridian.
//!
//! A turned surface can be developed without stretch just where its radius is linear in the arc length of its
//! meridian. Elsewhere the girth of the surface against that of the flat sheet at the same arc length says by which
//! share the sheet stretches or gathers round the axis ([`Strain`]). The arc length itself is always kept.

mod division;
mod meridian;
mod part;

use std::f64::consts::{PI, TAU};

use glam::{DVec2, dvec2};

use super::{Region, Tolerance};
use crate::real;
pub use division::{Limits, divide};
pub use meridian::{CORNER, Meridian};
pub use part::{Part, PartForm, Strain};

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

    /// The pattern with the line opposite its seam upright in its middle, y up: the lower edge below.
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

    /// Half of the pattern, from its middle line to the right, to be cut on the fold.
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

    /// Direction from the centre of the arcs to the middle line, radians.
    fn middle(&self) -> f64 {
        if self.is_flared() { PI / 2.0 } else { -PI / 2.0 }
    }

    /// Where the middle line meets the lower and the upper edge of [`FlatPattern::region`].
    pub fn middle_line(&self) -> (DVec2, DVec2) {
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
                assert!(half.bounds().unwrap().0.x > -1e-9, "the middle line is its left edge");
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
}
