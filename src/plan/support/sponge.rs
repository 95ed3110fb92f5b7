//! What sponge bears: pressure from above, its own overhang, how far it settles.

use geom::real;
use geom::{Moments, revolve::bearing_of};

use super::{
    carved::reaches,
    case::Case,
    check::{Check, Question, place},
    code::CheckCode,
    gravity::weight,
    masses::Stage,
    rule::Rule,
    wording::{bearing, times},
};

/// Sponge is to bear twice its load: a quarter of collapse would already be a tenth of squash (common practice,
/// no source).
const NEEDED: f64 = 2.0;

/// A board with dowels of its own at least every so much height, mm (common practice, no source: 4 to 6 in).
pub const SPACING: f64 = 150.0;

/// The most loaded place of the sponge on a level.
#[derive(Debug, Clone, PartialEq)]
pub struct Pressed {
    /// The layer, as its place in the stack.
    pub slab: usize,
    /// Height of the place, mm.
    pub height: f64,
    /// Pressure there, Pa.
    pub pressure: f64,
    /// Pressure that collapses it, Pa; `None` where nothing is known.
    pub collapse: Option<f64>,
}

/// What the dowels of level `index` carry past the sponge on it, N.
fn carried_elsewhere(case: &Case<'_>, index: usize) -> f64 {
    match case.next_level(index) {
        Some(next) if next.is_on_dowels() => next.weight(),
        _ => 0.0,
    }
}

/// Pressure in the cake right above `height` in `slab` on level `index`, Pa. Coats are as stiff as sponge at
/// least, so they bear their share: the weight stands on the finished outline.
fn pressure_at(case: &Case<'_>, index: usize, slab: usize, height: f64) -> Option<f64> {
    let above = case.masses.above(Stage::Finished, slab);
    // What of the layer itself lies below, with its coat.
    let layer = &case.stack.slabs[slab];
    let next = case.masses.above(Stage::Finished, slab + 1);
    let below = (above.amount - next.amount) * ((height - layer.bottom) / layer.height()).clamp(0.0, 1.0);
    let load = (weight(above.amount - below) - carried_elsewhere(case, index)).max(0.0);
    let area = Moments::of_outline(case.cake.finished_at(height).edges(), height);
    let middle = area.centroid()?;
    let off = above.centroid().map_or(0.0, |at| at.truncate().distance(middle.truncate()));
    let radius = (area.amount / std::f64::consts::PI).sqrt();
    // A load off its middle presses more on one side: of a disc W / A (1 + 4 e / R).
    let pressure = load / area.amount * 1e6 * (1.0 + 4.0 * off / radius);
    pressure.is_finite().then_some(pressure)
}

/// The most loaded place on level `index`, by what it bears.
pub fn pressed(case: &Case<'_>, index: usize) -> Option<Pressed> {
    let places = case.looked_at(index).into_iter().filter_map(|(slab, height)| {
        let collapse = case.stack.slabs[slab].material.crumb().map(|crumb| crumb.collapse * 1000.0);
        Some(Pressed { slab, height, pressure: pressure_at(case, index, slab, height)?, collapse })
    });
    let spent = |p: &Pressed| p.pressure / p.collapse.unwrap_or(f64::MIN_POSITIVE);
    places.max_by(|a, b| spent(a).total_cmp(&spent(b)))
}

/// How far the sponge on level `index` settles by and by, mm.
pub fn settles(case: &Case<'_>, index: usize) -> Option<f64> {
    let looked = case.looked_at(index);
    let end = end_of(case, index).min(case.cake.carved_top());
    let mut all = 0.0;
    for (k, &(slab, height)) in looked.iter().enumerate() {
        let crumb = case.stack.slabs[slab].material.crumb()?;
        let to = looked.get(k + 1).map_or(end, |&(_, next)| next.min(case.stack.slabs[slab].top));
        let pressure = pressure_at(case, index, slab, height)?;
        all += pressure / (crumb.modulus * 1000.0) * (to - height).max(0.0) * crumb.creep;
    }
    Some(all)
}

