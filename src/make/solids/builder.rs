//! Entries of the catalogue → meshes: what several of them need is made once, and nothing that none needs.

use glam::dvec2;
use rayon::prelude::*;

use formats::model::{Part, PartKind};
use geom::{NotSolid, Region, Solid, SolidError, Tolerance, TriMesh, revolve, uncancelled};
use plan::{
    Plan,
    carve::{Body, Edited, Sections, Surface, add_solids},
    design::{Board, Depth, Operation, Tool},
    stack::Slab,
};

use super::{
    Entry, PartError, ROUND_OFF, board, carved::CarvedSlab, depths::DepthMesh, part, surface_of,
    zones::ZoneSolids,
};

/// Thickness of the coloured bottom of a detail, mm.
const INLAY: f64 = 0.4;

/// Makes solids of a plan.
pub(super) struct Builder<'a> {
    plan: &'a Plan,
    tolerance: Tolerance,
    /// Whether carved layers get their shave depths.
    shave_depths: bool,
    /// For each line, finished first, the solid inside it, if that is needed.
    bodies: Vec<Option<Body>>,
    /// Their surfaces, where those are needed, or why there is none.
    surfaces: Vec<Option<Result<TriMesh, NotSolid>>>,
    /// For each slab its half sections, if they are needed and suffice.
    sections: Vec<Option<Sections>>,
    /// For each detail what it puts on the icing, if that is needed.
    adds: Vec<Option<Solid>>,
    /// The carved cake between every two heights at which a slab begins or ends, bottom up, if it is needed.
    slices: Vec<TriMesh>,
}

impl<'a> Builder<'a> {
    /// Makes what `entries` have in common. All at once: an entry that makes it when it needs it would hold up all
    /// others.
    pub fn new(plan: &'a Plan, tolerance: Tolerance, entries: &[Entry]) -> Self {
        let mut builder = Self::bare(plan, tolerance);
        let needed = |level: usize| entries.iter().any(|entry| builder.lines_of(entry).contains(&level));
        let levels = 0..plan.lines.all().len();
        let body = |level: usize| needed(level).then(|| builder.made_body(level));
        builder.bodies = levels.clone().into_par_iter().map(body).collect();
        let carved = |slab: usize| entries.iter().any(|entry| of_carved_slab(entry) == Some(slab));
        let sections = |slab: usize| carved(slab).then(|| builder.made_sections(slab)).flatten();
        builder.sections = (0..plan.stack.slabs.len()).into_par_iter().map(sections).collect();
        let drawn = |level: usize| entries.iter().any(|entry| builder.surfaces_of(entry).contains(&level));
        let surface = |level: usize| drawn(level).then(|| builder.made_surface(level));
        builder.surfaces = levels.into_par_iter().map(surface).collect();
        if entries.iter().any(|entry| entry.kind == PartKind::Add) && builder.body(0).check_solid().is_ok() {
            let Plan { design, lines, .. } = plan;
            builder.adds =
                uncancelled(|cancel| add_solids(design, lines, builder.body(0), tolerance, cancel));
        }
        if entries.iter().any(|entry| builder.is_cut_from_surface(entry)) {
            let cut = |mesh: &TriMesh| mesh.cut_at(&builder.seams());
            builder.slices = builder.surface(builder.carved_line()).map(cut).unwrap_or_default();
        }
        builder
    }

    /// Makes what needs no line.
    pub fn bare(plan: &'a Plan, tolerance: Tolerance) -> Self {
        Self {
            plan,
            tolerance,
            shave_depths: false,
            bodies: Vec::new(),
            surfaces: Vec::new(),
            sections: Vec::new(),
            adds: Vec::new(),
            slices: Vec::new(),
        }
    }

    /// Gives carved layers their shave depths.
    pub fn with_shave_depths(self) -> Self {
        Self { shave_depths: true, ..self }
    }

    /// The solids of `entries` that are not empty.
    pub fn build_all(&self, entries: &[Entry]) -> Result<Vec<Part>, PartError> {
        let of_one_slab =
            |a: &Entry, b: &Entry| of_carved_slab(a).is_some_and(|slab| of_carved_slab(b) == Some(slab));
        let groups: Vec<&[Entry]> = entries.chunk_by(of_one_slab).collect();
        let built: Vec<Vec<Part>> =
            groups.into_par_iter().map(|group| self.build_group(group)).collect::<Result<_, _>>()?;
        Ok(built.into_iter().flatten().filter(|part| part.mesh.volume() > ROUND_OFF).collect())
    }

