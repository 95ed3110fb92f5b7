//! What kind of shape is carved: each is carved in an order of its own.

use geom::Tolerance;
use plan::{Plan, carve::Body, icing::is_straight_sided};

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
        if is_turned {
            return Self::Round;
        }
        let outline = |height: f64| target.outline_at(height, Tolerance::PREVIEW);
        if is_straight_sided(target.heights(), outline) { Self::StraightSided } else { Self::Free }
    }
}
