//! How much lies inside every line but the carved one, and how much every add amounts to.
//!
//! None of it depends on the stack, so it is found beside the carving and not after it.

use rayon::prelude::*;

use crate::{
    design::{Depth, Design, Operation, Tool, Trim},
    lines::Lines,
};
use geom::{Moments, Solid, Tolerance};

use super::{Body, Edit, Edited, Surface, Window};

/// Volumes of coats and adds, mm³.
#[derive(Debug, Clone)]
pub struct Bulk {
    /// Inside every line from the outside in, cuts and sponge adds counted; the carved line left out
    /// ([`super::Carving::carved`]).
    pub outer: Vec<f64>,
    /// The solids inside these lines, with what stands in their bays.
    pub bodies: Vec<(Body, Vec<Edited>)>,
    /// For each trim what it adds outside the finished cake, and where; `None` unless it is an add on the icing.
    pub adds: Vec<Option<Moments>>,
}

impl Bulk {
    /// Measures `design` under `lines`, curves within `tolerance`.
    pub fn new(design: &Design, lines: &Lines, tolerance: Tolerance) -> Self {
        let inside = |level| {
            let body = Body::new(design, lines, level, tolerance);
            let edited = body.edited(body.meridians(tolerance));
            let (low, high) = body.heights();
            (body.volume_between(low, high, &edited), (body, edited))
        };
        let plain = Body::plain(design, lines);
        let added = |trim: &Trim| {
            let found = add_solid(trim, lines, &plain, tolerance)?.to_mesh().mass_properties();
            Some(Moments::at(found.volume, found.centroid))
        };
        let ((outer, bodies), adds) = rayon::join(
            || (0..lines.all().len() - 1).into_par_iter().map(inside).unzip(),
            || design.trims.par_iter().map(added).collect(),
        );
        Self { outer, bodies, adds }
    }
}

/// An add on the icing, which is a part of its own, without what lies inside `finished`; `None` for every
/// other trim.
pub fn add_solid(trim: &Trim, lines: &Lines, finished: &Body, tolerance: Tolerance) -> Option<Solid> {
    if trim.operation != Operation::Add || trim.depth != Depth::Icing {
        return None;
    }
    let surface = Surface { lines, depth: 0.0, tolerance };
    if let Tool::Relief(relief) = &trim.tool {
        // It stands on the surface as it is: only where that is cut does it have to reach deeper.
        let raised = Edit::new(0, Operation::Add, surface.raised(relief, 0.0))?;
        let meets = |cut: &Edit| cut.arc.meets(raised.arc) && cut.solid.may_meet(&raised.solid);
        if !finished.edits.iter().any(meets) {
            return Some(raised.solid);
        }
    }
    let edit = Edit::new(0, Operation::Add, surface.solid(&trim.tool, Operation::Add))?;
    let near = finished.solid_in(&Window::of(&edit), finished.meridians(tolerance));
    Some(edit.solid.difference(&near))
}
