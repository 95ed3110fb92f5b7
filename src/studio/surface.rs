//! A part's surface, made ready to draw: welded, with depths, with its cut faces marked, and with
//! normals that are smooth where the surface is smooth and sharp where it has an edge.

use glam::DVec3;

use super::smooth;
use formats::model::Part;
use geom::TriMesh;

/// Faces that meet at more than this angle keep an edge between them; degrees.
pub const CREASE_DEGREES: f64 = 32.0;

/// A closed surface to draw, mm, z up.
#[derive(Debug, Clone, Default)]
pub struct Surface {
    /// Its triangles.
    pub mesh: TriMesh,
    /// Shave depth at each vertex, mm; empty where it has no meaning.
    pub depth: Vec<f64>,
    /// For each triangle whether it is a cut face of a section; empty when nothing was cut.
    pub cap: Vec<bool>,
}

/// A vertex as the graphics card draws it, with one normal: a surface is split wherever it has an edge.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Vertex {
    /// Where it is, mm.
    pub position: DVec3,
    /// Unit length, outward.
    pub normal: DVec3,
    /// Shave depth, mm; zero where it has no meaning.
    pub depth: f64,
    /// Whether it belongs to a cut face.
    pub cap: bool,
}

impl From<&Part> for Surface {
    fn from(part: &Part) -> Self {
        let depth = if part.shave_depth.len() == part.mesh.positions.len() {
            part.shave_depth.clone()
        } else {
            Vec::new()
        };
        Self { mesh: part.mesh.clone(), depth, cap: Vec::new() }
    }
}

impl Surface {
    /// Splits the surface along its edges; triangles are indices into the returned vertices. `on_grid` says whether it
    /// has the steps of a grid, which its normals are to go without.
    pub fn split(&self, on_grid: bool) -> (Vec<Vertex>, Vec<[u32; 3]>) {
        let fans = Fans::of(&self.mesh);
        let normals: Vec<DVec3> = (0..self.mesh.len()).map(|t| self.face_normal(t)).collect();
        let normals = if on_grid { smooth::smoothed(&self.mesh, &fans, normals) } else { normals };
        let angles: Vec<[f64; 3]> = (0..self.mesh.len()).map(|t| self.angles(t)).collect();
        let crease = CREASE_DEGREES.to_radians().cos();
        let mut vertices = Vec::with_capacity(self.mesh.positions.len() * 5 / 4);
        let mut triangles = vec![[0; 3]; self.mesh.len()];
        let mut groups: Vec<(bool, DVec3, u32)> = Vec::new();
        for vertex in 0..self.mesh.positions.len() {
            groups.clear();
            for &(triangle, side) in fans.at(vertex) {
                let own = normals[triangle as usize];
                let cap = self.is_cap(triangle as usize);
                let normal = self.smooth_normal((own, cap), fans.at(vertex), &normals, &angles, crease);
                let known = groups.iter().find(|(c, n, _)| *c == cap && n.dot(normal) > 1.0 - 1e-7);
                let index = known.map_or(vertices.len() as u32, |(_, _, index)| *index);
                if known.is_none() {
                    groups.push((cap, normal, index));
                    vertices.push(self.vertex(vertex, normal, cap));
                }
                triangles[triangle as usize][side as usize] = index;
            }
        }
        (vertices, triangles)
    }

    /// Marks further triangles as cut faces, beside those that are already.
    pub fn mark_caps(&mut self, more: &[bool]) {
        self.cap.resize(self.mesh.len(), false);
        for (cap, more) in self.cap.iter_mut().zip(more) {
            *cap |= more;
        }
    }

    /// The edges of the cut faces, as pairs of points, mm.
    pub fn cap_outline(&self) -> Vec<[DVec3; 2]> {
        let mut edges: std::collections::HashSet<(u32, u32)> = std::collections::HashSet::new();
        let caps = self.mesh.triangles.iter().enumerate().filter(|(triangle, _)| self.is_cap(*triangle));
        for (_, t) in caps {
            for (from, to) in [(t[0], t[1]), (t[1], t[2]), (t[2], t[0])] {
                // An edge between two faces is met once from each side.
                if !edges.remove(&(to, from)) {
                    edges.insert((from, to));
                }
            }
        }
        let mut edges: Vec<(u32, u32)> = edges.into_iter().collect();
        edges.sort_unstable();
        edges.into_iter().map(|(from, to)| [from, to].map(|v| self.mesh.positions[v as usize])).collect()
    }

    /// What is no cut face, and the cut faces alone.
    pub fn without_caps(&self) -> (Self, Self) {
        let part = |caps: bool| {
            let chosen = (0..self.mesh.len()).filter(|triangle| self.is_cap(*triangle) == caps);
            let triangles: Vec<[u32; 3]> = chosen.map(|triangle| self.mesh.triangles[triangle]).collect();
            let cap = if caps { vec![true; triangles.len()] } else { Vec::new() };
            let mesh = TriMesh { positions: self.mesh.positions.clone(), triangles };
            Self { mesh, depth: self.depth.clone(), cap }
        };
        (part(false), part(true))
    }

    /// Edges where two faces meet at more than the crease angle, as pairs of points, mm.
    pub fn creases(&self) -> Vec<[DVec3; 2]> {
        let crease = CREASE_DEGREES.to_radians().cos();
        let mut edges: std::collections::HashMap<(u32, u32), usize> = std::collections::HashMap::new();
        let mut found = Vec::new();
        for (triangle, t) in self.mesh.triangles.iter().enumerate() {
            for (from, to) in [(t[0], t[1]), (t[1], t[2]), (t[2], t[0])] {
                match edges.remove(&(to, from)) {
                    Some(other) if self.face_normal(triangle).dot(self.face_normal(other)) < crease => {
                        found.push([from, to].map(|v| self.mesh.positions[v as usize]));
                    }
                    Some(_) => {}
                    None => {
                        edges.insert((from, to), triangle);
                    }
                }
            }
        }
        found
    }

