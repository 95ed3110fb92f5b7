//! Normals for shading: smooth where the surface is smooth, broken at its edges.

use glam::{DVec3, Vec3};

use super::mesh_f32::double_area;

/// A normal for each corner of each triangle.
#[derive(Debug, Clone, PartialEq)]
pub struct CornerNormals {
    /// Unit normals.
    pub normals: Vec<DVec3>,
    /// Three indices into `normals` for each triangle, as the triangle lists its corners.
    pub corners: Vec<[u32; 3]>,
}

/// The normals of a closed surface. At each corner the triangles that hang together over edges bent by
/// less than `crease` degrees share one normal: the mean of theirs, weighted by their angle at the corner,
/// so that it does not depend on how a flat piece is cut into triangles.
///
/// # Panics
/// When a triangle names a position that is not there.
pub fn corner_normals(positions: &[Vec3], triangles: &[[u32; 3]], crease: f64) -> CornerNormals {
    let facets: Vec<Facet> = triangles.iter().map(|&t| Facet::of(t.map(|v| positions[v as usize]))).collect();
    let least_cosine = libm::cos(crease.to_radians());
    let mut normals = Vec::with_capacity(positions.len());
    let mut corners = vec![[0; 3]; triangles.len()];
    let fans = Fans::of(positions.len(), triangles);
    for vertex in 0..positions.len() {
        let fan = fans.around(vertex);
        let mut groups = smooth_groups(fan, &facets, least_cosine);
        for (corner, wedge) in fan.iter().enumerate() {
            let root = groups.root(corner);
            if root == corner {
                groups.number[corner] = normals.len() as u32;
                normals.push(DVec3::ZERO);
            }
            let number = groups.number[root];
            normals[number as usize] += facets[wedge.triangle].weighted(wedge.slot);
            corners[wedge.triangle][wedge.slot] = number;
        }
    }
    for normal in &mut normals {
        *normal = normal.normalize_or(DVec3::Z);
    }
    CornerNormals { normals, corners }
}

/// A triangle's unit normal (zero for a flat one) and the angles at its corners, radians.
struct Facet {
    normal: DVec3,
    angles: [f64; 3],
}

impl Facet {
    fn of(corners: [Vec3; 3]) -> Self {
        let p = corners.map(Vec3::as_dvec3);
        let angles = [0, 1, 2].map(|i| {
            let (u, v) = (p[(i + 1) % 3] - p[i], p[(i + 2) % 3] - p[i]);
            libm::atan2(u.cross(v).length(), u.dot(v))
        });
        Self { normal: double_area(corners).normalize_or_zero(), angles }
    }

    fn weighted(&self, slot: usize) -> DVec3 {
        self.normal * self.angles[slot]
    }
}

/// One corner of a triangle, seen from its vertex: which triangle, which of its corners, and the vertices
/// after and before in the order of the triangle.
#[derive(Debug, Clone, Copy, Default)]
struct Wedge {
    triangle: usize,
    slot: usize,
    after: u32,
    before: u32,
}

/// The wedges around every vertex.
struct Fans {
    wedges: Vec<Wedge>,
    /// Where the wedges of each vertex begin, and after the last where they end.
    starts: Vec<usize>,
}

impl Fans {
    fn of(vertices: usize, triangles: &[[u32; 3]]) -> Self {
        let mut starts = vec![0; vertices + 1];
        for &v in triangles.as_flattened() {
            starts[v as usize + 1] += 1;
        }
        for vertex in 0..vertices {
            starts[vertex + 1] += starts[vertex];
        }
        let mut next = starts.clone();
        let mut wedges = vec![Wedge::default(); 3 * triangles.len()];
        for (triangle, t) in triangles.iter().enumerate() {
            for slot in 0..3 {
                let place = &mut next[t[slot] as usize];
                wedges[*place] =
                    Wedge { triangle, slot, after: t[(slot + 1) % 3], before: t[(slot + 2) % 3] };
                *place += 1;
            }
        }
        for vertex in 0..vertices {
            wedges[starts[vertex]..starts[vertex + 1]].sort_by_key(|wedge| wedge.after);
        }
        Self { wedges, starts }
    }

