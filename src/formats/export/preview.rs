//! Lighter meshes to look at: fewer triangles within a stated error.
//!
//! `meshopt` takes triangles away until its own estimate reaches the error. The estimate is a mean, not a
//! bound (up to four times too low where a curve meets a sharp rim), so what it gives is measured here. If
//! it is too far off, or not a solid any more, it is tried again: with the places that failed locked, if they
//! are few, else with a smaller error. Self-intersection is not looked for: a preview is for looking
//! at.

mod deviation;

use glam::DVec3;
use meshopt::{SimplifyOptions, VertexDataAdapter};
use rustc_hash::FxHashSet;

use deviation::{Deviation, Measured, Original};
use geom::TriMesh;

/// How often a result that fails is tried again.
const TRIES: usize = 12;

/// Share of the allowed error that is asked of `meshopt` at first: its estimate is too low by about so much.
const USUAL: f64 = 0.4;

/// Up to one vertex in so many is locked in place if it is too far off; if there are more, the error was
/// too large everywhere.
const FEW: usize = 50;

/// A mesh for looking at.
#[derive(Debug, Clone, PartialEq)]
pub struct Preview {
    /// Closed and outward like the mesh it stands for; a subset of its vertices, at their places, in an
    /// order that suits a graphics card.
    pub mesh: TriMesh,
    /// No distance between the two surfaces is greater, mm: neither from any vertex or the middle of any triangle of
    /// the one to the other, nor from any vertex or the middle of any edge or triangle of the other to the one.
    /// Never more than was allowed; 0 where nothing was taken away.
    pub error_mm: f64,
    /// Triangles of the mesh it stands for.
    pub triangles_before: usize,
}

impl Preview {
    /// Whether it has fewer triangles than the mesh it stands for.
    pub fn is_lighter(&self) -> bool {
        self.mesh.len() < self.triangles_before
    }

    fn unchanged(mesh: &TriMesh) -> Self {
        Self { mesh: mesh.clone(), error_mm: 0.0, triangles_before: mesh.len() }
    }
}

/// A lighter mesh no more than `error_mm` mm off `mesh`, closed and outward, with a volume off by no more
/// than that error over the whole surface. Gives `mesh` back as it is, which [`Preview::is_lighter`] shows,
/// where none is found, where `mesh` is not a closed solid itself, or where no error is allowed.
pub fn simplified(mesh: &TriMesh, error_mm: f64) -> Preview {
    if !(error_mm > 0.0 && error_mm.is_finite()) || mesh.check().is_err() {
        return Preview::unchanged(mesh);
    }
    let original = Original::new(mesh);
    let mut measured = Measured::of(mesh);
    let mut locked = Locked { is_locked: vec![false; mesh.positions.len()], times: 0 };
    let mut target = USUAL * error_mm;
    let few = mesh.positions.len() / FEW;
    for _ in 0..TRIES {
        let lighter = fewer_triangles(mesh, &locked.is_locked, target);
        if lighter.len() >= mesh.len() {
            break;
        }
        if lighter.check().is_err() {
            let faults = lighter.faults();
            if faults.len() > few || !locked.lock_around(mesh, faults) {
                target /= 2.0;
            }
            continue;
        }
        let deviation = Deviation::between(&original, &lighter, error_mm, &mut measured);
        if deviation.greatest() <= error_mm && swollen(mesh, &lighter) <= error_mm {
            let (mesh, triangles_before) = (in_drawing_order(lighter), mesh.len());
            return Preview { mesh, error_mm: deviation.greatest(), triangles_before };
        }
        let far = deviation.far(mesh, error_mm);
        if far.len() > few || !locked.lock_around(mesh, far) {
            target *= (0.9 * error_mm / deviation.greatest()).clamp(0.4, 0.9);
        }
    }
    Preview::unchanged(mesh)
}

/// Vertices that must stay.
struct Locked {
    is_locked: Vec<bool>,
    /// How often some were locked.
    times: usize,
}

impl Locked {
    /// Locks `vertices` of `mesh` with those round them, further out every time: what went wrong at locked vertices went
    /// wrong in what was taken away beside them. Whether any was not locked before.
    fn lock_around(&mut self, mesh: &TriMesh, mut vertices: FxHashSet<u32>) -> bool {
        if vertices.is_empty() {
            return false;
        }
        self.times += 1;
        for _ in 0..self.times {
            vertices = with_neighbours(mesh, &vertices);
        }
        let lock = |v: u32| !std::mem::replace(&mut self.is_locked[v as usize], true);
        vertices.into_iter().map(lock).fold(false, |any, new| any | new)
    }
}

/// The vertices with all that share a triangle of `mesh` with one of them.
fn with_neighbours(mesh: &TriMesh, vertices: &FxHashSet<u32>) -> FxHashSet<u32> {
    let near = |t: &&[u32; 3]| t.iter().any(|v| vertices.contains(v));
    mesh.triangles.iter().filter(near).flatten().copied().collect()
}

/// How thick a layer over the whole surface would make up for the difference in volume, mm.
fn swollen(mesh: &TriMesh, lighter: &TriMesh) -> f64 {
    let (before, after) = (mesh.mass_properties(), lighter.mass_properties());
    (before.volume - after.volume).abs() / before.area.max(after.area)
}

/// What `meshopt` leaves of `mesh`; all vertices are kept, used or not, and the locked ones stay in use.
fn fewer_triangles(mesh: &TriMesh, locked: &[bool], error_mm: f64) -> TriMesh {
    let middle = mesh.bounds().map_or(DVec3::ZERO, |(lo, hi)| (lo + hi) / 2.0);
    // About the middle, so that a mesh far out loses no digits.
    let positions: Vec<[f32; 3]> =
        mesh.positions.iter().map(|&p| (p - middle).as_vec3().to_array()).collect();
    let bytes = meshopt::typed_to_bytes(&positions);
    let vertices =
        VertexDataAdapter::new(bytes, size_of::<[f32; 3]>(), 0).expect("whole vertices, positions first");
    let indices = meshopt::simplify_with_locks(
        mesh.triangles.as_flattened(),
        &vertices,
        locked,
        0,
        error_mm as f32,
        SimplifyOptions::ErrorAbsolute,
        None,
    );
    let (triangles, _) = indices.as_chunks::<3>();
    TriMesh { positions: mesh.positions.clone(), triangles: triangles.to_vec() }
}

fn in_drawing_order(mesh: TriMesh) -> TriMesh {
    let mut indices = meshopt::optimize_vertex_cache(mesh.triangles.as_flattened(), mesh.positions.len());
    let positions = meshopt::optimize_vertex_fetch(&mut indices, &mesh.positions);
    let (triangles, _) = indices.as_chunks::<3>();
    TriMesh { positions, triangles: triangles.to_vec() }
}
