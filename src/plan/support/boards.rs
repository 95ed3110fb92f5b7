//! Boards: dented and punched by dowels, bent between them.

use glam::DVec2;

use crate::{
    design::{Material, MaterialKind, mechanics::BoardStuff},
    stack::Dowel,
};
use geom::{Tolerance, revolve::bearing_of};

use super::{
    carved::reaches,
    case::Case,
    check::{Check, Question, place},
    code::CheckCode,
    plate::{Bent, Loads, Plate, PointLoad},
    rule::Rule,
    strut::Bar,
    wording::{bearing, times},
};

/// Dents even themselves out: what a board is to bear of them (common practice, no source).
const DENTS_NEEDED: f64 = 2.0;
/// Sag that a board may have, as a share of its width: hard limit, and how many times better it ought to be
/// (common practice, no source).
const SAG: (f64, f64) = (1.0 / 100.0, 1.5);

/// Checks the board at level `index` on its dowels, and the one under their feet.
pub(super) fn check(case: &Case<'_>, index: usize, checks: &mut Vec<Check>) {
    check_dents(case, index, checks);
    check_bending(case, index, checks);
}

/// The board that the feet of the dowels under `level` stand on.
fn foot_board<'a>(case: &Case<'a>, dowel: &Dowel) -> Option<(&'a Material, f64, String)> {
    let inside = case
        .stack
        .slabs
        .iter()
        .find(|slab| slab.kind == crate::stack::SlabKind::Board && (slab.top - dowel.bottom).abs() < 0.5);
    if let Some(slab) = inside {
        return Some((&slab.material, slab.height(), slab.name.clone()));
    }
    let board = case.design.board.as_ref().filter(|_| dowel.bottom.abs() < 0.5)?;
    Some((&board.material, board.thickness, "the presentation board".into()))
}

fn check_dents(case: &Case<'_>, index: usize, checks: &mut Vec<Check>) {
    let level = &case.levels[index];
    let (Some(slab), Some(&first)) = (level.slab.map(|i| &case.stack.slabs[i]), level.carriers.first())
    else {
        return;
    };
    let even = level.pushes.iter().copied().fold(0.0, f64::max);
    let dowel = &case.stack.dowels[first];
    let head = Some((&slab.material, slab.height(), level.name.clone()));
    for (end, board) in [("head", head), ("foot", foot_board(case, dowel))] {
        let Some((material, thickness, name)) = board else { continue };
        let Some(stuff) = material.board_stuff() else {
            checks.push(Check::unknown(Question::Bench, &material.name, &name, slab.field.clone()));
            continue;
        };
        let dent = stuff.dent * Bar::from(dowel).area();
        checks.push(Check {
            question: Question::Bench,
            code: CheckCode::BoardDented,
            about: name.clone(),
            said: format!(
                "the {end} of each dowel presses on {name} with {}; {} of {} dents at {}: {}",
                case.push(even),
                case.mm(thickness),
                material.name,
                case.push(dent),
                times(dent / even)
            ),
            margin: dent / even,
            needed: DENTS_NEEDED,
            rule: Rule::Denting,
            fix: "use solid dowels, thicker ones or more, or a harder board".into(),
            place: Some(place(dowel.at, if end == "head" { dowel.top } else { dowel.bottom })),
            field: dowel.field.clone(),
        });
        let punch = stuff.shear * std::f64::consts::PI * dowel.diameter * thickness;
        checks.push(Check {
            question: Question::Bench,
            code: CheckCode::BoardPunched,
            about: name.clone(),
            said: format!(
                "a dowel is punched through {name} at {}; each presses with up to {}: {}",
                case.push(punch),
                case.push(level.worst_push),
                times(punch / level.worst_push)
            ),
            margin: punch / level.worst_push,
            needed: case.design.support.safety,
            rule: Rule::Punching,
            fix: "use a thicker or a harder board, or more dowels".into(),
            place: Some(place(dowel.at, if end == "head" { dowel.top } else { dowel.bottom })),
            field: slab.field.clone(),
        });
    }
}

