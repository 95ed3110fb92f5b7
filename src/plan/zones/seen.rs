//! How much of a part of a covering a tint covers, which may fade with the height.

use formats::model::Tint;
use glam::{DVec2, DVec3};

use super::{CoatZones, Owner, Stretch, chains, outlines};
use crate::{
    design::{Covering, Relief, ZonePlace},
    lines::{Line, Lines},
};
use geom::chain;

/// What lies on the board is no surface: higher than this is off it, mm.
pub(super) const ON_BOARD: f64 = 1e-6;

/// The outer surface of the part of `zone` of covering `index`, mm², and the integral over it of how full `tint` is.
pub fn covered(
    lines: &Lines,
    (index, covering): (usize, &Covering),
    zones: &CoatZones,
    zone: Owner,
    tint: &Tint,
) -> (f64, f64) {
    let whole = integrals(&lines.all()[index], zones, zone, tint);
    if covering.zones.is_empty() {
        return whole;
    }
    let part = zones.parts.iter().find(|part| part.zone == zone);
    let area = part.map_or(0.0, |part| part.area);
    let outlined = zone.and_then(|zone| match &covering.zones[zone].place {
        ZonePlace::Outline(relief) => Some(relief),
        _ => None,
    });
    let mean = match outlined {
        Some(relief) => {
            let heights = heights_of(relief, lines);
            heights.iter().map(|height| tint.share_at(*height)).sum::<f64>() / heights.len().max(1) as f64
        }
        // Outlines that lie over it are taken to lie anywhere on it.
        None if whole.0 > 0.0 => whole.1 / whole.0,
        None => 0.0,
    };
    (area, area * mean)
}

/// Heights of places evenly spread over an outline on the surface, mm.
pub fn heights_of(relief: &Relief, lines: &Lines) -> Vec<f64> {
    let height = |p: DVec2| match relief.on_top() {
        Some(at) => lines.column_at(at + p).map_or(0.0, |(_, top)| top),
        None => relief.height + p.y,
    };
    outlines::places_in(relief).into_iter().map(height).collect()
}

/// The same without the zones that lie within outlines.
fn integrals(outer: &Line, zones: &CoatZones, zone: Owner, tint: &Tint) -> (f64, f64) {
    // Between these heights it changes evenly.
    let bends = tint.fade.as_ref().map_or(&[][..], |fade| fade.as_slice());
    let own = |all: Option<&Vec<Stretch>>, length: f64| -> Vec<(f64, f64)> {
        match all {
            Some(all) => all.iter().filter(|s| s.zone == zone).map(|s| (s.from, s.to)).collect(),
            None => vec![(0.0, length)],
        }
    };
    let (mut area, mut covered) = (0.0, 0.0);
    match &outer.solid {
        None => {
            for (i, line) in chains(&outer.section).iter().enumerate() {
                for (from, to) in own(zones.stretches.get(i), chain::length(line)) {
                    for pair in chain::stretch(line, from, to).windows(2) {
                        let pieces = between_bends([pair[0], pair[1]], bends);
                        for [a, b] in pieces {
                            let (swept, mean) = frustum(a, b, tint);
                            area += swept;
                            covered += swept * mean;
                        }
                    }
                }
            }
        }
        Some(mesh) => {
            let top = mesh.bounds().map_or(0.0, |(_, hi)| hi.z);
            for (from, to) in own(zones.stretches.first(), top) {
                let mut cuts: Vec<f64> =
                    bends.iter().copied().filter(|bend| from < *bend && *bend < to).collect();
                cuts.extend([from, to]);
                cuts.sort_by(f64::total_cmp);
                for pair in cuts.windows(2) {
                    mesh.each_between(pair[0], pair[1], |_, [a, b, c]: [DVec3; 3]| {
                        if a.z.max(b.z).max(c.z) > ON_BOARD {
                            let own = (b - a).cross(c - a).length() / 2.0;
                            area += own;
                            covered += own * tint.share_at((a.z + b.z + c.z) / 3.0);
                        }
                    });
                }
            }
        }
    }
    (area, covered)
}

/// A piece of a line cut where it passes a height.
fn between_bends([a, b]: [DVec2; 2], bends: &[f64]) -> Vec<[DVec2; 2]> {
    let mut shares: Vec<f64> = bends
        .iter()
        .map(|bend| (bend - a.y) / (b.y - a.y))
        .filter(|share| share.is_finite() && 0.0 < *share && *share < 1.0)
        .collect();
    shares.extend([0.0, 1.0]);
    shares.sort_by(f64::total_cmp);
    shares.windows(2).map(|pair| [a.lerp(b, pair[0]), a.lerp(b, pair[1])]).collect()
}

/// The surface that a piece of a line sweeps out about the axis, and how full a tint that changes evenly along it is on the
/// mean.
fn frustum(a: DVec2, b: DVec2, tint: &Tint) -> (f64, f64) {
    let swept = chain::turned_area(&[a, b]);
    let round = a.x + b.x;
    if round <= 0.0 {
        return (0.0, 0.0);
    }
    // ∫ r s over the piece, both linear along it: the ends weigh (2 r₁ + r₂) and (r₁ + 2 r₂) thirds of the sum.
    let (at_a, at_b) = ((2.0 * a.x + b.x) / (3.0 * round), (a.x + 2.0 * b.x) / (3.0 * round));
    (swept, at_a * tint.share_at(a.y) + at_b * tint.share_at(b.y))
}
