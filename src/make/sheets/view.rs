//! The cake as it is seen: lines without the details that are cut in last, and their silhouettes.

use glam::{DAffine3, DMat3, DVec3};

use rayon::prelude::*;

use geom::{Region, Solid, uncancelled};
use plan::{
    Plan,
    carve::{Body, Surface, reaches},
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
    let known = plan.body(level, plan.design.tool).filter(|_| {
        plan.design
            .details
            .iter()
            .all(|detail| is_plain(&detail.tool) || !reaches(detail, level, &plan.lines))
    });
    if let Some((body, _)) = known {
        return body.clone();
    }
    let mut design = plan::design::Design::clone(&plan.design);
    design.details.retain(|detail| is_plain(&detail.tool));
    uncancelled(|cancel| Body::new(&design, &plan.lines, level, plan.design.tool, cancel))
}

/// Something to be seen from several sides.
pub enum Seen {
    /// From every side but above the same outline.
    Turned(Region),
    /// A solid.
    Solid(Box<Solid>),
}

impl Seen {
    /// `body` of `plan`.
    pub fn new(plan: &Plan, body: &Body) -> Self {
        if body.is_turned() {
            let half = body.section.filled();
            return Self::Turned(half.union(&half.mirrored()));
        }
        Self::Solid(Box::new(body.solid(body.meridians(plan.design.tool))))
    }

    /// Its outline as it is seen: right and up.
    pub fn from(&self, view: View) -> Region {
        match self {
            Self::Turned(outline) => outline.clone(),
            Self::Solid(solid) => solid.placed(&view.frame()).projection(),
        }
    }
}

/// Whether anything is put on the icing.
pub fn has_added(plan: &Plan) -> bool {
    plan.bulk.adds.iter().flatten().any(|add| add.amount > 0.0)
}

/// The outline of `added`, as it is seen.
pub fn outline_of(added: &[Solid], view: View) -> Region {
    let shadows = added.iter().map(|solid| solid.placed(&view.frame()).projection());
    shadows.fold(Region::default(), |all, one| all.union(&one))
}

/// What is put on the icing.
pub fn added(plan: &Plan) -> Vec<Solid> {
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
        .details
        .par_iter()
        .filter(|detail| detail.operation == Operation::Add && detail.depth == Depth::Icing)
        .map(|detail| solid(&detail.tool))
        .collect()
}
