//! The meshes of a cake in a file for `tests/reference/boolean_times.py`, so that both sides carve the same.

use std::{fs, path::Path};

use crumbline::{
    carve::Body,
    geom::{Tolerance, TriMesh, revolve, uncancelled},
    plan::Plan,
    stack::SlabKind,
};

/// Writes the carved shape without its cuts, the cuts, and the raw layers of `plan`, within `tolerance`.
pub fn write(plan: &Plan, tolerance: Tolerance, path: &Path) {
    let carved = plan.lines.all().len() - 1;
    let body = uncancelled(|cancel| Body::new(&plan.design, &plan.lines, carved, tolerance, cancel));
    // The cuts of a shape that is not turned are made in its surface already.
    let (target, edits) = match &body.free {
        Some(mesh) => (TriMesh::clone(mesh), &[][..]),
        None => (revolve::revolve(&body.section, body.meridians(tolerance)), &body.edits[..]),
    };
    let tools: Vec<TriMesh> = edits.iter().map(|edit| edit.solid.to_mesh()).collect();
    let layers: Vec<TriMesh> = plan
        .stack
        .slabs
        .iter()
        .filter(|slab| slab.kind == SlabKind::Layer)
        .map(|slab| slab.solid(tolerance).to_mesh())
        .collect();
    let mut bytes = [tools.len() as u64, layers.len() as u64].map(u64::to_le_bytes).concat();
    std::iter::once(&target).chain(&tools).chain(&layers).for_each(|mesh| push(&mut bytes, mesh));
    fs::write(path, bytes).expect("written");
    println!("target {} triangles, {} cuts, {} layers", target.len(), tools.len(), layers.len());
}

fn push(bytes: &mut Vec<u8>, mesh: &TriMesh) {
    bytes.extend([mesh.positions.len() as u64, mesh.len() as u64].map(u64::to_le_bytes).concat());
    bytes.extend(mesh.positions.iter().flat_map(|p| p.to_array()).flat_map(f64::to_le_bytes));
    bytes.extend(mesh.triangles.iter().flatten().flat_map(|v| v.to_le_bytes()));
}
