//! Angle-weighted pseudonormals of faces, edges and vertices: on which side of a surface a point lies.

use glam::DVec3;

use crate::real;
use crate::{
    Cancel, Cancelled, TriMesh,
    bvh::{Feature, Hit},
};

/// Triangles between two looks at the request to stop.
const CHUNK: usize = 1 << 14;

/// No triangle on the other side of an edge.
const NONE: u32 = u32::MAX;

/// Normals of faces, edges and vertices.
#[derive(Debug, Clone)]
pub(super) struct Normals {
    triangles: Vec<[u32; 3]>,
    faces: Vec<DVec3>,
    /// Sum of the normals around each vertex, each weighted by the angle of its face there.
    vertices: Vec<DVec3>,
    /// The triangles on the other side of the three edges.
    neighbours: Vec<[u32; 3]>,
}

impl Normals {
    pub fn new(mesh: &TriMesh, cancel: &Cancel) -> Result<Self, Cancelled> {
        let mut faces = Vec::with_capacity(mesh.len());
        let mut vertices = vec![DVec3::ZERO; mesh.positions.len()];
        for (index, t) in mesh.triangles.iter().enumerate() {
            if index % CHUNK == 0 {
                cancel.check()?;
            }
            let [a, b, c] = mesh.corners(index);
            let [ab, bc, ca] = [b - a, c - b, a - c].map(DVec3::normalize_or_zero);
            let normal = (b - a).cross(c - a).normalize_or_zero();
            faces.push(normal);
            let angles =
                [(-ca).dot(ab), (-ab).dot(bc), (-bc).dot(ca)].map(|cos| real::acos(cos.clamp(-1.0, 1.0)));
            for (v, angle) in t.iter().zip(angles) {
                vertices[*v as usize] += normal * angle;
            }
        }
        cancel.check()?;
        let neighbours = neighbours(mesh);
        Ok(Self { triangles: mesh.triangles.clone(), faces, vertices, neighbours })
    }

    /// The outward normal of a triangle, of length 1.
    pub fn face(&self, triangle: u32) -> DVec3 {
        self.faces[triangle as usize]
    }

    /// The pseudonormal that tells on which side of the surface a point lies whose nearest point is `hit`.
    pub fn at(&self, hit: &Hit) -> DVec3 {
        let triangle = hit.triangle as usize;
        match hit.feature {
            Feature::Face => self.faces[triangle],
            Feature::Edge(side) => match self.neighbours[triangle][side as usize] {
                NONE => self.faces[triangle],
                other => self.faces[triangle] + self.faces[other as usize],
            },
            Feature::Vertex(corner) => self.vertices[self.triangles[triangle][corner as usize] as usize],
        }
    }
}

/// The triangle on the other side of each edge of each triangle.
fn neighbours(mesh: &TriMesh) -> Vec<[u32; 3]> {
    // Edges by the vertex that they start at.
    let mut starts = vec![0u32; mesh.positions.len() + 1];
    for v in mesh.triangles.iter().flatten() {
        starts[*v as usize + 1] += 1;
    }
    for v in 1..starts.len() {
        starts[v] += starts[v - 1];
    }
    let mut next = starts.clone();
    let mut leaving = vec![(0u32, 0u32); mesh.len() * 3];
    for (index, t) in mesh.triangles.iter().enumerate() {
        for k in 0..3 {
            let slot = &mut next[t[k] as usize];
            leaving[*slot as usize] = (t[(k + 1) % 3], index as u32);
            *slot += 1;
        }
    }
    let opposite = |from: u32, to: u32| {
        let sides = &leaving[starts[to as usize] as usize..starts[to as usize + 1] as usize];
        sides.iter().find(|(end, _)| *end == from).map_or(NONE, |(_, triangle)| *triangle)
    };
    mesh.triangles.iter().map(|&[a, b, c]| [opposite(a, b), opposite(b, c), opposite(c, a)]).collect()
}
