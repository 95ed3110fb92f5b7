//! Warmth: coats that slump, fillings that are squeezed out, the room itself.

use crate::{design::mechanics::Soft, stack::SlabKind};

use super::{
    case::Case,
    check::{Check, Question, place},
    code::CheckCode,
    gravity::{GRAVITY, weight},
    masses::Stage,
    rule::Rule,
    wording::times,
};

/// Coats and fillings are to bear twice what pulls at them (common practice, no source).
const NEEDED: f64 = 2.0;

/// No cake is safe above this, °C: butter is liquid.
const HOTTEST: f64 = 33.0;

pub(super) fn check(case: &Case<'_>, checks: &mut Vec<Check>) {
    check_room(case, checks);
    check_coats(case, checks);
    check_fillings(case, checks);
}

fn check_room(case: &Case<'_>, checks: &mut Vec<Check>) {
    let settings = &case.design.support;
    // Of the stated limit and what coats and fillings hold to, the lower.
    let warmest = holds_to(case).map_or(settings.warmest, |holds| holds.min(settings.warmest));
    let (margin, needed) = if settings.room >= HOTTEST {
        (0.0, 1.0)
    } else if settings.room > warmest {
        (1.0, 1.5)
    } else {
        ((HOTTEST - settings.room) / (HOTTEST - warmest).max(1.0), 1.0)
    };
    let (room, warmest) = (case.warm(settings.room), case.warm(warmest));
    checks.push(Check {
        question: Question::Venue,
        code: CheckCode::RoomTooWarm,
        about: "the room".into(),
        said: if settings.room >= HOTTEST {
            format!("at {room} butter and chocolate are liquid: nothing that is coated in them stands")
        } else {
            format!("the room is {room} warm; at most {warmest} is right for it")
        },
        margin: margin.max(if settings.room >= HOTTEST { 0.0 } else { 1.0 }),
        needed,
        rule: Rule::Room,
        fix: format!(
            "keep it below {warmest}, out of the sun, and set it up late; perishable fillings by the local food code"
        ).into(),
        place: None,
        field: settings.field.key("room"),
    });
}

/// How many times each coat holds on an upright side at `celsius`, from the outside in; `None` where nothing
/// is known.
fn coats_hold(case: &Case<'_>, celsius: f64) -> Vec<(usize, Option<f64>)> {
    let mut hanging = 0.0;
    let hold = |(i, covering): (usize, &crate::design::Covering)| {
        // Every coat outside it hangs on it too: ρ g t, g/mL × mm is kg/m².
        hanging += covering.density * covering.thickness * GRAVITY;
        (i, covering.material.soft().map(|soft| strength(&soft, celsius) / hanging))
    };
    case.design.coverings.iter().enumerate().map(hold).collect()
}

fn strength(soft: &Soft, celsius: f64) -> f64 {
    soft.slip * soft.warming.share(celsius)
}

fn check_coats(case: &Case<'_>, checks: &mut Vec<Check>) {
    let room = case.design.support.room;
    for (i, hold) in coats_hold(case, room) {
        let covering = &case.design.coverings[i];
        let name = &covering.material.name;
        let Some(margin) = hold else {
            checks.push(Check::unknown(Question::Venue, name, name, covering.field.clone()));
            continue;
        };
        checks.push(Check {
            question: Question::Venue,
            code: CheckCode::CoatSlumps,
            about: name.clone(),
            said: format!(
                "at {} {} of {name} hold {} on an upright side{}",
                case.warm(room),
                case.mm(covering.thickness),
                times(margin),
                if i > 0 { ", with the coats on it" } else { "" }
            ),
            margin,
            needed: NEEDED,
            rule: Rule::Slumping,
            fix: "chill it first and keep the room cooler, coat it thinner, or use a firmer coat".into(),
            place: None,
            field: covering.field.clone(),
        });
    }
}

/// What presses on the filling at slab `i`, Pa, and the radius of a disc of its area, mm.
fn squeezed(case: &Case<'_>, i: usize) -> Option<(f64, f64)> {
    let slab = &case.stack.slabs[i];
    let index = (0..case.levels.len()).rev().find(|&k| case.levels[k].slab.is_none_or(|board| board < i))?;
    let elsewhere = match case.next_level(index) {
        Some(next) if next.is_on_dowels() => next.weight(),
        _ => 0.0,
    };
    let above = weight(case.masses.above(Stage::Finished, i).amount) - elsewhere;
    let area = case.cake.carved_at((slab.bottom + slab.top) / 2.0).area();
    (area > 1.0).then(|| (above.max(0.0) / area * 1e6, (area / std::f64::consts::PI).sqrt()))
}

/// How many times filling `i` bears what presses on it at `celsius` (plastic squeeze flow).
fn filling_holds(case: &Case<'_>, i: usize, celsius: f64) -> Option<Option<(f64, f64)>> {
    let slab = &case.stack.slabs[i];
    let (pressed, radius) = squeezed(case, i)?;
    let Some(soft) = slab.material.soft() else { return Some(None) };
    let bears = 2.0 * strength(&soft, celsius) * radius / (3.0 * slab.height());
    Some(Some((bears / pressed, pressed)))
}

fn fillings<'a>(case: &'a Case<'_>) -> impl Iterator<Item = usize> + 'a {
    (0..case.stack.slabs.len()).filter(|&i| case.stack.slabs[i].kind == SlabKind::Filling)
}

fn check_fillings(case: &Case<'_>, checks: &mut Vec<Check>) {
    let room = case.design.support.room;
    for i in fillings(case) {
        let slab = &case.stack.slabs[i];
        let Some(found) = filling_holds(case, i, room) else { continue };
        let Some((margin, pressed)) = found else {
            checks.push(Check::unknown(Question::Venue, &slab.material.name, &slab.name, slab.field.clone()));
            continue;
        };
        checks.push(Check {
            question: Question::Venue,
            code: CheckCode::FillingSqueezed,
            about: slab.name.clone(),
            said: format!(
                "at {} {} of {} hold the {} on them {}",
                case.warm(room),
                case.mm(slab.height()),
                slab.material.name,
                case.pressure(pressed),
                times(margin)
            ),
            margin,
            needed: NEEDED,
            rule: Rule::Squeezing,
            fix:
                "spread it thinner inside a dam of firm buttercream, chill it first, or keep the room cooler"
                    .into(),
            place: Some(place(glam::DVec2::ZERO, slab.bottom)),
            field: slab.field.clone(),
        });
    }
}

/// The warmest room in which every coat and filling still holds as it should, °C; `None` if none is warm enough
/// to matter or none is cool enough to help.
pub fn holds_to(case: &Case<'_>) -> Option<f64> {
    let holds = |celsius: f64| {
        coats_hold(case, celsius).into_iter().filter_map(|(_, hold)| hold).all(|hold| hold >= NEEDED)
            && fillings(case)
                .filter_map(|i| filling_holds(case, i, celsius).flatten())
                .all(|(hold, _)| hold >= NEEDED)
    };
    (20..=80).map(|half| f64::from(half) / 2.0).take_while(|&celsius| holds(celsius)).last()
}