    /// The solid of one of the entries that this was made for.
    pub fn build(&self, entry: &Entry) -> Result<Part, PartError> {
        let mut parts = self.build_group(std::slice::from_ref(entry))?;
        Ok(parts.swap_remove(0))
    }

    /// Either one solid or several that are carved from one slab.
    fn build_group(&self, group: &[Entry]) -> Result<Vec<Part>, PartError> {
        let slab = group.first().and_then(of_carved_slab).map(|slab| self.carved_slab(slab));
        let build = |entry: &Entry| {
            let lines = self.lines_of(entry);
            let sound = lines.into_iter().try_for_each(|level| self.body(level).check_solid());
            let made = sound.map_err(SolidError::from).and_then(|()| match &slab {
                Some(Ok(slab)) => self.carved_mesh(slab, entry.kind),
                Some(Err(refused)) => Err(refused.clone()),
                None => self.mesh(entry).map(|mesh| DepthMesh::plain(mesh.tidied())),
            });
            let made = made.map_err(|source| PartError { part: entry.name.clone(), source })?;
            Ok(made.given_to(part(entry, TriMesh::default())))
        };
        group.iter().map(build).collect()
    }

    fn mesh(&self, entry: &Entry) -> Result<TriMesh, SolidError> {
        let index = entry.index;
        Ok(match entry.kind {
            PartKind::RawLayer | PartKind::RawFilling | PartKind::Board => {
                return self.raw_mesh(&self.plan.stack.slabs[index]);
            }
            PartKind::Finished | PartKind::Covering if entry.part.is_some() => return self.zone_of(entry),
            PartKind::Line | PartKind::Finished => self.surface(index)?.clone(),
            PartKind::Covering => return self.covering(index),
            PartKind::PresentationBoard => {
                self.board().map_or_else(TriMesh::default, |it| board::bare(it, self.tolerance))
            }
            PartKind::BoardIcing => {
                self.board().map_or_else(TriMesh::default, |it| board::icing(it, self.tolerance))
            }
            PartKind::Ribbon => {
                return self
                    .board()
                    .map_or_else(|| Ok(TriMesh::default()), |it| board::ribbon(it, self.tolerance));
            }
            PartKind::Dowel => self.dowel(index),
            PartKind::Add => return self.add(index),
            PartKind::Inlay => return self.inlay(index),
            // A mark comes from the support check, and what is carved from its slab: neither from here.
            PartKind::Mark
            | PartKind::Kept
            | PartKind::Offcut
            | PartKind::Shortfall
            | PartKind::Filling
            | PartKind::Fill => TriMesh::default(),
        })
    }

