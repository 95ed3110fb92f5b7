//! Lighter meshes to look at: fewer triangles within a stated error.
//!
//! `meshopt` takes triangles away until its own estimate reaches the error. The estimate is a mean, not a
//! bound (up to four times too low where a curve meets a sharp rim), so what it gives is measured here. If
//! it is too far off, or not a solid any more, it is tried again: with the places that failed locked, if they
//! are few, else with a smaller error. Self-intersection is not looked for: a preview is for looking
//! at.

use glam::DVec3;
use meshopt::{SimplifyOptions, VertexDataAdapter};
use rayon::prelude::*;
use rustc_hash::FxHashSet;

use geom::{Bvh, TriMesh};

/// How often a result that fails is tried again.
const TRIES: usize = 16;

/// Up to one vertex in so many is locked in place if it is too far off; if there are more, the error was
/// too large everywhere.
const FEW: usize = 50;

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
/// than that error over the whole surface. Gives `mesh` back as it is, which [`Preview::is_lighter`] shows,
/// where none is found, where `mesh` is not a closed solid itself, or where no error is allowed.
pub fn simplified(mesh: &TriMesh, error_mm: f64) -> Preview {
    if !(error_mm > 0.0 && error_mm.is_finite()) || mesh.check().is_err() {
        return Preview::unchanged(mesh);
    }
    let original = Original::new(mesh);
    let mut locked = vec![false; mesh.positions.len()];
    let mut target = error_mm;
    let few = mesh.positions.len() / FEW;
    for _try in 0..TRIES {
        let lighter = fewer_triangles(mesh, &locked, target);
        if std::env::var_os("DBG").is_some() {
            eprintln!(
                "try {_try} target {target:.3} from {} to {} locked {}",
                mesh.len(),
                lighter.len(),
                locked.iter().filter(|l| **l).count()
            );
        }
        if lighter.len() >= mesh.len() {
            break;
        }
        if lighter.check().is_err() {
            let faults = with_neighbours(mesh, &lighter.faults());
            if faults.len() > few || !lock(&mut locked, faults) {
                target /= 2.0;
            }
            continue;
        }
        let deviation = Deviation::between(&original, &lighter);
        if deviation.greatest() <= error_mm && swollen(mesh, &lighter) <= error_mm {
            let (mesh, triangles_before) = (in_drawing_order(lighter), mesh.len());
            return Preview { mesh, error_mm: deviation.greatest(), triangles_before };
        }
        let far = deviation.far(mesh, error_mm);
        if far.len() > few || !lock(&mut locked, with_neighbours(mesh, &far)) {
            target *= (0.9 * error_mm / deviation.greatest()).clamp(0.4, 0.9);
        }
    }
    Preview::unchanged(mesh)
}

/// Locks vertices; whether any of them was not locked before.
fn lock(locked: &mut [bool], vertices: impl IntoIterator<Item = u32>) -> bool {
    vertices
        .into_iter()
        .fold(false, |any, vertex| any | !std::mem::replace(&mut locked[vertex as usize], true))
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

/// A mesh to be made lighter, with what every measurement of it needs.
struct Original<'a> {
    mesh: &'a TriMesh,
    tree: Bvh,
    /// Its triangles, each with its least corner first.
    triangles: FxHashSet<[u32; 3]>,
    /// A triangle at each vertex, where a search for what is near it may begin.
    beside: Vec<u32>,
}

impl<'a> Original<'a> {
    fn new(mesh: &'a TriMesh) -> Self {
        let mut beside = vec![0; mesh.positions.len()];
        for (t, corners) in (0u32..).zip(&mesh.triangles) {
            corners.iter().for_each(|&v| beside[v as usize] = t);
        }
        let triangles = mesh.triangles.iter().map(least_first).collect();
        Self { mesh, tree: Bvh::new(mesh), triangles, beside }
    }
}

