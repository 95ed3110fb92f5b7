//! A turned surface with patches: the grid that it is, but for a few stretches of bearings and heights
//! that something else stands in.
//!
//! Where cuts and adds touch a turned solid here and there, only those stretches go through booleans;
//! what comes out of them is sewn back into the grid, corner to corner.

use std::collections::HashMap;

use glam::DVec3;

use super::{
    Region, TriMesh,
    caps::OpenEdges,
    revolve::{Ring, directions, push_ring},
    wedge::Meridians,
};

/// What stands in a stretch of bearings and heights.
#[derive(Debug, Clone, Copy)]
pub struct Patch<'a> {
    /// Its meridians.
    pub run: Meridians,
    /// Its lowest and highest height, mm. Both must be the height of points of the section, and of no level
    /// edge but the lowest and the highest.
    pub heights: (f64, f64),
    /// The surface of what stands in it, closed, the faces that the patch cuts among it.
    pub mesh: &'a TriMesh,
}

/// A vertex this near to the plane of a meridian lies in it, mm.
const ON: f64 = 1e-7;

impl Patch<'_> {
    /// Whether the face of the grid between meridian `k` and the next, along a section edge between those
    /// heights, belongs to it.
    fn holds(&self, (low, high): (f64, f64), k: u32) -> bool {
        self.heights.0 <= low && high <= self.heights.1 && self.holds_step(k)
    }

    fn holds_step(&self, k: u32) -> bool {
        (k + self.run.of - self.run.first) % self.run.of < self.run.steps
    }

    /// Whether meridian `k` is its first or last.
    fn ends_at(&self, k: u32) -> bool {
        !self.run.is_full() && (k == self.run.first || k == (self.run.first + self.run.steps) % self.run.of)
    }

    /// Whether a triangle of its mesh closes the patch and is no surface of the whole.
    fn is_inner(&self, corners: [DVec3; 3], levels: &[f64]) -> bool {
        let level = |z: f64| corners.iter().all(|c| (c.z - z).abs() < ON);
        let in_plane = |end: glam::DVec2| corners.iter().all(|c| end.perp_dot(c.truncate()).abs() < ON);
        levels.iter().any(|z| level(*z)) || self.run.ends().is_some_and(|ends| ends.into_iter().any(in_plane))
    }
}

/// The surface of `section` turned about the axis with `n` meridians, with `patches` sewn in; no two may
/// share a step between meridians. `None` if a patch does not meet the grid corner to corner.
pub fn stitched(section: &Region, n: u32, patches: &[Patch<'_>]) -> Option<TriMesh> {
    let around = directions(n);
    let mut mesh = TriMesh::default();
    let mut seams =
        Seams { place: HashMap::new(), removed: patches.iter().map(|_| OpenEdges::default()).collect() };
    for contour in section.contours() {
        let rings: Vec<Ring> = contour.iter().map(|p| push_ring(&mut mesh, *p, &around)).collect();
        for (p, ring) in contour.iter().zip(&rings) {
            seams.note(&mesh, patches, p.y, *ring, n);
        }
        for i in 0..contour.len() {
            let j = (i + 1) % contour.len();
            let heights = (contour[i].y.min(contour[j].y), contour[i].y.max(contour[j].y));
            for k in 0..n {
                let faces = faces(rings[i], rings[j], k, n);
                match patches.iter().position(|patch| patch.holds(heights, k)) {
                    None => mesh.triangles.extend(faces.into_iter().flatten()),
                    Some(patch) => {
                        faces.into_iter().flatten().for_each(|t| meet(&mut seams.removed[patch], t))
                    }
                }
            }
        }
    }
    for (patch, removed) in patches.iter().zip(&seams.removed) {
        let sewn = sew(&mut mesh, section, patch, &seams.place);
        if !sewn.same_as(removed) {
            return None;
        }
    }
    Some(mesh.without_strays())
}

/// Vertices of the grid where patches meet it, and the rims of what the patches replace.
struct Seams {
    place: HashMap<[u64; 3], u32>,
    removed: Vec<OpenEdges>,
}

impl Seams {
    fn note(&mut self, mesh: &TriMesh, patches: &[Patch<'_>], z: f64, ring: Ring, n: u32) {
        let mut put = |vertex: u32| self.place.insert(bits(mesh.positions[vertex as usize]), vertex);
        for patch in patches.iter().filter(|patch| patch.heights.0 <= z && z <= patch.heights.1) {
            match ring {
                Ring::Pole(vertex) => {
                    put(vertex);
                }
                Ring::Circle(first) => {
                    let rim = z == patch.heights.0 || z == patch.heights.1;
                    for k in (0..n).filter(|k| rim || patch.ends_at(*k)) {
                        put(first + k);
                    }
                }
            }
        }
    }
}

/// Puts the surface of a patch into `mesh`; hands back the rim that it leaves open.
fn sew(mesh: &mut TriMesh, section: &Region, patch: &Patch<'_>, place: &HashMap<[u64; 3], u32>) -> OpenEdges {
    // A level edge of the section is a surface; elsewhere a level face only closes the patch.
    let is_surface = |z: f64| section.edges().any(|(a, b)| a.y == z && b.y == z);
    let levels: Vec<f64> =
        [patch.heights.0, patch.heights.1].into_iter().filter(|z| !is_surface(*z)).collect();
    let mut own: Vec<u32> = vec![u32::MAX; patch.mesh.positions.len()];
    let mut rim = OpenEdges::default();
    for (index, triangle) in patch.mesh.triangles.iter().enumerate() {
        if patch.is_inner(patch.mesh.corners(index), &levels) {
            continue;
        }
        let t = triangle.map(|v| {
            let known = &mut own[v as usize];
            if *known == u32::MAX {
                let at = patch.mesh.positions[v as usize];
                *known = place.get(&bits(at)).copied().unwrap_or_else(|| {
                    mesh.positions.push(at);
                    mesh.positions.len() as u32 - 1
                });
            }
            *known
        });
        meet(&mut rim, t);
        mesh.triangles.push(t);
    }
    rim
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

/// The triangles between two rings and between meridian `k` and the next.
fn faces(low: Ring, high: Ring, k: u32, n: u32) -> [Option<[u32; 3]>; 2] {
    let next = if k + 1 == n { 0 } else { k + 1 };
    match (low, high) {
        (Ring::Pole(_), Ring::Pole(_)) => [None, None],
        (Ring::Circle(a), Ring::Pole(top)) => [Some([a + k, a + next, top]), None],
        (Ring::Pole(bottom), Ring::Circle(b)) => [Some([bottom, b + next, b + k]), None],
        (Ring::Circle(a), Ring::Circle(b)) => {
            [Some([a + k, a + next, b + next]), Some([a + k, b + next, b + k])]
        }
    }
}
