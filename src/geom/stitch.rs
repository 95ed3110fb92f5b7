//! A turned surface with patches: the grid that it is, but for the bays that something else stands in.
//!
//! Where cuts and adds touch a turned solid here and there, only those bays go through booleans; what comes
//! out of them is sewn back into the grid, corner to corner.

use glam::DVec3;
use rustc_hash::{FxHashMap, FxHashSet};

use super::{
    Bay, Region, TriMesh,
    caps::OpenEdges,
    revolve::{Ring, directions, faces, push_ring},
};

/// What stands in a bay.
#[derive(Debug, Clone, Copy)]
pub struct Patch<'a> {
    /// The bay. Every height at which its run of steps changes must be that of points of the section, and of no
    /// level edge or tip.
    pub bay: &'a Bay,
    /// The surface of what stands in it, closed, the faces that close the bay among it.
    pub mesh: &'a TriMesh,
}

/// The surface of `section` turned about the axis with `n` meridians, with `patches` sewn in, whose bays must not
/// meet. `None` if a patch does not meet the grid corner to corner.
pub fn stitched(section: &Region, n: u32, patches: &[Patch<'_>]) -> Option<TriMesh> {
    let around = directions(n);
    let mut mesh = TriMesh::default();
    // Vertices of the grid where patches meet it, and the rims of what the patches replace.
    let mut seams: FxHashMap<[u64; 3], u32> = FxHashMap::default();
    let mut removed: Vec<OpenEdges> = patches.iter().map(|_| OpenEdges::default()).collect();
    for contour in section.contours() {
        let rings: Vec<Ring> = contour.iter().map(|p| push_ring(&mut mesh, *p, &around)).collect();
        for i in 0..contour.len() {
            let j = (i + 1) % contour.len();
            let heights = (contour[i].y.min(contour[j].y), contour[i].y.max(contour[j].y));
            let middle = (heights.0 + heights.1) / 2.0;
            let near: Vec<usize> = (0..patches.len()).filter(|p| patches[*p].bay.reaches(middle)).collect();
            for k in 0..n {
                let faces = faces(rings[i], rings[j], k, n);
                match near.iter().find(|p| patches[**p].bay.holds(heights, k)) {
                    None => mesh.triangles.extend(faces),
                    Some(patch) => faces.for_each(|t| {
                        meet(&mut removed[*patch], t);
                        seams.extend(t.map(|v| (bits(mesh.positions[v as usize]), v)));
                    }),
                }
            }
        }
    }
    for (patch, removed) in patches.iter().zip(&removed) {
        if !sew(&mut mesh, section, patch, &seams)?.same_as(removed) {
            return None;
        }
    }
    Some(mesh.without_strays())
}

/// Puts the surface of a patch into `mesh`; hands back the rim that it leaves open. `None` where two sheets of it
/// touch in a vertex of the grid, which would join them.
fn sew(
    mesh: &mut TriMesh,
    section: &Region,
    patch: &Patch<'_>,
    seams: &FxHashMap<[u64; 3], u32>,
) -> Option<OpenEdges> {
    let inner = patch.bay.inner(section);
    let mut own: Vec<u32> = vec![u32::MAX; patch.mesh.positions.len()];
    let mut rim = OpenEdges::default();
    let mut joined: FxHashSet<u32> = FxHashSet::default();
    for (index, triangle) in patch.mesh.triangles.iter().enumerate() {
        if inner.holds(patch.mesh.corners(index)) {
            continue;
        }
        for v in *triangle {
            if own[v as usize] != u32::MAX {
                continue;
            }
            let at = patch.mesh.positions[v as usize];
            own[v as usize] = match seams.get(&bits(at)) {
                Some(seam) if !joined.insert(*seam) => return None,
                Some(seam) => *seam,
                None => {
                    mesh.positions.push(at);
                    mesh.positions.len() as u32 - 1
                }
            };
        }
        let t = triangle.map(|v| own[v as usize]);
        meet(&mut rim, t);
        mesh.triangles.push(t);
    }
    Some(rim)
}

fn meet(edges: &mut OpenEdges, t: [u32; 3]) {
    for (from, to) in [(t[0], t[1]), (t[1], t[2]), (t[2], t[0])] {
        edges.meet(from, to);
    }
}

/// Adding zero turns −0.0 into 0.0.
fn bits(p: DVec3) -> [u64; 3] {
    (p + DVec3::ZERO).to_array().map(f64::to_bits)
}
