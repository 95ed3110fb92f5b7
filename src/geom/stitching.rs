//! A turned mesh with patches: sectors of it replaced by other surfaces and stitched to the rest vertex to vertex.
//!
//! Where cuts and adds touch a turned solid here and there, only those sectors go through booleans; what comes
//! out of them replaces that part of the turned mesh.

use glam::DVec3;
use rustc_hash::{FxHashMap, FxHashSet};

use super::{
    Region, Sector, TriMesh,
    caps::OpenEdges,
    revolve::{Ring, directions, faces, push_ring},
};

/// The surface that replaces a sector.
#[derive(Debug, Clone, Copy)]
pub struct Patch<'a> {
    /// The sector. Every height at which its range changes must be that of points of the section, and of no level
    /// edge or tip.
    pub sector: &'a Sector,
    /// The surface of the solid in it, closed, the faces that close the sector among it.
    pub mesh: &'a TriMesh,
}

/// The surface of `section` turned about the axis with `n` meridians, with `patches` in place of their sectors,
/// which must not overlap. `None` if a patch does not meet the rest vertex to vertex.
pub fn stitched(section: &Region, n: u32, patches: &[Patch<'_>]) -> Option<TriMesh> {
    let around = directions(n);
    let mut mesh = TriMesh::default();
    // Vertices of the turned mesh in sectors, by position, and the boundaries of what the patches replace.
    let mut seams: FxHashMap<[u64; 3], u32> = FxHashMap::default();
    let mut removed: Vec<OpenEdges> = patches.iter().map(|_| OpenEdges::default()).collect();
    for contour in section.contours() {
        let rings: Vec<Ring> = contour.iter().map(|p| push_ring(&mut mesh, *p, &around)).collect();
        for i in 0..contour.len() {
            let j = (i + 1) % contour.len();
            let heights = (contour[i].y.min(contour[j].y), contour[i].y.max(contour[j].y));
            let middle = (heights.0 + heights.1) / 2.0;
            let near: Vec<usize> =
                (0..patches.len()).filter(|p| patches[*p].sector.reaches(middle)).collect();
            for k in 0..n {
                let faces = faces(rings[i], rings[j], k, n);
                match near.iter().find(|p| patches[**p].sector.contains(heights, k)) {
                    None => mesh.triangles.extend(faces),
                    Some(patch) => faces.for_each(|t| {
                        add_edges(&mut removed[*patch], t);
                        seams.extend(t.map(|v| (bits(mesh.positions[v as usize]), v)));
                    }),
                }
            }
        }
    }
    for (patch, removed) in patches.iter().zip(&removed) {
        if !stitch(&mut mesh, section, patch, &seams)?.same_as(removed) {
            return None;
        }
    }
    Some(mesh.without_unused_vertices())
}

/// Adds the surface of a patch to `mesh`, without the faces that close its sector; returns the edges that stay
/// open. `None` where two sheets of it touch in a vertex of the turned mesh, which would join them.
fn stitch(
    mesh: &mut TriMesh,
    section: &Region,
    patch: &Patch<'_>,
    seams: &FxHashMap<[u64; 3], u32>,
) -> Option<OpenEdges> {
    let closing = patch.sector.closing_faces(section);
    let mut own: Vec<u32> = vec![u32::MAX; patch.mesh.positions.len()];
    let mut boundary = OpenEdges::default();
    let mut joined: FxHashSet<u32> = FxHashSet::default();
    for (index, triangle) in patch.mesh.triangles.iter().enumerate() {
        if closing.contain(patch.mesh.corners(index)) {
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
        add_edges(&mut boundary, t);
        mesh.triangles.push(t);
    }
    Some(boundary)
}

fn add_edges(edges: &mut OpenEdges, t: [u32; 3]) {
    for (from, to) in [(t[0], t[1]), (t[1], t[2]), (t[2], t[0])] {
        edges.add(from, to);
    }
}

/// Adding zero turns −0.0 into 0.0.
fn bits(p: DVec3) -> [u64; 3] {
    (p + DVec3::ZERO).to_array().map(f64::to_bits)
}
