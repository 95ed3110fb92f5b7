//! How deep the knife goes, and where.
//!
//! The shave depth at a point of the carved surface is how deep that point lay below the skin of the
//! raw stack ([`Stack::depth`]): the least that must come off to lay it bare.

use std::f64::consts::TAU;

use glam::{DVec2, DVec3};
use rayon::prelude::*;

use crate::stack::{Slab, Stack};
use geom::{
    Sector, Tolerance,
    revolve::{at_bearing, bearing_of},
};

use super::{Body, body::Edited};

/// A place on a cake.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct Place {
    /// Height above the presentation board, mm.
    pub height: f64,
    /// Degrees counter-clockwise from the front, seen from above.
    pub bearing: f64,
    /// Distance from the axis, mm.
    pub radius: f64,
}

impl From<DVec3> for Place {
    fn from(p: DVec3) -> Self {
        let flat = p.truncate();
        Self { height: p.z, bearing: bearing_of(flat), radius: flat.length() }
    }
}

/// Shave depths over the carved surface at one slab's heights, mm.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct ShaveStats {
    /// The greatest depth.
    pub greatest: f64,
    /// Where it is.
    pub greatest_at: Place,
    /// The mean over the carved surface; places the stack does not reach count as 0.
    pub mean: f64,
    /// The least depth; negative where the stack does not reach the carved line.
    pub least: f64,
    /// Where it is.
    pub least_at: Place,
}

/// The least sponge between the carved surface and the side of a slab, mm; negative where the slab is
/// too small.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct Spare {
    /// How much.
    pub least: f64,
    /// Where.
    pub at: Place,
}

/// What a walk over the carved surface of one slab finds.
pub(super) struct Survey {
    pub stats: Option<ShaveStats>,
    pub spare: Option<Spare>,
}

/// Furthest apart that two samples of the carved surface lie, mm.
const SAMPLE: f64 = 2.0;
/// Bearings looked at where the stack is not round.
const BEARINGS: u32 = 72;

/// Walks over the carved surface at the slab's heights.
pub(super) fn survey(slab: &Slab, target: &Body, stack: &Stack, edited: &[Edited]) -> Survey {
    let samples = if target.is_edited_between(slab.bottom, slab.top) {
        edited_samples(target, slab, edited)
    } else {
        let bearings = if stack.is_coaxial() { 1 } else { BEARINGS };
        section_samples(target, slab, bearings, |_, _| true)
    };
    summarise(&samples, slab, stack)
}

/// A point of the carved surface and the area it stands for, mm².
type Sample = (DVec3, f64);

/// Samples of the section at so many bearings, where `is_plain` says yes to a height and a bearing (degrees).
fn section_samples(
    target: &Body,
    slab: &Slab,
    bearings: u32,
    is_plain: impl Fn(f64, f64) -> bool,
) -> Vec<Sample> {
    let around: Vec<(f64, DVec3)> = (0..bearings)
        .map(|k| 360.0 * f64::from(k) / f64::from(bearings))
        .map(|bearing| (bearing, at_bearing(1.0, 0.0, bearing)))
        .collect();
    let mut samples = Vec::new();
    let part = target.section.filled();
    for (a, b) in part.edges() {
        let on_axis = a.x == 0.0 && b.x == 0.0;
        let on_board = a.y == 0.0 && b.y == 0.0;
        if on_axis || on_board {
            continue;
        }
        let Some((a, b)) = clipped(a, b, slab.bottom, slab.top) else { continue };
        let steps = (a.distance(b) / SAMPLE).ceil().max(1.0) as u32;
        let weight = TAU * a.distance(b) / f64::from(steps + 1) / f64::from(bearings);
        for i in 0..=steps {
            let p = a.lerp(b, f64::from(i) / f64::from(steps));
            let plain = around.iter().filter(|(bearing, _)| is_plain(p.y, *bearing));
            samples.extend(plain.map(|(_, out)| ((*out * p.x).with_z(p.y), weight * p.x)));
        }
    }
    samples
}

