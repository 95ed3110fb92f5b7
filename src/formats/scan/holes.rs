//! Holes: found by their rims, and filled flat where that is no guess.

use glam::DVec3;
use rustc_hash::FxHashMap;

use super::{cut::cut, sides};
use geom::TriMesh;

/// The rim of a hole: its corners in the order in which the missing surface runs along them.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Rim {
    pub corners: Vec<u32>,
}

impl Rim {
    /// Length, mm.
    pub fn length(&self, mesh: &TriMesh) -> f64 {
        let at = |i: usize| mesh.positions[self.corners[i % self.corners.len()] as usize];
        (0..self.corners.len()).map(|i| at(i).distance(at(i + 1))).sum()
    }

    /// Middle of its corners, mm.
    pub fn middle(&self, mesh: &TriMesh) -> DVec3 {
        let sum: DVec3 = self.corners.iter().map(|v| mesh.positions[*v as usize]).sum();
        sum / self.corners.len() as f64
    }

    /// Height of its highest corner, mm.
    pub fn top(&self, mesh: &TriMesh) -> f64 {
        self.corners.iter().map(|v| mesh.positions[*v as usize].z).fold(f64::NEG_INFINITY, f64::max)
    }

    /// Closes it with flat triangles.
    pub fn fill(&self, mesh: &mut TriMesh) {
        let corners: Vec<DVec3> = self.corners.iter().map(|v| mesh.positions[*v as usize]).collect();
        mesh.triangles.extend(cut(&corners).into_iter().map(|t| t.map(|i| self.corners[i])));
    }
}

/// The rims of all holes, in the order of their first corners. Where several meet in a corner they are kept apart.
pub(super) fn rims(mesh: &TriMesh) -> Vec<Rim> {
    let mut onward: FxHashMap<u32, Vec<u32>> = FxHashMap::default();
    // The missing surface runs along each open side the other way.
    let mut open: Vec<(u32, u32)> =
        sides::open(&mesh.triangles).into_iter().map(|(from, to)| (to, from)).collect();
    open.sort_unstable();
    for &(from, to) in open.iter().rev() {
        onward.entry(from).or_default().push(to);
    }
    let mut rims = Vec::new();
    for &(start, _) in &open {
        let mut walk = vec![start];
        let mut at: FxHashMap<u32, usize> = [(start, 0)].into_iter().collect();
        while let Some(next) = walk.last().and_then(|v| onward.get_mut(v)).and_then(Vec::pop) {
            match at.get(&next) {
                // Back at a corner passed before: that much is a rim of its own.
                Some(&place) => {
                    let corners: Vec<u32> = walk.drain(place + 1..).collect();
                    for v in &corners {
                        at.remove(v);
                    }
                    let corners = [next].into_iter().chain(corners).collect();
                    rims.push(Rim { corners });
                }
                None => {
                    at.insert(next, walk.len());
                    walk.push(next);
                }
            }
        }
    }
    rims.retain(|rim| rim.corners.len() > 2);
    rims
}