/// Distances between a mesh and a lighter one, mm; those of what both share are left out.
struct Deviation {
    /// From vertices of the mesh to the lighter surface, each with its number.
    vertices: Vec<(u32, f64)>,
    /// From the middles of triangles of the mesh to the lighter surface, likewise.
    triangles: Vec<(u32, f64)>,
    /// From the lighter surface to the mesh, with the mesh's triangle that is nearest. Its vertices are vertices of
    /// the mesh; it is looked at in the middle of each edge and triangle.
    back: Vec<(f64, u32)>,
}

impl Deviation {
    /// Measures. What both surfaces share is not looked at: it is not off at all.
    fn between(original: &Original<'_>, lighter: &TriMesh) -> Self {
        let mesh = original.mesh;
        let surface = Bvh::new(lighter);
        let mut used = vec![false; mesh.positions.len()];
        lighter.triangles.as_flattened().iter().for_each(|&v| used[v as usize] = true);
        let kept: FxHashSet<[u32; 3]> = lighter.triangles.iter().map(least_first).collect();
        let positions = |vertices: &[u32]| -> Vec<DVec3> {
            vertices.iter().map(|v| mesh.positions[*v as usize]).collect()
        };
        let centres = |triangles: &[u32]| -> Vec<DVec3> {
            triangles.iter().map(|t| middle(mesh.corners(*t as usize))).collect()
        };
        let vertices: Vec<u32> = (0u32..).zip(&used).filter(|(_, used)| !**used).map(|(v, _)| v).collect();
        let triangles: Vec<u32> = (0u32..)
            .zip(&mesh.triangles)
            .filter(|(_, t)| !kept.contains(&least_first(t)))
            .map(|(t, _)| t)
            .collect();
        let changed = lighter.triangles.par_iter().filter(|t| !original.triangles.contains(&least_first(t)));
        let back = changed.flat_map_iter(|t| {
            let near = original.beside[t[0] as usize];
            // An edge runs both ways once, so that it is looked at in one of its triangles.
            let edges = [(t[0], t[1]), (t[1], t[2]), (t[2], t[0])].into_iter().filter(|(a, b)| a < b);
            let at = |v: u32| lighter.positions[v as usize];
            let points = edges.map(move |(a, b)| (at(a) + at(b)) / 2.0);
            points.chain([middle(t.map(at))]).map(move |p| (p, near))
        });
        let to_mesh = |(p, near): (DVec3, u32)| {
            let hit = original.tree.nearest(p, Some(near));
            (hit.point.distance(p), hit.triangle)
        };
        let off = |numbers: Vec<u32>, points: Vec<DVec3>| -> Vec<(u32, f64)> {
            numbers.into_iter().zip(surface.distances(&points)).collect()
        };
        Self {
            back: back.map(to_mesh).collect(),
            vertices: {
                let points = positions(&vertices);
                off(vertices, points)
            },
            triangles: {
                let points = centres(&triangles);
                off(triangles, points)
            },
        }
    }

    fn greatest(&self) -> f64 {
        let to_lighter = self.vertices.iter().chain(&self.triangles).map(|(_, distance)| *distance);
        to_lighter.chain(self.back.iter().map(|(distance, _)| *distance)).fold(0.0, f64::max)
    }

    /// The vertices of `mesh` that lie too far away, and the corners of the triangles that do or that are nearest to
    /// what does.
    fn far(&self, mesh: &TriMesh, error_mm: f64) -> FxHashSet<u32> {
        let far = |(n, distance): &(u32, f64)| (*distance > error_mm).then_some(*n);
        let vertices = self.vertices.iter().filter_map(far);
        let triangles = self.triangles.iter().filter_map(far);
        let nearest = self.back.iter().filter(|(d, _)| *d > error_mm).map(|(_, t)| *t);
        vertices.chain(triangles.chain(nearest).flat_map(|t: u32| mesh.triangles[t as usize])).collect()
    }
}

/// The triangle with its least corner first; the same for all three ways to list it.
fn least_first(&[a, b, c]: &[u32; 3]) -> [u32; 3] {
    if a < b && a < c {
        [a, b, c]
    } else if b < c {
        [b, c, a]
    } else {
        [c, a, b]
    }
}

fn middle(corners: [DVec3; 3]) -> DVec3 {
    corners.iter().sum::<DVec3>() / 3.0
}
