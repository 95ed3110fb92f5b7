//! What kind of shape is carved: each is carved in an order of its own.

use geom::Tolerance;
use plan::{Plan, carve::Body};

/// How a shape is carved.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ShapeKind {
    /// Turned about the upright axis: shaved all round while the cake turns.
    Round,
    /// The same outline at every height, as a number or a heart: cut straight down along it.
    StraightSided,
    /// Any other: worked from view to view.
    Free,
}

impl ShapeKind {
    /// The kind of the shape of `plan`, carved to `target`.
    pub fn of(plan: &Plan, target: &Body) -> Self {
        Self::of_body(plan.lines.is_turned(), target)
    }

    /// The kind of a shape that is carved to `target`.
    pub fn of_body(is_turned: bool, target: &Body) -> Self {
        /// Shares of the height at which the outlines are compared: rounded edges lie outside.
        const SHARES: [f64; 4] = [0.08, 0.35, 0.65, 0.92];
        /// Outlines that differ by a smaller share of their area are cut as one.
        const ALIKE: f64 = 0.02;
        if is_turned {
            return Self::Round;
        }
        let (low, high) = target.heights();
        let outlines = SHARES.map(|share| target.outline_at(low + (high - low) * share, Tolerance::PREVIEW));
        let first = &outlines[0];
        let alike = outlines.iter().all(|other| {
            let off = first.difference(other).area() + other.difference(first).area();
            off <= ALIKE * first.area()
        });
        if alike { Self::StraightSided } else { Self::Free }
    }
}
