//! Dowels and the boards on them: whether they fit, carry, dent and bend.

use glam::DVec2;

use crate::stack::{Dowel, SlabKind};

use super::{
    boards,
    capacity::{calculated_count, capacity, is_held_sideways, trade_count},
    case::Case,
    check::{Check, Question, place},
    code::CheckCode,
    levels::MisfitKind,
    rule::Rule,
    strut::Failure,
    wording::times,
};

pub(super) fn check(case: &Case<'_>, checks: &mut Vec<Check>) {
    for index in 1..case.levels.len() {
        check_fit(case, index, checks);
        check_count(case, index, checks);
        if case.levels[index].is_on_dowels() {
            check_struts(case, index, checks);
            boards::check(case, index, checks);
        }
    }
    check_feet(case, checks);
    check_idle(case, checks);
    check_tiers(case, checks);
    check_crowding(case, checks);
}

// ── Do they fit? ────────────────────────────────────────────────────────────────────────────────────

fn check_fit(case: &Case<'_>, index: usize, checks: &mut Vec<Check>) {
    let level = &case.levels[index];
    let all = level.carriers.len() + level.misfits.len();
    for (kind, code) in [
        (MisfitKind::Short, CheckCode::DowelTooShort),
        (MisfitKind::Long, CheckCode::DowelTooLong),
        (MisfitKind::Outside, CheckCode::DowelOutsideBoard),
    ] {
        let these: Vec<_> = level.misfits.iter().filter(|misfit| misfit.kind == kind).collect();
        let Some(worst) = these.iter().max_by(|a, b| a.by.total_cmp(&b.by)) else { continue };
        let dowel = &case.stack.dowels[worst.dowel];
        let by = case.mm(worst.by);
        let count = format!("{} of the {all} dowels under {}", these.len(), level.name);
        let (said, fix) = match kind {
            MisfitKind::Short => (
                format!("{count} end {by} below it: it sinks until they carry"),
                format!("cut them to {}", case.mm(level.z - dowel.bottom)).into(),
            ),
            MisfitKind::Long => (
                format!("{count} end {by} above where it lies: it stands on their heads and leaves a gap"),
                format!("cut them to {}", case.mm(level.z - dowel.bottom)).into(),
            ),
            MisfitKind::Outside => (
                format!("{count} stand up to {by} outside it and carry nothing"),
                "move them inwards, or use a wider board".into(),
            ),
        };
        checks.push(Check {
            question: Question::Bench,
            code,
            about: level.name.clone(),
            said,
            margin: if kind == MisfitKind::Long && level.carriers.len() == all { 1.0 } else { 0.0 },
            needed: 1.5,
            rule: Rule::DowelFit,
            fix,
            place: Some(place(dowel.at, dowel.top)),
            field: dowel.field.clone(),
        });
    }
}

/// Dowels whose feet stand on sponge.
fn check_feet(case: &Case<'_>, checks: &mut Vec<Check>) {
    let mut seen = Vec::new();
    for dowel in case.stack.dowels.iter().filter(|dowel| dowel.tier.is_some_and(|tier| tier > 0)) {
        let on_board = case.stack.slabs.iter().any(|slab| {
            slab.kind == SlabKind::Board
                && (slab.top - dowel.bottom).abs() < 0.5
                && slab.footprint.depth(dowel.at) >= dowel.diameter / 2.0 - 1e-6
        });
        if on_board || seen.contains(&dowel.tier) {
            continue;
        }
        seen.push(dowel.tier);
        checks.push(Check {
            question: Question::Bench,
            code: CheckCode::DowelOnSponge,
            about: dowel.name.clone(),
            said: format!("the foot of {} stands on cake and not on a board: it sinks in", dowel.name),
            margin: 0.0,
            needed: 1.0,
            rule: Rule::DowelFit,
            fix: "put a board under its tier that reaches under all its dowels".into(),
            place: Some(place(dowel.at, dowel.bottom)),
            field: dowel.field.clone(),
        });
    }
}

