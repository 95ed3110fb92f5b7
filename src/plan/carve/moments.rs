//! Where the mass of a body lies, and its outlines, given what stands in its bays.

use glam::DVec2;

use geom::{Moments, Region, Run, Tolerance, revolve::at_bearing};

use super::{Body, Edited, body::rings};

impl Body {
    /// Volume and centroid of the part between two heights, given what stands in all bays: exact in the
    /// half-plane, with what cuts and adds change measured on what stands in the bays.
    pub fn moments_between(&self, low: f64, high: f64, edited: &[Edited]) -> Moments {
        if let Some(mesh) = &self.free {
            return mesh.moments_between(low, high);
        }
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

    /// [`Body::outline_at`] with what stands in all bays made already: no boolean of solids.
    pub fn outline_among(&self, z: f64, tolerance: Tolerance, edited: &[Edited]) -> Region {
        /// Looked up this far above, so that level faces count as lying below, mm.
        const ABOVE: f64 = 1e-6;
        let (low, high) = self.heights();
        let z = z.clamp(low, high - 2.0 * ABOVE) + ABOVE;
        if self.free.is_some() {
            return self.outline_at(z, tolerance);
        }
        let plain = rings(&self.section.row(z), tolerance);
        edited.iter().fold(plain, |all, edited| {
            let run = edited.bay.run_at(z);
            let stands = edited.mesh.section(z);
            match run.steps {
                0 => all,
                steps if steps == edited.bay.of => stands,
                _ => all.difference(&sector(run, edited.bay.of, self.widest)).union(&stands),
            }
        })
    }
}

/// The steps of `run` out of `of`, seen from above, further out than anything within `widest`; a hair less than all of
/// it, so that what is put there overlaps what is left beside it.
fn sector(run: Run, of: u32, widest: f64) -> Region {
    /// Degrees: a hundredth of a millimetre on the widest cake.
    const HAIR: f64 = 1e-3;
    // Far enough for the chord of a step to lie outside.
    let radius = 2.0 * widest + 1000.0;
    let step = 360.0 / f64::from(of);
    let corner = |k: u32| {
        let inwards = if k == 0 {
            HAIR
        } else if k == run.steps {
            -HAIR
        } else {
            0.0
        };
        at_bearing(radius, 0.0, step * f64::from(run.first + k) + inwards).truncate()
    };
    Region::new(vec![std::iter::once(DVec2::ZERO).chain((0..=run.steps).map(corner)).collect()])
}
