//! A line as a solid: its section turned about the axis, then the cuts and adds that reach it.

mod at_depth;
mod solids;

use std::sync::{Arc, OnceLock};

use glam::DVec2;

pub use at_depth::reaches;
pub(super) use at_depth::spared;

use super::window::Window;
use crate::design::Operation;
use geom::{
    BearingRange, Cancelled, LayeredMesh, NotSolid, Region, Sector, Solid, SolidError, Tolerance, TriMesh,
    revolve, uncancelled,
};

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

impl Body {
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::carve::{Bulk, Carving};
    use crate::stack::Stack;
    use crate::{Planner, Source, lines::Lines};
    use cakefile::{CakeFile, world::Memory};
    use geom::Cancel;

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
