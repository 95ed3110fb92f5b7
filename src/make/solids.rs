//! Plan → every solid of the cake as a mesh: raw stack, carved layers, offcuts, coverings, adds.
//!
//! What shares the axis is revolved from its half section; only the rest goes through booleans. [`catalogue`]
//! lists what there is without making anything, and [`build`] makes what is asked for and nothing else. For
//! pictures ([`model`]) the carved layers are meshed finely enough to carry the shave depth at their vertices.

mod bearing;
mod between;
mod board;
mod builder;
mod carved;
mod catalogue;
mod depths;
mod zones;

use std::sync::Arc;

use formats::model::{LayerVolumes, Model, Part};
use geom::{Solid, SolidError, Tolerance, TriMesh};
use plan::{Plan, stack::SlabKind};

use builder::Builder;
pub use catalogue::{Entry, catalogue, finished};

/// What is smaller is round-off of a boolean and no part, mm³.
const ROUND_OFF: f64 = 1e-5;

/// A part could not be made: a mistake of ours, never of the cake file.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("\"{part}\" could not be made as a solid; please report this cake file")]
pub struct PartError {
    /// Name of the part.
    pub part: String,
    /// What the boolean kernel said.
    pub source: SolidError,
}

/// The solid called for by `entry`, curves within `tolerance`; without triangles where the cake has nothing
/// there.
///
/// # Errors
/// When a boolean that it needs fails.
pub fn build(plan: &Plan, entry: &Entry, tolerance: Tolerance) -> Result<Part, PartError> {
    Builder::new(plan, tolerance, std::slice::from_ref(entry)).build(entry)
}

/// The solids called for by `entries`, curves within `tolerance`: what several of them need is made once. Those
/// that come out empty are left out.
///
/// # Errors
/// When a boolean that one of them needs fails; it is named.
pub fn build_all(plan: &Plan, entries: &[Entry], tolerance: Tolerance) -> Result<Model, PartError> {
    let parts = Builder::new(plan, tolerance, entries).build_all(entries)?;
    Ok(model_of(plan, parts))
}

/// Every solid of `plan` but its lines, curves within `tolerance`, with the shave depth where the knife goes.
///
/// # Errors
/// When a boolean that one of them needs fails; it is named.
pub fn model(plan: &Plan, tolerance: Tolerance) -> Result<Model, PartError> {
    let entries = catalogue::parts(plan);
    let parts = Builder::new(plan, tolerance, &entries).with_shave_depths().build_all(&entries)?;
    Ok(model_of(plan, parts))
}

/// [`model`], what lies between its stages, and what carries what.
///
/// # Errors
/// As [`model`].
pub fn model_in_stages(plan: &Plan, tolerance: Tolerance) -> Result<Model, PartError> {
    let between = between::PlannedBetween::new(plan.clone(), tolerance);
    let (bearing, marks) = bearing::bearing(plan);
    let mut model = Model { between: Some(Arc::new(between)), bearing, ..model(plan, tolerance)? };
    model.parts.extend(marks);
    Ok(model)
}

/// Every line of `plan` as a solid, named as the line is; one that cuts leave nothing of is left out.
///
/// # Errors
/// As [`model`].
pub fn lines_model(plan: &Plan, tolerance: Tolerance) -> Result<Model, PartError> {
    build_all(plan, &catalogue::lines(plan), tolerance)
}

/// The surface of `solid`, if it is one.
fn surface_of(solid: &Solid) -> Result<TriMesh, SolidError> {
    solid.check()?;
    Ok(solid.to_mesh())
}

fn model_of(plan: &Plan, parts: Vec<Part>) -> Model {
    let slabs = plan.stack.slabs.iter().zip(&plan.carving.slabs).enumerate();
    let layers = slabs.filter(|(_, (slab, _))| slab.kind == SlabKind::Layer);
    let layers = layers.map(|(index, (slab, carving))| LayerVolumes {
        name: slab.name.clone(),
        index,
        raw: carving.volumes.raw,
        offcut: carving.volumes.offcut,
    });
    let (name, unit) = (plan.design.name.clone(), plan.design.unit);
    let on_grid = plan.design.shape.form().is_some();
    Model { name, unit, parts, layers: layers.collect(), on_grid, ..Model::default() }
}

fn part(entry: &Entry, mesh: TriMesh) -> Part {
    Part {
        name: entry.name.clone(),
        kind: entry.kind,
        index: entry.told,
        material: entry.material.clone(),
        colour: entry.colour,
        tints: entry.tints.clone(),
        mesh,
        shave_depth: Vec::new(),
    }
}
