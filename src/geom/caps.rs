//! Level faces put on where a mesh is open at a height.

use glam::DVec3;
use manifold_rust::{linalg::Vec2, polygon};
use rustc_hash::FxHashMap;

use super::TriMesh;

/// Directed edges that lack their opposite, in the order that they were met.
///
/// Kept in order, so that the same mesh is always closed by the same triangles.
#[derive(Debug, Default)]
pub(super) struct OpenEdges {
    at: FxHashMap<(u32, u32), usize>,
    edges: Vec<Option<(u32, u32)>>,
}

impl OpenEdges {
    /// Takes in a directed edge of a triangle; its opposite, if met before, closes it.
    pub fn meet(&mut self, from: u32, to: u32) {
        if let Some(place) = self.at.remove(&(to, from)) {
            self.edges[place] = None;
            return;
        }
        self.at.insert((from, to), self.edges.len());
        self.edges.push(Some((from, to)));
    }

    /// Whether both leave the same edges open.
    pub fn same_as(&self, other: &Self) -> bool {
        self.at.len() == other.at.len() && self.at.keys().all(|edge| other.at.contains_key(edge))
    }

    /// Closed chains of the opposites of the edges left open: the rim of the face that is missing.
    fn rims(&self) -> Vec<Vec<u32>> {
        let mut onward: FxHashMap<u32, Vec<u32>> = FxHashMap::default();
        let open: Vec<(u32, u32)> = self.edges.iter().flatten().map(|&(from, to)| (to, from)).collect();
        // The last one put in is followed first: put in backwards, they are followed in order.
        for &(from, to) in open.iter().rev() {
            onward.entry(from).or_default().push(to);
        }
        let mut rims = Vec::new();
        for &(start, _) in &open {
            let mut rim = Vec::new();
            let mut at = start;
            while let Some(next) = onward.get_mut(&at).and_then(Vec::pop) {
                rim.push(at);
                at = next;
            }
            if rim.len() > 2 {
                rims.push(rim);
            }
        }
        rims
    }

    /// Closes `mesh` along the edges left open, all at one height, by a level face that looks up or down.
    pub fn close(&self, mesh: &mut TriMesh, up: bool) {
        let rims = self.rims();
        // Seen from below the y axis runs the other way, and every face looks at the beholder.
        let seen = |p: DVec3| Vec2::new(p.x, if up { p.y } else { -p.y });
        let outlines =
            rims.iter().map(|rim| rim.iter().map(|&v| seen(mesh.positions[v as usize])).collect()).collect();
        let corners: Vec<u32> = rims.into_iter().flatten().collect();
        let triangles = polygon::triangulate(&outlines, -1.0, true);
        mesh.triangles.extend(triangles.iter().map(|t| [t.x, t.y, t.z].map(|i| corners[i as usize])));
    }
}
