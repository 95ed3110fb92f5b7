//! How far a point is from a surface.
//!
//! A tree of boxes over the triangles, halved at the middle triangle along the longest side; a search
//! looks into the nearer half first and leaves out every box farther than what it has found.

use glam::DVec3;

use crate::geom::TriMesh;

/// Triangles in a leaf of the tree.
const LEAF: usize = 4;

/// A surface, ready for being asked how far points are from it.
pub(super) struct Nearest {
    /// The corners of each triangle, those of a leaf together.
    triangles: Vec<[DVec3; 3]>,
    nodes: Vec<Node>,
}

struct Node {
    lo: DVec3,
    hi: DVec3,
    inside: Inside,
}

enum Inside {
    /// Two boxes: the next node, and this one.
    Halves { second: usize },
    /// The triangles from the first to before the second.
    Triangles(usize, usize),
}

impl Nearest {
    /// Sorts the triangles of `mesh`.
    ///
    /// # Panics
    /// When a triangle names a vertex that is not there.
    pub fn of(mesh: &TriMesh) -> Self {
        let mut nearest =
            Self { triangles: (0..mesh.len()).map(|t| mesh.corners(t)).collect(), nodes: Vec::new() };
        if !mesh.is_empty() {
            nearest.split(0, mesh.len());
        }
        nearest
    }

    fn split(&mut self, start: usize, end: usize) {
        let own = &mut self.triangles[start..end];
        let corners = own.as_flattened();
        let (lo, hi) = corners.iter().fold((corners[0], corners[0]), |(lo, hi), &p| (lo.min(p), hi.max(p)));
        let node = self.nodes.len();
        self.nodes.push(Node { lo, hi, inside: Inside::Triangles(start, end) });
        if own.len() <= LEAF {
            return;
        }
        let axis = (hi - lo).max_position();
        let half = own.len() / 2;
        let place = |t: &[DVec3; 3]| t[0][axis] + t[1][axis] + t[2][axis];
        own.select_nth_unstable_by(half, |a, b| place(a).total_cmp(&place(b)));
        self.split(start, start + half);
        self.nodes[node].inside = Inside::Halves { second: self.nodes.len() };
        self.split(start + half, end);
    }

    /// Distance from `p` to the surface, mm; infinite if there is no surface.
    pub fn distance(&self, p: DVec3) -> f64 {
        let mut best = f64::INFINITY;
        if !self.nodes.is_empty() {
            self.search(0, p, &mut best);
        }
        best.sqrt()
    }

    fn search(&self, node: usize, p: DVec3, best: &mut f64) {
        match self.nodes[node].inside {
            Inside::Triangles(start, end) => {
                for &triangle in &self.triangles[start..end] {
                    *best = best.min(p.distance_squared(closest_point(triangle, p)));
                }
            }
            Inside::Halves { second } => {
                let mut halves = [node + 1, second].map(|half| (self.nodes[half].distance_squared(p), half));
                halves.sort_by(|a, b| a.0.total_cmp(&b.0));
                for (distance, half) in halves {
                    if distance < *best {
                        self.search(half, p, best);
                    }
                }
            }
        }
    }
}

impl Node {
    fn distance_squared(&self, p: DVec3) -> f64 {
        p.distance_squared(p.clamp(self.lo, self.hi))
    }
}

/// The point of a triangle closest to `p`: the foot of the perpendicular if it is inside, else the closest
/// point of the three edges.
fn closest_point([a, b, c]: [DVec3; 3], p: DVec3) -> DVec3 {
    let normal = (b - a).cross(c - a);
    let beside = |from: DVec3, to: DVec3| (to - from).cross(p - from).dot(normal) >= 0.0;
    if beside(a, b) && beside(b, c) && beside(c, a) && normal != DVec3::ZERO {
        return p - normal * ((p - a).dot(normal) / normal.length_squared());
    }
    let on_edge = |from: DVec3, to: DVec3| {
        let along = to - from;
        let length = along.length_squared();
        let part = if length > 0.0 { ((p - from).dot(along) / length).clamp(0.0, 1.0) } else { 0.0 };
        from + along * part
    };
    let mut closest = on_edge(a, b);
    for other in [on_edge(b, c), on_edge(c, a)] {
        if p.distance_squared(other) < p.distance_squared(closest) {
            closest = other;
        }
    }
    closest
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_closest_point_is_a_face_an_edge_or_a_corner() {
        let triangle = [DVec3::ZERO, DVec3::X * 4.0, DVec3::Y * 4.0];
        for (p, expected) in [
            (DVec3::new(1.0, 1.0, 7.0), DVec3::new(1.0, 1.0, 0.0)),
            (DVec3::new(2.0, -3.0, 1.0), DVec3::new(2.0, 0.0, 0.0)),
            (DVec3::new(4.0, 4.0, -1.0), DVec3::new(2.0, 2.0, 0.0)),
            (DVec3::new(-1.0, -1.0, 2.0), DVec3::ZERO),
            (DVec3::new(9.0, -1.0, 0.0), DVec3::X * 4.0),
        ] {
            assert!(closest_point(triangle, p).distance(expected) < 1e-12, "{p}");
        }
    }

    #[test]
    fn a_search_finds_what_looking_at_every_triangle_finds() {
        // A bumpy sheet of 800 triangles, looked at from points in and around it.
        let height = |i: u32, j: u32| f64::from((i * 7 + j * 13) % 11);
        let positions =
            (0..441).map(|k| DVec3::new(f64::from(k % 21), f64::from(k / 21), height(k % 21, k / 21)));
        let cells = (0..400).map(|k| k % 20 + 21 * (k / 20));
        let sheet = TriMesh {
            positions: positions.collect(),
            triangles: cells.flat_map(|k| [[k, k + 1, k + 22], [k, k + 22, k + 21]]).collect(),
        };
        let nearest = Nearest::of(&sheet);
        for k in 0..500 {
            let p = DVec3::new(
                f64::from(k * 17 % 31) - 5.0,
                f64::from(k * 23 % 29) - 4.0,
                f64::from(k * 5 % 23) - 6.0,
            );
            let all = (0..sheet.len()).map(|t| p.distance(closest_point(sheet.corners(t), p)));
            let least = all.fold(f64::INFINITY, f64::min);
            assert!((nearest.distance(p) - least).abs() < 1e-12, "{p}");
        }
        assert_eq!(Nearest::of(&TriMesh::default()).distance(DVec3::ZERO), f64::INFINITY);
    }
}
