//! Where the mass of a body lies.

use crate::geom::{Moments, revolve::revolved_volume};

use super::{Body, Edited};

impl Body {
    /// The body without its cuts and adds.
    #[must_use]
    pub fn without_edits(&self) -> Self {
        Self { edits: Vec::new(), ..self.clone() }
    }

    /// Volume and centroid of the part between two heights, given what stands in all bays: exact in the
    /// half-plane, with what cuts and adds change measured on what stands in the bays.
    pub fn moments_between(&self, low: f64, high: f64, edited: &[Edited]) -> Moments {
        let plain = Moments::revolved(&self.section.between(low, high));
        plain + edited.iter().map(|edited| self.change_of_moments(low, high, edited)).sum()
    }

    fn change_of_moments(&self, low: f64, high: f64, edited: &Edited) -> Moments {
        let plain = edited.bay.stretches().into_iter().filter_map(|((bottom, top), run)| {
            let (low, high) = (low.max(bottom), high.min(top));
            (low < high).then(|| Moments::of_steps(&self.section.between(low, high), run, edited.bay.of))
        });
        edited.mesh.moments_between(low, high) - plain.sum()
    }

    /// Whether cuts and adds change more than `share` of what lies between two heights.
    pub fn is_much_edited_between(&self, low: f64, high: f64, share: f64, edited: &[Edited]) -> bool {
        self.is_edited_between(low, high) && {
            let plain = revolved_volume(&self.section.between(low, high));
            self.change_between(low, high, edited).abs() > share * plain
        }
    }
}