/// Dowels that hold up nothing, because there is no board on them.
fn check_idle(case: &Case<'_>, checks: &mut Vec<Check>) {
    for (index, tier) in case.design.tiers.iter().enumerate() {
        let above = case.design.tiers.get(index + 1);
        let (Some(set), Some(above)) = (&tier.dowels, above) else { continue };
        if above.board.is_none() {
            checks.push(Check {
                question: Question::Bench,
                code: CheckCode::DowelsWithoutBoard,
                about: tier.name.clone(),
                said: format!(
                    "the dowels in \"{}\" hold up nothing: there is no board under \"{}\"",
                    tier.name, above.name
                ),
                margin: 1.0,
                needed: 1.5,
                rule: Rule::DowelFit,
                fix: format!("give \"{}\" a board", above.name).into(),
                place: None,
                field: set.field.clone(),
            });
        }
    }
}

fn check_tiers(case: &Case<'_>, checks: &mut Vec<Check>) {
    for (index, tier) in case.design.tiers.iter().enumerate().skip(1) {
        if tier.board.is_some() || case.design.tiers[index - 1].dowels.is_some() {
            continue;
        }
        checks.push(Check {
            question: Question::Bench,
            code: CheckCode::TierWithoutBoard,
            about: tier.name.clone(),
            said: format!("\"{}\" lies on the cake below without a board", tier.name),
            margin: 1.0,
            needed: 1.5,
            rule: Rule::BoardSpacing,
            fix: format!("give \"{}\" a board, and three or more dowels under it", tier.name).into(),
            place: None,
            field: tier.field.clone(),
        });
    }
}

fn check_crowding(case: &Case<'_>, checks: &mut Vec<Check>) {
    let dowels = &case.stack.dowels;
    for (i, a) in dowels.iter().enumerate() {
        for b in &dowels[..i] {
            let together = a.bottom.max(b.bottom) < a.top.min(b.top);
            let apart = a.at.distance(b.at) - (a.diameter + b.diameter) / 2.0;
            let least = a.diameter.max(b.diameter) / 2.0;
            if !together || apart >= least {
                continue;
            }
            checks.push(Check {
                question: Question::Bench,
                code: CheckCode::DowelsCrowded,
                about: a.name.clone(),
                said: if apart < 0.0 {
                    format!("{} and {} stand in each other's place", a.name, b.name)
                } else {
                    format!("only {} of cake stand between {} and {}", case.mm(apart), a.name, b.name)
                },
                margin: if apart < 0.0 { 0.0 } else { 1.0 + apart / least },
                needed: 2.0,
                rule: Rule::DowelFit,
                fix: "set them on a wider circle, or use fewer".into(),
                place: Some(place(a.at, a.bottom)),
                field: a.field.clone(),
            });
            return;
        }
    }
}

// ── How many ────────────────────────────────────────────────────────────────────────────────────────

