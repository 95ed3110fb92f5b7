//! Windows on a turned solid: the bearings and heights that cuts and adds reach.
//!
//! Outside all windows a solid is what its section says, so only what stands in one goes through
//! booleans.

use glam::DVec3;

use crate::geom::{Region, revolve::bearing_of, wedge::Arc};

use super::Edit;

/// A stretch of bearings and heights.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Window {
    /// Its bearings.
    pub arc: Arc,
    /// Its lowest and highest height, mm.
    pub heights: (f64, f64),
}

/// Clear of an edit, so that no face of the window lies in one of the edit's, mm.
const CLEAR: f64 = 1.0;

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

    /// Whether a point stands in it.
    pub fn holds(&self, p: DVec3) -> bool {
        let (low, high) = self.heights;
        low <= p.z && p.z <= high && self.arc.holds(bearing_of(p.truncate()))
    }

    fn joined(self, other: Self) -> Self {
        let heights = (self.heights.0.min(other.heights.0), self.heights.1.max(other.heights.1));
        Self { arc: self.arc.joined(other.arc), heights }
    }

    /// Whether the two share a step between `n` meridians; heights are not asked, as windows of one part lie
    /// close together.
    fn meets(self, other: Self, n: u32) -> bool {
        self.arc.meridians(n).meets(other.arc.meridians(n))
    }

    /// The same window, a little taller where its bottom or top lies at the height of a point of `section`:
    /// what is sewn in along it must not end in a level face.
    fn clear_of(self, section: &Region) -> Self {
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
        Self { heights: (low, high), ..self }
    }
}

/// The windows that hold all `edits` of a body with `section` between two heights. No two share a step between
/// `n` meridians.
pub fn windows<'a>(
    edits: impl Iterator<Item = &'a Edit>,
    section: &Region,
    between: (f64, f64),
    n: u32,
) -> Vec<Window> {
    let mut windows: Vec<Window> = Vec::new();
    for edit in edits {
        let mut window = Window::of(edit).between(between);
        // Joining may close the distance to one that was clear before.
        while let Some(i) = windows.iter().position(|other| other.meets(window, n)) {
            window = window.joined(windows.swap_remove(i));
        }
        windows.push(window);
    }
    windows.into_iter().map(|window| window.clear_of(section)).collect()
}
