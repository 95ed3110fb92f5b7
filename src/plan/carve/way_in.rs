//! Where the places of an outline lie before it meets the surface.

use glam::{DVec2, DVec3, dvec3};

use super::tools::{Seat, Surface, straight_view};
use crate::design::{Lies, Relief};
use geom::revolve::at_bearing;

impl Surface<'_> {
    /// Where the way of each of `places` of the outline of `relief` into the surface begins, outside it, and in which
    /// direction it goes; `None` where the outline lies beside the cake.
    pub(crate) fn ways_in(&self, relief: &Relief, places: &[DVec2]) -> Option<Vec<(DVec3, DVec3)>> {
        let (_, most) = self.lines.finished().section.bounds()?;
        let far = most.x + most.y + relief.reach();
        Some(match relief.lies {
            Lies::Top(at) => places.iter().map(|p| ((at + *p).extend(most.y + 1.0), DVec3::NEG_Z)).collect(),
            Lies::Drawn(drawn) => {
                let (frame, out) = straight_view(drawn.side);
                let from = |p: &DVec2| {
                    frame.transform_point3(dvec3(drawn.across + p.x, relief.height + p.y, out * far))
                };
                let way = frame.transform_vector3(DVec3::Z * -out);
                places.iter().map(|p| (from(p), way)).collect()
            }
            Lies::Flat => {
                let frame = Seat::find(self.lines, relief)?.frame();
                // Clear of a surface that bends away from the outline.
                let off = relief.reach();
                let way = frame.transform_vector3(DVec3::NEG_Z);
                places.iter().map(|p| (frame.transform_point3(p.extend(off)), way)).collect()
            }
            Lies::Wrapped => {
                let radius = Seat::find(self.lines, relief)?.radius().max(1e-3);
                let bearing = |p: &DVec2| relief.bearing + (p.x / radius).to_degrees();
                let from = |p: &DVec2| at_bearing(most.x + 1.0, relief.height + p.y, bearing(p));
                places.iter().map(|p| (from(p), -at_bearing(1.0, 0.0, bearing(p)))).collect()
            }
        })
    }
}
