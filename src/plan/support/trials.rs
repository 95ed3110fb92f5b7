//! Changes worth trying for a check that does not hold, the least first.

use glam::DVec2;

use crate::{
    design::Board,
    stack::{Dowel, SlabKind},
};
use geom::region::on_grid;

use super::{
    capacity::trade_count,
    case::Case,
    change::{Centre, Change, Split},
    check::Check,
    circle::{DowelCircle, circle, fresh_circle},
    code::CheckCode,
    stock::{
        BOARD_THICKNESS, CENTRE_DOWEL_DIAMETER, DOWEL_DIAMETERS, HOLE_CLEARANCE, SCREWED_BOARD, stiff_board,
        wood,
    },
};

/// How far a centre dowel reaches above the highest board that it holds, mm (common practice, no source).
const ABOVE_BOARD: f64 = 40.0;

/// Something to try.
pub(super) struct Trial {
    /// The change.
    pub change: Change,
    /// What is done, to the maker.
    pub words: String,
}

/// What to try for `check`, the least first.
pub(super) fn trials(case: &Case<'_>, check: &Check) -> Vec<Trial> {
    let named = (1..case.levels.len()).filter(|&i| case.levels[i].name == check.about);
    let mut levels: Vec<usize> = named.collect();
    // The board under their feet.
    if levels.is_empty() && matches!(check.code, CheckCode::BoardDented | CheckCode::BoardPunched) {
        levels = (1..case.levels.len()).filter(|&i| case.levels[i].is_on_dowels()).collect();
    }
    let each = |of: &dyn Fn(usize) -> Vec<Trial>| levels.iter().flat_map(|&i| of(i)).collect::<Vec<_>>();
    match check.code {
        CheckCode::Tips | CheckCode::Topples => each(&|i| circles(case, i)),
        CheckCode::BoardSags | CheckCode::BoardBreaks => {
            let mut all = each(&|i| circles(case, i));
            all.extend(each(&|i| counts(case, i)));
            all.extend(each(&|i| boards(case, i)));
            all
        }
        CheckCode::DowelCount => each(&|i| counts(case, i)),
        CheckCode::DowelOverloaded
        | CheckCode::DowelJolted
        | CheckCode::BoardDented
        | CheckCode::BoardPunched => {
            let mut all = each(&|i| counts(case, i));
            all.extend(each(&|i| thicker(case, i)));
            all.extend(centre_dowels(case));
            all.extend(each(&|i| boards(case, i)));
            all
        }
        CheckCode::BoardWithoutDowels | CheckCode::DowelOutsideBoard => each(&|i| fresh(case, i)),
        CheckCode::DowelTooShort | CheckCode::DowelTooLong => each(&|i| recut(case, i)),
        CheckCode::SpongePressed | CheckCode::BoardsFarApart => {
            let mut all = Vec::new();
            for i in 1..case.levels.len() {
                if !case.levels[i].is_on_dowels() {
                    all.extend(fresh(case, i));
                }
            }
            all.extend(split(case, check));
            all
        }
        CheckCode::TierSlidesOff | CheckCode::CentreDowelBreaks => {
            let mut all = centre_dowels(case);
            all.extend(apart(case));
            all
        }
        CheckCode::TipsInCar => apart(case),
        CheckCode::SlidesInCar => {
            let words = "wedge or strap its box in the car so that it can't slide, and say that it is ([support] wedged)";
            vec![
                Trial { change: Change::Mat, words: "stand it on a mat that does not slip".into() },
                Trial { change: Change::Wedged, words: words.into() },
            ]
        }
        CheckCode::CoatSlumps | CheckCode::FillingSqueezed | CheckCode::RoomTooWarm => rooms(case),
        _ => Vec::new(),
    }
}

// ── Dowels ──────────────────────────────────────────────────────────────────────────────────────────

fn try_circle(case: &Case<'_>, index: usize, circle: &DowelCircle, what: &str) -> Option<Trial> {
    // What is written is tried, not what it was rounded from.
    let style = case.cake.style;
    let circle = circle.as_written(style);
    circle.is_clear(case, index).then(|| {
        let place = case.design.tiers.get(circle.tier);
        let place = place.map_or(String::new(), |tier| format!(" in \"{}\"", tier.name));
        let words = format!("{what}{place}: {} ({})", circle.told(style), circle.written(style));
        Trial { change: Change::Dowels(circle), words }
    })
}

/// Wider circles.
fn circles(case: &Case<'_>, index: usize) -> Vec<Trial> {
    /// From one circle to the next, mm of radius.
    const STEP: f64 = 4.0;
    let Some(old) = circle(case, index) else { return Vec::new() };
    let wider = |k: u32| DowelCircle { radius: old.radius + STEP * f64::from(k), ..old.clone() };
    (1..=12).filter_map(|k| try_circle(case, index, &wider(k), "set the dowels wider")).collect()
}

