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
        let deviation = Deviation::between(&original, &lighter, error_mm);
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

/// No triangle.
const NONE: u32 = u32::MAX;

/// For each vertex one of the triangles at it, or [`NONE`].
fn triangle_at_each(mesh: &TriMesh) -> Vec<u32> {
    let mut beside = vec![NONE; mesh.positions.len()];
    for (t, corners) in (0u32..).zip(&mesh.triangles) {
        corners.iter().for_each(|&v| beside[v as usize] = t);
    }
    beside
}

/// A mesh to be made lighter, with what every measurement of it needs.
struct Original<'a> {
    mesh: &'a TriMesh,
    bvh: Bvh,
    /// Its triangles, each with its least corner first.
    triangles: FxHashSet<[u32; 3]>,
    /// A triangle at each vertex, where a search for what is near it may begin.
    beside: Vec<u32>,
}

impl<'a> Original<'a> {
    fn new(mesh: &'a TriMesh) -> Self {
        let triangles = mesh.triangles.iter().map(least_first).collect();
        Self { mesh, bvh: Bvh::new(mesh), triangles, beside: triangle_at_each(mesh) }
    }
}

/// Distances between a mesh and a lighter one, mm, or bounds for them where they are no more than what is allowed; those
/// of what both share are left out.
struct Deviation {
    /// From vertices of the mesh to the lighter surface, each with its number.
    vertices: Vec<(u32, f64)>,
    /// From the middles of triangles of the mesh to the lighter surface, likewise.
    triangles: Vec<(u32, f64)>,
    /// From the lighter surface to the mesh, with the mesh's triangle that is nearest. Its vertices are vertices of
    /// the mesh; it is looked at in the middle of each edge and triangle.
    back: Vec<(f64, u32)>,
}

/// Points that are looked at one after the other.
const RUN: usize = 512;

/// A search that is content with any triangle near enough.
struct Search<'a> {
    surface: &'a Bvh,
    enough: f64,
}

impl Search<'_> {
    /// How far `p` lies from the first of `likely` triangles that is near enough, or else from the nearest of all,
    /// mm, and which that is.
    fn distance(&self, p: DVec3, likely: impl IntoIterator<Item = u32>) -> (f64, u32) {
        let mut last = None;
        for triangle in likely {
            let distance = self.surface.distance_to(p, triangle);
            if distance <= self.enough {
                return (distance, triangle);
            }
            last = Some(triangle);
        }
        let hit = self.surface.nearest(p, last);
        (hit.point.distance(p), hit.triangle)
    }
}

impl Deviation {
    /// Measures; distances up to `allowed` may be found too large, but no larger than that.
    fn between(original: &Original<'_>, lighter: &TriMesh, allowed: f64) -> Self {
        let mesh = original.mesh;
        let surface = Bvh::new(lighter);
        let to_lighter = Search { surface: &surface, enough: allowed };
        let kept: FxHashSet<[u32; 3]> = lighter.triangles.iter().map(least_first).collect();
        // For each vertex a triangle of the lighter surface that is near it.
        let mut near = triangle_at_each(lighter);
        let gone: Vec<u32> = (0u32..).zip(&near).filter(|(_, t)| **t == NONE).map(|(v, _)| v).collect();
        let of_vertices = |run: &[u32]| {
            let mut before = NONE;
            let distance = |&v: &u32| {
                let corners = mesh.triangles[original.beside[v as usize] as usize];
                let likely = corners.map(|corner| near[corner as usize]).into_iter().chain([before]);
                let position = mesh.positions[v as usize];
                let found = to_lighter.distance(position, likely.filter(|t| *t != NONE));
                before = found.1;
                (v, found)
            };
            run.iter().map(distance).collect::<Vec<_>>()
        };
        // A vertex that no triangle names is no part of the surface.
        let gone: Vec<u32> = gone.into_iter().filter(|v| original.beside[*v as usize] != NONE).collect();
        let found: Vec<(u32, (f64, u32))> = gone.par_chunks(RUN).flat_map_iter(of_vertices).collect();
        found.iter().for_each(|(v, (_, triangle))| near[*v as usize] = *triangle);
        let vertices = found.into_iter().map(|(v, (distance, _))| (v, distance)).collect();
        let changed = mesh.triangles.par_iter().enumerate().filter(|(_, t)| !kept.contains(&least_first(t)));
        let of_triangle = |(number, t): (usize, &[u32; 3])| {
            let likely = t.map(|v| near[v as usize]);
            (number as u32, to_lighter.distance(middle(mesh.corners(number)), likely).0)
        };
        let triangles = changed.map(of_triangle).collect();
        let to_mesh = Search { surface: &original.bvh, enough: allowed };
        let new: Vec<&[u32; 3]> =
            lighter.triangles.iter().filter(|t| !original.triangles.contains(&least_first(t))).collect();
        let at = |v: u32| lighter.positions[v as usize];
        let of_new = |run: &[&[u32; 3]]| {
            let mut distances = Vec::with_capacity(3 * run.len());
            for &&t in run {
                let mut likely = t.map(|v| original.beside[v as usize]);
                // An edge runs both ways once, so that it is looked at in one of its triangles.
                let edges = [(t[0], t[1]), (t[1], t[2]), (t[2], t[0])].into_iter().filter(|(a, b)| a < b);
                for p in edges.map(|(a, b)| (at(a) + at(b)) / 2.0).chain([middle(t.map(at))]) {
                    let found = to_mesh.distance(p, likely);
                    likely[0] = found.1;
                    distances.push(found);
                }
            }
            distances
        };
        Self { vertices, triangles, back: new.par_chunks(RUN).flat_map_iter(of_new).collect() }
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
