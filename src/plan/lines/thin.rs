//! Parts of a shape that hold no cake: legs, ears and walls thinner than the coats on both their sides.

use glam::{DVec3, dvec3};
use rayon::prelude::*;

use super::{Line, outside::places_on};
use crate::design::Form;
use geom::{Cancel, Cancelled, DistanceField, Solid, TriMesh};

/// Parts that hold no cake and look alike.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ThinPart {
    /// A place of the first of them, mm.
    pub at: DVec3,
    /// Their lowest and highest point, mm.
    pub heights: (f64, f64),
    /// How thick they are where they are thickest, mm.
    pub thickest: f64,
    /// What they hold together, mm³.
    pub volume: f64,
    /// How many they are.
    pub count: usize,
}

/// A part begins where the finished line is further from the carved one than this many thicknesses of the coats: no
/// corner of three square walls is, which is √3 of them away.
const BEGINS: f64 = 1.8;

/// Steps of the lattice in the depth of the coats, at most.
const FINENESS: f64 = 4.0;

/// Smaller parts are shaped along with the coat, mm³ (half a millilitre).
const LEAST: f64 = 500.0;

/// Parts whose ends and thicknesses differ by no more than this look alike, mm.
const ALIKE: f64 = 5.0;

/// Looked at along each side of a part's box.
const LOOKED_AT: u32 = 16;

/// Parts of `finished` that an even coat over what `carved` holds does not reach; on a lattice of `step` mm.
pub(super) fn parts(
    finished: &Form,
    carved: &Line,
    step: f64,
    cancel: &Cancel,
) -> Result<Vec<ThinPart>, Cancelled> {
    let (depth, Some(inside)) = (carved.depth, &carved.solid) else { return Ok(Vec::new()) };
    let reached = DistanceField::try_new(inside, cancel)?;
    let far: Vec<DVec3> =
        places_on(&finished.mesh).into_par_iter().filter(|p| reached.is_beyond(*p, BEGINS * depth)).collect();
    cancel.check()?;
    let Some(first) = far.first() else { return Ok(Vec::new()) };
    let (lo, hi) = far.iter().fold((*first, *first), |(lo, hi), p| (lo.min(*p), hi.max(*p)));
    let around = (lo - 2.0 * depth, hi + 2.0 * depth);
    let step = step.max(depth / FINENESS);
    let whole = finished.mesh.within(around.0, around.1);
    let whole = Solid::from_mesh(&whole).unwrap_or_else(|_| Solid::of_closed(&finished.mesh));
    let beyond = |depth: f64| {
        let level = reached.inset_within(around, -depth, step, cancel)?;
        // What is no solid, as where the kernel gives up, is told as nothing.
        Ok(whole
            .try_difference(&Solid::of_closed(&level), cancel)
            .map_or(TriMesh::default(), |s| s.to_mesh()))
    };
    let (begun, bare) = (beyond(BEGINS * depth)?, beyond(depth + step / 4.0)?);
    cancel.check()?;
    let mut found = Vec::new();
    for piece in pieces(&begun).iter().filter(|piece| piece.volume() > LEAST / 10.0) {
        let Some((lo, hi)) = piece.bounds() else { continue };
        // Back to where the part grows out of what holds cake.
        let grown = (lo - (BEGINS - 1.0) * depth, hi + (BEGINS - 1.0) * depth);
        let near = bare.within(grown.0, grown.1);
        let part = pieces(&near).into_iter().max_by(|a, b| a.volume().total_cmp(&b.volume()));
        let part = part.unwrap_or_else(|| piece.clone());
        let (Some((low, high)), volume) = (part.bounds(), part.volume()) else { continue };
        if volume < LEAST {
            continue;
        }
        let field = finished.depths();
        let deepest = lattice3()
            .map(|share| lo + (hi - lo) * share)
            .filter(|p| reached.is_beyond(*p, BEGINS * depth))
            .map(|p| (field.at(p), p))
            .max_by(|a, b| a.0.total_cmp(&b.0));
        let thickest = deepest
            .map_or(0.0, |(_, p)| 2.0 * deepest_near(field, p, |p| reached.is_beyond(p, BEGINS * depth)));
        cancel.check()?;
        found.push(ThinPart { at: (lo + hi) / 2.0, heights: (low.z, high.z), thickest, volume, count: 1 });
    }
    Ok(grouped(found))
}

/// How deep the solid is near `p`, mm, no further than it `is_part`: uphill in steps that become shorter.
fn deepest_near(field: &DistanceField, mut p: DVec3, is_part: impl Fn(DVec3) -> bool) -> f64 {
    let mut best = field.nearest(p);
    let mut step = best.depth / 4.0;
    for _ in 0..24 {
        let on = p + best.inwards * step;
        let next = field.nearest(on);
        if next.depth > best.depth && is_part(on) {
            (p, best) = (on, next);
        } else {
            step /= 2.0;
        }
    }
    best.depth
}

/// The parts of a closed mesh that hang together, hollows left out.
fn pieces(mesh: &TriMesh) -> Vec<TriMesh> {
    let (component, count) = mesh.connected_components();
    let mut pieces: Vec<TriMesh> =
        (0..count).map(|_| TriMesh { positions: mesh.positions.clone(), triangles: Vec::new() }).collect();
    for t in &mesh.triangles {
        pieces[component[t[0] as usize] as usize].triangles.push(*t);
    }
    pieces.into_iter().filter(|piece| piece.volume() > 0.0).map(|p| p.without_unused_vertices()).collect()
}

/// Parts that look alike taken together, the largest first.
pub(super) fn grouped(parts: Vec<ThinPart>) -> Vec<ThinPart> {
    let alike = |a: f64, b: f64| (a - b).abs() <= ALIKE;
    let mut groups: Vec<ThinPart> = Vec::new();
    for part in parts {
        let same = groups.iter_mut().find(|group| {
            alike(group.heights.0, part.heights.0)
                && alike(group.heights.1, part.heights.1)
                && alike(group.thickest, part.thickest)
        });
        match same {
            Some(group) => {
                group.heights = (group.heights.0.min(part.heights.0), group.heights.1.max(part.heights.1));
                group.thickest = group.thickest.max(part.thickest);
                group.volume += part.volume;
                group.count += part.count;
            }
            None => groups.push(part),
        }
    }
    groups.sort_by(|a, b| b.volume.total_cmp(&a.volume));
    groups
}

/// Shares of a box's sides, spread evenly through it.
fn lattice3() -> impl Iterator<Item = DVec3> {
    let at = |i: u32| (f64::from(i) + 0.5) / f64::from(LOOKED_AT);
    let numbers = || 0..LOOKED_AT;
    numbers()
        .flat_map(move |i| numbers().flat_map(move |j| numbers().map(move |k| dvec3(at(i), at(j), at(k)))))
}

/// Shares of a rectangle's sides, spread evenly over it.
pub(super) fn lattice2() -> impl Iterator<Item = (f64, f64)> {
    let at = |i: u32| (f64::from(i) + 0.5) / f64::from(LOOKED_AT);
    (0..LOOKED_AT).flat_map(move |i| (0..LOOKED_AT).map(move |j| (at(i), at(j))))
}
