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
        mesh.triangles.extend(triangles.iter().map(|t| [t.x, t.y, t.z].map(|i| corners[i as usize])));
    }
}
