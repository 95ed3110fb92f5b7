//! The cake as it is seen: lines without the details that are cut in last, and their silhouettes.

use glam::{DAffine3, DMat3, DVec3};

use crate::{
    carve::{Body, Surface},
    design::{Depth, Operation, Tool},
    geom::{Region, Solid},
    plan::Plan,
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
    let mut design = plan.design.clone();
    design.trims.retain(|trim| is_plain(&trim.tool));
    Body::new(&design, &plan.lines, level, plan.design.tool)
}

/// The outline of `body` as it is seen: right and up.
pub fn silhouette(plan: &Plan, body: &Body, view: View) -> Region {
    if body.is_turned() {
        let half = body.section.filled();
        return half.union(&half.mirrored());
    }
    body.solid(body.meridians(plan.design.tool)).placed(&view.frame()).shadow()
}

/// The outline of what is put on the icing, as it is seen.
pub fn added(plan: &Plan, view: View) -> Region {
    let surface = Surface { lines: &plan.lines, depth: 0.0, tolerance: plan.design.preview };
    let solid = |tool: &Tool| match tool {
        Tool::Relief(relief) => surface.raised(relief, 0.0),
        other => surface.solid(other, Operation::Add),
    };
    plan.design
        .trims
        .iter()
        .filter(|trim| trim.operation == Operation::Add && trim.depth == Depth::Icing)
        .map(|trim| solid(&trim.tool).placed(&view.frame()).shadow())
        .fold(Region::default(), |all, one| all.union(&one))
}

/// The cut through `body` at height `z`, seen from above.
pub fn cut_at(plan: &Plan, body: &Body, z: f64) -> Region {
    /// Half the thickness of what is cut out around the height, mm.
    const THIN: f64 = 0.5;
    if let Some(mesh) = &body.free {
        return mesh.section(z);
    }
    if !body.is_edited_between(z - THIN, z + THIN) {
        let disc = |r: f64| Region::disc(glam::DVec2::ZERO, r, plan.design.tool);
        return body
            .section
            .row(z)
            .into_iter()
            .map(|(inner, outer)| {
                let disc_out = disc(outer);
                if inner > 0.0 { disc_out.difference(&disc(inner)) } else { disc_out }
            })
            .fold(Region::default(), |all, ring| all.union(&ring));
    }
    let around: Solid = body.solid_between(z - THIN, z + THIN, body.meridians(plan.design.tool));
    around.slice(z)
}