/// The part of an edge of the section between two heights. A level edge on a seam belongs to the slab
/// that it bounds: the one above if it faces down, which it does when it runs outwards.
fn clipped(a: DVec2, b: DVec2, low: f64, high: f64) -> Option<(DVec2, DVec2)> {
    if a.y == b.y {
        let bounds = if a.x < b.x { low <= a.y && a.y < high } else { low < a.y && a.y <= high };
        return bounds.then_some((a, b));
    }
    let at = |y: f64| (y - a.y) / (b.y - a.y);
    let (s, t) = (at(low).min(at(high)).max(0.0), at(low).max(at(high)).min(1.0));
    (s < t).then(|| (a.lerp(b, s), a.lerp(b, t)))
}

/// Samples of the section outside the sectors that cuts and adds need, and of the edited sectors.
fn edited_samples(target: &Body, slab: &Slab, edited: &[Edited]) -> Vec<Sample> {
    let is_plain = |z, bearing| !edited.iter().any(|edited| lies_in(&edited.sector, z, bearing));
    let mut samples = section_samples(target, slab, BEARINGS, is_plain);
    samples.extend(edited.iter().flat_map(|edited| mesh_samples(target, edited, slab)));
    samples
}

fn lies_in(sector: &Sector, z: f64, bearing: f64) -> bool {
    let step = bearing / 360.0 * f64::from(sector.meridians);
    sector.contains((z, z), step as u32 % sector.meridians)
}

/// Samples at the slab's heights over the surface of an edited sector, the faces that close the sector and those on
/// the board left out.
fn mesh_samples(target: &Body, edited: &Edited, slab: &Slab) -> Vec<Sample> {
    let closing = edited.sector.closing_faces(&target.section);
    let mut samples = Vec::new();
    // Corners of triangles so small that these are all their samples, with the area that each stands for.
    let mut at_corners: Vec<Option<f64>> = vec![None; edited.mesh.positions.len()];
    let mut add = |index: usize, piece: [DVec3; 3]| {
        let corners = edited.mesh.corners(index);
        let on_board = corners.iter().all(|c| c.z.abs() < 1e-6);
        if on_board || closing.contain(corners) {
            return;
        }
        let [a, b, c] = piece;
        let cross = (b - a).cross(c - a);
        let level = a.z == b.z && b.z == c.z;
        if level && clipped(DVec2::new(cross.z, a.z), DVec2::new(0.0, a.z), slab.bottom, slab.top).is_none() {
            return;
        }
        let area = cross.length() / 2.0;
        if piece == corners && pieces(piece) == 1 {
            for v in edited.mesh.triangles[index] {
                *at_corners[v as usize].get_or_insert(0.0) += area / 3.0;
            }
        } else {
            samples.extend(triangle_samples(piece, area));
        }
    };
    match target.layered() {
        // The one sector of a shape that is not turned is all of it.
        Some(mesh) => mesh.each_between(slab.bottom, slab.top, &mut add),
        None => edited.mesh.each_between(slab.bottom, slab.top, &mut add),
    }
    let corners = edited.mesh.positions.iter().zip(at_corners);
    samples.extend(corners.filter_map(|(p, area)| Some((*p, area?))));
    samples
}

/// Pieces that each side of a triangle is split into, so that samples lie close enough.
fn pieces([a, b, c]: [DVec3; 3]) -> u32 {
    /// Most pieces.
    const MOST: f64 = 64.0;
    let longest = a.distance(b).max(b.distance(c)).max(c.distance(a));
    (longest / (2.0 * SAMPLE)).ceil().clamp(1.0, MOST) as u32
}

/// Evenly spread samples of a triangle that share its area.
fn triangle_samples([a, b, c]: [DVec3; 3], area: f64) -> impl Iterator<Item = Sample> {
    let pieces = pieces([a, b, c]);
    let count = (pieces + 1) * (pieces + 2) / 2;
    let share = move |i: u32| f64::from(i) / f64::from(pieces);
    let rows = (0..=pieces).flat_map(move |i| (0..=pieces - i).map(move |j| (i, j)));
    rows.map(move |(i, j)| (a + (b - a) * share(i) + (c - a) * share(j), area / f64::from(count)))
}

/// Depths closer than this are one depth, mm: round-off must not choose the place that is named.
const EQUAL: f64 = 1e-6;