/// One dowel more, and more still; where they stand or on a wider circle.
fn counts(case: &Case<'_>, index: usize) -> Vec<Trial> {
    let Some(old) = circle(case, index) else { return Vec::new() };
    let mut all = Vec::new();
    for more in 1..=5 {
        for wider in [0.0, 6.0, 12.0] {
            let new = DowelCircle { count: old.count + more, radius: old.radius + wider, ..old.clone() };
            let what =
                if more == 1 { "use one dowel more".into() } else { format!("use {more} dowels more") };
            all.extend(try_circle(case, index, &new, &what));
        }
    }
    all
}

/// Thicker dowels, or the same in wood.
fn thicker(case: &Case<'_>, index: usize) -> Vec<Trial> {
    let Some(old) = circle(case, index) else { return Vec::new() };
    let mut all = Vec::new();
    if let Some(wood) = wood().filter(|wood| wood.like != old.like.material.like) {
        let mut wooden = old.clone();
        (wooden.like.material, wooden.like.wall) = (wood, None);
        all.extend(try_circle(case, index, &wooden, "use wooden dowels"));
    }
    for diameter in DOWEL_DIAMETERS.into_iter().filter(|d| *d > old.like.diameter + 0.5) {
        let mut thick = old.clone();
        thick.like.diameter = diameter;
        all.extend(try_circle(case, index, &thick, "use thicker dowels"));
    }
    all
}

/// Dowels where there are none, or none that carry.
fn fresh(case: &Case<'_>, index: usize) -> Vec<Trial> {
    let level = &case.levels[index];
    let (Some(slab), Some(new)) = (level.slab.map(|i| &case.stack.slabs[i]), fresh_circle(case, index))
    else {
        return Vec::new();
    };
    let least = trade_count(2.0 * slab.footprint.reach()).0;
    let mut all = Vec::new();
    for share in [0.68, 0.6, 0.5, 0.4, 0.3] {
        for count in [least, least + 1, least + 2] {
            for diameter in [new.like.diameter, 8.0, 10.0] {
                let new = DowelCircle {
                    like: Dowel { diameter, ..new.like.clone() },
                    radius: (slab.footprint.reach() * share).round(),
                    count,
                    ..new.clone()
                };
                all.extend(try_circle(case, index, &new, "put dowels"));
            }
        }
    }
    all
}

/// All dowels under a board cut to it.
fn recut(case: &Case<'_>, index: usize) -> Vec<Trial> {
    let level = &case.levels[index];
    let Some(dowel) = level.misfits.first().map(|misfit| &case.stack.dowels[misfit.dowel]) else {
        return Vec::new();
    };
    let Some(tier) = dowel.tier else { return Vec::new() };
    let length = case.cake.style.length_as_told(level.z - dowel.bottom);
    let words = format!("cut them to {}", case.mm(length));
    vec![Trial { change: Change::Length { tier, length }, words }]
}

/// A centre dowel through all boards, thicker than there is one.
fn centre_dowels(case: &Case<'_>) -> Vec<Trial> {
    let Some(material) = wood() else { return Vec::new() };
    let old = case.stack.dowels.iter().find(|dowel| dowel.tier.is_none());
    let thickest = old.map_or(0.0, |old| old.diameter);
    let top_board = case.stack.slabs.iter().filter(|slab| slab.kind == SlabKind::Board).map(|slab| slab.top);
    let reach = top_board.fold(0.0, f64::max) + ABOVE_BOARD;
    let fast = case.design.centre_dowel.as_ref().is_none_or(|centre| centre.fast);
    let is_held = case.design.board.as_ref().is_none_or(Board::holds_screw);
    let written = |mm: f64| case.cake.style.length_as_told(mm);
    let top = on_grid(reach.min(case.cake.carved_top() - 15.0).max(old.map_or(0.0, |old| old.top)));
    let diameters = DOWEL_DIAMETERS.into_iter().filter(|d| *d > thickest + 0.5 || !fast);
    diameters
        .map(|diameter| {
            let diameter = written(diameter);
            let (hole, top) = (written(diameter + HOLE_CLEARANCE), written(top));
            let on = if is_held {
                "the presentation board".to_owned()
            } else {
                format!("a presentation board of {} of plywood, wrapped", case.mm(SCREWED_BOARD))
            };
            let words = format!(
                "put a centre dowel of {} through it, screwed to {}, up to {}, with holes of {} in the boards",
                case.mm(diameter),
                on,
                case.mm(top),
                case.mm(hole)
            );
            let centre = Centre { diameter, top, hole, material: material.clone() };
            Trial { change: Change::CentreDowel(centre), words }
        })
        .collect()
}

// ── Boards, rooms, parts ────────────────────────────────────────────────────────────────────────────