    /// The faces around a vertex that lie within the crease angle of `own`, weighted by the angle that
    /// each has there, so that it does not matter how the surface is cut into triangles (Thürmer and
    /// Wüthrich, "Computing Vertex Normals from Polygonal Facets", 1998).
    fn smooth_normal(
        &self,
        (own, cap): (DVec3, bool),
        fan: &[(u32, u8)],
        normals: &[DVec3],
        angles: &[[f64; 3]],
        crease: f64,
    ) -> DVec3 {
        let near = |t: usize| self.is_cap(t) == cap && normals[t].dot(own) >= crease;
        let faces = fan.iter().map(|&(t, side)| (t as usize, side as usize)).filter(|(t, _)| near(*t));
        let sum: DVec3 = faces.map(|(t, side)| normals[t] * angles[t][side]).sum();
        sum.try_normalize().unwrap_or(own)
    }

    fn vertex(&self, vertex: usize, normal: DVec3, cap: bool) -> Vertex {
        let depth = self.depth.get(vertex).copied().unwrap_or(0.0);
        Vertex { position: self.mesh.positions[vertex], normal, depth, cap }
    }

    fn is_cap(&self, triangle: usize) -> bool {
        self.cap.get(triangle).copied().unwrap_or(false)
    }

    fn cross(&self, triangle: usize) -> DVec3 {
        let [a, b, c] = self.mesh.corners(triangle);
        (b - a).cross(c - a)
    }

    fn face_normal(&self, triangle: usize) -> DVec3 {
        self.cross(triangle).try_normalize().unwrap_or(DVec3::Z)
    }

    /// The angles at the three corners of a triangle, radians.
    fn angles(&self, triangle: usize) -> [f64; 3] {
        let corners = self.mesh.corners(triangle);
        std::array::from_fn(|i| {
            let (a, b, c) = (corners[i], corners[(i + 1) % 3], corners[(i + 2) % 3]);
            // A triangle without area has no angles to speak of, and no weight.
            let angle = (b - a).angle_between(c - a);
            if angle.is_finite() { angle } else { 0.0 }
        })
    }
}

/// For each vertex the triangles around it and which of their sides it is, packed in one list.
pub(super) struct Fans {
    starts: Vec<u32>,
    entries: Vec<(u32, u8)>,
}

impl Fans {
    /// Those of a surface.
    pub fn of(mesh: &TriMesh) -> Self {
        let mut starts = vec![0u32; mesh.positions.len() + 1];
        for v in mesh.triangles.iter().flatten() {
            starts[*v as usize + 1] += 1;
        }
        for i in 1..starts.len() {
            starts[i] += starts[i - 1];
        }
        let mut free = starts.clone();
        let mut entries = vec![(0, 0); mesh.len() * 3];
        for (t, corners) in mesh.triangles.iter().enumerate() {
            for (side, v) in corners.iter().enumerate() {
                let next = &mut free[*v as usize];
                entries[*next as usize] = (t as u32, side as u8);
                *next += 1;
            }
        }
        Self { starts, entries }
    }

    /// The triangles round a vertex, and which of their corners it is.
    pub fn at(&self, vertex: usize) -> &[(u32, u8)] {
        &self.entries[self.starts[vertex] as usize..self.starts[vertex + 1] as usize]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A prism over a regular polygon, closed by fans.
    fn prism(sides: u32, radius: f64, height: f64) -> TriMesh {
        let ring = |z: f64| {
            (0..sides).map(move |i| {
                let (sin, cos) = (std::f64::consts::TAU * f64::from(i) / f64::from(sides)).sin_cos();
                DVec3::new(radius * cos, radius * sin, z)
            })
        };
        let positions = ring(0.0).chain(ring(height)).chain([DVec3::ZERO, DVec3::Z * height]).collect();
        let (low, high) = (2 * sides, 2 * sides + 1);
        let triangles = (0..sides)
            .flat_map(|i| {
                let j = (i + 1) % sides;
                [[i, j, sides + j], [i, sides + j, sides + i], [low, j, i], [high, sides + i, sides + j]]
            })
            .collect();
        TriMesh { positions, triangles }
    }

    #[test]
    fn a_round_side_is_smooth_and_its_rim_is_sharp() {
        let surface = Surface { mesh: prism(64, 50.0, 30.0), ..Surface::default() };
        surface.mesh.check().unwrap();
        let (vertices, triangles) = surface.split(false);
        assert_eq!(
            vertices.len(),
            64 * 4 + 2,
            "each rim vertex is there once for the side, once for the end"
        );
        for vertex in &vertices {
            let radial = vertex.position.with_z(0.0).normalize_or_zero();
            let level = vertex.normal.z.abs() > 0.999;
            assert!(level || vertex.normal.dot(radial) > 0.9999, "{vertex:?}");
        }
        for t in triangles {
            let [a, b, c] = t.map(|v| vertices[v as usize]);
            let face = (b.position - a.position).cross(c.position - a.position);
            assert!([a, b, c].iter().all(|vertex| vertex.normal.dot(face) > 0.0));
        }
    }

    #[test]
    fn the_creases_of_a_round_prism_are_its_two_rims() {
        let creases = Surface { mesh: prism(64, 50.0, 30.0), ..Surface::default() }.creases();
        assert_eq!(creases.len(), 128);
        assert!(creases.iter().all(|[a, b]| a.z == b.z));
    }
}
