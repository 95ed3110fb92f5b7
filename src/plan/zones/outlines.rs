//! Zones within outlines: what each takes of the covering, and of which other zones.

use glam::{DVec2, dvec2};

use super::{CoatZones, Owner};
use crate::{
    carve::Surface,
    design::{Covering, Design, Relief, ZonePlace},
    lines::Lines,
};
use geom::{Cancel, Cancelled, chain};

/// Places across an outline, and up it, that are looked at.
const PLACES: u32 = 24;

/// Gives every zone within an outline of covering `index` its part of `found`, from what lies under it. What comes later
/// lies over it.
pub(super) fn share_out(
    design: &Design,
    lines: &Lines,
    index: usize,
    found: &mut CoatZones,
    cancel: &Cancel,
) -> Result<(), Cancelled> {
    let covering = &design.coverings[index];
    let depth = lines.all()[index].depth;
    let surface = Surface { lines, depth, tolerance: design.tool, cancel };
    for (zone, written) in covering.zones.iter().enumerate() {
        let ZonePlace::Outline(relief) = &written.place else { continue };
        let volume = surface.layer(relief, (depth, depth + covering.thickness))?.volume();
        let area = volume / covering.thickness;
        found.alone[zone] = area;
        let places = places_in(relief);
        let each = 1.0 / places.len().max(1) as f64;
        for p in places {
            let owner = owner(covering, lines, relief, p, found);
            // One that comes later keeps what it has.
            if owner.is_some_and(|owner| owner > zone) {
                continue;
            }
            let under = owner.map_or(0, |owner| owner + 1);
            found.parts[under].area -= area * each;
            found.parts[under].volume -= volume * each;
            found.parts[zone + 1].area += area * each;
            found.parts[zone + 1].volume += volume * each;
        }
    }
    Ok(())
}

/// Places evenly spread in an outline, about its middle.
pub(super) fn places_in(relief: &Relief) -> Vec<DVec2> {
    let lying = relief.lying();
    let Some((lo, hi)) = lying.bounds() else { return Vec::new() };
    let share = |i: u32| (f64::from(i) + 0.5) / f64::from(PLACES);
    let lattice = (0..PLACES).flat_map(|i| (0..PLACES).map(move |k| dvec2(share(i), share(k))));
    lattice.map(|share| lo + (hi - lo) * share).filter(|p| lying.contains(*p)).collect()
}

/// Whose the place `p` of an outline is, outlines left aside.
fn owner(covering: &Covering, lines: &Lines, relief: &Relief, p: DVec2, found: &CoatZones) -> Owner {
    let on_top = relief.on_top();
    let height = match on_top {
        Some(at) => lines.column_at(at + p).map_or(0.0, |(_, top)| top),
        None => relief.height + p.y,
    };
    let finished = lines.finished();
    let place = match &finished.solid {
        Some(_) => (0, height),
        None => {
            let all = super::chains(&finished.section);
            let radius = match on_top {
                Some(at) => (at + p).length(),
                None => lines.radius_at(height.max(1e-6), 0.0).unwrap_or(0.0),
            };
            let at = dvec2(radius, height);
            let nearest = all.iter().enumerate().map(|(i, line)| {
                let along = chain::nearest(line, at);
                let off = chain::stretch(line, along, chain::length(line))
                    .first()
                    .map_or(f64::MAX, |q| q.distance(at));
                (i, along, off)
            });
            let best = nearest.min_by(|a, b| a.2.total_cmp(&b.2));
            best.map_or((0, 0.0), |(i, along, _)| (i, along))
        }
    };
    let on_line = found.stretches.get(place.0)?;
    let zone = on_line.iter().find(|stretch| stretch.from <= place.1 && place.1 <= stretch.to)?.zone?;
    (zone < covering.zones.len()).then_some(zone)
}
