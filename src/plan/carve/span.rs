//! Points that span a body as it is seen from above.

use glam::{DVec2, DVec3};

use crate::extent::spanning;
use geom::revolve::at_bearing;

use super::{Body, Edited};

impl Body {
    /// Points that span the body as it is seen from above, with its heights, given what stands in its sectors.
    pub(crate) fn spanning(&self, edited: &[Edited], meridians: u32) -> Vec<DVec3> {
        if let Some(mesh) = &self.free {
            return spanning(mesh);
        }
        let mut points: Vec<DVec3> = edited.iter().flat_map(|edited| spanning(&edited.mesh)).collect();
        let n = edited.first().map_or(meridians, |edited| edited.sector.meridians);
        // Beside the sectors the outermost point of the section along every meridian.
        let mut outermost: Vec<DVec2> = self.section.contours().iter().flatten().copied().collect();
        outermost.sort_by(|a, b| b.x.total_cmp(&a.x));
        let mut rising = outermost.clone();
        rising.sort_by(|a, b| a.y.total_cmp(&b.y));
        let stands = |p: &DVec2, k: u32| {
            edited.iter().all(|edited| {
                let range = edited.sector.range_at(p.y);
                (k + n - range.first) % n > range.steps || range.steps == 0
            })
        };
        for k in 0..n {
            let bearing = 360.0 * f64::from(k) / f64::from(n);
            points.extend(outermost.iter().find(|p| stands(p, k)).map(|p| at_bearing(p.x, p.y, bearing)));
        }
        let any = |p: &&DVec2| (0..n).any(|k| stands(p, k));
        let (lowest, highest) = (rising.iter().find(any), rising.iter().rev().find(any));
        points.extend(lowest.into_iter().chain(highest).map(|p| at_bearing(p.x, p.y, 0.0)));
        points
    }
}
