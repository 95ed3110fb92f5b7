//! How much lies inside every line but the carved one, and how much every add amounts to.
//!
//! None of it depends on the stack, so it is found beside the carving and not after it.

use glam::DVec3;
use rayon::prelude::*;

use crate::{
    design::{Depth, Design, Detail, Operation, Strand, Tool},
    extent::spanning,
    lines::Lines,
};
use geom::{Cancel, Cancelled, Moments, Solid, SolidError, Tolerance};

use super::{Body, Edit, Edited, Surface};

/// Volumes of coats and adds, mm³.
#[derive(Debug, Clone)]
pub struct Bulk {
    /// Inside every line from the outside in, cuts and sponge adds counted; the carved line left out
    /// ([`super::Carving::carved`]).
    pub outer: Vec<f64>,
    /// The solids inside these lines, with what stands in their sectors.
    pub bodies: Vec<(Body, Vec<Edited>)>,
    /// For each detail what it adds outside the finished cake, and where; `None` unless it is an add on the icing. Of a roll
    /// all that is rolled.
    pub adds: Vec<Option<Moments>>,
    /// Points that span all these adds as they are seen from above, with their heights, mm.
    pub adds_span: Vec<DVec3>,
}

impl Bulk {
    /// Measures `design` under `lines`, curves within `tolerance`: for figures that of printed tools, as volumes and
    /// masses come from it.
    ///
    /// # Errors
    /// When the kernel refuses a solid, or once `cancel` asks to stop.
    pub fn new(
        design: &Design,
        lines: &Lines,
        tolerance: Tolerance,
        cancel: &Cancel,
    ) -> Result<Self, SolidError> {
        let inside = |level| {
            let body = Body::new(design, lines, level, tolerance, cancel)?;
            body.check_solid()?;
            let edited = body.edited(body.meridians(tolerance), cancel)?;
            edited.iter().try_for_each(Edited::check_solid)?;
            let (low, high) = body.heights();
            Ok((body.volume_between(low, high, &edited), (body, edited)))
        };
        let plain = Body::plain(design, lines);
        let added = |(detail, add): (&Detail, Option<&Solid>)| {
            let Some(add) = add else { return Ok(None) };
            add.check()?;
            let mesh = add.to_mesh();
            let found = mesh.mass_properties();
            // A roll is soft: what is pressed flat of it or into the icing is on the cake all the same.
            let volume = match &detail.tool {
                Tool::Roll(roll) => roll.strands().iter().map(Strand::volume).sum(),
                _ => found.volume,
            };
            Ok(Some((Moments::at(volume, found.centroid), spanning(&mesh))))
        };
        let (inside, adds) = rayon::join(
            || (0..lines.all().len() - 1).into_par_iter().map(inside).collect::<Result<Vec<_>, SolidError>>(),
            || {
                let adds = add_solids(design, lines, &plain, tolerance, cancel)?;
                let each = design.details.par_iter().zip(&adds);
                each.map(|(detail, add)| added((detail, add.as_ref())))
                    .collect::<Result<Vec<_>, SolidError>>()
            },
        );
        let (outer, bodies) = inside?.into_iter().unzip();
        let adds: Vec<Option<(Moments, Vec<DVec3>)>> = adds?;
        let adds_span = adds.iter().flatten().flat_map(|(_, span)| span).copied().collect();
        let adds = adds.into_iter().map(|add| add.map(|(moments, _)| moments)).collect();
        Ok(Self { outer, bodies, adds, adds_span })
    }
}

/// The solid of every add of `design`. Where the shape is turned and no cut in it reaches them, those that are the
/// same but for a turn about the axis are made once.
///
/// # Errors
/// Once `cancel` asks to stop.
pub fn add_solids(
    design: &Design,
    lines: &Lines,
    finished: &Body,
    tolerance: Tolerance,
    cancel: &Cancel,
) -> Result<Vec<Option<Solid>>, Cancelled> {
    let adds: Vec<usize> = (0..design.details.len()).filter(|&i| is_added(&design.details[i])).collect();
    let solids = super::copies::solids(&design.details, &adds, finished.is_turned(), |detail| {
        Ok(add_solid(detail, lines, finished, tolerance, cancel)?.unwrap_or_else(Solid::empty))
    })?;
    let mut all = vec![None; design.details.len()];
    for (index, solid) in adds.into_iter().zip(solids) {
        all[index] = Some(solid).filter(|solid| !solid.is_empty());
    }
    Ok(all)
}

/// Whether a detail is an add on the icing, which is a part of its own.
fn is_added(detail: &Detail) -> bool {
    detail.operation == Operation::Add && detail.depth == Depth::Icing
}

/// An add on the icing, which is a part of its own, without what lies inside `finished`; `None` for every
/// other detail.
///
/// # Errors
/// Once `cancel` asks to stop.
fn add_solid(
    detail: &Detail,
    lines: &Lines,
    finished: &Body,
    tolerance: Tolerance,
    cancel: &Cancel,
) -> Result<Option<Solid>, Cancelled> {
    if !is_added(detail) {
        return Ok(None);
    }
    let surface = Surface { lines, depth: 0.0, tolerance, cancel };
    if let Tool::Relief(relief) = &detail.tool {
        // It stands on the surface as it is: only where that is cut does it have to reach deeper.
        let Some(raised) = Edit::new(0, Operation::Add, surface.raised(relief, 0.0)?) else {
            return Ok(None);
        };
        let meets = |cut: &Edit| cut.bearings.overlaps(raised.bearings) && cut.solid.may_meet(&raised.solid);
        if !finished.edits.iter().any(meets) {
            return Ok(Some(raised.solid));
        }
    }
    let Some(edit) = Edit::new(0, Operation::Add, surface.solid(&detail.tool, Operation::Add)?) else {
        return Ok(None);
    };
    let near = finished.solid_near(&edit, finished.meridians(tolerance));
    Ok(Some(edit.solid.difference(&near)))
}
