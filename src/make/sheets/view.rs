//! The cake as it is seen: lines without the details that are cut in last, and their silhouettes.

use glam::{DAffine3, DMat3, DVec3};

use geom::{Region, uncancelled};
use plan::{
    Plan,
    carve::{Body, Surface},
    design::{Depth, Operation, Tool},
};

/// Where one looks from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum View {
    /// From the front.
    Front,
    /// From the right side.
    Side,
    /// From above.
    Above,
}

impl View {
    /// Turns the cake so that what one sees lies flat: right, up, towards the eye.
    fn frame(self) -> DAffine3 {
        let columns = match self {
            Self::Front => DMat3::from_cols(DVec3::X, DVec3::NEG_Z, DVec3::Y),
            Self::Side => DMat3::from_cols(DVec3::Z, DVec3::X, DVec3::Y),
            Self::Above => DMat3::IDENTITY,
        };
        DAffine3::from_mat3(columns)
    }
}

/// The solid inside line `level` before outlines are pressed in or raised: what is carved first.
pub fn plain_body(plan: &Plan, level: usize) -> Body {
    let is_plain = |tool: &Tool| !matches!(tool, Tool::Relief(_));
    let mut design = plan::design::Design::clone(&plan.design);
    design.trims.retain(|trim| is_plain(&trim.tool));
    uncancelled(|cancel| Body::new(&design, &plan.lines, level, plan.design.tool, cancel))
}

/// The outline of `body` as it is seen: right and up.
pub fn silhouette(plan: &Plan, body: &Body, view: View) -> Region {
    if body.is_turned() {
        let half = body.section.filled();
        return half.union(&half.mirrored());
    }
    body.solid(body.meridians(plan.design.tool)).placed(&view.frame()).projection()
}

/// The outline of what is put on the icing, as it is seen.
pub fn added(plan: &Plan, view: View) -> Region {
    let solid = |tool: &Tool| {
        uncancelled(|cancel| {
            let tolerance = plan.design.preview;
            let surface = Surface { lines: &plan.lines, depth: 0.0, tolerance, cancel };
            match tool {
                Tool::Relief(relief) => surface.raised(relief, 0.0),
                other => surface.solid(other, Operation::Add),
            }
        })
    };
    plan.design
        .trims
        .iter()
        .filter(|trim| trim.operation == Operation::Add && trim.depth == Depth::Icing)
        .map(|trim| solid(&trim.tool).placed(&view.frame()).projection())
        .fold(Region::default(), |all, one| all.union(&one))
}
