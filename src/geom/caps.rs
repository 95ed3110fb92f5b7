//! Open edges of a mesh, and level faces (caps) that close it along them.

use glam::DVec3;
use manifold_rust::{linalg::Vec2, polygon};
use rustc_hash::FxHashMap;

use super::TriMesh;

/// Directed edges that lack their opposite, in the order that they were added.
///
/// Kept in order, so that the same mesh is always closed by the same triangles.
#[derive(Debug, Default)]
pub(super) struct OpenEdges {
    at: FxHashMap<(u32, u32), usize>,
    edges: Vec<Option<(u32, u32)>>,
}

impl OpenEdges {
    /// Adds a directed edge of a triangle; if its opposite was added before, neither is open any more.
    pub fn add(&mut self, from: u32, to: u32) {
        if let Some(index) = self.at.remove(&(to, from)) {
            self.edges[index] = None;
            return;
        }
        self.at.insert((from, to), self.edges.len());
        self.edges.push(Some((from, to)));
    }

    /// Whether both leave the same edges open.
    pub fn same_as(&self, other: &Self) -> bool {
        self.at.len() == other.at.len() && self.at.keys().all(|edge| other.at.contains_key(edge))
    }

    /// Closed chains of the opposites of the open edges: the boundary of the face that is missing.
    fn boundary_loops(&self) -> Vec<Vec<u32>> {
        let mut next: FxHashMap<u32, Vec<u32>> = FxHashMap::default();
        let open: Vec<(u32, u32)> = self.edges.iter().flatten().map(|&(from, to)| (to, from)).collect();
        // The last one put in is followed first: put in backwards, they are followed in order.
        for &(from, to) in open.iter().rev() {
            next.entry(from).or_default().push(to);
        }
        let mut loops = Vec::new();
        for &(start, _) in &open {
            let mut chain = Vec::new();
            let mut at = start;
            while let Some(end) = next.get_mut(&at).and_then(Vec::pop) {
                chain.push(at);
                at = end;
            }
            if chain.len() > 2 {
                loops.push(chain);
            }
        }
        loops
    }

    /// Closes `mesh` along the edges left open, all at one height, by a level face that looks up or down.
    pub fn close(&self, mesh: &mut TriMesh, up: bool) {
        let loops = self.boundary_loops();
        // A face that looks down is triangulated mirrored, so that it is counter-clockwise there too.
        let flat = |p: DVec3| Vec2::new(p.x, if up { p.y } else { -p.y });
        let outlines = loops
            .iter()
            .map(|chain| chain.iter().map(|&v| flat(mesh.positions[v as usize])).collect())
            .collect();
        let corners: Vec<u32> = loops.into_iter().flatten().collect();
        let triangles = polygon::triangulate(&outlines, -1.0, true);
        let mut cap: Vec<[u32; 3]> =
            triangles.iter().map(|t| [t.x, t.y, t.z].map(|i| corners[i as usize])).collect();
        turn_flat(&mut cap, &mesh.positions);
        mesh.triangles.append(&mut cap);
    }
}

/// Turns the edges that flat triangles share with others, so that none is flat: where corners of an outline lie on one
/// line, the triangulation may join three of them. A flat triangle whose long side is a side of the outline stays.
fn turn_flat(cap: &mut [[u32; 3]], positions: &[DVec3]) {
    let at = |v: u32| positions[v as usize];
    let is_flat = |[a, b, c]: [u32; 3]| (at(b) - at(a)).cross(at(c) - at(a)).length() == 0.0;
    let mut flat: Vec<usize> = (0..cap.len()).filter(|i| is_flat(cap[*i])).collect();
    if flat.is_empty() {
        return;
    }
    let mut beside: FxHashMap<(u32, u32), usize> = FxHashMap::default();
    let sides = |[a, b, c]: [u32; 3]| [(a, b), (b, c), (c, a)];
    for (i, t) in cap.iter().enumerate() {
        beside.extend(sides(*t).map(|side| (side, i)));
    }
    // Each turn makes one flat triangle less, or hands it on to a neighbour that is flat itself.
    for _ in 0..4 * flat.len() {
        let Some(i) = flat.pop() else { return };
        if !is_flat(cap[i]) {
            continue;
        }
        let length = |(a, b): &(u32, u32)| at(*a).distance_squared(at(*b));
        let [first, second, third] = sides(cap[i]);
        let long = [second, third]
            .into_iter()
            .fold(first, |long, s| if length(&s) > length(&long) { s } else { long });
        let Some(middle) = cap[i].into_iter().find(|v| *v != long.0 && *v != long.1) else { continue };
        let Some(&j) = beside.get(&(long.1, long.0)) else { continue };
        let Some(apex) = cap[j].into_iter().find(|v| *v != long.0 && *v != long.1) else { continue };
        if apex == middle {
            continue;
        }
        sides(cap[i]).into_iter().chain(sides(cap[j])).for_each(|side| _ = beside.remove(&side));
        cap[i] = [middle, long.0, apex];
        cap[j] = [apex, long.1, middle];
        for k in [i, j] {
            beside.extend(sides(cap[k]).map(|side| (side, k)));
            if is_flat(cap[k]) {
                flat.insert(0, k);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A fan from one corner over others that lie on a line with it.
    #[test]
    fn no_triangle_of_a_cap_is_flat() {
        let positions: Vec<DVec3> = [(0.0, 0.0), (1.0, 0.0), (2.0, 0.0), (3.0, 0.0), (3.0, 2.0)]
            .map(|(x, y)| DVec3::new(x, y, 0.0))
            .to_vec();
        let mut cap = vec![[0, 1, 2], [0, 2, 3], [0, 3, 4]];
        turn_flat(&mut cap, &positions);
        let area = |[a, b, c]: [u32; 3]| {
            let [a, b, c] = [a, b, c].map(|v: u32| positions[v as usize]);
            (b - a).cross(c - a).z / 2.0
        };
        assert!(cap.iter().all(|t| area(*t) > 0.1), "{cap:?}");
        assert!((cap.iter().map(|t| area(*t)).sum::<f64>() - 3.0).abs() < 1e-12);
    }
}