    fn carved_slab(&self, index: usize) -> Result<CarvedSlab<'_>, SolidError> {
        let slab = &self.plan.stack.slabs[index];
        match &self.sections[index] {
            Some(sections) => Ok(CarvedSlab::Turned(sections)),
            None => {
                let (raw, slice) = (self.raw_mesh(slab)?, self.slice(slab)?);
                Ok(CarvedSlab::cut(slab, raw, slice, 2.0 * self.tolerance.chord_mm()))
            }
        }
    }

    fn carved_mesh(&self, slab: &CarvedSlab<'_>, kind: PartKind) -> Result<DepthMesh, SolidError> {
        let n = self.meridians();
        let with_depths = self.shave_depths && kind != PartKind::Offcut;
        match slab {
            CarvedSlab::Turned(sections) => {
                let section = match kind {
                    PartKind::Offcut => &sections.offcut,
                    PartKind::Shortfall | PartKind::Fill => &sections.shortfall,
                    _ => &sections.kept,
                };
                Ok(match with_depths {
                    true => DepthMesh::turned(section, n, &self.plan.stack),
                    false => DepthMesh::plain(revolve::revolve(section, n)),
                })
            }
            CarvedSlab::Cut(cut) => {
                let mesh = match kind {
                    PartKind::Offcut => cut.offcut()?,
                    PartKind::Shortfall | PartKind::Fill => cut.shortfall()?,
                    _ => cut.kept()?,
                };
                let mesh = mesh.tidied();
                Ok(match with_depths {
                    true => DepthMesh::new(&mesh, &self.plan.stack),
                    false => DepthMesh::plain(mesh),
                })
            }
        }
    }

    /// The lines whose solids an entry is made from.
    fn lines_of(&self, entry: &Entry) -> Vec<usize> {
        match entry.kind {
            PartKind::Line => vec![entry.index],
            PartKind::Finished | PartKind::Add => vec![0],
            PartKind::Covering => vec![entry.index, entry.index + 1],
            _ if of_carved_slab(entry).is_some() => vec![self.carved_line()],
            _ => Vec::new(),
        }
    }

    /// The lines whose surfaces an entry is made from.
    fn surfaces_of(&self, entry: &Entry) -> Vec<usize> {
        match entry.kind {
            PartKind::Line | PartKind::Finished => vec![entry.index],
            PartKind::Covering if !self.is_turned_shell(entry.index) => vec![entry.index, entry.index + 1],
            _ if self.is_cut_from_surface(entry) => vec![self.carved_line()],
            _ => Vec::new(),
        }
    }

    /// Whether an entry is made of the carved surface between the heights of a slab.
    fn is_cut_from_surface(&self, entry: &Entry) -> bool {
        of_carved_slab(entry).is_some_and(|slab| self.sections[slab].is_none())
    }

    fn carved_line(&self) -> usize {
        self.plan.lines.all().len() - 1
    }

    fn body(&self, level: usize) -> &Body {
        self.bodies[level].as_ref().expect("made for the entries that need it")
    }

    fn surface(&self, level: usize) -> Result<&TriMesh, NotSolid> {
        let surface = self.surfaces[level].as_ref().expect("made for the entries that need it");
        surface.as_ref().map_err(Clone::clone)
    }

    /// The solid inside line `level`.
    fn made_body(&self, level: usize) -> Body {
        let Plan { design, lines, .. } = self.plan;
        match self.plan.body(level, self.tolerance) {
            Some((body, _)) => body.clone(),
            None => uncancelled(|cancel| Body::new(design, lines, level, self.tolerance, cancel)),
        }
    }

    fn made_surface(&self, level: usize) -> Result<TriMesh, NotSolid> {
        let body = self.body(level);
        body.check_solid()?;
        let meridians = body.meridians(self.tolerance);
        let surface = |edited: &[Edited]| {
            edited.iter().try_for_each(Edited::check_solid)?;
            Ok(body.surface(edited, meridians))
        };
        match self.plan.body(level, self.tolerance) {
            Some((_, edited)) => surface(edited),
            None => surface(&uncancelled(|cancel| body.edited(meridians, cancel))),
        }
    }

    /// Half sections of a slab, if no solids are needed for it.
    fn made_sections(&self, slab: usize) -> Option<Sections> {
        if self.plan.carving.slabs[slab].general {
            return None;
        }
        Sections::new(&self.plan.stack.slabs[slab], &self.body(self.carved_line()).section, self.tolerance)
    }

    /// Heights at which a slab begins or ends, rising.
    fn seams(&self) -> Vec<f64> {
        let mut seams: Vec<f64> = self.plan.stack.slabs.iter().flat_map(|s| [s.bottom, s.top]).collect();
        seams.sort_by(f64::total_cmp);
        seams.dedup();
        seams
    }

    /// The carved cake at the heights of `slab`.
    fn slice(&self, slab: &Slab) -> Result<TriMesh, NotSolid> {
        let seams = self.seams();
        let above = seams.partition_point(|z| *z <= slab.bottom);
        if seams[above] == slab.top {
            self.surface(self.carved_line())?;
            return Ok(self.slices[above].clone());
        }
        // Another slab begins or ends inside this one.
        Ok(self.surface(self.carved_line())?.cut_at(&[slab.bottom, slab.top]).swap_remove(1))
    }

    /// Whether line `level` lies clear of the next one in, but for the foot: cuts in the sponge widen inwards,
    /// and one that is pressed less deep than its coat stays in it.
    fn is_clear_of_next(&self, level: usize) -> bool {
        self.plan.design.details.iter().all(|detail| match (detail.depth, detail.operation, &detail.tool) {
            (Depth::Sponge, ..) => true,
            (_, Operation::Cut, Tool::Relief(relief)) => {
                relief.depth < self.plan.design.coverings[level].thickness
            }
            (depth, operation, _) => depth == Depth::Icing && operation == Operation::Add,
        })
    }

    /// Meridians of everything on the axis: one number for all, so that meshes meet corner to corner.
    pub fn meridians(&self) -> u32 {
        self.tolerance.segments(self.plan.design.widest())
    }

    fn board(&self) -> Option<&'a Board> {
        self.plan.design.board.as_ref()
    }

    /// A slab before carving; a faulty solid where the kernel refuses it.
    pub fn raw_solid(&self, slab: &Slab) -> Solid {
        self.raw_mesh(slab).map_or_else(Solid::faulty, |mesh| Solid::of_closed(&mesh))
    }

    /// A slab before carving.
    pub fn raw_mesh(&self, slab: &Slab) -> Result<TriMesh, SolidError> {
        match slab.section(self.tolerance) {
            Some(section) if slab.is_coaxial() => Ok(revolve::revolve(&section, self.meridians())),
            _ => surface_of(&slab.solid(self.tolerance)),
        }
    }

    fn dowel(&self, index: usize) -> TriMesh {
        let dowel = &self.plan.stack.dowels[index];
        let section = Region::rectangle(dvec2(0.0, dowel.bottom), dvec2(dowel.diameter / 2.0, dowel.top));
        let n = self.tolerance.segments(dowel.diameter / 2.0);
        revolve::revolve(&section, n).translated(dowel.at.extend(0.0))
    }

    /// Whether the shell inside line `index` is its section turned.
    fn is_turned_shell(&self, index: usize) -> bool {
        self.body(index).is_turned() && self.body(index + 1).is_turned()
    }

    /// The shell between line `index` and the next one in.
    fn covering(&self, index: usize) -> Result<TriMesh, SolidError> {
        if self.is_turned_shell(index) {
            let section = self.body(index).section.difference(&self.body(index + 1).section);
            return Ok(revolve::revolve(&section, self.meridians()));
        }
        let (whole, next) = (self.surface(index)?, self.surface(index + 1)?);
        if self.is_clear_of_next(index) {
            return Ok(whole.hollowed(next, &[0.0]));
        }
        surface_of(&Solid::from_mesh(whole)?.difference(&Solid::from_mesh(next)?))
    }

    /// A part of a covering, or of the finished cake.
    fn zone_of(&self, entry: &Entry) -> Result<TriMesh, SolidError> {
        let index = entry.index;
        let is_covering = entry.kind == PartKind::Covering;
        let is_turned = if is_covering { self.is_turned_shell(index) } else { self.body(index).is_turned() };
        let (plan, meridians, tolerance) = (self.plan, self.meridians(), self.tolerance);
        let zones = ZoneSolids { plan, index, meridians, tolerance };
        let owner = entry.part.flatten();
        if is_turned && !zones.has_outlines() {
            let section = &self.body(index).section;
            return Ok(if is_covering {
                zones.turned(&section.difference(&self.body(index + 1).section), owner)
            } else {
                zones.turned(section, owner)
            });
        }
        let mesh = if is_covering { self.covering(index)? } else { self.surface(index)?.clone() };
        zones.cut_out(&mesh, owner)
    }

    fn add(&self, index: usize) -> Result<TriMesh, SolidError> {
        match self.adds.get(index) {
            Some(Some(add)) => surface_of(add),
            _ => Ok(TriMesh::default()),
        }
    }

    /// The coloured bottom of a detail that is pressed in.
    fn inlay(&self, index: usize) -> Result<TriMesh, SolidError> {
        let Tool::Relief(relief) = &self.plan.design.details[index].tool else {
            return Ok(TriMesh::default());
        };
        let (lines, tolerance) = (&self.plan.lines, self.tolerance);
        surface_of(&uncancelled(|cancel| {
            Surface { lines, depth: 0.0, tolerance, cancel }.floor(relief, INLAY)
        }))
    }
}

/// The slab that an entry is carved from.
fn of_carved_slab(entry: &Entry) -> Option<usize> {
    let carved = matches!(
        entry.kind,
        PartKind::Kept | PartKind::Offcut | PartKind::Shortfall | PartKind::Filling | PartKind::Fill
    );
    carved.then_some(entry.index)
}
