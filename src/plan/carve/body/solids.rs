//! A body as solids: parts of it, its edited sectors, and both stitched together.

use rayon::prelude::*;

use super::{Body, Edit, Edited, or_fault};
use crate::{
    carve::{sectors::sectors, window::Window},
    design::Operation,
};
use geom::{
    BearingRange, Cancel, Cancelled, MeridianRange, Region, Sector, Solid, SolidError, TriMesh, revolve,
    stitching::{Patch, stitched},
    uncancelled,
    wedge::wedge,
};

/// `section` with a point put in wherever an edge enters or leaves a sector.
fn split<'a>(section: &Region, sectors: impl Iterator<Item = &'a Sector>) -> Region {
    let mut heights: Vec<f64> = sectors.flat_map(Sector::changes).collect();
    heights.sort_by(f64::total_cmp);
    heights.dedup();
    section.split_at(&heights)
}

impl Body {
    /// The part between two heights as a solid with `meridians` round it.
    pub fn solid_between(&self, low: f64, high: f64, meridians: u32) -> Solid {
        self.solid_in(&Window { bearings: BearingRange::FULL, heights: (low, high) }, meridians)
    }

    /// The part in a window as a solid out of `meridians` round the whole.
    pub fn solid_in(&self, window: &Window, meridians: u32) -> Solid {
        let (low, high) = window.heights;
        if let Some(mesh) = &self.free {
            return Solid::of_closed(&mesh.between(low, high));
        }
        let edits = self.edits_between(low, high).filter(|edit| window.bearings.overlaps(edit.bearings));
        let mesh = wedge(&self.section.between(low, high), window.bearings.meridians(meridians), meridians);
        let solid = Solid::of_closed(&mesh);
        edited(solid, edits, (low, high), &Cancel::new()).unwrap_or_else(Solid::faulty)
    }

    /// What of the body may meet the solid of `edit`, and perhaps more, out of `meridians` round the whole.
    pub fn solid_near(&self, edit: &Edit, meridians: u32) -> Solid {
        /// Clear of the solid, so that no face that ends the part lies in one of the solid's, mm.
        const CLEAR: f64 = 1.0;
        if let (Some(mesh), Some((lo, hi))) = (&self.free, edit.solid.bounds()) {
            // Where what is cut out is no solid, all at those heights is.
            if let Ok(near) = Solid::from_mesh(&mesh.within(lo - CLEAR, hi + CLEAR)) {
                return near;
            }
        }
        self.solid_in(&Window::of(edit), meridians)
    }

    /// Every sector that cuts and adds need, with these made, out of `meridians` round the whole.
    ///
    /// # Errors
    /// Once `cancel` asks to stop.
    pub fn edited(&self, meridians: u32, cancel: &Cancel) -> Result<Vec<Edited>, Cancelled> {
        if let Some(mesh) = &self.free {
            let mesh = TriMesh::clone(mesh);
            return Ok(vec![Edited { sector: Sector::full(meridians), mesh, fault: None }]);
        }
        match self.edited_in(sectors(&self.edits, &self.section, meridians), cancel) {
            Ok(edited) => return Ok(edited),
            Err(SolidError::Cancelled(stopped)) => return Err(stopped),
            Err(SolidError::NotSolid(_)) => {}
        }
        let (sector, all) = (Sector::full(meridians), (0..self.edits.len()).collect());
        let (edited, fault) = or_fault(self.edited_in(vec![(sector.clone(), all)], cancel))?;
        Ok(match fault {
            None => edited,
            fault => vec![Edited { sector, mesh: TriMesh::default(), fault }],
        })
    }

    /// `sectors`, each with the edits in it made.
    fn edited_in(
        &self,
        sectors: Vec<(Sector, Vec<usize>)>,
        cancel: &Cancel,
    ) -> Result<Vec<Edited>, SolidError> {
        let section = split(&self.section, sectors.iter().map(|(sector, _)| sector));
        let (low, high) = self.heights();
        let made = |(sector, held): (Sector, Vec<usize>)| {
            cancel.check()?;
            let edits = held.iter().map(|i| &self.edits[*i]);
            let solid = Solid::from_mesh(&sector.closed_mesh(&section))?;
            let mesh = edited(solid, edits, (low, high), cancel)?.to_mesh();
            Ok(Edited { sector, mesh, fault: None })
        };
        sectors.into_par_iter().map(made).collect()
    }

    /// The whole surface with `meridians` round it: the turned section, with the edited sectors stitched in.
    pub fn mesh(&self, meridians: u32) -> TriMesh {
        self.surface(&uncancelled(|cancel| self.edited(meridians, cancel)), meridians)
    }

    /// [`Body::mesh`] with all edited sectors given.
    pub fn surface(&self, edited: &[Edited], meridians: u32) -> TriMesh {
        if let Some(mesh) = &self.free {
            return TriMesh::clone(mesh);
        }
        if self.edits.is_empty() {
            return revolve::revolve(&self.section, meridians);
        }
        self.stitched(edited).unwrap_or_else(|| self.solid(meridians).to_mesh())
    }

    /// The whole surface out of all edited sectors; `None` where they do not meet the rest vertex to vertex.
    pub(super) fn stitched(&self, edited: &[Edited]) -> Option<TriMesh> {
        let section = split(&self.section, edited.iter().map(|edited| &edited.sector));
        let patches: Vec<Patch<'_>> =
            edited.iter().map(|edited| Patch { sector: &edited.sector, mesh: &edited.mesh }).collect();
        stitched(&section, edited.first()?.sector.meridians, &patches)
    }

    /// What cuts and adds change of the volume between two heights, mm³, given all edited sectors; below
    /// zero where more is cut than added.
    pub fn change_between(&self, low: f64, high: f64, edited: &[Edited]) -> f64 {
        let change = |edited: &Edited| {
            let step = revolve::polygon_factor(edited.sector.meridians) / f64::from(edited.sector.meridians);
            let plain = |((bottom, top), range): ((f64, f64), MeridianRange)| {
                let (low, high) = (low.max(bottom), high.min(top));
                let part = if low < high { self.section.between(low, high) } else { Region::default() };
                revolve::revolved_volume(&part) * step * f64::from(range.steps)
            };
            let plain: f64 = edited.sector.bands().into_iter().map(plain).sum();
            edited.mesh.volume_between(low, high) - plain
        };
        edited.iter().map(change).sum()
    }
}

/// What `edits`, in their order, make of a solid; adds only between two heights.
pub(super) fn edited<'a>(
    mut solid: Solid,
    edits: impl Iterator<Item = &'a Edit>,
    (low, high): (f64, f64),
    cancel: &Cancel,
) -> Result<Solid, SolidError> {
    let edits: Vec<&Edit> = edits.collect();
    // Cuts that follow each other are one cut, and one boolean with the body.
    for run in edits.chunk_by(|a, b| a.operation == b.operation) {
        let tools: Vec<Solid> = run.iter().map(|edit| edit.solid.clone()).collect();
        let all = Solid::try_union_all(&tools, cancel)?;
        solid = match run[0].operation {
            Operation::Cut => solid.try_difference(&all, cancel)?,
            Operation::Add => solid.try_union(&all.between(low, high), cancel)?,
        };
    }
    solid.check()?;
    Ok(solid)
}
