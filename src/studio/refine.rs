//! Divides long edges, so that what is known at vertices only varies finely enough over a surface.

use std::collections::HashMap;

use super::Surface;

/// Rounds of halving; each edge is at most so often halved.
const ROUNDS: usize = 10;

impl Surface {
    /// The same surface with edges no longer than `longest` mm, or as near to it as at most `most` triangles allow. An
    /// edge is divided for both its triangles alike, so that no gap opens.
    #[must_use]
    pub fn refined(mut self, longest: f64, most: usize) -> Self {
        for _ in 0..ROUNDS {
            let middles = self.divide(longest);
            if middles.is_empty() || self.mesh.len() + 2 * middles.len() > most {
                break;
            }
            self.rebuild(&middles);
        }
        self
    }

    /// Adds the middles of all edges longer than `longest`, mm: their vertices by the edge's ends, the lower first.
    fn divide(&mut self, longest: f64) -> HashMap<(u32, u32), u32> {
        let mut middles = HashMap::new();
        let Self { mesh, depth, .. } = self;
        for t in &mesh.triangles {
            for (a, b) in [(t[0], t[1]), (t[1], t[2]), (t[2], t[0])] {
                let (from, to) = (a.min(b), a.max(b));
                let ends = [from, to].map(|v| mesh.positions[v as usize]);
                if ends[0].distance(ends[1]) <= longest || middles.contains_key(&(from, to)) {
                    continue;
                }
                middles.insert((from, to), mesh.positions.len() as u32);
                mesh.positions.push((ends[0] + ends[1]) / 2.0);
                if !depth.is_empty() {
                    depth.push((depth[from as usize] + depth[to as usize]) / 2.0);
                }
            }
        }
        middles
    }

    /// Replaces each triangle by as many as its divided edges make of it.
    fn rebuild(&mut self, middles: &HashMap<(u32, u32), u32>) {
        let middle = |a: u32, b: u32| middles.get(&(a.min(b), a.max(b))).copied();
        let mut triangles = Vec::with_capacity(self.mesh.len() + 2 * middles.len());
        let mut cap = Vec::new();
        for (number, t) in self.mesh.triangles.iter().enumerate() {
            let before = triangles.len();
            match [middle(t[0], t[1]), middle(t[1], t[2]), middle(t[2], t[0])] {
                [None, None, None] => triangles.push(*t),
                [Some(a), Some(b), Some(c)] => {
                    triangles.extend([[t[0], a, c], [a, t[1], b], [c, b, t[2]], [a, b, c]]);
                }
                edges => {
                    // Turned so that the first edge is divided and the last is not.
                    let first = (0..3).find(|i| edges[*i].is_some() && edges[(i + 2) % 3].is_none());
                    let first = first.expect("one edge is divided and another is not");
                    let [a, b, c] = [0, 1, 2].map(|i| t[(first + i) % 3]);
                    let m = edges[first].expect("this edge is divided");
                    match edges[(first + 1) % 3] {
                        None => triangles.extend([[a, m, c], [m, b, c]]),
                        Some(n) => triangles.extend([[m, b, n], [a, m, n], [a, n, c]]),
                    }
                }
            }
            if let Some(is_cap) = self.cap.get(number) {
                cap.resize(cap.len() + triangles.len() - before, *is_cap);
            }
        }
        self.mesh.triangles = triangles;
        self.cap = cap;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use geom::TriMesh;
    use glam::DVec3;

    /// A box by its corners.
    fn block(size: DVec3) -> TriMesh {
        let corner = |i: u32| DVec3::new(f64::from(i & 1), f64::from(i >> 1 & 1), f64::from(i >> 2)) * size;
        let quads = [[0, 2, 3, 1], [4, 5, 7, 6], [0, 1, 5, 4], [2, 6, 7, 3], [0, 4, 6, 2], [1, 3, 7, 5]];
        let triangles = quads.iter().flat_map(|[a, b, c, d]| [[*a, *b, *c], [*a, *c, *d]]).collect();
        TriMesh { positions: (0..8).map(corner).collect(), triangles }
    }

    #[test]
    fn a_refined_box_is_closed_has_its_volume_and_no_long_edge() {
        let mesh = block(DVec3::new(200.0, 90.0, 10.0));
        let caps: Vec<bool> = (0..mesh.len()).map(|t| t < 4).collect();
        let depth = mesh.positions.iter().map(|p| p.x).collect();
        let surface = Surface { mesh: mesh.clone(), depth, cap: caps }.refined(8.0, usize::MAX);
        surface.mesh.check().unwrap();
        assert!((surface.mesh.volume() - mesh.volume()).abs() < 1e-6);
        for t in 0..surface.mesh.len() {
            let [a, b, c] = surface.mesh.corners(t);
            assert!(a.distance(b).max(b.distance(c)).max(c.distance(a)) <= 8.0);
            assert_eq!(surface.cap[t], [a, b, c].iter().all(|p| p.z == a.z), "level faces are caps");
        }
        assert!(surface.mesh.positions.iter().zip(&surface.depth).all(|(p, d)| (p.x - d).abs() < 1e-9));
    }

    #[test]
    fn a_surface_stays_within_the_triangles_that_it_may_have() {
        let surface = Surface { mesh: block(DVec3::splat(500.0)), ..Surface::default() }.refined(1.0, 5000);
        assert!(surface.mesh.len() <= 5000 && surface.mesh.len() > 1000);
        surface.mesh.check().unwrap();
    }
}