pub(super) fn check(case: &Case<'_>, checks: &mut Vec<Check>) {
    for index in 0..case.levels.len() {
        check_pressure(case, index, checks);
        check_overhang(case, index, checks);
        check_spacing(case, index, checks);
    }
}

fn check_pressure(case: &Case<'_>, index: usize, checks: &mut Vec<Check>) {
    let Some(found) = pressed(case, index) else { return };
    let slab = &case.stack.slabs[found.slab];
    let Some(collapse) = found.collapse else {
        checks.push(Check::unknown(Question::Bench, &slab.material.name, &slab.name, slab.field.clone()));
        return;
    };
    let alone = case.next_level(index).is_some_and(|next| !next.is_on_dowels());
    let also = if alone { ", the part above among it: no dowels carry that" } else { "" };
    checks.push(Check {
        question: Question::Bench,
        code: CheckCode::SpongePressed,
        about: slab.name.clone(),
        said: format!(
            "{} carries {} at height {}{also}; about {} collapses it: {}",
            slab.name,
            case.pressure(found.pressure),
            case.mm(found.height),
            case.pressure(collapse),
            times(collapse / found.pressure)
        ),
        margin: collapse / found.pressure,
        needed: NEEDED,
        rule: Rule::SpongePressure,
        fix: if alone {
            "put three or more dowels under the part above".into()
        } else {
            "put a board with dowels of its own half way up, use a firmer cake, or make the shape wider there"
                .into()
        },
        place: Some(place(glam::DVec2::ZERO, found.height)),
        field: slab.field.clone(),
    });
}

/// Sponge that reaches past what it stands on.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Overhang {
    reach: f64,
    towards: f64,
    stress: f64,
    height: f64,
    tear: f64,
}

fn check_overhang(case: &Case<'_>, index: usize, checks: &mut Vec<Check>) {
    /// Shorter ones are the bevel of a carve, mm.
    const WORTH: f64 = 8.0;
    let Some(found) = overhang(case, index).filter(|found| found.reach > WORTH) else { return };
    let level = &case.levels[index];
    let margin = found.tear / found.stress;
    checks.push(Check {
        question: Question::Bench,
        code: CheckCode::SpongeOverhangs,
        about: level.name.clone(),
        said: format!(
            "towards {} cake reaches {} past the {}: it tears at about {} and carries {} there, {}",
            bearing(found.towards),
            case.mm(found.reach),
            if level.slab.is_some() { level.name.clone() } else { "foot".into() },
            case.pressure(found.tear),
            case.pressure(found.stress),
            times(margin)
        ),
        margin,
        needed: NEEDED,
        rule: Rule::SpongeOverhang,
        fix:
            "use a wider board there, carve that part from a firmer cake or cereal treat, or give it a board"
                .into(),
        place: Some(place(glam::DVec2::ZERO, found.height)),
        field: case.field_of(index),
    });
}

