//! Scalar fields on meshes: a value at every vertex, and edges split until values between vertices are true too
//! (adaptive refinement).

use glam::DVec3;
use rayon::prelude::*;
use rustc_hash::{FxHashMap, FxHashSet};

use super::TriMesh;

/// An edge by its lower and its higher vertex.
type Edge = (u32, u32);

impl TriMesh {
    /// The same surface with `value` at every vertex, and a vertex in the middle of every edge where the value is
    /// more than `error` away from the mean of the edge's ends. Edges longer than `edges.0` mm are always
    /// split, those shorter than `edges.1` mm never.
    ///
    /// An edge is split for both triangles at it, so that a closed mesh stays closed; and a triangle is split
    /// along its longest edge first, so that none grows thin (M.-C. Rivara, Algorithms for refining triangular
    /// grids suitable for adaptive and multigrid techniques, 1984).
    pub fn with_scalar_field(
        &self,
        value: impl Fn(DVec3) -> f64 + Sync,
        error: f64,
        edges: (f64, f64),
    ) -> (TriMesh, Vec<f64>) {
        let mut mesh = self.clone();
        let mut values: Vec<f64> = mesh.positions.par_iter().with_min_len(1024).map(|p| value(*p)).collect();
        // Triangles before this one have no edge left to split for their own sake.
        let mut settled = 0;
        loop {
            let rough = |&edge: &Edge| {
                let length = mesh.length(edge);
                if length > edges.0 {
                    return true;
                }
                let mean = (values[edge.0 as usize] + values[edge.1 as usize]) / 2.0;
                (value(mesh.middle(edge)) - mean).abs() > error
            };
            let asked = mesh.edges_from(settled, edges.1);
            let wanted: Vec<Edge> =
                asked.into_par_iter().with_min_len(1024).filter(|edge| rough(edge)).collect();
            if wanted.is_empty() {
                return (mesh, values);
            }
            let split = mesh.with_longest(wanted, edges.1);
            let middles: Vec<DVec3> = split.iter().map(|edge| mesh.middle(*edge)).collect();
            let first = mesh.positions.len() as u32;
            values.par_extend(middles.par_iter().with_min_len(1024).map(|p| value(*p)));
            mesh.positions.extend(middles);
            settled = mesh.split_edges(&split.into_iter().zip(first..).collect());
        }
    }

    fn length(&self, (a, b): Edge) -> f64 {
        self.positions[a as usize].distance(self.positions[b as usize])
    }

    fn middle(&self, (a, b): Edge) -> DVec3 {
        (self.positions[a as usize] + self.positions[b as usize]) / 2.0
    }

    /// Edges of the triangles from `first` on that are at least `least` mm long, each once.
    fn edges_from(&self, first: usize, least: f64) -> Vec<Edge> {
        let long = |edge: &Edge| self.length(*edge) >= least;
        let mut edges: Vec<Edge> = self.triangles[first..].iter().flat_map(sides).filter(long).collect();
        edges.par_sort_unstable();
        edges.dedup();
        edges
    }

    /// `edges`, and the longest edge of every triangle that has one of these, and so on; none is shorter than
    /// `least` mm.
    fn with_longest(&self, edges: Vec<Edge>, least: f64) -> Vec<Edge> {
        let mut at: FxHashMap<Edge, [u32; 2]> = FxHashMap::default();
        for (i, t) in (0u32..).zip(&self.triangles) {
            for edge in sides(t).into_iter().filter(|edge| self.length(*edge) >= least) {
                at.entry(edge).and_modify(|both| both[1] = i).or_insert([i, i]);
            }
        }
        let mut chosen: FxHashSet<Edge> = edges.iter().copied().collect();
        let mut all = edges;
        let mut next = 0;
        while let Some(edge) = all.get(next) {
            next += 1;
            for triangle in at.get(edge).copied().unwrap_or_default() {
                let longest = self.longest(&self.triangles[triangle as usize]);
                if chosen.insert(longest) {
                    all.push(longest);
                }
            }
        }
        all
    }

    /// The longest edge of a triangle; of two alike, whichever both their triangles would choose.
    fn longest(&self, triangle: &[u32; 3]) -> Edge {
        let longer = |a: &Edge, b: &Edge| self.length(*a).total_cmp(&self.length(*b)).then(a.cmp(b));
        let [a, b, c] = sides(triangle);
        [b, c]
            .into_iter()
            .fold(a, |longest, edge| if longer(&longest, &edge).is_lt() { edge } else { longest })
    }

    /// Splits every triangle that has an edge in `split`, which gives the vertex in its middle, along its longest
    /// edge first. The triangles that come of it stand last; returns where they begin.
    fn split_edges(&mut self, split: &FxHashMap<Edge, u32>) -> usize {
        let mut unsplit = Vec::with_capacity(self.triangles.len());
        let mut split_ones = Vec::new();
        for &t in &self.triangles {
            if sides(&t).iter().all(|edge| !split.contains_key(edge)) {
                unsplit.push(t);
                continue;
            }
            let longest = self.longest(&t);
            let first = sides(&t).iter().position(|edge| *edge == longest).unwrap_or(0);
            let [a, b, c] = [0, 1, 2].map(|i| t[(first + i) % 3]);
            let [ab, bc, ca] = sides(&[a, b, c]).map(|edge| split.get(&edge).copied());
            let Some(ab) = ab else {
                unsplit.push(t);
                continue;
            };
            match bc {
                Some(bc) => split_ones.extend([[ab, b, bc], [ab, bc, c]]),
                None => split_ones.push([ab, b, c]),
            }
            match ca {
                Some(ca) => split_ones.extend([[ab, c, ca], [ab, ca, a]]),
                None => split_ones.push([ab, c, a]),
            }
        }
        let settled = unsplit.len();
        unsplit.append(&mut split_ones);
        self.triangles = unsplit;
        settled
    }
}

fn sides(t: &[u32; 3]) -> [Edge; 3] {
    [(t[0], t[1]), (t[1], t[2]), (t[2], t[0])].map(|(a, b)| (a.min(b), a.max(b)))
}

#[cfg(test)]
mod tests {
    use glam::dvec2;

    use super::*;
    use crate::{Region, Tolerance, revolve};

    /// A value that bends is kept to the error, a flat one adds no vertex, and the surface stays what it was.
    #[test]
    fn values_between_vertices_are_true() {
        let section = Region::rectangle(dvec2(0.0, 0.0), dvec2(60.0, 12.0));
        let mesh = revolve::revolve(&section, Tolerance::PREVIEW.segments(60.0));
        let (flat, _) = mesh.with_scalar_field(|p| 3.0 * p.x - p.z, 1e-9, (1e3, 0.0));
        assert_eq!(flat, mesh);
        let bent = |p: DVec3| (p.x / 9.0).sin() * 5.0;
        let (fine, values) = mesh.with_scalar_field(bent, 0.1, (16.0, 0.5));
        fine.check().unwrap();
        assert!((fine.volume() / mesh.volume() - 1.0).abs() < 1e-12);
        for t in &fine.triangles {
            for (a, b) in [(t[0], t[1]), (t[1], t[2]), (t[2], t[0])].map(|(a, b)| (a as usize, b as usize)) {
                let (p, q) = (fine.positions[a], fine.positions[b]);
                let off = (bent((p + q) / 2.0) - (values[a] + values[b]) / 2.0).abs();
                assert!(off <= 0.1 || p.distance(q) < 0.5, "{off} along {} mm", p.distance(q));
                assert!(p.distance(q) <= 16.0);
            }
        }
    }
}
