//! What the knife takes off: from the side at a height, or from the top, in the order in which it is cut.
//!
//! The sides are cut before the top. So what comes off a place is all that lies outside it at its own height, whatever
//! faces between the layers lie nearer; only where less lies above a place than beside it, as near the top of a dome, does
//! the knife come down from above.

use glam::DVec3;

use geom::revolve::at_bearing;
use plan::stack::Stack;

/// From where the knife comes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum From {
    /// From the side, towards the axis.
    Side,
    /// From above, straight down.
    Top,
}

/// How much comes off at a place of the carved surface, mm, and from where; below zero where the raw stack does not reach
/// it. `reach` and `top` lie outside the stack.
pub fn taken(stack: &Stack, (radius, height, bearing): (f64, f64, f64), reach: f64, top: f64) -> (f64, From) {
    /// Round-off at a face is no missing cake, mm.
    const FACE: f64 = 0.05;
    let place = at_bearing(radius, height, bearing);
    let depth = stack.depth(place);
    if depth < -FACE {
        return (depth, From::Side);
    }
    let beside = way_in(stack, at_bearing(reach, height, bearing), place);
    let above = way_in(stack, place.with_z(top), place);
    if above < beside { (above, From::Top) } else { (beside, From::Side) }
}

/// How far `to` lies behind the first face of the stack that is met on the straight way from `from`, mm. Steps are as long
/// as the distance to the stack, so that no face is stepped over (sphere tracing: Hart 1996).
fn way_in(stack: &Stack, from: DVec3, to: DVec3) -> f64 {
    /// Nearer than this is met, mm.
    const MET: f64 = 1e-4;
    const MOST: usize = 400;
    let whole = from.distance(to);
    let mut gone = 0.0;
    for _ in 0..MOST {
        let off = -stack.depth(from.lerp(to, gone / whole.max(MET)));
        if off <= MET || gone >= whole {
            break;
        }
        gone += off;
    }
    (whole - gone).max(0.0)
}