/// Of the samples that `chosen` names, the one nearest to the front, the lowest first.
fn nearest_front(samples: &[Sample], chosen: impl Fn(usize) -> bool) -> usize {
    let from_front = |i: &usize| {
        let bearing = bearing_of(samples[*i].0.truncate());
        bearing.min(360.0 - bearing)
    };
    let candidates = (0..samples.len()).filter(|i| chosen(*i));
    candidates
        .min_by(|a, b| {
            from_front(a).total_cmp(&from_front(b)).then(samples[*a].0.z.total_cmp(&samples[*b].0.z))
        })
        .unwrap_or(0)
}

fn summarise(samples: &[Sample], slab: &Slab, stack: &Stack) -> Survey {
    if samples.is_empty() {
        return Survey { stats: None, spare: None };
    }
    let depths: Vec<f64> = samples.par_iter().with_min_len(512).map(|(p, _)| stack.depth(*p)).collect();
    let greatest = depths.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let least = depths.iter().copied().fold(f64::INFINITY, f64::min);
    let deepest = nearest_front(samples, |i| depths[i] >= greatest - EQUAL);
    let shallowest = nearest_front(samples, |i| depths[i] <= least + EQUAL);
    let area: f64 = samples.iter().map(|s| s.1).sum();
    let sum: f64 = samples.iter().zip(&depths).map(|((_, weight), depth)| weight * depth.max(0.0)).sum();
    let inside: Vec<f64> =
        samples.par_iter().with_min_len(2048).map(|(p, _)| slab.inside_edge_at(p.z, *p)).collect();
    let spare = inside.iter().copied().fold(f64::INFINITY, f64::min);
    let nearest = nearest_front(samples, |i| inside[i] <= spare + EQUAL);
    Survey {
        stats: Some(ShaveStats {
            greatest,
            greatest_at: samples[deepest].0.into(),
            mean: if area > 0.0 { sum / area } else { 0.0 },
            least,
            least_at: samples[shallowest].0.into(),
        }),
        spare: Some(Spare { least: spare, at: samples[nearest].0.into() }),
    }
}

/// Shave depth over height and bearing: the chart that goes to the bench.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct ShaveMap {
    /// Heights of the rows, mm.
    pub heights: Vec<f64>,
    /// Bearings of the columns, degrees.
    pub bearings: Vec<f64>,
    /// For each height and bearing the radius of the carved surface, mm; `None` above and below it.
    pub radius: Vec<Vec<Option<f64>>>,
    /// For each height and bearing the shave depth there, mm.
    pub depth: Vec<Vec<Option<f64>>>,
}

impl ShaveMap {
    /// The chart of `target` out of `stack`, a row each `step` mm and `columns` bearings.
    ///
    /// Where the surface overhangs, a row shows its outermost place.
    pub fn new(target: &Body, stack: &Stack, step: f64, columns: u32, tolerance: Tolerance) -> Self {
        let (_, top) = target.heights();
        let rows = (top / step).floor() as u32;
        let heights: Vec<f64> = (0..=rows).map(|i| f64::from(i) * step).collect();
        let bearings: Vec<f64> = (0..columns).map(|i| 360.0 * f64::from(i) / f64::from(columns)).collect();
        let solid = (!target.is_turned()).then(|| target.solid(target.meridians(tolerance)));
        let reach = target.section.bounds().map_or(0.0, |(_, hi)| hi.x) * 2.0 + 100.0;
        let radius: Vec<Vec<Option<f64>>> = heights
            .par_iter()
            .map(|&z| {
                let z = (z + 1e-6).min(top - 1e-6);
                let plain = target.section.row(z).last().map(|&(_, r)| r);
                bearings
                    .iter()
                    .map(|&bearing| match &solid {
                        Some(solid) if target.is_edited_between(z - 1e-6, z + 1e-6) => solid
                            .first_hit(at_bearing(reach, z, bearing), at_bearing(0.0, z, bearing))
                            .map(|p| p.truncate().length()),
                        _ => plain,
                    })
                    .collect()
            })
            .collect();
        let depth = radius
            .iter()
            .zip(&heights)
            .map(|(row, &z)| {
                let depth_at =
                    |(r, &bearing): (&Option<f64>, &f64)| r.map(|r| stack.depth(at_bearing(r, z, bearing)));
                row.iter().zip(&bearings).map(depth_at).collect()
            })
            .collect();
        Self { heights, bearings, radius, depth }
    }
}
