//! The body of a line, or of what lies between two, with the cuts and adds that reach it.

use std::{
    collections::{BTreeMap, BTreeSet},
    sync::Arc,
};

use rayon::prelude::*;

use super::{Body, Edit, or_fault, solids::edited};
use crate::{
    carve::{copies::solids, tools::Surface},
    design::{Depth, Design, Detail, Operation, Tool},
    lines::{Inset, Lines},
};
use geom::{Cancel, Cancelled, Solid, SolidError, Tolerance};

/// The line whose cuts and adds a body has, and how far inside the finished line its surface lies, mm.
#[derive(Clone, Copy)]
struct Place {
    level: usize,
    depth: f64,
}

/// Whether `detail` changes line `level` of `lines`. An add on the icing is a part of its own and changes
/// no line.
pub fn reaches(detail: &Detail, level: usize, lines: &Lines) -> bool {
    let carved = lines.all().len() - 1;
    match (detail.depth, detail.operation) {
        (Depth::Sponge, _) => true,
        (Depth::Coating, _) => level < carved,
        (Depth::Icing, Operation::Cut) => level == 0,
        (Depth::Icing, Operation::Add) => false,
    }
}

/// The line that a cut on line `level` leaves whole: a cut in the icing or the coating stays in it, however
/// far its tool reaches. `None` where the cut cannot reach so deep, or may.
pub fn spared(detail: &Detail, level: usize, lines: &Lines) -> Option<usize> {
    let carved = lines.all().len() - 1;
    let inner = match detail.depth {
        Depth::Sponge => return None,
        Depth::Coating => carved,
        Depth::Icing => level + 1,
    };
    let between = lines.all().get(inner)?.depth - lines.all()[level].depth;
    let reaches = match &detail.tool {
        // Pressed in square to the surface.
        Tool::Relief(relief) => relief.depth > between,
        _ => true,
    };
    (detail.operation == Operation::Cut && reaches).then_some(inner)
}

impl Body {
    /// The solid inside line `level`, 0 being the finished one.
    ///
    /// # Errors
    /// Once `cancel` asks to stop.
    pub fn new(
        design: &Design,
        lines: &Lines,
        level: usize,
        tolerance: Tolerance,
        cancel: &Cancel,
    ) -> Result<Self, Cancelled> {
        let line = &lines.all()[level];
        let inset = Inset { section: line.section.clone(), solid: line.solid.clone() };
        let place = Place { level, depth: line.depth };
        Self::at_depth(design, lines, place, inset, tolerance, cancel)
    }

    /// What is left while the knife is still `off` mm outside the carved line: cuts are that much
    /// smaller, adds that much larger.
    ///
    /// # Errors
    /// Once `cancel` asks to stop.
    pub fn before_carved(
        design: &Design,
        lines: &Lines,
        off: f64,
        tolerance: Tolerance,
        cancel: &Cancel,
    ) -> Result<Self, Cancelled> {
        let inset = lines.before_carved(off, tolerance, cancel)?;
        let place = Place { level: lines.all().len() - 1, depth: lines.carved().depth - off };
        Self::at_depth(design, lines, place, inset, tolerance, cancel)
    }

    /// The solid inside line `level` with `laid` mm of the next covering on it.
    ///
    /// # Errors
    /// Once `cancel` asks to stop.
    pub fn under_way(
        design: &Design,
        lines: &Lines,
        level: usize,
        laid: f64,
        tolerance: Tolerance,
        cancel: &Cancel,
    ) -> Result<Self, Cancelled> {
        let place = Place { level, depth: lines.all()[level].depth - laid };
        let inset = lines.inset(place.depth, tolerance, cancel)?;
        Self::at_depth(design, lines, place, inset, tolerance, cancel)
    }

    /// `inset` with the cuts and adds that reach `place`.
    fn at_depth(
        design: &Design,
        lines: &Lines,
        Place { level, depth }: Place,
        inset: Inset,
        tolerance: Tolerance,
        cancel: &Cancel,
    ) -> Result<Self, Cancelled> {
        let surface = Surface { lines, depth, tolerance, cancel };
        let reaching = || design.details.iter().filter(|detail| reaches(detail, level, lines));
        let inner: BTreeSet<usize> = reaching().filter_map(|detail| spared(detail, level, lines)).collect();
        let inner: BTreeMap<usize, Self> = inner
            .into_iter()
            .map(|level| Ok((level, Self::new(design, lines, level, tolerance, cancel)?)))
            .collect::<Result<_, Cancelled>>()?;
        let reach: Vec<usize> =
            (0..design.details.len()).filter(|&i| reaches(&design.details[i], level, lines)).collect();
        let solids = solids(&design.details, &reach, lines.is_turned(), |detail| {
            surface.solid(&detail.tool, detail.operation)
        })?;
        let edit = |(index, mut solid): (usize, Solid)| {
            let detail = &design.details[index];
            if let Some(inner) = spared(detail, level, lines).and_then(|level| inner.get(&level)) {
                inner.check_solid()?;
                solid = inner.taken_from(&solid, tolerance);
            }
            solid.check()?;
            Ok(Edit::new(index, detail.operation, solid))
        };
        let edits = reach
            .into_par_iter()
            .zip(solids)
            .filter_map(|detail| edit(detail).transpose())
            .collect::<Result<Vec<Edit>, SolidError>>();
        let (edits, fault) = or_fault(edits)?;
        let (section, free, widest) = (inset.section, inset.solid, design.widest());
        let mut body = Self { section, free, edits, widest, fault, layered: Arc::default() };
        if let Some(mesh) = body.free.as_ref().filter(|_| !body.edits.is_empty()) {
            let solid = Solid::of_closed(mesh);
            let made = edited(solid, body.edits.iter(), (0.0, f64::INFINITY), cancel);
            let (made, fault) = or_fault(made)?;
            body.free = Some(Arc::new(made.to_mesh()));
            body.fault = body.fault.or(fault);
        }
        cancel.check()?;
        Ok(body)
    }

    /// The solid inside the finished line without cuts and adds.
    pub fn plain(design: &Design, lines: &Lines) -> Self {
        let finished = lines.finished();
        Self {
            section: finished.section.clone(),
            free: finished.solid.clone(),
            edits: Vec::new(),
            widest: design.widest(),
            fault: None,
            layered: Arc::default(),
        }
    }
}