/// Share of what stands on level `index` that reaches past its board: it hangs at the edge.
fn past_board(case: &Case<'_>, index: usize) -> f64 {
    let Some(slab) = case.levels[index].slab.map(|i| &case.stack.slabs[i]) else { return 0.0 };
    let board = slab.footprint.region(Tolerance::PREVIEW);
    let mut all = (0.0, 0.0);
    for (_, z) in case.looked_at(index) {
        let outline = case.cake.carved_at(z);
        let widest = reaches(&outline, slab.footprint.centre, 24).into_iter().fold(0.0, f64::max);
        let [width, depth] = slab.footprint.shape.size();
        let narrowest = width.min(depth) / 2.0;
        all.0 += outline.area();
        if widest > narrowest {
            all.1 += outline.area() - outline.intersection(&board).area();
        }
    }
    if all.0 > 0.0 { all.1 / all.0 } else { 0.0 }
}

/// How the board at level `index` bends on its dowels.
pub fn bent(case: &Case<'_>, index: usize, stuff: &BoardStuff) -> Option<(Plate, Bent)> {
    let level = &case.levels[index];
    let slab = &case.stack.slabs[level.slab?];
    let plate = Plate {
        footprint: slab.footprint.clone(),
        hole: slab.hole,
        thickness: slab.height(),
        modulus: stuff.modulus,
        poisson: 0.3,
    };
    let mut loads = Loads::default();
    let mut own = level.weight();
    if let Some(next) = case.next_level(index).filter(|next| next.is_on_dowels() && !next.pushes.is_empty()) {
        let heads = next.carriers.iter().zip(&next.pushes);
        loads.points = heads
            .map(|(&k, &force)| PointLoad { at: case.stack.dowels[k].at, force })
            .filter(|load| slab.footprint.depth(load.at) >= 0.0)
            .collect();
        own -= loads.points.iter().map(|load| load.force).sum::<f64>();
    }
    let past = past_board(case, index);
    (loads.spread, loads.edge) = (own * (1.0 - past), own * past);
    let supports: Vec<DVec2> = level.carriers.iter().map(|&k| case.stack.dowels[k].at).collect();
    let bent = plate.bent(&supports, &loads)?;
    Some((plate, bent))
}

fn check_bending(case: &Case<'_>, index: usize, checks: &mut Vec<Check>) {
    let level = &case.levels[index];
    let Some(slab) = level.slab.map(|i| &case.stack.slabs[i]) else { return };
    if level.pushes.is_empty() || slab.material.kind != MaterialKind::Board {
        return;
    }
    let Some(stuff) = slab.material.board_stuff() else { return };
    let Some((plate, bent)) = bent(case, index, &stuff) else { return };
    let what = format!("{} thick {}", case.mm(slab.height()), slab.material.name);
    let stress = plate.stress(bent.moment);
    checks.push(Check {
        question: Question::Bench,
        code: CheckCode::BoardBreaks,
        about: level.name.clone(),
        said: format!(
            "{} ({what}) is bent with {stress:.2} MPa and breaks at {} MPa: {}",
            level.name,
            stuff.strength,
            times(stuff.strength / stress)
        ),
        margin: stuff.strength / stress,
        needed: case.design.support.safety,
        rule: Rule::BoardBending,
        fix: "use a thicker or a stiffer board, or set its dowels on a wider circle".into(),
        place: Some(place(bent.moment_at, level.z)),
        field: slab.field.clone(),
    });
    let (sag, width) = (bent.sag * stuff.creep, 2.0 * slab.footprint.reach());
    checks.push(Check {
        question: Question::Bench,
        code: CheckCode::BoardSags,
        about: level.name.clone(),
        said: format!(
            "{} ({what}) sags {} over time, most towards {}; at most {} is allowed",
            level.name,
            case.mm(sag),
            if (bent.sag_at - slab.footprint.centre).length() < width / 8.0 {
                "the middle"
            } else {
                bearing(bearing_of(bent.sag_at - slab.footprint.centre))
            },
            case.mm(width * SAG.0 / SAG.1)
        ),
        margin: width * SAG.0 / sag,
        needed: SAG.1,
        rule: Rule::BoardSag,
        fix: "use a thicker or a stiffer board, or set its dowels on a wider circle".into(),
        place: Some(place(bent.sag_at, level.z)),
        field: slab.field.clone(),
    });
}
