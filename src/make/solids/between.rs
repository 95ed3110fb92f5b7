//! What a planned cake looks like between its stages.
//!
//! The knife comes in from outside: at each step the carved surface lies a stated distance outside the
//! carved line, and what of the raw stack is inside it is still there. A coat grows outwards in the same
//! way, from one line to the next. Cuts and adds shrink and grow along.

use std::sync::OnceLock;

use glam::{DVec2, DVec3, dvec2};
use rayon::prelude::*;

use formats::model::{Between, Part, PartKind};
use geom::{Solid, Tolerance, TriMesh, revolve, uncancelled};
use plan::{
    Plan,
    carve::{Body, Sections},
    design::{FootprintShape, Operation},
    stack::{Slab, SlabKind},
};

use super::{ROUND_OFF, builder::Builder, catalogue, depths::DepthMesh, part};

/// A plan, and what of it every step needs again.
pub(super) struct PlannedBetween {
    plan: Plan,
    tolerance: Tolerance,
    start: OnceLock<f64>,
    bodies: Vec<OnceLock<Body>>,
    /// For each slab that needs solids, all that is shaved off it.
    offcuts: Vec<OnceLock<Solid>>,
}

impl std::fmt::Debug for PlannedBetween {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "PlannedBetween({})", self.plan.design.name)
    }
}

/// Raw cake is looked for on a grid this fine, mm.
const SEARCH: f64 = 3.0;

/// A cut that takes less than this from the raw stack has not begun, mm³.
const BEGUN: f64 = 1.0;

impl PlannedBetween {
    pub(super) fn new(plan: Plan, tolerance: Tolerance) -> Self {
        let bodies = plan.lines.all().iter().map(|_| OnceLock::new()).collect();
        let offcuts = plan.stack.slabs.iter().map(|_| OnceLock::new()).collect();
        Self { plan, tolerance, start: OnceLock::new(), bodies, offcuts }
    }

    fn builder(&self) -> Builder<'_> {
        Builder::bare(&self.plan, self.tolerance)
    }

    /// The solid inside line `level`.
    fn body(&self, level: usize) -> &Body {
        let Plan { design, lines, .. } = &self.plan;
        self.bodies[level]
            .get_or_init(|| uncancelled(|cancel| Body::new(design, lines, level, self.tolerance, cancel)))
    }

    fn carved(&self) -> &Body {
        self.body(self.bodies.len() - 1)
    }

    fn before_carved(&self, off: f64) -> Body {
        let Plan { design, lines, .. } = &self.plan;
        uncancelled(|cancel| Body::before_carved(design, lines, off, self.tolerance, cancel))
    }

    /// Slabs that the knife works on.
    fn cake(&self) -> impl Iterator<Item = (usize, &Slab)> {
        self.plan.stack.slabs.iter().enumerate().filter(|(_, slab)| slab.kind != SlabKind::Board)
    }

    /// All that is shaved off a slab.
    fn whole_offcut(&self, index: usize) -> &Solid {
        self.offcuts[index].get_or_init(|| {
            let slab = &self.plan.stack.slabs[index];
            let builder = self.builder();
            let raw = builder.raw_solid(slab);
            raw.difference(&self.carved().solid_between(slab.bottom, slab.top, builder.meridians()))
        })
    }

    /// What of a slab's offcut lies inside `left`.
    fn remaining(&self, index: usize, left: &Body) -> TriMesh {
        let slab = &self.plan.stack.slabs[index];
        let meridians = self.builder().meridians();
        let edited = |body: &Body| body.is_edited_between(slab.bottom, slab.top);
        if slab.is_coaxial() && !edited(left) && !edited(self.carved()) {
            let Some(sections) = Sections::new(slab, &self.carved().section, self.tolerance) else {
                return TriMesh::default();
            };
            let rest = sections.offcut.intersection(&left.section.between(slab.bottom, slab.top));
            return revolve::revolve(&rest, meridians);
        }
        let slice = left.solid_between(slab.bottom, slab.top, meridians);
        self.whole_offcut(index).intersection(&slice).to_mesh()
    }

    /// How far outside the carved line raw cake lies at most, mm, cuts left aside.
    fn furthest_raw(&self) -> f64 {
        let carved = self.plan.lines.carved();
        if carved.solid.is_some() {
            // Of a pan's slab the rim lies furthest out.
            let rims = self.cake().flat_map(|(_, slab)| {
                let region = slab.footprint.region(self.tolerance);
                let rim: Vec<DVec2> = region.contours().iter().flatten().copied().collect();
                rim.into_iter().flat_map(|p| [p.extend(slab.bottom), p.extend(slab.top)])
            });
            let off = |p: DVec3| carved.depth - self.plan.lines.depth_at(p);
            return rims.map(off).fold(0.0, f64::max) + SEARCH;
        }
        let section = &carved.section;
        let points: Vec<DVec2> = self.cake().flat_map(|(_, slab)| points_of(slab)).collect();
        // Nothing lies further from a point of the grid than the middle of its square.
        let between = SEARCH * 0.5f64.sqrt();
        points.into_par_iter().map(|p| -section.depth(p)).reduce(|| 0.0, f64::max).max(0.0) + between
    }

    /// Whether any cut has begun when the knife is `off` mm outside the carved line.
    fn cuts_begin_before(&self, off: f64) -> bool {
        let body = self.before_carved(off);
        let builder = self.builder();
        body.edits.iter().filter(|edit| edit.operation == Operation::Cut).any(|edit| {
            self.cake().any(|(_, slab)| {
                let raw = builder.raw_solid(slab);
                raw.intersection(&edit.solid).volume() > BEGUN
            })
        })
    }
}

