//! Plan → every solid of the cake as a mesh: raw stack, carved layers, offcuts, coverings, adds.
//!
//! What shares the axis is revolved from its half section; only the rest goes through booleans. The
//! carved layers are meshed finely enough to carry the shave depth at their vertices.

mod bearing;
mod between;

use std::sync::{Arc, OnceLock};

use glam::{DVec2, DVec3};
use rayon::prelude::*;

use formats::model::{Model, Part, PartKind, Rgb};
use geom::{Region, Solid, Tolerance, TriMesh, revolve, uncancelled};
use plan::{
    Plan,
    carve::{Body, Sections, SlabCarving, Surface, add_solid},
    design::{Board, Depth, Operation, Tool, Trim},
    stack::{Dowel, Slab, SlabKind},
};

/// How far the shave depth half way along an edge may be from the mean of its ends, mm.
const DEPTH_ERROR: f64 = 0.2;
/// Edges that are always and that are never split for the sake of the shave depth: longer, and shorter, than
/// so many mm.
const DEPTH_EDGES: (f64, f64) = (16.0, 4.0);

/// What is smaller is round-off of a boolean and no part, mm³.
const CRUMB: f64 = 1e-5;

/// Thickness of the coloured bottom of a detail, mm.
const INLAY: f64 = 0.4;

/// Every solid of `plan`, curves within `tolerance`.
pub fn model(plan: &Plan, tolerance: Tolerance) -> Model {
    // All at once: whoever needs a surface later would wait for it alone.
    let (bodies, wholes) =
        (0..plan.lines.all().len()).into_par_iter().map(|level| made(plan, level, tolerance)).unzip();
    let maker = Maker { plan, tolerance, bodies, wholes, slices: OnceLock::new() };
    let trims = || plan.design.trims.par_iter().enumerate();
    let slabs =
        || (0..plan.stack.slabs.len()).into_par_iter().map(|i| maker.slab_parts(i)).collect::<Vec<_>>();
    let coats = || {
        (0..plan.design.coverings.len()).into_par_iter().rev().map(|i| maker.covering(i)).collect::<Vec<_>>()
    };
    let adds = || trims().filter_map(|(i, trim)| maker.add(i, trim)).collect::<Vec<_>>();
    let inlays = || trims().filter_map(|(i, trim)| maker.inlay(i, trim)).collect::<Vec<_>>();
    let details = || rayon::join(adds, inlays);
    let (slabs, (coats, (adds, inlays))) = rayon::join(slabs, || rayon::join(coats, details));
    let dowels = plan.stack.dowels.iter().enumerate().map(|(i, dowel)| maker.dowel(i, dowel));
    let mut parts: Vec<Part> = maker.presentation_board().into_iter().collect();
    parts.extend(slabs.into_iter().flatten().chain(dowels).chain(coats));
    parts.push(maker.finished());
    parts.extend(adds.into_iter().chain(inlays));
    parts.retain(|part| part.mesh.volume() > CRUMB);
    Model { name: plan.design.name.clone(), unit: plan.design.unit, parts, ..Model::default() }
}

/// [`model`], what lies between its stages, and what carries what.
pub fn model_in_stages(plan: &Plan, tolerance: Tolerance) -> Model {
    let between = between::PlannedBetween::new(plan.clone(), tolerance);
    let (bearing, marks) = bearing::bearing(plan);
    let mut model = Model { between: Some(Arc::new(between)), bearing, ..model(plan, tolerance) };
    model.parts.extend(marks);
    model
}

/// Every line of `plan` as a solid, named as the line is; one that cuts leave nothing of is left out.
pub fn lines_model(plan: &Plan, tolerance: Tolerance) -> Model {
    let parts = plan.lines.all().par_iter().enumerate().map(|(level, line)| {
        let (_, mesh) = made(plan, level, tolerance);
        let (material, colour) = skin(plan, level);
        part(&line.name, PartKind::Line, level, &material, colour, mesh)
    });
    let parts = parts.filter(|part| !part.mesh.is_empty()).collect();
    Model { name: plan.design.name.clone(), unit: plan.design.unit, parts, ..Model::default() }
}

