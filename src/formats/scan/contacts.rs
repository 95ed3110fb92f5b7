//! Parts that nearly touch: a gap that no knife could cut is closed by a plate between the two faces.

use std::{
    collections::BTreeMap,
    sync::{Mutex, PoisonError},
};

use glam::DVec3;
use rustc_hash::{FxHashMap, FxHashSet};

use geom::{Bvh, Cancel, TriMesh};

/// Faces look at each other where the cosine between their normals is below this: 18° off.
const FACING: f64 = -0.95;

/// Plates reach so far into both parts, mm: far above round-off, far below what a knife does.
const INTO: f64 = 1e-3;

/// Of more faces than this that look at each other nothing is done: there the parts lie in each other.
const MOST_FACES: usize = 200_000;

/// Which two parts two triangles are of, and which two they are.
type Facing = ((u32, u32), (u32, u32));

/// Plates that close the gaps, up to `weld` mm wide, between parts of a closed mesh whose faces look outwards; `part`
/// is the part of each triangle. Empty where no two parts nearly touch. With the plates in it, a union of the mesh is
/// one where parts nearly touch.
pub(super) fn plates(mesh: &TriMesh, part: &[u32], weld: f64, cancel: &Cancel) -> TriMesh {
    let faces = Faces { mesh, normals: normals(mesh), bvh: Bvh::new(mesh) };
    let found: Mutex<Vec<Facing>> = Mutex::default();
    let near = |one: u32, two: u32| {
        let parts = (part[one as usize], part[two as usize]);
        // What touches exactly is joined exactly as it is.
        if parts.0 != parts.1 && faces.gap(one, two).is_some_and(|gap| gap <= weld && !faces.touch(one, two))
        {
            let pair = if parts.0 < parts.1 { (parts, (one, two)) } else { ((parts.1, parts.0), (two, one)) };
            let mut found = found.lock().unwrap_or_else(PoisonError::into_inner);
            found.push(pair);
            return found.len() <= MOST_FACES;
        }
        true
    };
    if !faces.bvh.all_close_pairs(weld, near, cancel) {
        return TriMesh::default();
    }
    let mut found = found.into_inner().unwrap_or_else(PoisonError::into_inner);
    found.sort_unstable();
    let mut between: BTreeMap<(u32, u32), Vec<(u32, u32)>> = BTreeMap::new();
    for (parts, triangles) in found {
        between.entry(parts).or_default().push(triangles);
    }
    let mut plates = TriMesh::default();
    for pairs in between.values() {
        // The smaller of the two sides: what of a plate hangs over is least then.
        let side = |one: bool| {
            let mut side: Vec<u32> = pairs.iter().map(|pair| if one { pair.0 } else { pair.1 }).collect();
            side.sort_unstable();
            side.dedup();
            let area: f64 = side.iter().map(|t| faces.area(*t)).sum();
            (side, area)
        };
        let (one, two) = (side(true), side(false));
        let is_one = one.1 <= two.1;
        let (from, to) = if is_one { (one.0, two.0) } else { (two.0, one.0) };
        let widest = pairs.iter().filter_map(|pair| faces.gap(pair.0, pair.1)).fold(0.0, f64::max);
        for patch in faces.patches(&from) {
            let gap = faces.widest(&patch, &to, weld).max(widest);
            faces.add_plate(&patch, gap, &mut plates);
        }
    }
    plates
}

fn normals(mesh: &TriMesh) -> Vec<DVec3> {
    let normal = |index: usize| {
        let [a, b, c] = mesh.corners(index);
        (b - a).cross(c - a).normalize_or_zero()
    };
    (0..mesh.len()).map(normal).collect()
}

struct Faces<'a> {
    mesh: &'a TriMesh,
    normals: Vec<DVec3>,
    bvh: Bvh,
}

