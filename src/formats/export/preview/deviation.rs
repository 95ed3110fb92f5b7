//! How far a lighter mesh is off the mesh that it stands for.

use glam::DVec3;
use rayon::prelude::*;
use rustc_hash::{FxHashMap, FxHashSet};
use smallvec::SmallVec;

use geom::{Bvh, TriMesh};

/// Corners of a triangle, the least first; the same for all three ways to list it.
type Corners = [u32; 3];

/// Distances found for the middles of one triangle and of its edges, mm, each with the triangle that is nearest.
type Distances = SmallVec<[(f64, u32); 4]>;

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
pub(super) struct Original<'a> {
    mesh: &'a TriMesh,
    bvh: Bvh,
    /// Its triangles, each with its least corner first.
    triangles: FxHashSet<Corners>,
    /// A triangle at each vertex, where a search for what is near it may begin.
    beside: Vec<u32>,
}

impl<'a> Original<'a> {
    pub fn new(mesh: &'a TriMesh) -> Self {
        let triangles = mesh.triangles.iter().map(least_first).collect();
        Self { mesh, bvh: Bvh::new(mesh), triangles, beside: triangle_at_each(mesh) }
    }
}

/// Distances between a mesh and a lighter one, mm, or bounds for them where they are no more than what is allowed; those
/// of what both share are left out.
pub(super) struct Deviation {
    /// From vertices of the mesh to the lighter surface, each with its number.
    vertices: Vec<(u32, f64)>,
    /// From the middles of triangles of the mesh to the lighter surface, likewise.
    triangles: Vec<(u32, f64)>,
    /// From the lighter surface to the mesh, with the mesh's triangle that is nearest. Its vertices are vertices of
    /// the mesh; it is looked at in the middle of each edge and triangle.
    back: Vec<(f64, u32)>,
}

/// What was near enough in lighter meshes measured before. Where the next one has the same triangle, it need not be
/// measured again.
pub(super) struct Measured {
    /// For each vertex of the mesh a triangle that was near enough, and how near, mm.
    vertices: Vec<Option<(Corners, f64)>>,
    /// The same for the middle of each triangle of the mesh.
    triangles: Vec<Option<(Corners, f64)>>,
    /// Triangles that were near enough to the mesh all over, with the greatest distance found, mm.
    back: FxHashMap<Corners, f64>,
}

impl Measured {
    /// Nothing is known yet.
    pub fn of(mesh: &TriMesh) -> Self {
        Self {
            vertices: vec![None; mesh.positions.len()],
            triangles: vec![None; mesh.len()],
            back: FxHashMap::default(),
        }
    }
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
        let hit = self.surface.near_or_nearest(p, self.enough, last);
        (hit.point.distance(p), hit.triangle)
    }
}

impl Deviation {
    /// Measures; distances up to `allowed` may be found too large, but no larger than that.
    pub fn between(
        original: &Original<'_>,
        lighter: &TriMesh,
        allowed: f64,
        measured: &mut Measured,
    ) -> Self {
        let mesh = original.mesh;
        let surface = Bvh::new(lighter);
        let to_lighter = Search { surface: &surface, enough: allowed };
        let numbers: FxHashMap<Corners, u32> =
            (0u32..).zip(&lighter.triangles).map(|(number, t)| (least_first(t), number)).collect();
        let known = |before: &Option<(Corners, f64)>| {
            before.as_ref().and_then(|(corners, distance)| Some((*distance, *numbers.get(corners)?)))
        };
        let near_enough = |(distance, triangle): (f64, u32)| {
            (distance <= allowed).then(|| (least_first(&lighter.triangles[triangle as usize]), distance))
        };

        // For each vertex a triangle of the lighter surface that is near it.
        let mut near = triangle_at_each(lighter);
        // A vertex that no triangle names is no part of the surface.
        let gone: Vec<u32> = (0u32..)
            .zip(near.iter().zip(&original.beside))
            .filter(|(_, (lighter, own))| **lighter == NONE && **own != NONE)
            .map(|(v, _)| v)
            .collect();
        let of_vertices = |run: &[u32]| {
            let mut before = NONE;
            let distance = |&v: &u32| {
                let found = known(&measured.vertices[v as usize]).unwrap_or_else(|| {
                    let corners = mesh.triangles[original.beside[v as usize] as usize];
                    let likely = corners.map(|corner| near[corner as usize]).into_iter().chain([before]);
                    to_lighter.distance(mesh.positions[v as usize], likely.filter(|t| *t != NONE))
                });
                before = found.1;
                (v, found)
            };
            run.iter().map(distance).collect::<Vec<_>>()
        };
        let found: Vec<(u32, (f64, u32))> = gone.par_chunks(RUN).flat_map_iter(of_vertices).collect();
        for (v, found) in &found {
            near[*v as usize] = found.1;
            measured.vertices[*v as usize] = near_enough(*found);
        }
        let vertices = found.into_iter().map(|(v, (distance, _))| (v, distance)).collect();

        let changed =
            mesh.triangles.par_iter().enumerate().filter(|(_, t)| !numbers.contains_key(&least_first(t)));
        let of_triangle = |(number, t): (usize, &[u32; 3])| {
            let found = known(&measured.triangles[number]).unwrap_or_else(|| {
                to_lighter.distance(middle(mesh.corners(number)), t.map(|v| near[v as usize]))
            });
            (number as u32, found)
        };
        let found: Vec<(u32, (f64, u32))> = changed.map(of_triangle).collect();
        for (number, found) in &found {
            measured.triangles[*number as usize] = near_enough(*found);
        }
        let triangles = found.into_iter().map(|(number, (distance, _))| (number, distance)).collect();

        Self { vertices, triangles, back: Self::back(original, lighter, allowed, &mut measured.back) }
    }

