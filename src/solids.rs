//! Plan → every solid of the cake as a mesh: raw stack, carved layers, offcuts, coverings, adds.
//!
//! What shares the axis is revolved from its half section; only the rest goes through booleans. The
//! carved layers are meshed finely enough to carry the shave depth at their vertices.

use std::sync::OnceLock;

use rayon::prelude::*;

use crate::{
    carve::{Body, Sections, SlabCarving, Surface, add_solid},
    design::{Board, Operation, Tool, Trim},
    geom::{Region, Solid, Tolerance, TriMesh, revolve},
    model::{Model, Part, PartKind, Rgb},
    plan::Plan,
    stack::{Dowel, Slab, SlabKind},
};

/// Longest edge of a mesh that carries shave depths, mm.
const DEPTH_EDGE: f64 = 4.0;

/// What is smaller is round-off of a boolean and no part, mm³.
const CRUMB: f64 = 1e-5;

/// Thickness of the coloured bottom of a detail, mm.
const INLAY: f64 = 0.4;

/// Every solid of `plan`, curves within `tolerance`.
pub fn model(plan: &Plan, tolerance: Tolerance) -> Model {
    let bodies: Vec<Body> = (0..plan.lines.all().len())
        .into_par_iter()
        .map(|level| Body::new(&plan.design, &plan.lines, level, tolerance))
        .collect();
    let maker = Maker::new(plan, tolerance, bodies);
    let mut parts: Vec<Part> = maker.presentation_board().into_iter().collect();
    let slabs: Vec<Vec<Part>> =
        (0..plan.stack.slabs.len()).into_par_iter().map(|i| maker.slab_parts(i)).collect();
    parts.extend(slabs.into_iter().flatten());
    parts.extend(plan.stack.dowels.iter().enumerate().map(|(i, dowel)| maker.dowel(i, dowel)));
    let coats: Vec<Part> =
        (0..plan.design.coverings.len()).into_par_iter().rev().map(|i| maker.covering(i)).collect();
    parts.extend(coats);
    parts.push(maker.finished());
    let adds: Vec<Part> =
        plan.design.trims.par_iter().enumerate().filter_map(|(i, t)| maker.add(i, t)).collect();
    parts.extend(adds);
    parts.extend(
        plan.design.trims.par_iter().enumerate().filter_map(|(i, t)| maker.inlay(i, t)).collect::<Vec<_>>(),
    );
    parts.retain(|part| part.mesh.volume() > CRUMB);
    Model { name: plan.design.name.clone(), parts }
}

/// Every line of `plan` as a solid, named as the line is; one that cuts leave nothing of is left out.
pub fn lines_model(plan: &Plan, tolerance: Tolerance) -> Model {
    let parts = plan.lines.all().par_iter().enumerate().map(|(level, line)| {
        let body = Body::new(&plan.design, &plan.lines, level, tolerance);
        let n = body.meridians(tolerance);
        let mesh =
            if body.edits.is_empty() { revolve::revolve(&body.section, n) } else { body.solid(n).to_mesh() };
        let (material, colour) = skin(plan, level);
        part(&line.name, PartKind::Line, level, &material, colour, mesh)
    });
    let parts = parts.filter(|part| !part.mesh.is_empty()).collect();
    Model { name: plan.design.name.clone(), parts }
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
    /// Their solids, each made when it is first asked for.
    wholes: Vec<OnceLock<Solid>>,
}

impl<'a> Maker<'a> {
    fn new(plan: &'a Plan, tolerance: Tolerance, bodies: Vec<Body>) -> Self {
        let wholes = bodies.iter().map(|_| OnceLock::new()).collect();
        Self { plan, tolerance, bodies, wholes }
    }

    /// All that lies inside line `level`, as a solid.
    fn whole(&self, level: usize) -> &Solid {
        self.wholes[level].get_or_init(|| self.bodies[level].solid(self.meridians()))
    }

