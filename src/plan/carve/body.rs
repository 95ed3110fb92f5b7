//! A line as a solid: its section turned about the axis, then the cuts and adds that reach it.

use std::{
    collections::{BTreeMap, BTreeSet},
    sync::{Arc, OnceLock},
};

use glam::DVec2;
use rayon::prelude::*;

use crate::{
    design::{Depth, Design, Detail, Operation, Tool},
    lines::{Inset, Lines},
};
use geom::{
    BearingRange, Cancel, Cancelled, LayeredMesh, MeridianRange, NotSolid, Region, Sector, Solid, SolidError,
    Tolerance, TriMesh, revolve,
    stitching::{Patch, stitched},
    uncancelled,
    wedge::wedge,
};

use super::{sectors::sectors, tools::Surface, window::Window};

/// The solid inside one line.
#[derive(Debug, Clone)]
pub struct Body {
    /// Half section before any cut or add; for a shape that is not turned, that of the narrowest turned solid
    /// round it.
    pub section: Region,
    /// The whole surface, cuts and adds made, if the shape is not turned.
    pub free: Option<Arc<TriMesh>>,
    /// Cuts and adds in order, those that miss the surface left out.
    pub edits: Vec<Edit>,
    /// Radius for which meridians are counted, mm: that of the widest part of the cake, so that all its meshes
    /// meet corner to corner.
    pub widest: f64,
    /// Why a solid that it is made of is none.
    fault: Option<NotSolid>,
    /// The whole surface by height, once something asks for it.
    layered: Arc<OnceLock<LayeredMesh>>,
}

/// A cut or an add as it reaches one line.
#[derive(Debug, Clone)]
pub struct Edit {
    /// Place in the design's list of details.
    pub detail: usize,
    /// Cut or add.
    pub operation: Operation,
    /// The solid, grown or shrunk by the coverings.
    pub solid: Solid,
    /// Lowest and highest point, mm.
    pub heights: (f64, f64),
    /// Bearings that it reaches.
    pub bearings: BearingRange,
}

impl Edit {
    /// An edit by `solid`; `None` if that is empty.
    pub fn new(detail: usize, operation: Operation, solid: Solid) -> Option<Self> {
        let (lo, hi) = solid.bounds()?;
        let bearings = BearingRange::around(&solid.to_mesh().positions);
        Some(Self { detail, operation, solid, heights: (lo.z, hi.z), bearings })
    }
}

/// The line whose cuts and adds a body has, and how far inside the finished line its surface lies, mm.
#[derive(Clone, Copy)]
struct Place {
    level: usize,
    depth: f64,
}

/// A sector of a body with its cuts and adds made.
#[derive(Debug, Clone)]
pub struct Edited {
    /// The sector.
    pub sector: Sector,
    /// The surface of the solid in it, closed: the faces that close the sector are among it.
    pub mesh: TriMesh,
    /// Why there is no such solid.
    fault: Option<NotSolid>,
}

impl Edited {
    /// Whether the kernel took every solid that it is made of.
    ///
    /// # Errors
    /// The first that it did not take: there is no surface then.
    pub fn check_solid(&self) -> Result<(), NotSolid> {
        self.fault.clone().map_or(Ok(()), Err)
    }
}