/// The solid inside line `level`, and its surface.
fn made(plan: &Plan, level: usize, tolerance: Tolerance) -> (Body, TriMesh) {
    let known = plan
        .body(level, tolerance)
        .map(|(body, edited)| (body.clone(), body.surface(edited, body.meridians(tolerance))));
    known.unwrap_or_else(|| {
        let body = uncancelled(|cancel| Body::new(&plan.design, &plan.lines, level, tolerance, cancel));
        let mesh = body.mesh(body.meridians(tolerance));
        (body, mesh)
    })
}

/// Material and colour of what one sees with everything outside line `level` taken off.
fn skin(plan: &Plan, level: usize) -> (String, Rgb) {
    let material = match plan.design.coverings.get(level) {
        Some(covering) => Some(&covering.material),
        None => plan.stack.slabs.first().map(|slab| &slab.material),
    };
    material.map_or_else(|| ("sponge".to_owned(), Rgb(236, 205, 146)), |m| (m.name.clone(), m.colour))
}

struct Maker<'a> {
    plan: &'a Plan,
    tolerance: Tolerance,
    /// One for each line, finished first.
    bodies: Vec<Body>,
    /// Their surfaces.
    wholes: Vec<TriMesh>,
    /// The carved cake between every two heights at which a slab begins or ends, bottom up, made when it is first
    /// asked for.
    slices: OnceLock<Vec<TriMesh>>,
}