fn overhang(case: &Case<'_>, index: usize) -> Option<Overhang> {
    /// Bearings looked at.
    const ROUND: u32 = 36;
    let looked = case.looked_at(index);
    let (first, _) = looked.first()?;
    let level = &case.levels[index];
    let board = level.slab.map(|slab| &case.stack.slabs[slab].footprint);
    let from = board.map_or(level.centre(), |board| board.centre);
    let held = board.map(|board| reaches(&board.region(geom::Tolerance::PREVIEW), from, ROUND));
    let heights: Vec<f64> = looked.iter().map(|(_, z)| *z).collect();
    let rows: Vec<Vec<f64>> =
        heights.iter().map(|&z| reaches(&case.cake.carved_at(z), from, ROUND)).collect();
    let top = case.cake.carved_top();
    let thick = |k: usize| heights.get(k + 1).copied().unwrap_or(top.min(end_of(case, index))) - heights[k];
    // The coats weigh on it as well.
    let (finished, carved) = (level.load.amount, level.carved_load.amount);
    let coated = if carved > 0.0 { finished / carved } else { 1.0 };
    let mut worst: Option<Overhang> = None;
    for b in 0..ROUND as usize {
        // The narrowest place below holds what is above it.
        let (mut root, mut at) = (held.as_ref().map_or(f64::INFINITY, |held| held[b]), 0);
        for (k, row) in rows.iter().enumerate() {
            if row[b] > 0.0 && row[b] < root && rows[k..].iter().any(|r| r[b] > row[b]) {
                (root, at) = (row[b], k);
            }
        }
        if !root.is_finite() || root <= 0.0 {
            continue;
        }
        let (mut moment, mut high, mut reach) = (0.0, 0.0, 0.0_f64);
        for (k, row) in rows.iter().enumerate().skip(at) {
            let (r, dz) = (row[b], thick(k).max(0.0));
            if r > root {
                let density = case.stack.slabs[looked[k].0].material.density;
                // On each mm of the root's width, a sector that widens: ∫ (r − a) r / a dr.
                let arm = ((real::powi(r, 3) - real::powi(root, 3)) / 3.0
                    - root * (r * r - root * root) / 2.0)
                    / root;
                moment += weight(density / 1000.0) * coated * arm * dz;
                high += dz;
                reach = reach.max(r - root);
            }
        }
        let stress = if high > 0.0 { 6.0 * moment / (high * high) * 1e6 } else { 0.0 };
        if worst.is_none_or(|worst| stress > worst.stress) {
            let along = real::unit_vector(std::f64::consts::TAU * b as f64 / f64::from(ROUND));
            worst =
                Some(Overhang { reach, towards: bearing_of(along), stress, height: heights[at], tear: 0.0 });
        }
    }
    let crumb = case.stack.slabs[*first].material.crumb()?;
    // What tears sponge: a guess, half of what collapses it.
    worst.map(|worst| Overhang { tear: crumb.collapse * 1000.0 / 2.0, ..worst })
}

/// Height where the sponge on a level ends, mm.
fn end_of(case: &Case<'_>, index: usize) -> f64 {
    case.slabs_on(index).map(|i| case.stack.slabs[i].top).fold(0.0, f64::max)
}

fn check_spacing(case: &Case<'_>, index: usize, checks: &mut Vec<Check>) {
    let looked = case.looked_at(index);
    let (Some((first, _)), Some(found)) = (looked.first(), pressed(case, index)) else { return };
    let bottom = case.stack.slabs[*first].bottom;
    let high = end_of(case, index).min(case.cake.carved_top()) - bottom;
    let sponge =
        looked.iter().any(|(i, _)| case.stack.slabs[*i].material.kind == crate::design::MaterialKind::Sponge);
    if high <= SPACING || !sponge {
        return;
    }
    let bears = found.collapse.map_or(1.0, |collapse| collapse / NEEDED / found.pressure);
    let wins = if bears >= 1.0 {
        format!(
            "by calculation its sponge holds {} what it carries, so the rule is the more cautious",
            times(bears * NEEDED)
        )
    } else {
        "the calculation says so too".to_owned()
    };
    let level = &case.levels[index];
    checks.push(Check {
        question: Question::Bench,
        code: CheckCode::BoardsFarApart,
        about: level.name.clone(),
        said: format!(
            "{} of cake stand on {} without a board between; the trade puts one every {} at most; {wins}",
            case.mm(high),
            level.name,
            case.mm(SPACING)
        ),
        // A rule of thumb alone stops no cake.
        margin: (1.5 * SPACING / high).max(1.0),
        needed: 1.5,
        rule: Rule::BoardSpacing,
        fix: format!(
            "split the tier with a board on dowels at about height {}",
            case.mm(bottom + high / 2.0)
        )
        .into(),
        place: Some(place(glam::DVec2::ZERO, bottom + high / 2.0)),
        field: case.field_of(index),
    });
}
