//! Windows on a turned solid: the bearings and heights that a cut or an add reaches.
//!
//! Outside them a solid is what its section says, so only what stands in one goes through booleans.

use geom::BearingRange;

use super::Edit;

/// A range of bearings and of heights.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Window {
    /// Its bearings.
    pub bearings: BearingRange,
    /// Its lowest and highest height, mm.
    pub heights: (f64, f64),
}

/// Clear of an edit, so that no face of the window lies in one of the edit's, mm.
const CLEAR: f64 = 1.0;

impl Window {
    /// The window that one edit needs.
    pub fn of(edit: &Edit) -> Self {
        Self { bearings: edit.bearings, heights: (edit.heights.0 - CLEAR, edit.heights.1 + CLEAR) }
    }

    /// The part of it between two heights.
    #[must_use]
    pub fn between(self, (low, high): (f64, f64)) -> Self {
        Self { heights: (self.heights.0.max(low), self.heights.1.min(high)), ..self }
    }
}
