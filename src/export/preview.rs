//! Lighter meshes to look at: fewer triangles within a stated error.
//!
//! `meshopt` takes triangles away until its own estimate reaches the error. The estimate is a mean, not a
//! bound (up to 1.8 times too low on a ball), so what it gives is measured here, and tried again with a
//! smaller error if it is too far off or not a solid any more. Self-intersection is not looked for: a preview is for looking at.

use glam::DVec3;
use meshopt::{SimplifyOptions, VertexDataAdapter};
use rayon::prelude::*;

use super::nearest::Nearest;
use crate::geom::TriMesh;

/// How often a result that fails is tried again with a smaller error.
const TRIES: usize = 6;

/// A mesh for looking at.
#[derive(Debug, Clone, PartialEq)]
pub struct Preview {
    /// Closed and outward like the mesh it stands for; a subset of its vertices, at their places, in an
    /// order that suits a graphics card.
    pub mesh: TriMesh,
    /// Greatest distance found between the two surfaces, mm: from every vertex and the middle of every
    /// triangle of the one to the other, and from every vertex and the middle of every edge and triangle of
    /// the other to the one. Never more than was allowed; 0 where nothing was taken away.
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
/// than that error over the whole surface. Gives `mesh` back as it is, which [`Preview::is_lighter`] tells,
/// where none is found, where `mesh` is not a closed solid itself, or where no error is allowed.
pub fn simplified(mesh: &TriMesh, error_mm: f64) -> Preview {
    if !(error_mm > 0.0 && error_mm.is_finite()) || mesh.check().is_err() {
        return Preview::unchanged(mesh);
    }
    let original = Nearest::of(mesh);
    let mut target = error_mm;
    for _ in 0..TRIES {
        let lighter = fewer_triangles(mesh, target);
        if lighter.len() >= mesh.len() {
            break;
        }
        match judged(mesh, &original, &lighter, error_mm) {
            Verdict::Kept(error_mm) => {
                return Preview { mesh: in_drawing_order(lighter), error_mm, triangles_before: mesh.len() };
            }
            Verdict::Missed { by } => target *= (0.9 / by).clamp(0.5, 0.9),
        }
    }
    Preview::unchanged(mesh)
}

/// Whether a lighter mesh keeps what is promised.
enum Verdict {
    /// It does, with this measured error, mm.
    Kept(f64),
    /// It does not; its error is so many times the allowed one, infinitely many if it is no solid.
    Missed { by: f64 },
}

fn judged(mesh: &TriMesh, original: &Nearest, lighter: &TriMesh, error_mm: f64) -> Verdict {
    if lighter.check().is_err() {
        return Verdict::Missed { by: f64::INFINITY };
    }
    let (before, after) = (mesh.mass_properties(), lighter.mass_properties());
    let thickness = (before.volume - after.volume).abs() / before.area.max(after.area);
    let measured = deviation(mesh, original, lighter);
    if thickness.max(measured) <= error_mm {
        Verdict::Kept(measured)
    } else {
        Verdict::Missed { by: thickness.max(measured) / error_mm }
    }
}

/// What `meshopt` leaves of `mesh`; all vertices are kept, used or not.
fn fewer_triangles(mesh: &TriMesh, error_mm: f64) -> TriMesh {
    let middle = mesh.bounds().map_or(DVec3::ZERO, |(lo, hi)| (lo + hi) / 2.0);
    // About the middle, so that a mesh far out loses no digits.
    let positions: Vec<[f32; 3]> =
        mesh.positions.iter().map(|&p| (p - middle).as_vec3().to_array()).collect();
    let bytes = meshopt::typed_to_bytes(&positions);
    let vertices =
        VertexDataAdapter::new(bytes, size_of::<[f32; 3]>(), 0).expect("whole vertices, positions first");
    let indices = meshopt::simplify(
        mesh.triangles.as_flattened(),
        &vertices,
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

/// Greatest distance found between `mesh` (which `original` knows) and `lighter`, both ways.
fn deviation(mesh: &TriMesh, original: &Nearest, lighter: &TriMesh) -> f64 {
    let lighter_surface = Nearest::of(lighter);
    let there = farthest(&lighter_surface, mesh.positions.par_iter().copied());
    let there_between = farthest(&lighter_surface, middles(mesh));
    let back = farthest(original, middles(lighter));
    let back_edges = farthest(original, edge_middles(lighter));
    there.max(there_between).max(back).max(back_edges)
}

fn farthest(surface: &Nearest, points: impl ParallelIterator<Item = DVec3>) -> f64 {
    points.map(|p| surface.distance(p)).reduce(|| 0.0, f64::max)
}

fn middles(mesh: &TriMesh) -> impl ParallelIterator<Item = DVec3> {
    (0..mesh.len()).into_par_iter().map(|t| mesh.corners(t).iter().sum::<DVec3>() / 3.0)
}

fn edge_middles(mesh: &TriMesh) -> impl ParallelIterator<Item = DVec3> {
    (0..mesh.len()).into_par_iter().flat_map_iter(|t| {
        let [a, b, c] = mesh.corners(t);
        [(a + b) / 2.0, (b + c) / 2.0, (c + a) / 2.0]
    })
}