impl Faces<'_> {
    fn area(&self, triangle: u32) -> f64 {
        let [a, b, c] = self.mesh.corners(triangle as usize);
        (b - a).cross(c - a).length() / 2.0
    }

    /// How far two triangles that look at each other are apart along their normals, where one lies over the other.
    fn gap(&self, one: u32, two: u32) -> Option<f64> {
        let normal = self.normals[one as usize];
        if normal.dot(self.normals[two as usize]) > FACING {
            return None;
        }
        let (p, q) = (self.mesh.corners(one as usize), self.mesh.corners(two as usize));
        if !overlap(&p, &q, normal) {
            return None;
        }
        // Between the nearest corners along the normal; both triangles are nearly square to it.
        let to = |corners: &[DVec3; 3], on: DVec3, along: DVec3| {
            corners.iter().map(|c| (*c - on).dot(along).abs()).fold(f64::INFINITY, f64::min)
        };
        Some(to(&q, p[0], normal).min(to(&p, q[0], self.normals[two as usize])))
    }

    /// Whether two triangles lie to the last digit in one plane square to an axis: a union joins them as they are.
    fn touch(&self, one: u32, two: u32) -> bool {
        let corners = [one, two].map(|t| self.mesh.corners(t as usize)).concat();
        (0..3).any(|axis| corners.iter().all(|p| p[axis] == corners[0][axis]))
    }

    /// The greatest distance from a corner of `patch` to what it faces, of those within `weld`.
    fn widest(&self, patch: &[u32], to: &[u32], weld: f64) -> f64 {
        /// Corners that are looked at for each face.
        const LOOKED_AT: usize = 64;
        let corners = patch.iter().flat_map(|t| self.mesh.corners(*t as usize));
        let distance = |p: DVec3| {
            to.iter().take(LOOKED_AT).map(|t| self.bvh.distance_to(p, *t)).fold(f64::INFINITY, f64::min)
        };
        corners.map(distance).filter(|distance| *distance <= weld).fold(0.0, f64::max)
    }

    /// Triangles that hang together by edges and do not turn away from each other.
    fn patches(&self, triangles: &[u32]) -> Vec<Vec<u32>> {
        let mut at: FxHashMap<(u32, u32), u32> = FxHashMap::default();
        for t in triangles {
            sides(self.mesh.triangles[*t as usize]).into_iter().for_each(|side| {
                at.insert(side, *t);
            });
        }
        let mut seen: FxHashSet<u32> = FxHashSet::default();
        let mut patches = Vec::new();
        for start in triangles {
            if !seen.insert(*start) {
                continue;
            }
            let (mut patch, mut next) = (vec![*start], 0);
            while let Some(one) = patch.get(next).copied() {
                next += 1;
                for (a, b) in sides(self.mesh.triangles[one as usize]) {
                    if let Some(other) = at.get(&(b, a))
                        && self.normals[*other as usize].dot(self.normals[*start as usize]) > -FACING
                        && seen.insert(*other)
                    {
                        patch.push(*other);
                    }
                }
            }
            patches.push(patch);
        }
        patches
    }

    /// Adds a plate from just inside the patch to just beyond the gap in front of it.
    fn add_plate(&self, patch: &[u32], gap: f64, plates: &mut TriMesh) {
        let normal: DVec3 = patch.iter().map(|t| self.normals[*t as usize] * self.area(*t)).sum();
        let Some(normal) = normal.try_normalize() else { return };
        let (inner, outer) = (-normal * INTO, normal * (gap + INTO));
        let mut open: FxHashSet<(u32, u32)> = FxHashSet::default();
        for t in patch {
            for (a, b) in sides(self.mesh.triangles[*t as usize]) {
                if !open.remove(&(b, a)) {
                    open.insert((a, b));
                }
            }
        }
        let mut made: FxHashMap<(u32, bool), u32> = FxHashMap::default();
        let mut vertex = |v: u32, top: bool, plates: &mut TriMesh| {
            *made.entry((v, top)).or_insert_with(|| {
                let at = self.mesh.positions[v as usize];
                plates.positions.push(at + if top { outer } else { inner });
                (plates.positions.len() - 1) as u32
            })
        };
        for t in patch {
            let t = self.mesh.triangles[*t as usize];
            let top = t.map(|v| vertex(v, true, plates));
            let [a, b, c] = t.map(|v| vertex(v, false, plates));
            plates.triangles.extend([top, [a, c, b]]);
        }
        let mut open: Vec<(u32, u32)> = open.into_iter().collect();
        open.sort_unstable();
        for (a, b) in open {
            let [low_a, low_b] = [a, b].map(|v| vertex(v, false, plates));
            let [top_a, top_b] = [a, b].map(|v| vertex(v, true, plates));
            plates.triangles.extend([[low_a, low_b, top_b], [low_a, top_b, top_a]]);
        }
    }
}

/// Whether two triangles overlap as seen along `normal` (separating axes; touching is none).
fn overlap(p: &[DVec3; 3], q: &[DVec3; 3], normal: DVec3) -> bool {
    let apart = |from: &[DVec3; 3], i: usize| {
        let axis = normal.cross(from[(i + 1) % 3] - from[i]);
        let along = |corners: &[DVec3; 3]| {
            corners
                .map(|c| axis.dot(c))
                .iter()
                .fold((f64::INFINITY, f64::NEG_INFINITY), |(lo, hi), x| (lo.min(*x), hi.max(*x)))
        };
        let ((p_lo, p_hi), (q_lo, q_hi)) = (along(p), along(q));
        p_hi <= q_lo || q_hi <= p_lo
    };
    !(0..3).any(|i| apart(p, i) || apart(q, i))
}

fn sides(t: [u32; 3]) -> [(u32, u32); 3] {
    [(t[0], t[1]), (t[1], t[2]), (t[2], t[0])]
}
