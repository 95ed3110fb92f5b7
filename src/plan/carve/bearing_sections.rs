//! Half sections of lines at bearings, cuts and adds made, found in the plane of each bearing.
//!
//! The section of a union, a difference or an intersection is that of the sections, so no boolean of solids is made,
//! and what of a tool does not reach a plane need not be made at all.

use std::collections::BTreeMap;

use glam::{DAffine3, DMat3, DVec3};
use rayon::prelude::*;

use super::{
    body::{reaches, spared},
    tools::{CLEAR, Surface},
};
use crate::{
    design::{Design, Detail, Operation, Relief, Tool},
    lines::Lines,
};
use geom::{Cancel, Cancelled, Region, SolidError, Tolerance, TriMesh, revolve};

/// The half-plane of a bearing.
struct HalfPlane {
    /// Its normal.
    across: DVec3,
    /// Lays it flat: outwards to x, up to y.
    flat: DAffine3,
}

impl HalfPlane {
    fn at(bearing: f64) -> Self {
        let out = revolve::at_bearing(1.0, 0.0, bearing);
        let across = out.cross(DVec3::Z);
        let flat = DAffine3::from_mat3(DMat3::from_cols(out, DVec3::Z, across).transpose());
        Self { across, flat }
    }

    /// The section of what a closed mesh bounds.
    fn section(&self, mesh: &TriMesh) -> Region {
        let side = |p: &DVec3| p.dot(self.across) > 0.0;
        if mesh.positions.iter().all(side) || !mesh.positions.iter().any(side) {
            return Region::default();
        }
        mesh.clone().placed(&self.flat).section(0.0).right_half()
    }

    /// Whether the hull of two balls (middle and radius) reaches the plane.
    fn is_reached(&self, (p, r): (DVec3, f64), (q, s): (DVec3, f64)) -> bool {
        let (a, b) = (p.dot(self.across), q.dot(self.across));
        (a - r).min(b - s) <= 0.0 && (a + r).max(b + s) >= 0.0
    }
}

/// Half sections of lines at bearings, cuts and adds included.
pub struct BearingSections {
    /// For each line that was asked for, and those inside it that its cuts must leave whole, one section a bearing.
    by_level: BTreeMap<usize, Vec<Region>>,
}

impl BearingSections {
    /// The sections of the lines `levels` of `lines` (0 being the finished one) at `bearings` (degrees). Curves of cuts
    /// and adds stay within `tolerance`.
    ///
    /// # Errors
    /// When the kernel makes no solid of a tool, or once `cancel` asks to stop.
    pub fn new(
        design: &Design,
        lines: &Lines,
        levels: &[usize],
        bearings: &[f64],
        tolerance: Tolerance,
        cancel: &Cancel,
    ) -> Result<Self, SolidError> {
        let planes: Vec<HalfPlane> = bearings.iter().map(|bearing| HalfPlane::at(*bearing)).collect();
        let mut needed = levels.to_vec();
        let mut next = 0;
        while let Some(&level) = needed.get(next) {
            let inner = design.details.iter().filter(|detail| reaches(detail, level, lines));
            let inner: Vec<usize> = inner.filter_map(|detail| spared(detail, level, lines)).collect();
            needed.extend(inner.into_iter().filter(|inner| !needed.contains(inner)).collect::<Vec<_>>());
            next += 1;
        }
        needed.sort_unstable();
        needed.dedup();
        let work: Vec<(usize, &Detail)> = needed
            .iter()
            .flat_map(|&level| design.details.iter().map(move |detail| (level, detail)))
            .filter(|(level, detail)| reaches(detail, *level, lines))
            .collect();
        let of_tool = |&(level, detail): &(usize, &Detail)| {
            let surface = Surface { lines, depth: lines.all()[level].depth, tolerance, cancel };
            tool_sections(&surface, detail, &planes)
        };
        let tools: Vec<Vec<Region>> = work.par_iter().map(of_tool).collect::<Result<_, _>>()?;
        let mut by_level: BTreeMap<usize, Vec<Region>> = BTreeMap::new();
        // From the inside out, so that what a cut must leave whole is there already.
        for &level in needed.iter().rev() {
            let line = &lines.all()[level];
            let at_plane = |(place, plane): (usize, &HalfPlane)| {
                cancel.check()?;
                let mut section = match &line.solid {
                    Some(mesh) => plane.section(mesh),
                    None => line.section.clone(),
                };
                for ((_, detail), tool) in work.iter().zip(&tools).filter(|((of, _), _)| *of == level) {
                    let tool = &tool[place];
                    if tool.is_empty() {
                        continue;
                    }
                    section = match detail.operation {
                        Operation::Add => section.union(&tool.between(0.0, f64::MAX)),
                        Operation::Cut => match spared(detail, level, lines).and_then(|at| by_level.get(&at))
                        {
                            Some(inner) => section.difference(&tool.difference(&inner[place])),
                            None => section.difference(tool),
                        },
                    };
                }
                Ok(section)
            };
            let sections: Vec<Region> = planes
                .par_iter()
                .enumerate()
                .map(|(place, plane)| at_plane((place, plane)))
                .collect::<Result<_, Cancelled>>()?;
            by_level.insert(level, sections);
        }
        Ok(Self { by_level })
    }