/// The same board of plywood.
fn boards(case: &Case<'_>, index: usize) -> Vec<Trial> {
    let (Some(slab), Some(material)) = (case.levels[index].slab, stiff_board()) else { return Vec::new() };
    let old = &case.stack.slabs[slab];
    if old.material.like == material.like {
        return Vec::new();
    }
    let words = format!(
        "make {} of plywood, wrapped in food-contact film or foil (material = \"plywood board\")",
        old.name
    );
    vec![Trial { change: Change::BoardMaterial { tier: old.tier, material }, words }]
}

/// A cooler room.
fn rooms(case: &Case<'_>) -> Vec<Trial> {
    let room = case.design.support.room;
    let cooler = (0..60).map(|k| room.floor() - f64::from(k)).filter(|&c| c < room && c >= 10.0);
    cooler
        .map(|celsius| {
            let celsius = case.cake.style.temperature_as_told(celsius);
            let words = format!("keep it at {} at most", case.cake.style.temperature(celsius));
            Trial { change: Change::Room(celsius), words }
        })
        .collect()
}

/// A tier that travels apart, the highest first.
fn apart(case: &Case<'_>) -> Vec<Trial> {
    let tiers = case.levels.iter().skip(1).rev().filter_map(|level| {
        let tier = case.stack.slabs[level.slab?].tier;
        (!case.design.support.apart.contains(&tier)).then_some(tier)
    });
    tiers
        .map(|tier| {
            let name = &case.design.tiers[tier].name;
            let words =
                format!("carry \"{name}\" apart and set it on at the venue ([support] apart = [\"{name}\"])");
            Trial { change: Change::Apart(tier), words }
        })
        .collect()
}

/// The tier that `check` is about, split by a board on dowels half way up.
fn split(case: &Case<'_>, check: &Check) -> Option<Trial> {
    let slab = case.stack.slabs.iter().find(|slab| slab.name == check.about);
    let level = case.levels.iter().position(|level| level.name == check.about);
    let first_on = |i: usize| case.slabs_on(i).next().map(|i| &case.stack.slabs[i]);
    let tier = slab.filter(|slab| slab.kind == SlabKind::Layer).or_else(|| first_on(level?))?.tier;
    let layers = case.design.tiers[tier].layers.len();
    let (material, wood) = (stiff_board()?, wood()?);
    if layers < 2 {
        return None;
    }
    let keep = layers.div_ceil(2);
    let own = || case.stack.slabs.iter().filter(|slab| slab.tier == tier && slab.kind == SlabKind::Layer);
    let seam = own().nth(keep - 1)?.top;
    let outline = case.cake.carved_at(seam);
    let inside = outline.depth(DVec2::ZERO) - case.design.limits.cover;
    let written = |mm: f64| case.cake.style.length_as_told(mm);
    // A joint more has to be held sideways.
    let old = case.design.centre_dowel.as_ref();
    let thick = written(old.map_or(CENTRE_DOWEL_DIAMETER, |old| old.diameter));
    let top = old.map_or(0.0, |old| old.height).max(on_grid(seam + BOARD_THICKNESS + ABOVE_BOARD));
    let centre = Centre {
        diameter: thick,
        top: written(top),
        hole: written(thick + HOLE_CLEARANCE),
        material: wood.clone(),
    };
    let diameter = written(DOWEL_DIAMETERS[0]);
    let board = written(2.0 * inside.floor());
    // Their feet stand on the tier's own board, if it has one.
    let below = case.design.tiers[tier].board.as_ref();
    let held = below.map_or(f64::INFINITY, |board| board.footprint.depth(DVec2::ZERO) - diameter / 2.0);
    let radius = written(2.0 * (inside * 0.68).min(held).floor()) / 2.0;
    if radius < centre.diameter / 2.0 + 2.0 * diameter || inside < 20.0 {
        return None;
    }
    let count = trade_count(2.0 * inside).0;
    let field = case.design.tiers[tier].field.key("dowels");
    let like = Dowel {
        name: String::new(),
        tier: Some(tier),
        at: DVec2::ZERO,
        diameter,
        wall: None,
        bottom: own().next()?.bottom,
        top: seam,
        material: wood,
        field,
    };
    let dowels = DowelCircle { like, tier, length: None, middle: DVec2::ZERO, radius, count, turn: 0.0 };
    let words = format!(
        "split \"{}\" after {keep} layers with a board of plywood, wrapped, of {} on {count} dowels of {} round a circle of {}{}",
        case.design.tiers[tier].name,
        case.mm(board),
        case.mm(diameter),
        case.mm(2.0 * radius),
        match old {
            Some(_) => String::new(),
            None => format!(
                ", and drive a centre dowel of {} up to {} through it",
                case.mm(centre.diameter),
                case.mm(centre.top)
            ),
        }
    );
    Some(Trial { change: Change::Split(Split { tier, keep, board, material, dowels, centre }), words })
}