impl Maker<'_> {
    /// Heights at which a slab begins or ends, rising.
    fn seams(&self) -> Vec<f64> {
        let mut seams: Vec<f64> = self.plan.stack.slabs.iter().flat_map(|s| [s.bottom, s.top]).collect();
        seams.sort_by(f64::total_cmp);
        seams.dedup();
        seams
    }

    /// The carved cake at the heights of `slab`.
    fn slice(&self, slab: &Slab) -> TriMesh {
        let carved = self.bodies.len() - 1;
        let seams = self.seams();
        let above = seams.partition_point(|z| *z <= slab.bottom);
        if seams[above] == slab.top {
            return self.slices.get_or_init(|| self.wholes[carved].cut_at(&seams))[above].clone();
        }
        // Another slab begins or ends inside this one.
        self.wholes[carved].cut_at(&[slab.bottom, slab.top]).swap_remove(1)
    }

    /// Whether line `level` lies clear of the next one in, but for the foot: cuts in the sponge widen inwards,
    /// and one that is pressed less deep than its coat stays in it.
    fn is_clear_of_next(&self, level: usize) -> bool {
        self.plan.design.trims.iter().all(|trim| match (trim.depth, trim.operation, &trim.tool) {
            (Depth::Sponge, ..) => true,
            (_, Operation::Cut, Tool::Relief(relief)) => {
                relief.depth < self.plan.design.coverings[level].thickness
            }
            (depth, operation, _) => depth == Depth::Icing && operation == Operation::Add,
        })
    }

    /// Meridians of everything on the axis: one number for all, so that meshes meet corner to corner.
    fn meridians(&self) -> u32 {
        self.tolerance.segments(self.plan.design.widest())
    }

    fn presentation_board(&self) -> Option<Part> {
        let board: &Board = self.plan.design.board.as_ref()?;
        let outline = board.footprint.region(self.tolerance);
        let mesh = Solid::prism(&outline, -board.thickness, 0.0).to_mesh();
        Some(part(
            "presentation board",
            PartKind::PresentationBoard,
            0,
            &board.material.name,
            board.material.colour,
            mesh,
        ))
    }

    fn slab_parts(&self, index: usize) -> Vec<Part> {
        let slab = &self.plan.stack.slabs[index];
        let carving = &self.plan.carving.slabs[index];
        let carved = self.carved_meshes(slab, carving);
        let fill = self.fill(slab, index, &carved.shortfall.mesh);
        if slab.kind == SlabKind::Board {
            let board = self.slab_part(index, "", PartKind::Board, self.raw_mesh(slab));
            return std::iter::once(board).chain(fill).collect();
        }
        let (raw, kept) = match slab.kind {
            SlabKind::Layer => (PartKind::RawLayer, PartKind::Kept),
            _ => (PartKind::RawFilling, PartKind::Filling),
        };
        let mut parts = vec![self.slab_part(index, "raw ", raw, self.raw_mesh(slab))];
        parts.push(carved.kept.given_to(self.slab_part(index, "", kept, TriMesh::default())));
        if slab.kind == SlabKind::Layer {
            parts.push(self.slab_part(index, "offcut of ", PartKind::Offcut, carved.offcut));
            let missing = self.slab_part(index, "missing from ", PartKind::Shortfall, TriMesh::default());
            parts.push(carved.shortfall.given_to(missing));
        }
        parts.extend(fill);
        parts
    }

    /// What the innermost covering fills beside a board or a filling that does not reach the carved line.
    fn fill(&self, slab: &Slab, index: usize, room: &TriMesh) -> Option<Part> {
        let covering = self.plan.design.coverings.last().filter(|_| slab.kind != SlabKind::Layer)?;
        let name = format!("fill beside {}", slab.name);
        let (material, colour) = (&covering.material.name, covering.material.colour);
        Some(part(&name, PartKind::Fill, index, material, colour, room.clone()))
    }

    fn slab_part(&self, index: usize, before: &str, kind: PartKind, mesh: TriMesh) -> Part {
        let slab = &self.plan.stack.slabs[index];
        part(&format!("{before}{}", slab.name), kind, index, &slab.material.name, slab.material.colour, mesh)
    }

    fn raw_mesh(&self, slab: &Slab) -> TriMesh {
        match slab.section(self.tolerance) {
            Some(section) if slab.is_coaxial() => revolve::revolve(&section, self.meridians()),
            _ => slab.solid(self.tolerance).to_mesh(),
        }
    }

    /// A mesh with the shave depth at its vertices, and more vertices where it would be lost between them.
    fn with_depths(&self, mesh: &TriMesh) -> Deep {
        let depth = |p: DVec3| self.plan.stack.depth(p);
        let (mesh, depth) = mesh.with_scalar_field(depth, DEPTH_ERROR, DEPTH_EDGES);
        Deep { mesh, depth }
    }

    /// The same for a section that is turned: while the whole stack stands on the axis, depths are the same all
    /// round.
    fn turned_with_depths(&self, section: &Region) -> Deep {
        let n = self.meridians();
        if !self.plan.stack.is_coaxial() {
            return self.with_depths(&revolve::revolve(section, n));
        }
        let depth = |p: DVec2| self.plan.stack.depth(revolve::at_bearing(p.x, p.y, 0.0));
        let section = section.with_points_where(|a, b| {
            let length = a.distance(b);
            let off = || (depth((a + b) / 2.0) - (depth(a) + depth(b)) / 2.0).abs();
            length > DEPTH_EDGES.0 || (length >= DEPTH_EDGES.1 && off() > DEPTH_ERROR)
        });
        let depth = revolve::spread_over_meridians(&section, n, depth);
        Deep { mesh: revolve::revolve(&section, n), depth }
    }

    fn carved_meshes(&self, slab: &Slab, carving: &SlabCarving) -> CarvedMeshes {
        let target = &self.bodies[self.bodies.len() - 1];
        let sections =
            (!carving.general).then(|| Sections::new(slab, &target.section, self.tolerance)).flatten();
        if let Some(sections) = sections {
            return CarvedMeshes {
                kept: self.turned_with_depths(&sections.kept),
                offcut: revolve::revolve(&sections.offcut, self.meridians()),
                shortfall: self.turned_with_depths(&sections.shortfall),
            };
        }
        let slice = self.slice(slab);
        let raw = self.raw_mesh(slab);
        if self.is_held(slab, &slice) {
            let offcut = raw.hollowed(&slice, &[slab.bottom, slab.top]);
            return CarvedMeshes { kept: self.with_depths(&slice), offcut, shortfall: Deep::default() };
        }
        let solid = Solid::of_closed;
        let (body, slice) = (solid(&raw), solid(&slice));
        CarvedMeshes {
            kept: self.with_depths(&body.intersection(&slice).to_mesh()),
            offcut: body.difference(&slice).to_mesh(),
            shortfall: self.with_depths(&slice.difference(&body).to_mesh()),
        }
    }

    /// Whether a flat slab without a hole holds all of `slice`, clear of its side however that is straightened.
    fn is_held(&self, slab: &Slab, slice: &TriMesh) -> bool {
        let clear = 2.0 * self.tolerance.chord_mm();
        slab.dome.is_none()
            && slab.hole == 0.0
            && slice.positions.iter().all(|p| slab.footprint.depth(p.truncate()) > clear)
    }

    fn dowel(&self, index: usize, dowel: &Dowel) -> Part {
        let section =
            Region::rectangle(glam::dvec2(0.0, dowel.bottom), glam::dvec2(dowel.diameter / 2.0, dowel.top));
        let n = self.tolerance.segments(dowel.diameter / 2.0);
        let mesh = revolve::revolve(&section, n).translated(dowel.at.extend(0.0));
        part(&dowel.name, PartKind::Dowel, index, &dowel.material.name, dowel.material.colour, mesh)
    }

    /// The shell between line `index` and the next one in.
    fn covering(&self, index: usize) -> Part {
        let covering = &self.plan.design.coverings[index];
        let (outer, inner) = (&self.bodies[index], &self.bodies[index + 1]);
        let n = self.meridians();
        let mesh = if outer.is_turned() && inner.is_turned() {
            revolve::revolve(&outer.section.difference(&inner.section), n)
        } else {
            let (whole, next) = (&self.wholes[index], &self.wholes[index + 1]);
            if self.is_clear_of_next(index) {
                whole.hollowed(next, &[0.0])
            } else {
                let solid = Solid::of_closed;
                solid(whole).difference(&solid(next)).to_mesh()
            }
        };
        let name = format!("{} {}", covering.material.name, index + 1);
        part(&name, PartKind::Covering, index, &covering.material.name, covering.material.colour, mesh)
    }

    fn finished(&self) -> Part {
        let mesh = self.wholes[0].clone();
        let (material, colour) = skin(self.plan, 0);
        part("finished", PartKind::Finished, 0, &material, colour, mesh)
    }

    fn add(&self, index: usize, trim: &Trim) -> Option<Part> {
        let material = trim.material.as_ref()?;
        let add = |cancel: &_| add_solid(trim, &self.plan.lines, &self.bodies[0], self.tolerance, cancel);
        let solid = uncancelled(add)?;
        Some(part(&trim.name, PartKind::Add, index, &material.name, material.colour, solid.to_mesh()))
    }

    /// The coloured bottom of a detail that is pressed in.
    fn inlay(&self, index: usize, trim: &Trim) -> Option<Part> {
        let colour = trim.colour.filter(|_| trim.operation == Operation::Cut)?;
        let Tool::Relief(relief) = &trim.tool else { return None };
        let (lines, tolerance) = (&self.plan.lines, self.tolerance);
        let solid =
            uncancelled(|cancel| Surface { lines, depth: 0.0, tolerance, cancel }.floor(relief, INLAY));
        Some(part(&trim.name, PartKind::Inlay, index, "sugar paste", colour, solid.to_mesh()))
    }
}

struct CarvedMeshes {
    kept: Deep,
    offcut: TriMesh,
    shortfall: Deep,
}

/// A mesh with the shave depth at every vertex, mm.
#[derive(Default)]
struct Deep {
    mesh: TriMesh,
    depth: Vec<f64>,
}

impl Deep {
    fn given_to(self, part: Part) -> Part {
        Part { mesh: self.mesh, shave_depth: self.depth, ..part }
    }
}

fn part(name: &str, kind: PartKind, index: usize, material: &str, colour: Rgb, mesh: TriMesh) -> Part {
    Part {
        name: name.to_owned(),
        kind,
        index,
        material: material.to_owned(),
        colour,
        mesh,
        shave_depth: Vec::new(),
    }
}