    /// The sections of a line that was asked for, one a bearing.
    pub fn of(&self, level: usize) -> &[Region] {
        self.by_level.get(&level).map_or(&[], Vec::as_slice)
    }
}

/// What of the tool of `detail` lies in each plane.
fn tool_sections(
    surface: &Surface<'_>,
    detail: &Detail,
    planes: &[HalfPlane],
) -> Result<Vec<Region>, SolidError> {
    let solids = match &detail.tool {
        Tool::Relief(relief) => return relief_sections(surface, relief, detail.operation, planes),
        Tool::Bar { stations } => surface
            .bar_parts(stations, detail.operation, |a, b| planes.iter().any(|plane| plane.is_reached(a, b))),
        tool => vec![surface.solid(tool, detail.operation)?],
    };
    surface.cancel.check()?;
    solids.iter().try_for_each(|solid| solid.check())?;
    let meshes: Vec<TriMesh> = solids.iter().map(geom::Solid::to_mesh).collect();
    let union = |plane: &HalfPlane| {
        let contours = meshes.iter().flat_map(|mesh| plane.section(mesh).contours().to_vec());
        Region::new(contours.collect())
    };
    Ok(planes.iter().map(union).collect())
}

/// What of an outline that is pressed in or raised lies in each plane: of the outline carried through the surface, what
/// lies between the two sides of its shell.
fn relief_sections(
    surface: &Surface<'_>,
    relief: &Relief,
    operation: Operation,
    planes: &[HalfPlane],
) -> Result<Vec<Region>, SolidError> {
    let none = || Ok(vec![Region::default(); planes.len()]);
    let ((top, bottom), outline) = surface.relief_shell(relief, operation);
    let Some((frame, through)) = surface.carried(relief, &outline) else { return none() };
    through.check()?;
    let tool = through.to_mesh().placed(&frame);
    let cuts: Vec<Region> = planes.iter().map(|plane| plane.section(&tool)).collect();
    let Some((lo, hi)) = tool.bounds().filter(|_| cuts.iter().any(|cut| !cut.is_empty())) else {
        return none();
    };
    let (lines, fine, cancel) = (surface.lines, surface.tolerance, surface.cancel);
    if lines.is_turned() {
        let inset = |depth| lines.inset(depth, fine, cancel);
        let shell = inset(top)?.section.difference(&inset(bottom)?.section);
        return Ok(cuts.iter().map(|cut| cut.intersection(&shell)).collect());
    }
    let side = |depth| lines.surface_near(depth, (lo - CLEAR, hi + CLEAR), fine, cancel);
    let (outer, inner) = (side(top)?, side(bottom)?);
    let within = |(cut, plane): (&Region, &HalfPlane)| match cut.is_empty() {
        true => Region::default(),
        false => cut.intersection(&plane.section(&outer)).difference(&plane.section(&inner)),
    };
    Ok(cuts.iter().zip(planes).map(within).collect())
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use super::*;
    use crate::{Planner, Source, carve::Body};
    use cakefile::{CakeFile, world::Memory};
    use geom::uncancelled;

    const SHAPES: [&str; 2] = [
        "[shape.turned]\nfrom = [80, 0]\ndraw = [{ to = [90, 100] }, { to = [0, 130], curve = [[90, 125], [40, 130]] }]",
        "[shape.crossed]\nheight_tolerance = 1\nfront = { points = [[-90, 0], [90, 0], [70, 130], [-80, 130]] }\n\
         side = { points = [[-70, 0], [75, 0], [60, 130], [-60, 130]] }",
    ];

    /// Every tool, deep and shallow, some of them through the planes and some beside them.
    const REST: &str = r#"
[[covering]]
material = "rolled icing"
thickness = 3
[[covering]]
material = "ganache"
thickness = 6
[[tier]]
name = "only"
[[tier.layer]]
pan = { round = 260 }
height = 130
[[detail]]
name = "ball"
cut = "sponge"
ball = { centre = [60, 10, 70], diameter = 40 }
[[detail]]
name = "box"
cut = "sponge"
box = { centre = [-70, -20, 30], size = [40, 70, 25], turn = 20 }
[[detail]]
name = "knob"
add = "sponge"
ball = { centre = [7, -80, 80], diameter = 50 }
[[detail]]
name = "bent bar"
add = "coating"
bar = { path = [[-60, -90, 60], [60, -90, 60], [60, -80, 66], [-30, -95, 70]], diameter = 30, smooth = false }
[[detail]]
name = "ring"
cut = "icing"
ring = { centre = [0, 70, 60], axis = [0, 1, 0.2], diameter = 60, thickness = 24 }
[[detail]]
name = "pipe"
cut = "coating"
cylinder = { from = [-100, 5, 90], to = [-20, 5, 110], diameter = 30 }
[[detail]]
name = "door"
cut = "sponge"
outline = { shape = { circle = 60 }, height = 50, bearing = 8, depth = 4, wrap = true }
[[detail]]
name = "mark"
cut = "icing"
outline = { shape = { circle = 40 }, height = 80, bearing = 95, depth = 2 }
[[detail]]
name = "plaque"
add = "sponge"
outline = { shape = { circle = 50 }, height = 60, bearing = 265, depth = 5 }
"#;

    /// The reference is the section of the solid that the kernel makes of all booleans.
    #[test]
    fn sections_are_those_of_the_solid() {
        let bearings = [0.0, 37.0, 90.0, 180.0, 270.0];
        for shape in SHAPES {
            let text = format!("crumbline = 2\nname = \"sections\"\n{shape}\n{REST}");
            let source = Source::new(CakeFile::from_text("test", "", text), Arc::new(Memory::new()));
            let go = Cancel::new();
            let design = Planner::new().understand(&source, &go, |_, _| ()).unwrap().design;
            let lines = Lines::new(&design, design.tool, &go).unwrap();
            let fine = Tolerance::new(0.02).unwrap();
            let found = BearingSections::new(&design, &lines, &[0, 1, 2], &bearings, fine, &go).unwrap();
            for level in 0..3 {
                let body = uncancelled(|cancel| Body::new(&design, &lines, level, fine, cancel));
                body.check_solid().unwrap();
                let whole = body.solid(body.meridians(fine)).to_mesh();
                let plain = lines.all()[level].solid.as_ref();
                for (bearing, ours) in bearings.iter().zip(found.of(level)) {
                    let plane = HalfPlane::at(*bearing);
                    let theirs = plane.section(&whole);
                    let off = ours.difference(&theirs).area() + theirs.difference(ours).area();
                    assert!(off < 4.0, "{shape} level {level} at {bearing}: {off} mm² of {}", ours.area());
                    let uncut = plain.map_or(lines.all()[level].section.clone(), |mesh| plane.section(mesh));
                    let made = ours.difference(&uncut).area() + uncut.difference(ours).area();
                    // Beside the planes of the four sides there need be nothing, and the ring is in the icing only.
                    let missed = *bearing == 37.0 || (*bearing == 180.0 && level > 0);
                    assert!(made > 40.0 || missed, "{shape} level {level} at {bearing}: {made}");
                }
            }
        }
    }
}