    /// The wedges around a vertex, in the order of the vertex that comes after.
    fn around(&self, vertex: usize) -> &[Wedge] {
        &self.wedges[self.starts[vertex]..self.starts[vertex + 1]]
    }
}

/// Joins the wedges of a fan across edges that are bent little enough.
fn smooth_groups(fan: &[Wedge], facets: &[Facet], least_cosine: f64) -> Groups {
    let mut groups = Groups { parent: (0..fan.len()).collect(), number: vec![0; fan.len()] };
    for (here, wedge) in fan.iter().enumerate() {
        let Ok(there) = fan.binary_search_by_key(&wedge.before, |other| other.after) else { continue };
        let bend = facets[wedge.triangle].normal.dot(facets[fan[there].triangle].normal);
        if bend >= least_cosine {
            groups.join(here, there);
        }
    }
    groups
}

/// Disjoint sets of the wedges of one fan. The root of a set is its first wedge.
struct Groups {
    parent: Vec<usize>,
    /// For the root of each set, the index of its normal.
    number: Vec<u32>,
}

impl Groups {
    fn root(&mut self, mut corner: usize) -> usize {
        while self.parent[corner] != corner {
            self.parent[corner] = self.parent[self.parent[corner]];
            corner = self.parent[corner];
        }
        corner
    }

    fn join(&mut self, a: usize, b: usize) {
        let (a, b) = (self.root(a), self.root(b));
        self.parent[a.max(b)] = a.min(b);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A six-sided bar around the z axis, 60° from side to side, with one vertex in the middle of each end.
    fn bar() -> (Vec<Vec3>, Vec<[u32; 3]>) {
        let ring = |z: f32| {
            (0..6).map(move |i| {
                let (sin, cos) = (i as f32 * std::f32::consts::FRAC_PI_3).sin_cos();
                Vec3::new(cos, sin, z)
            })
        };
        let positions: Vec<Vec3> = ring(0.0).chain(ring(5.0)).chain([Vec3::ZERO, Vec3::Z * 5.0]).collect();
        let triangles = (0..6)
            .flat_map(|i| {
                let j = (i + 1) % 6;
                [[i, j, j + 6], [i, j + 6, i + 6], [12, j, i], [13, i + 6, j + 6]]
            })
            .collect();
        (positions, triangles)
    }

    fn distinct(normals: &CornerNormals, vertex: u32, triangles: &[[u32; 3]]) -> usize {
        let mut used: Vec<u32> = triangles
            .iter()
            .zip(&normals.corners)
            .flat_map(|(t, c)| t.iter().zip(c).filter(|(v, _)| **v == vertex).map(|(_, c)| *c))
            .collect();
        used.sort_unstable();
        used.dedup();
        used.len()
    }

    #[test]
    fn edges_sharper_than_the_crease_break_the_shading() {
        let (positions, triangles) = bar();
        let sharp = corner_normals(&positions, &triangles, 40.0);
        assert_eq!(distinct(&sharp, 0, &triangles), 3, "two sides and an end");
        let round = corner_normals(&positions, &triangles, 70.0);
        assert_eq!(distinct(&round, 0, &triangles), 2, "the sides as one, and an end");
    }

    #[test]
    fn a_smooth_side_points_straight_out_however_it_is_cut() {
        let (positions, triangles) = bar();
        let round = corner_normals(&positions, &triangles, 70.0);
        for (t, c) in triangles.iter().zip(&round.corners).filter(|(t, _)| t.iter().all(|&v| v < 12)) {
            for (v, n) in t.iter().zip(c) {
                let out = positions[*v as usize].as_dvec3().with_z(0.0).normalize();
                assert!(round.normals[*n as usize].distance(out) < 1e-6, "vertex {v}");
            }
        }
    }

    #[test]
    fn without_smoothing_every_normal_is_that_of_its_triangle() {
        let (positions, triangles) = bar();
        let flat = corner_normals(&positions, &triangles, 1e-3);
        for (t, c) in triangles.iter().zip(&flat.corners) {
            let normal = double_area(t.map(|v| positions[v as usize])).normalize();
            assert!(c.iter().all(|&n| flat.normals[n as usize].distance(normal) < 1e-6));
        }
    }
}
