//! How far straight pieces may stray from the curve that they replace.

use crate::real;
use std::f64::consts::PI;

/// Greatest allowed distance between a curve and its chords (the sagitta), mm.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Tolerance(f64);

/// Fewest chords of a circle, so that a very loose tolerance still leaves it round.
const FEWEST_SEGMENTS: u32 = 12;
/// Most chords of a circle: past this a chord is shorter than a hundredth of a millimetre
/// on anything cake-sized.
const MOST_SEGMENTS: u32 = 1 << 16;

impl Tolerance {
    /// For pictures and client files unless the cake file says otherwise.
    pub const PREVIEW: Self = Self(0.25);
    /// For printed tools and figures unless the cake file says otherwise.
    pub const TOOL: Self = Self(0.05);

    /// A tolerance of `chord_mm`; `None` unless it is finite and above zero.
    pub fn new(chord_mm: f64) -> Option<Self> {
        (chord_mm.is_finite() && chord_mm > 0.0).then_some(Self(chord_mm))
    }

    /// The greatest distance between curve and chord, mm.
    pub fn chord_mm(self) -> f64 {
        self.0
    }

    /// How many equal chords keep a full circle of `radius` mm within the tolerance: a multiple of
    /// four, so that the circle meets both axes in corners and is as wide as it should be.
    pub fn segments(self, radius: f64) -> u32 {
        let half_angle = real::acos(1.0 - self.0 / radius.max(self.0));
        let exact = (PI / half_angle).ceil().clamp(f64::from(FEWEST_SEGMENTS), f64::from(MOST_SEGMENTS));
        (exact as u32).next_multiple_of(4)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_sagitta_stays_within_the_tolerance() {
        for chord in [0.5, 0.25, 0.05, 0.001] {
            let tolerance = Tolerance::new(chord).unwrap();
            for radius in [5.0, 60.0, 150.0, 1000.0] {
                let n = f64::from(tolerance.segments(radius));
                // Sagitta of a chord, any handbook of mathematics.
                assert!(radius * (1.0 - (PI / n).cos()) <= chord * (1.0 + 1e-12), "{radius} {chord}");
            }
        }
    }

    #[test]
    fn nothing_that_is_no_length_is_taken() {
        assert!([0.0, -1.0, f64::NAN, f64::INFINITY].iter().all(|&x| Tolerance::new(x).is_none()));
    }
}
