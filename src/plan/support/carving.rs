//! While it is carved: the centre of mass wanders as one side is cut before the other.
//!
//! The order is the cutting sheet's: the left side, the right, the front, the back, the corners between them,
//! the top. After every step what is left of each slab is what lies inside the silhouettes carved so far.

use glam::DVec2;

use crate::{
    design::{Footprint, FootprintShape, Piece},
    stack::SlabKind,
};
use geom::real;
use geom::{Hull, Moments, Tolerance};

use super::{
    capacity::is_held_sideways,
    case::Case,
    check::{Check, Question, place},
    code::CheckCode,
    gravity::weight,
    masses::Stage,
    rule::Rule,
    standing::{KNOCK, Tipping},
    strut::Bar,
};

/// The steps, with the side that each takes off, as the direction outwards.
const STEPS: [(&str, DVec2); 4] = [
    ("the left side", DVec2::NEG_X),
    ("the right side", DVec2::X),
    ("the front", DVec2::NEG_Y),
    ("the back", DVec2::Y),
];

/// A convex outline seen from above.
type Polygon = Vec<DVec2>;

/// The convex outlines that a footprint is laid of.
fn polygons(footprint: &Footprint) -> Vec<Polygon> {
    match footprint.shape {
        FootprintShape::Round { diameter } => {
            const ROUND: u32 = 72;
            let turn = std::f64::consts::TAU / f64::from(ROUND);
            // As large as the circle.
            let radius = diameter / 2.0 * (turn / real::sin(turn)).sqrt();
            let corner = |k| footprint.centre + radius * real::unit_vector(turn * f64::from(k));
            vec![(0..ROUND).map(corner).collect()]
        }
        FootprintShape::Rectangle { width, depth } => {
            vec![
                Piece { width, depth, at: footprint.centre, turn: footprint.turn, pan: [width, depth] }
                    .corners()
                    .to_vec(),
            ]
        }
        FootprintShape::Pieces(_) => footprint.parts(Tolerance::PREVIEW),
    }
}

/// What of `polygon` lies no further than `most` along `out` (Sutherland and Hodgman).
fn cut(polygon: &[DVec2], out: DVec2, most: f64) -> Polygon {
    let mut left = Vec::with_capacity(polygon.len() + 2);
    for (i, &a) in polygon.iter().enumerate() {
        let b = polygon[(i + 1) % polygon.len()];
        let (da, db) = (a.dot(out) - most, b.dot(out) - most);
        if da <= 0.0 {
            left.push(a);
        }
        if (da < 0.0 && db > 0.0) || (da > 0.0 && db < 0.0) {
            left.push(a + (b - a) * (da / (da - db)));
        }
    }
    left
}

/// What is left of `polygon` after `done` steps, cut to the box from `low` to `high`.
fn cut_to(polygon: &[DVec2], (low, high): (DVec2, DVec2), done: usize) -> Polygon {
    STEPS[..done].iter().fold(polygon.to_vec(), |left, (_, out)| {
        let most = if out.x + out.y > 0.0 { high.dot(*out) } else { low.dot(*out) };
        cut(&left, *out, most)
    })
}

fn moments(polygon: &[DVec2], z: f64) -> Moments {
    let next = polygon.iter().cycle().skip(1);
    Moments::of_outline(polygon.iter().copied().zip(next.copied()), z)
}

/// What is left of one slab after `done` steps, g.
fn left_of(case: &Case<'_>, i: usize, done: usize) -> Moments {
    let slab = &case.stack.slabs[i];
    let whole = case.masses.slab(Stage::Raw, i);
    if done == 0 || slab.kind == SlabKind::Board || slab.bottom >= case.cake.carved_top() {
        return whole;
    }
    /// Heights looked at in a slab.
    const LOOKED: u32 = 3;
    let full = polygons(&slab.footprint);
    let high = slab.top.min(case.cake.carved_top()) - slab.bottom;
    let mut left = Moments::default();
    for k in 0..LOOKED {
        let z = slab.bottom + high * (f64::from(k) + 0.5) / f64::from(LOOKED);
        let Some((low, top)) = case.cake.carved_at(z).bounds() else { continue };
        for part in &full {
            left = left + moments(&cut_to(part, (low, top), done), z) * (1.0 / f64::from(LOOKED));
        }
    }
    let Some(at) = left.centroid() else { return Moments::default() };
    // A dome has less than its footprint; the share that is cut off is what counts.
    let all: f64 = full.iter().map(|part| moments(part, 0.0).amount).sum();
    let share = (left.amount / all).clamp(0.0, 1.0);
    Moments::at(whole.amount * share, at)
}