fn check_count(case: &Case<'_>, index: usize, checks: &mut Vec<Check>) {
    let level = &case.levels[index];
    let Some(slab) = level.slab.map(|slab| &case.stack.slabs[slab]) else { return };
    let width = 2.0 * slab.footprint.reach();
    let (trade, range) = trade_count(width);
    let n = level.carriers.len();
    if n == 0 {
        /// A smaller area bears nothing, mm².
        const LEAST_BEARING: f64 = 1.0;
        let under = case.stack.slabs[..level.slab.unwrap_or(0)].last();
        let collapse = under.and_then(|slab| slab.material.crumb()).map(|crumb| crumb.collapse * 1000.0);
        let (carried, margin) = if level.bearing > LEAST_BEARING {
            let bears = level.weight() / level.bearing * 1e6;
            let collapses =
                collapse.map_or(String::new(), |c| format!("; about {} collapses it", case.pressure(c)));
            let carried = format!("stand on the cake under it, {}{collapses}", case.pressure(bears));
            (carried, collapse.map_or(1.0, |collapse| collapse / bears))
        } else {
            ("stand on it, and no cake is left under it that would hold them".to_owned(), 0.0)
        };
        checks.push(Check {
            question: Question::Bench,
            code: CheckCode::BoardWithoutDowels,
            about: level.name.clone(),
            said: format!("no dowel carries {}: {} {carried}", level.name, case.g(level.load.amount),),
            // The trade asks for dowels in any case.
            margin: margin.min(1.99),
            needed: 2.0,
            rule: Rule::DowelCount,
            fix: format!("put {trade} dowels into the tier below, inside the board's outline").into(),
            place: Some(place(slab.footprint.centre, level.z)),
            field: case.field_of(index),
        });
        return;
    }
    let heads: Vec<&Dowel> = level.carriers.iter().map(|&k| &case.stack.dowels[k]).collect();
    let middle = heads.iter().map(|dowel| dowel.at).sum::<DVec2>() / n as f64;
    let calculated = calculated_count(case, level, heads[0], middle);
    let needed = trade.max(calculated.unwrap_or(0));
    let wins = match calculated {
        Some(c) if c > trade => format!("the calculation asks for {c}, more than the trade's {trade}"),
        Some(c) => {
            format!("the trade puts {trade} there ({range} are published), the calculation asks for {c}")
        }
        None => format!("the trade puts {trade} there ({range} are published)"),
    };
    checks.push(Check {
        question: Question::Bench,
        code: CheckCode::DowelCount,
        about: level.name.clone(),
        said: format!("{n} dowels carry {}; {wins}", level.name),
        margin: n as f64 / 3.0,
        needed: needed as f64 / 3.0,
        rule: Rule::DowelCount,
        fix: format!("use {needed}, evenly round the circle").into(),
        place: Some(place(heads[0].at, level.z)),
        field: heads[0].field.clone(),
    });
}

// ── Do they carry? ──────────────────────────────────────────────────────────────────────────────────

fn check_struts(case: &Case<'_>, index: usize, checks: &mut Vec<Check>) {
    let level = &case.levels[index];
    if level.pushes.is_empty() {
        // It tips off them; tipping says so.
        return;
    }
    let carried: Vec<(&Dowel, Option<(f64, Failure)>)> = level
        .carriers
        .iter()
        .map(|&k| (&case.stack.dowels[k], capacity(case, level, &case.stack.dowels[k])))
        .collect();
    if let Some((dowel, _)) = carried.iter().find(|(_, bears)| bears.is_none()) {
        let field = dowel.field.clone();
        checks.push(Check::unknown(Question::Bench, &dowel.material.name, &dowel.name, field));
        return;
    }
    let weakest = carried
        .into_iter()
        .filter_map(|(dowel, bears)| Some((dowel, bears?)))
        .min_by(|a, b| a.1.0.total_cmp(&b.1.0));
    let Some((dowel, (bears, failure))) = weakest else { return };
    let how = match failure {
        Failure::Crushing => "is crushed",
        Failure::Buckling => "bows out",
        Failure::Wrinkling => "wrinkles",
    };
    let sides = if is_held_sideways(case, level) {
        "the centre dowel holds the board sideways"
    } else {
        "nothing holds the board sideways"
    };
    let even = level.pushes.iter().copied().fold(0.0, f64::max);
    let margin = bears / level.worst_push;
    checks.push(Check {
        question: Question::Bench,
        code: CheckCode::DowelOverloaded,
        about: level.name.clone(),
        said: format!(
            "each dowel under {} carries up to {} ({} with one slightly short); {} of {} and {} {how} at {}: {} ({sides})",
            level.name,
            case.push(even),
            case.push(level.worst_push),
            case.mm(dowel.diameter),
            dowel.material.name,
            case.mm(dowel.length()),
            case.push(bears),
            times(margin)
        ),
        margin,
        needed: case.design.support.safety,
        rule: Rule::Strut,
        fix: "use thicker dowels or more of them, or a centre dowel through the board".into(),
        place: Some(place(dowel.at, dowel.top)),
        field: dowel.field.clone(),
    });
}