    /// From the lighter surface to the mesh.
    fn back(
        original: &Original<'_>,
        lighter: &TriMesh,
        allowed: f64,
        measured: &mut FxHashMap<Corners, f64>,
    ) -> Vec<(f64, u32)> {
        let to_mesh = Search { surface: &original.bvh, enough: allowed };
        let new: Vec<Corners> =
            lighter.triangles.iter().map(least_first).filter(|t| !original.triangles.contains(t)).collect();
        let (known, new): (Vec<_>, Vec<_>) = new.into_iter().partition(|t| measured.contains_key(t));
        let at = |v: u32| lighter.positions[v as usize];
        let of_new = |run: &[Corners]| {
            let mut distances = Vec::with_capacity(4 * run.len());
            for &t in run {
                let mut likely = t.map(|v| original.beside[v as usize]);
                // An edge runs both ways once, so that it is looked at in one of its triangles.
                let edges = [(t[0], t[1]), (t[1], t[2]), (t[2], t[0])].into_iter().filter(|(a, b)| a < b);
                let mut of_one = Distances::new();
                for p in edges.map(|(a, b)| (at(a) + at(b)) / 2.0).chain([middle(t.map(at))]) {
                    let found = to_mesh.distance(p, likely);
                    likely[0] = found.1;
                    of_one.push(found);
                }
                distances.push((t, of_one));
            }
            distances
        };
        let found: Vec<(Corners, Distances)> = new.par_chunks(RUN).flat_map_iter(of_new).collect();
        let known = known.into_iter().map(|t| (measured[&t], original.beside[t[0] as usize]));
        let back = known.chain(found.iter().flat_map(|(_, found)| found).copied()).collect();
        for (t, found) in found {
            let greatest = found.iter().fold(0.0, |most: f64, (distance, _)| most.max(*distance));
            if greatest <= allowed {
                measured.insert(t, greatest);
            }
        }
        back
    }

    /// The greatest of all distances, mm.
    pub fn greatest(&self) -> f64 {
        let to_lighter = self.vertices.iter().chain(&self.triangles).map(|(_, distance)| *distance);
        to_lighter.chain(self.back.iter().map(|(distance, _)| *distance)).fold(0.0, f64::max)
    }

    /// The vertices of `mesh` that lie too far away, and the corners of the triangles that do or that are nearest to
    /// what does.
    pub fn far(&self, mesh: &TriMesh, error_mm: f64) -> FxHashSet<u32> {
        let far = |(n, distance): &(u32, f64)| (*distance > error_mm).then_some(*n);
        let vertices = self.vertices.iter().filter_map(far);
        let triangles = self.triangles.iter().filter_map(far);
        let nearest = self.back.iter().filter(|(d, _)| *d > error_mm).map(|(_, t)| *t);
        vertices.chain(triangles.chain(nearest).flat_map(|t: u32| mesh.triangles[t as usize])).collect()
    }
}

fn least_first(&[a, b, c]: &[u32; 3]) -> Corners {
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