/// What the part above each level stands on while it is carved.
fn seat(case: &Case<'_>, index: usize, done: usize) -> Hull {
    let level = &case.levels[index];
    if level.slab.is_some() {
        return level.seat.clone();
    }
    let Some(first) = case.slabs_on(0).next().map(|i| &case.stack.slabs[i]) else { return Hull::default() };
    let parts = polygons(&first.footprint).into_iter();
    match case.cake.carved_at(first.bottom + 0.01).bounds() {
        Some(bounds) => Hull::of(parts.flat_map(|part| cut_to(&part, bounds, done)).collect::<Vec<_>>()),
        None => Hull::of(parts.flatten().collect::<Vec<_>>()),
    }
}

/// The moment by which the centre dowel keeps what stands on a level from tipping, N·mm: the cake over the board bears
/// p d L² / 2 against a stiff pole that reaches L into it, at half of what collapses it, and the pole does not break.
fn held_by_dowel(case: &Case<'_>, index: usize) -> f64 {
    let level = &case.levels[index];
    let Some(slab) = level.slab.map(|slab| &case.stack.slabs[slab]) else { return 0.0 };
    let centre = case.stack.dowels.iter().find(|dowel| dowel.tier.is_none());
    let Some(dowel) = centre.filter(|_| is_held_sideways(case, level)) else { return 0.0 };
    let above = case.slabs_on(index).filter_map(|i| case.stack.slabs[i].material.crumb());
    let weakest = above.map(|crumb| crumb.collapse / 1000.0 / 2.0).fold(f64::INFINITY, f64::min);
    let deep = dowel.top.min(case.cake.carved_top()) - slab.top;
    let pole =
        dowel.material.dowel_stuff().map_or(0.0, |stuff| stuff.bending * Bar::from(dowel).section_modulus());
    if weakest.is_finite() { (weakest * dowel.diameter * deep * deep / 2.0).min(pole) } else { 0.0 }
}

/// How the cake leans at its worst while it is carved: at which level, after how many steps. The centre dowel is in it.
pub fn worst_lean(case: &Case<'_>) -> Option<(usize, usize, Tipping)> {
    let slabs: Vec<Vec<Moments>> = (0..=STEPS.len())
        .map(|done| (0..case.stack.slabs.len()).map(|i| left_of(case, i, done)).collect())
        .collect();
    let mut worst: Option<(usize, usize, Tipping)> = None;
    for (index, level) in case.levels.iter().enumerate() {
        let from = level.slab.unwrap_or(0);
        let held = held_by_dowel(case, index);
        for (done, left) in slabs.iter().enumerate() {
            let all: Moments = left[from..].iter().copied().sum();
            let Some(centre) = all.centroid() else { continue };
            let tipping = Tipping::new(&seat(case, index, done), level.z, centre);
            let tipping = tipping.held(held / weight(all.amount).max(1e-9));
            if worst.as_ref().is_none_or(|(.., worst)| tipping.share() < worst.share()) {
                worst = Some((index, done, tipping));
            }
        }
    }
    worst
}

pub(super) fn check(case: &Case<'_>, checks: &mut Vec<Check>) {
    let Some((index, done, tipping)) = worst_lean(case) else { return };
    let level = &case.levels[index];
    let when = match done {
        0 => "before anything is cut".to_owned(),
        done => format!("once {} is cut", STEPS[done - 1].0),
    };
    let what =
        if level.slab.is_some() { format!("what stands on {}", level.name) } else { "the stack".into() };
    let falls = tipping.inside <= 0.0;
    checks.push(Check {
        question: Question::Carving,
        code: CheckCode::LeansWhileCarved,
        about: level.name.clone(),
        said: if falls {
            format!("{when}, the centre of mass of {what} stands {} outside its foot", case.mm(-tipping.inside))
        } else {
            format!(
                "{what} leans most {when}: its centre of mass stands {} inside the edge{}, and it tips at {:.0}°",
                case.mm(tipping.inside),
                if held_by_dowel(case, index) > 0.0 { ", what the centre dowel holds counted" } else { "" },
                tipping.least
            )
        },
        margin: tipping.share() / real::tan(KNOCK.to_radians()),
        needed: real::tan(case.design.support.tilt.to_radians()) / real::tan(KNOCK.to_radians()),
        rule: Rule::Tipping,
        fix: "take thin passes left and right in turns, hold the top, and put the centre dowel in before you carve"
            .into(),
        place: Some(place(tipping.edge, level.z)),
        field: case.field_of(index),
    });
}

#[cfg(test)]
mod tests {
    use glam::dvec2;

    use super::*;

    /// Half of a square is cut away: the rest has its middle a quarter of the side off.
    #[test]
    fn half_a_square_is_left() {
        let square = vec![dvec2(0.0, 0.0), dvec2(8.0, 0.0), dvec2(8.0, 8.0), dvec2(0.0, 8.0)];
        let left = cut(&square, DVec2::X, 4.0);
        let found = moments(&left, 1.0);
        assert!((found.amount - 32.0).abs() < 1e-12);
        assert!(found.centroid().unwrap().distance(glam::dvec3(2.0, 4.0, 1.0)) < 1e-12);
        assert!(cut(&square, DVec2::NEG_X, -9.0).is_empty());
    }
}