/// Points all over the half-plane that a slab takes up, turned about the axis of the cake.
fn points_of(slab: &Slab) -> Vec<DVec2> {
    let grid = |from: f64, to: f64| {
        let count = ((to - from) / SEARCH).ceil().max(1.0) as u32;
        (0..=count).map(move |i| from + (to - from) * f64::from(i) / f64::from(count))
    };
    let middle = slab.footprint.centre;
    let reach = |z: f64| {
        let edge = match slab.footprint.shape {
            FootprintShape::Round { .. } => slab.inside_edge_at(z, middle.extend(z)),
            FootprintShape::Rectangle { .. } | FootprintShape::Pieces(_) => slab.footprint.reach(),
        };
        middle.length() + edge.max(0.0)
    };
    grid(slab.bottom, slab.top).flat_map(|z| grid(0.0, reach(z)).map(move |r| dvec2(r, z))).collect()
}

impl Between for PlannedBetween {
    fn start(&self) -> f64 {
        *self.start.get_or_init(|| {
            let mut start = self.furthest_raw();
            // A deep cut begins further out. A dozen quarters more is fourteen times as far.
            for _ in 0..12 {
                if !self.cuts_begin_before(start) {
                    break;
                }
                start *= 1.25;
            }
            start
        })
    }

    fn offcuts(&self, off: f64) -> Vec<Part> {
        let left = self.before_carved(off);
        let slabs: Vec<(usize, &Slab)> = self.cake().collect();
        let parts = slabs.into_par_iter().map(|(index, slab)| {
            let kind = match slab.kind {
                SlabKind::Layer => PartKind::Offcut,
                _ => PartKind::RawFilling,
            };
            let left = DepthMesh::new(&self.remaining(index, &left), &self.plan.stack);
            let entry = catalogue::of_slab(&self.plan, index).into_iter().find(|entry| entry.kind == kind)?;
            Some(left.given_to(part(&entry, TriMesh::default())))
        });
        parts.flatten().filter(|part| part.mesh.volume() > ROUND_OFF).collect()
    }

    fn thickness(&self, index: usize) -> f64 {
        self.plan.design.coverings.get(index).map_or(0.0, |covering| covering.thickness)
    }

    fn coat(&self, index: usize, laid: f64) -> Option<Part> {
        let covering = self.plan.design.coverings.get(index)?;
        let (design, lines) = (&self.plan.design, &self.plan.lines);
        let laid = laid.clamp(0.0, covering.thickness);
        let inner = self.body(index + 1);
        let outer =
            uncancelled(|cancel| Body::under_way(design, lines, index + 1, laid, self.tolerance, cancel));
        let meridians = self.builder().meridians();
        let mesh = if outer.is_turned() && inner.is_turned() {
            revolve::revolve(&outer.section.difference(&inner.section), meridians)
        } else {
            outer.solid(meridians).difference(&inner.solid(meridians)).to_mesh()
        };
        // In one piece, whatever zones it has, under the name of the first of them.
        let entry = catalogue::of_zones(&self.plan, index).into_iter().next()?;
        (mesh.volume() > ROUND_OFF).then(|| part(&entry, mesh))
    }
}