/// `made`, or nothing and why the kernel made no solid of it.
///
/// # Errors
/// When it was stopped.
fn or_fault<T: Default>(made: Result<T, SolidError>) -> Result<(T, Option<NotSolid>), Cancelled> {
    match made {
        Ok(made) => Ok((made, None)),
        Err(SolidError::NotSolid(fault)) => Ok((T::default(), Some(fault))),
        Err(SolidError::Cancelled(stopped)) => Err(stopped),
    }
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
pub(super) fn spared(detail: &Detail, level: usize, lines: &Lines) -> Option<usize> {
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

/// `section` with a point put in wherever an edge enters or leaves a sector.
fn split<'a>(section: &Region, sectors: impl Iterator<Item = &'a Sector>) -> Region {
    let mut heights: Vec<f64> = sectors.flat_map(Sector::changes).collect();
    heights.sort_by(f64::total_cmp);
    heights.dedup();
    section.split_at(&heights)
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
        let edit = |(index, detail): (usize, &Detail)| {
            let mut solid = surface.solid(&detail.tool, detail.operation)?;
            if let Some(inner) = spared(detail, level, lines).and_then(|level| inner.get(&level)) {
                inner.check_solid()?;
                solid = inner.taken_from(&solid, tolerance);
            }
            solid.check()?;
            Ok(Edit::new(index, detail.operation, solid))
        };
        let edits = design
            .details
            .iter()
            .enumerate()
            .collect::<Vec<_>>()
            .into_par_iter()
            .filter(|(_, detail)| reaches(detail, level, lines))
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

    /// The whole surface with its triangles by height, if the shape is not turned.
    pub fn layered(&self) -> Option<&LayeredMesh> {
        let mesh = self.free.as_ref()?;
        Some(self.layered.get_or_init(|| LayeredMesh::new(mesh.clone())))
    }

    /// Whether the kernel took every solid that it is made of.
    ///
    /// # Errors
    /// The first that it did not take: a cut or an add is missing then, or the whole surface.
    pub fn check_solid(&self) -> Result<(), NotSolid> {
        self.fault.clone().map_or(Ok(()), Err)
    }

    /// The same body without the cuts and adds of its list; those that a shape that is not turned has in its surface stay.
    #[must_use]
    pub fn without_edits(self) -> Self {
        Self { edits: Vec::new(), ..self }
    }

    /// What of `solid` lies outside this body.
    fn taken_from(&self, solid: &Solid, tolerance: Tolerance) -> Solid {
        let Some(window) = Edit::new(0, Operation::Cut, solid.clone()).map(|edit| Window::of(&edit)) else {
            return solid.clone();
        };
        solid.difference(&self.solid_in(&window.between(self.heights()), self.meridians(tolerance)))
    }

    /// Cuts and adds that reach between two heights.
    pub fn edits_between(&self, low: f64, high: f64) -> impl Iterator<Item = &Edit> {
        self.edits.iter().filter(move |edit| edit.heights.0 < high && low < edit.heights.1)
    }

    /// Whether it is other than its section turned between two heights: a cut or an add reaches there, or the
    /// shape is not turned.
    pub fn is_edited_between(&self, low: f64, high: f64) -> bool {
        self.free.is_some() || self.edits_between(low, high).next().is_some()
    }

    /// [`Body::is_edited_between`] right at a height.
    pub fn is_edited_at(&self, z: f64) -> bool {
        self.is_edited_between(z - ABOVE, z + ABOVE)
    }

    /// Whether it is its section turned, all of it.
    pub fn is_turned(&self) -> bool {
        self.free.is_none() && self.edits.is_empty()
    }

    /// Whether nothing but cuts reaches between two heights.
    pub fn is_only_cut_between(&self, low: f64, high: f64) -> bool {
        self.edits_between(low, high).all(|edit| edit.operation == Operation::Cut)
    }

    /// Lowest and highest point, mm, adds included.
    pub fn heights(&self) -> (f64, f64) {
        if let Some((lo, hi)) = self.free.as_ref().and_then(|mesh| mesh.bounds()) {
            return (lo.z, hi.z);
        }
        let top = self.section.bounds().map_or(0.0, |(_, hi)| hi.y);
        let adds = self.edits.iter().filter(|edit| edit.operation == Operation::Add);
        (0.0, adds.map(|edit| edit.heights.1).fold(top, f64::max))
    }

    /// How many meridians keep its round within `tolerance`.
    pub fn meridians(&self, tolerance: Tolerance) -> u32 {
        tolerance.segments(self.widest)
    }

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
    fn stitched(&self, edited: &[Edited]) -> Option<TriMesh> {
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

    /// The section at height `z`, seen from above; rounds within `tolerance`.
    ///
    /// At a height where a level face lies, what stands above it.
    pub fn outline_at(&self, z: f64, tolerance: Tolerance) -> Region {
        let z = looked_up(z, self.heights());
        if let Some(mesh) = self.layered() {
            return mesh.section(z);
        }
        if self.is_edited_at(z) {
            return self.solid_between(z - 1.0, z + 1.0, self.meridians(tolerance)).slice(z);
        }
        rings(&self.section.row(z), tolerance)
    }

    /// Everything between two heights, seen from above; rounds within `tolerance`.
    pub fn shadow_between(&self, low: f64, high: f64, tolerance: Tolerance) -> Region {
        if self.is_edited_between(low, high) {
            return self.solid_between(low, high, self.meridians(tolerance)).projection();
        }
        let part = self.section.between(low, high);
        let mut radii: Vec<(f64, f64)> =
            part.pieces().iter().filter_map(Region::bounds).map(|(lo, hi)| (lo.x, hi.x)).collect();
        radii.sort_by(|a, b| a.0.total_cmp(&b.0));
        rings(&radii, tolerance)
    }

    /// The whole solid with `meridians` round it.
    pub fn solid(&self, meridians: u32) -> Solid {
        if let Some(mesh) = &self.free {
            return Solid::of_closed(mesh);
        }
        let (low, high) = self.heights();
        self.solid_between(low, high, meridians)
    }

    /// Volume between two heights, mm³: exact in the half-plane, with what cuts and adds change measured
    /// on the edited sectors.
    pub fn volume_between(&self, low: f64, high: f64, edited: &[Edited]) -> f64 {
        if let Some(mesh) = self.layered() {
            return mesh.volume_between(low, high);
        }
        revolve::revolved_volume(&self.section.between(low, high)) + self.change_between(low, high, edited)
    }

    /// Volume, mm³.
    pub fn volume(&self, tolerance: Tolerance) -> f64 {
        let (low, high) = self.heights();
        let edited = uncancelled(|cancel| self.edited(self.meridians(tolerance), cancel));
        self.volume_between(low, high, &edited)
    }
}

/// Outlines are looked up this far above a height, so that the foot and seams are found too, mm.
const ABOVE: f64 = 1e-6;

/// Where the outline at height `z` of what lies between two heights is looked up, mm.
pub(super) fn looked_up(z: f64, (low, high): (f64, f64)) -> f64 {
    z.clamp(low, high - 2.0 * ABOVE) + ABOVE
}

/// What intervals of the radius sweep out about the axis, seen from above.
pub(super) fn rings(radii: &[(f64, f64)], tolerance: Tolerance) -> Region {
    let disc = |radius: f64| {
        if radius > 0.0 { Region::disc(DVec2::ZERO, radius, tolerance) } else { Region::default() }
    };
    let ring = |&(inner, outer): &(f64, f64)| disc(outer).difference(&disc(inner));
    radii.iter().map(ring).fold(Region::default(), |all, ring| all.union(&ring))
}

/// What `edits`, in their order, make of a solid; adds only between two heights.
fn edited<'a>(
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::carve::{Bulk, Carving};
    use crate::stack::Stack;
    use crate::{Planner, Source};
    use cakefile::{CakeFile, world::Memory};

    const CUT_ALL_ROUND: &str = r#"
crumbline = 1
name = "cut all round"
[shape.turned]
from = [60, 0]
draw = [{ to = [80, 90], through = [50, 40] }, { to = [0, 120], curve = [[80, 110], [40, 120]] }]
[[covering]]
material = "rolled icing"
thickness = 3
[[covering]]
material = "ganache"
thickness = 6
[[tier]]
name = "only"
[[tier.layer]]
pan = { round = 200 }
height = 120
[[detail]]
name = "ball"
cut = "sponge"
ball = { centre = [60, 20, 70], diameter = 40 }
[[detail]]
name = "box"
cut = "sponge"
box = { centre = [-50, -40, 30], size = [40, 30, 25], turn = 20 }
[[detail]]
name = "knob"
add = "sponge"
ball = { centre = [0, -72, 80], diameter = 44 }
[[detail]]
name = "door"
cut = "sponge"
outline = { shape = { circle = 30 }, height = 30, bearing = 160, depth = 4, wrap = true }
[[detail]]
name = "mark"
cut = "icing"
outline = { shape = { circle = 20 }, height = 100, bearing = 250, depth = 2 }
"#;

    /// Stitched sectors are what a boolean of the whole body makes; the kernel is the reference.
    #[test]
    fn stitched_sectors_are_what_a_boolean_of_the_whole_makes() {
        let file = CakeFile::from_text("test", "", CUT_ALL_ROUND);
        let source = Source::new(file, Arc::new(Memory::new()));
        let design = Planner::new().understand(&source, &Cancel::new(), |_, _| ()).unwrap().design;
        let lines = Lines::new(&design, design.tool, &Cancel::new()).unwrap();
        for level in 0..3 {
            for tolerance in [design.preview, design.tool] {
                let body = uncancelled(|cancel| Body::new(&design, &lines, level, tolerance, cancel));
                let n = body.meridians(tolerance);
                let edited = uncancelled(|cancel| body.edited(n, cancel));
                assert!(edited.len() > 2, "level {level}: {} sectors", edited.len());
                let joined = body.stitched(&edited).unwrap();
                joined.check().unwrap();
                let (ours, whole) = (joined.mass_properties(), body.solid(n).to_mesh().mass_properties());
                assert!((ours.volume / whole.volume - 1.0).abs() < 1e-9, "level {level}: {ours:?} {whole:?}");
                assert!((ours.area / whole.area - 1.0).abs() < 1e-7, "level {level}: {ours:?} {whole:?}");
                assert!(ours.centroid.distance(whole.centroid) < 1e-6, "level {level}: {ours:?} {whole:?}");
            }
        }
    }

    /// An edit whose solid the kernel refuses is told, not left out.
    #[test]
    fn a_refused_solid_is_told() {
        let file = CakeFile::from_text("test", "", CUT_ALL_ROUND);
        let source = Source::new(file, Arc::new(Memory::new()));
        let design = Planner::new().understand(&source, &Cancel::new(), |_, _| ()).unwrap().design;
        let lines = Lines::new(&design, design.tool, &Cancel::new()).unwrap();
        let mut body = uncancelled(|cancel| Body::new(&design, &lines, 2, design.preview, cancel));
        let n = body.meridians(design.preview);
        body.check_solid().unwrap();
        let mut open = body.edits[1].solid.to_mesh();
        open.triangles.pop();
        body.edits[1].solid = Solid::of_closed(&open);
        let edited = uncancelled(|cancel| body.edited(n, cancel));
        let fault = edited.iter().find_map(|edited| edited.check_solid().err()).unwrap();
        assert!(fault.defect.is_some(), "{fault:?}");
    }

    #[test]
    fn what_is_asked_to_stop_stops() {
        let file = CakeFile::from_text("test", "", CUT_ALL_ROUND);
        let source = Source::new(file, Arc::new(Memory::new()));
        let design = Planner::new().understand(&source, &Cancel::new(), |_, _| ()).unwrap().design;
        let (go, stop) = (Cancel::new(), Cancel::new());
        stop.cancel();
        let fine = design.tool;
        let lines = Lines::new(&design, fine, &go).unwrap();
        assert_eq!(Lines::new(&design, fine, &stop).unwrap_err(), Cancelled.into());
        let body = Body::new(&design, &lines, 2, fine, &go).unwrap();
        assert_eq!(Body::new(&design, &lines, 2, fine, &stop).unwrap_err(), Cancelled);
        assert_eq!(body.edited(body.meridians(fine), &stop).unwrap_err(), Cancelled);
        assert_eq!(Bulk::new(&design, &lines, fine, &stop).unwrap_err(), Cancelled.into());
        let stack = Stack::new(&design);
        let carving = Carving::new(&design, &lines, &stack, fine, &go).unwrap();
        assert_eq!(Carving::new(&design, &lines, &stack, fine, &stop).unwrap_err(), Cancelled.into());
        assert_eq!(carving.anew(&stack, fine, &stop).unwrap_err(), Cancelled.into());
    }
}
