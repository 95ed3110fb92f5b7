//! How much lies inside every line but the carved one, and how much every add amounts to.
//!
//! None of it depends on the stack, so it is found beside the carving and not after it.

use rayon::prelude::*;

use crate::{
    design::{Depth, Design, Operation, Tool, Trim},
    lines::Lines,
};
use geom::{Cancel, Cancelled, Moments, Solid, SolidError, Tolerance};

use super::{Body, Edit, Edited, Surface, Window};

/// Volumes of coats and adds, mm³.
#[derive(Debug, Clone)]
pub struct Bulk {
    /// Inside every line from the outside in, cuts and sponge adds counted; the carved line left out
    /// ([`super::Carving::carved`]).
    pub outer: Vec<f64>,
    /// The solids inside these lines, with what stands in their sectors.
    pub bodies: Vec<(Body, Vec<Edited>)>,
    /// For each trim what it adds outside the finished cake, and where; `None` unless it is an add on the icing.
    pub adds: Vec<Option<Moments>>,
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
        let added = |trim: &Trim| {
            let Some(add) = add_solid(trim, lines, &plain, tolerance, cancel)? else { return Ok(None) };
            add.check()?;
            let found = add.to_mesh().mass_properties();
            Ok(Some(Moments::at(found.volume, found.centroid)))
        };
        let (inside, adds) = rayon::join(
            || (0..lines.all().len() - 1).into_par_iter().map(inside).collect::<Result<Vec<_>, SolidError>>(),
            || design.trims.par_iter().map(added).collect::<Result<_, SolidError>>(),
        );
        let (outer, bodies) = inside?.into_iter().unzip();
        Ok(Self { outer, bodies, adds: adds? })
    }
}

/// An add on the icing, which is a part of its own, without what lies inside `finished`; `None` for every
/// other trim.
///
/// # Errors
/// Once `cancel` asks to stop.
pub fn add_solid(
    trim: &Trim,
    lines: &Lines,
    finished: &Body,
    tolerance: Tolerance,
    cancel: &Cancel,
) -> Result<Option<Solid>, Cancelled> {
    if trim.operation != Operation::Add || trim.depth != Depth::Icing {
        return Ok(None);
    }
    let surface = Surface { lines, depth: 0.0, tolerance, cancel };
    if let Tool::Relief(relief) = &trim.tool {
        // It stands on the surface as it is: only where that is cut does it have to reach deeper.
        let Some(raised) = Edit::new(0, Operation::Add, surface.raised(relief, 0.0)?) else {
            return Ok(None);
        };
        let meets = |cut: &Edit| cut.bearings.overlaps(raised.bearings) && cut.solid.may_meet(&raised.solid);
        if !finished.edits.iter().any(meets) {
            return Ok(Some(raised.solid));
        }
    }
    let Some(edit) = Edit::new(0, Operation::Add, surface.solid(&trim.tool, Operation::Add)?) else {
        return Ok(None);
    };
    let near = finished.solid_in(&Window::of(&edit), finished.meridians(tolerance));
    Ok(Some(edit.solid.difference(&near)))
}