    /// Meridians of everything on the axis: one number for all, so that meshes meet corner to corner.
    fn meridians(&self) -> u32 {
        let widest = self.plan.stack.slabs.iter().map(|s| s.footprint.reach());
        self.tolerance.segments(widest.fold(self.plan.design.profile.radius(), f64::max))
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
        if slab.kind == SlabKind::Board {
            return vec![self.slab_part(index, "", PartKind::Board, self.raw_mesh(slab))];
        }
        let (raw, kept) = match slab.kind {
            SlabKind::Layer => (PartKind::RawLayer, PartKind::Kept),
            _ => (PartKind::RawFilling, PartKind::Filling),
        };
        let mut parts = vec![self.slab_part(index, "raw ", raw, self.raw_mesh(slab))];
        let carved = self.carved_meshes(slab, carving);
        let mut kept = self.slab_part(index, "", kept, carved.kept);
        kept.shave_depth = self.depths(&kept.mesh);
        parts.push(kept);
        if slab.kind == SlabKind::Layer {
            parts.push(self.slab_part(index, "offcut of ", PartKind::Offcut, carved.offcut));
            let mut missing = self.slab_part(index, "missing from ", PartKind::Shortfall, carved.shortfall);
            missing.shave_depth = self.depths(&missing.mesh);
            parts.push(missing);
        }
        parts
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

    fn depths(&self, mesh: &TriMesh) -> Vec<f64> {
        mesh.positions.par_iter().with_min_len(1024).map(|p| self.plan.stack.depth(*p)).collect()
    }

    fn carved_meshes(&self, slab: &Slab, carving: &SlabCarving) -> CarvedMeshes {
        let target = &self.bodies[self.bodies.len() - 1];
        let n = self.meridians();
        let sections =
            (!carving.general).then(|| Sections::new(slab, &target.section, self.tolerance)).flatten();
        if let Some(sections) = sections {
            return CarvedMeshes {
                kept: revolve::revolve(&sections.kept.refined(DEPTH_EDGE), n),
                offcut: revolve::revolve(&sections.offcut, n),
                shortfall: revolve::revolve(&sections.shortfall.refined(DEPTH_EDGE), n),
            };
        }
        let slice = target.solid_between(slab.bottom, slab.top, n);
        let body = Solid::from_mesh(&self.raw_mesh(slab)).unwrap_or_else(|_| Solid::empty());
        let fine = |solid: Solid| solid.warped(DEPTH_EDGE, |p| p).to_mesh();
        CarvedMeshes {
            kept: fine(body.intersection(&slice)),
            offcut: body.difference(&slice).to_mesh(),
            shortfall: fine(slice.difference(&body)),
        }
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
        let mesh = if outer.edits.is_empty() && inner.edits.is_empty() {
            revolve::revolve(&outer.section.difference(&inner.section), n)
        } else {
            self.whole(index).difference(self.whole(index + 1)).to_mesh()
        };
        let name = format!("{} {}", covering.material.name, index + 1);
        part(&name, PartKind::Covering, index, &covering.material.name, covering.material.colour, mesh)
    }

    fn finished(&self) -> Part {
        let body = &self.bodies[0];
        let mesh = if body.edits.is_empty() {
            revolve::revolve(&body.section, self.meridians())
        } else {
            self.whole(0).to_mesh()
        };
        let (material, colour) = skin(self.plan, 0);
        part("finished", PartKind::Finished, 0, &material, colour, mesh)
    }

    fn add(&self, index: usize, trim: &Trim) -> Option<Part> {
        let material = trim.material.as_ref()?;
        let solid = add_solid(trim, &self.plan.lines, &self.bodies[0], self.tolerance)?;
        Some(part(&trim.name, PartKind::Add, index, &material.name, material.colour, solid.to_mesh()))
    }

    /// The coloured bottom of a detail that is pressed in.
    fn inlay(&self, index: usize, trim: &Trim) -> Option<Part> {
        let colour = trim.colour.filter(|_| trim.operation == Operation::Cut)?;
        let Tool::Relief(relief) = &trim.tool else { return None };
        let surface = Surface { lines: &self.plan.lines, depth: 0.0, tolerance: self.tolerance };
        let solid = surface.floor(relief, INLAY);
        Some(part(&trim.name, PartKind::Inlay, index, "sugar paste", colour, solid.to_mesh()))
    }
}

struct CarvedMeshes {
    kept: TriMesh,
    offcut: TriMesh,
    shortfall: TriMesh,
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
