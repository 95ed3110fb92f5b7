//! Windows on a turned solid: the bearings and heights that a cut or an add reaches.
//!
//! Outside them a solid is what its section says, so only what stands in one goes through booleans.

use crate::geom::{Bay, Region, wedge::Arc};

use super::Edit;

/// A stretch of bearings and heights.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Window {
    /// Its bearings.
    pub arc: Arc,
    /// Its lowest and highest height, mm.
    pub heights: (f64, f64),
}

/// Clear of an edit, so that no face of the window lies in one of the edit's, mm; no round figure, so that it
/// lies in none of a neighbour's either.
const CLEAR: f64 = 1.037;

impl Window {
    /// The window that one edit needs.
    pub fn of(edit: &Edit) -> Self {
        Self { arc: edit.arc, heights: (edit.heights.0 - CLEAR, edit.heights.1 + CLEAR) }
    }

    /// The part of it between two heights.
    #[must_use]
    pub fn between(self, (low, high): (f64, f64)) -> Self {
        Self { heights: (self.heights.0.max(low), self.heights.1.min(high)), ..self }
    }

    /// The bay of it, out of `n` meridians, in a turned solid with `section`: a little taller where its bottom or
    /// top lies at the height of a point of the section, since what is sewn in along it must not end in a level
    /// face.
    pub fn bay(&self, section: &Region, n: u32) -> Bay {
        /// Nearer than this is at the same height, mm.
        const NEAR: f64 = 1e-3;
        let cleared = |mut z: f64, step: f64| {
            while section.contours().iter().flatten().any(|p| (p.y - z).abs() < NEAR) {
                z += step;
            }
            z
        };
        let (low, high) = self.heights;
        let (bottom, top) = section.bounds().map_or((0.0, 0.0), |(lo, hi)| (lo.y, hi.y));
        let low = if low <= bottom { low } else { cleared(low, -3.0 * NEAR) };
        let high = if high >= top { high } else { cleared(high, 3.0 * NEAR) };
        let run = self.arc.meridians(n);
        Bay { of: n, first: run.first, spans: vec![(low, high); run.steps as usize] }
    }
}
