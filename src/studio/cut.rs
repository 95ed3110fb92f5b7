//! Cutting a surface by a plane, with the cut face filled.
//!
//! The boolean kernel cuts the closed solid, so that a section shows what the cake holds there.

use std::collections::HashMap;

use glam::DVec3;
use manifold_rust::{
    linalg::Vec3,
    manifold::Manifold,
    types::{Error, MeshGL64},
};

use super::{Surface, ViewerError};
use geom::TriMesh;

/// How far from the plane a vertex of a cut face may lie, mm: rounding only.
const ON_PLANE: f64 = 1e-6;

/// Keeps what lies on the inner side of a plane and fills the cut face.
///
/// `outward` is the unit normal of the cut face and `offset` its distance from the origin, mm.
/// Returns `None` when nothing is left. `part` is named in the error.
///
/// # Errors
/// [`ViewerError::Cut`] when the kernel does not accept the surface as a solid.
pub fn keep_inside(
    surface: &Surface,
    outward: DVec3,
    offset: f64,
    part: &str,
) -> Result<Option<Surface>, ViewerError> {
    let (mut inside, mut outside) = (false, false);
    for p in &surface.mesh.positions {
        let beyond = p.dot(outward) - offset;
        inside |= beyond < -ON_PLANE;
        outside |= beyond > ON_PLANE;
    }
    match (inside, outside) {
        (true, false) => return Ok(Some(surface.clone())),
        (false, _) => return Ok(None),
        (true, true) => {}
    }
    let fail = |status: Error| ViewerError::Cut { part: part.to_owned(), reason: format!("{status:?}") };
    let solid = Manifold::from_mesh_gl64(&to_kernel(surface));
    if solid.status() != Error::NoError {
        return Err(fail(solid.status()));
    }
    let kept = solid.trim_by_plane(Vec3::new(-outward.x, -outward.y, -outward.z), -offset);
    if kept.status() != Error::NoError {
        return Err(fail(kept.status()));
    }
    if kept.is_empty() {
        return Ok(None);
    }
    Ok(Some(from_kernel(&kept.get_mesh_gl64(-1), outward, offset, !surface.depth.is_empty())))
}

/// Position and depth, four numbers a vertex.
fn to_kernel(surface: &Surface) -> MeshGL64 {
    let depth = |v: usize| surface.depth.get(v).copied().unwrap_or(0.0);
    MeshGL64 {
        num_prop: 4,
        vert_properties: surface
            .mesh
            .positions
            .iter()
            .enumerate()
            .flat_map(|(v, p)| [p.x, p.y, p.z, depth(v)])
            .collect(),
        tri_verts: surface.mesh.triangles.iter().flatten().map(|v| (*v).into()).collect(),
        ..MeshGL64::default()
    }
}

/// Welds the kernel's vertices by position again; where the cut face and the outer surface meet, the vertex
/// keeps the depth of the outer surface.
fn from_kernel(mesh: &MeshGL64, outward: DVec3, offset: f64, with_depth: bool) -> Surface {
    let stride = mesh.num_prop as usize;
    let vertex = |v: u64| &mesh.vert_properties[v as usize * stride..][..stride];
    let position = |v: u64| DVec3::from_slice(&vertex(v)[..3]);
    let mut surface = Surface::default();
    let mut known: HashMap<[u64; 3], u32> = HashMap::new();
    for t in mesh.tri_verts.as_chunks::<3>().0 {
        let cap = t.iter().all(|v| (position(*v).dot(outward) - offset).abs() <= ON_PLANE);
        let triangle = t.map(|v| {
            let p = position(v);
            let depth = vertex(v).get(3).copied().unwrap_or(0.0);
            let key = (p + DVec3::ZERO).to_array().map(f64::to_bits);
            let index = *known.entry(key).or_insert_with(|| {
                surface.mesh.positions.push(p);
                surface.depth.push(depth);
                (surface.mesh.positions.len() - 1) as u32
            });
            if !cap {
                surface.depth[index as usize] = depth;
            }
            index
        });
        if triangle[0] != triangle[1] && triangle[1] != triangle[2] && triangle[2] != triangle[0] {
            surface.mesh.triangles.push(triangle);
            surface.cap.push(cap);
        }
    }
    if !with_depth {
        surface.depth.clear();
    }
    surface
}

/// The area of the cut faces of a surface, mm².
pub fn cap_area(surface: &Surface) -> f64 {
    let caps = surface.cap.iter().enumerate().filter(|(_, cap)| **cap);
    caps.map(|(t, _)| face_area(&surface.mesh, t)).sum()
}

fn face_area(mesh: &TriMesh, triangle: usize) -> f64 {
    let [a, b, c] = mesh.corners(triangle);
    (b - a).cross(c - a).length() / 2.0
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cube(side: f64) -> Surface {
        let h = side / 2.0;
        let positions = (0..8).map(|i| {
            DVec3::new(
                if i & 1 > 0 { h } else { -h },
                if i & 2 > 0 { h } else { -h },
                if i & 4 > 0 { h } else { -h },
            )
        });
        let triangles = vec![
            [0, 2, 3],
            [0, 3, 1],
            [4, 5, 7],
            [4, 7, 6],
            [0, 1, 5],
            [0, 5, 4],
            [2, 6, 7],
            [2, 7, 3],
            [0, 4, 6],
            [0, 6, 2],
            [1, 3, 7],
            [1, 7, 5],
        ];
        let mesh = TriMesh { positions: positions.collect(), triangles };
        // Depth falls with height, so that the cut must interpolate it.
        let depth = mesh.positions.iter().map(|p| 10.0 - p.z).collect();
        Surface { mesh, depth, cap: Vec::new() }
    }

    #[test]
    fn a_cut_cube_is_closed_and_its_cut_face_has_the_right_area() {
        let cube = cube(20.0);
        cube.mesh.check().unwrap();
        let cut = keep_inside(&cube, DVec3::Z, 4.0, "cube").unwrap().unwrap();
        cut.mesh.check().unwrap();
        assert!((cut.mesh.volume() - 20.0 * 20.0 * 14.0).abs() < 1e-9);
        assert!((cap_area(&cut) - 400.0).abs() < 1e-9);
        for (p, depth) in cut.mesh.positions.iter().zip(&cut.depth) {
            assert!((depth - (10.0 - p.z)).abs() < 1e-9, "depth {depth} at {p}");
        }
    }

    #[test]
    fn a_slanted_cut_keeps_the_inner_side() {
        let outward = DVec3::new(1.0, -1.0, 0.0).normalize();
        let cut = keep_inside(&cube(20.0), outward, 0.0, "cube").unwrap().unwrap();
        assert!((cut.mesh.volume() - 4000.0).abs() < 1e-9);
        assert!((cap_area(&cut) - 20.0 * 20.0 * 2f64.sqrt()).abs() < 1e-9);
    }

    #[test]
    fn a_plane_that_misses_changes_nothing_and_one_beyond_leaves_nothing() {
        let cube = cube(20.0);
        assert_eq!(keep_inside(&cube, DVec3::Z, 10.0, "cube").unwrap().unwrap().mesh, cube.mesh);
        assert!(keep_inside(&cube, DVec3::Z, -10.0, "cube").unwrap().is_none());
    }

    #[test]
    fn an_open_surface_is_refused_by_name() {
        let mut open = cube(20.0);
        open.mesh.triangles.pop();
        let error = keep_inside(&open, DVec3::Z, 0.0, "lid").unwrap_err().to_string();
        assert!(error.contains("lid"), "{error}");
    }
}
