//! Changes worth trying for a check that does not hold, the least first.

use std::f64::consts::TAU;

use glam::DVec2;

use crate::{
    design::{Board, CentreDowel, Design, Dowels, Footprint, FootprintShape, Tier},
    stack::{Dowel, SlabKind, Stack},
};
use cakefile::FieldPath;
use geom::region::on_grid;

use super::{
    Case, Check,
    advice::{stiff_board, with, wood},
    dowels::trade_count,
    ring::{Ring, fresh_ring, ring, with_ring},
};

/// Something to try.
pub(super) struct Trial {
    /// What is done, to the maker.
    pub words: String,
    /// The design with the change; `None` for the one at hand.
    pub design: Option<Design>,
    /// The stack with the change; `None` for the one at hand, or what is made of the design.
    pub stack: Option<Stack>,
    /// Whether layers move, so that all is carved again.
    pub carves_anew: bool,
}

impl Trial {
    fn of_stack(words: String, stack: Stack) -> Self {
        Self { words, design: None, stack: Some(stack), carves_anew: false }
    }

    fn of_design(words: String, design: Design) -> Self {
        Self { words, design: Some(design), stack: None, carves_anew: false }
    }
}

/// Thickness of a centre dowel where there is none yet, mm (common practice, no source).
const CENTRE: f64 = 12.0;

/// Thicknesses that dowels are sold in, mm (common practice, no source).
const STOCK: [f64; 5] = [6.0, 8.0, 10.0, 12.0, 16.0];

/// What to try for `check`, the least first.
pub(super) fn trials(case: &Case<'_>, check: &Check) -> Vec<Trial> {
    let named = (1..case.levels.len()).filter(|&i| case.levels[i].name == check.about);
    let mut levels: Vec<usize> = named.collect();
    if levels.is_empty() && matches!(check.code, "board-dented" | "board-punched") {
        levels = (1..case.levels.len()).filter(|&i| case.levels[i].is_on_dowels()).collect();
    }
    let each = |of: &dyn Fn(usize) -> Vec<Trial>| levels.iter().flat_map(|&i| of(i)).collect::<Vec<_>>();
    match check.code {
        "tips" | "topples" => each(&|i| circles(case, i)),
        "board-sags" | "board-breaks" => {
            let mut all = each(&|i| circles(case, i));
            all.extend(each(&|i| counts(case, i)));
            all.extend(each(&|i| boards(case, i)));
            all
        }
        "dowel-count" => each(&|i| counts(case, i)),
        "dowel-overloaded" | "dowel-jolted" | "board-dented" | "board-punched" => {
            let mut all = each(&|i| counts(case, i));
            all.extend(each(&|i| thicker(case, i)));
            all.extend(centre_dowels(case));
            all.extend(each(&|i| boards(case, i)));
            all
        }
        "board-without-dowels" | "dowel-outside-board" => each(&|i| fresh(case, i)),
        "dowel-too-short" | "dowel-too-long" => each(&|i| recut(case, i)),
        "sponge-pressed" | "boards-far-apart" => {
            let mut all = Vec::new();
            for i in 1..case.levels.len() {
                if !case.levels[i].is_on_dowels() {
                    all.extend(fresh(case, i));
                }
            }
            all.extend(split(case, check));
            all
        }
        "tier-slides-off" | "centre-dowel-breaks" => {
            let mut all = centre_dowels(case);
            all.extend(apart(case));
            all
        }
        "tips-in-car" => apart(case),
        "slides-in-car" => {
            let mat = with(case.design, |design| design.support.mat = true);
            vec![Trial::of_design("stand it on a mat that does not slip".into(), mat)]
        }
        "coat-slumps" | "filling-squeezed" | "room-too-warm" => rooms(case),
        _ => Vec::new(),
    }
}

// ── Dowels ──────────────────────────────────────────────────────────────────────────────────────────

fn try_ring(case: &Case<'_>, index: usize, ring: &Ring, what: &str) -> Option<Trial> {
    // What is told is tried, not what it was rounded from.
    let style = case.scene.style;
    let ring = &ring.as_told(style);
    ring.is_clear(case, index).then(|| {
        let tier = ring.like.tier.and_then(|tier| case.design.tiers.get(tier));
        let place = tier.map_or(String::new(), |tier| format!(" in \"{}\"", tier.name));
        Trial::of_stack(format!("{what}{place}: {}", ring.written(style)), with_ring(case, ring))
    })
}

/// Wider circles.
fn circles(case: &Case<'_>, index: usize) -> Vec<Trial> {
    /// From one circle to the next, mm of radius.
    const STEP: f64 = 4.0;
    let Some(ring) = ring(case, index) else { return Vec::new() };
    let wider = |k: u32| Ring { radius: ring.radius + STEP * f64::from(k), ..ring.clone() };
    (1..=12).filter_map(|k| try_ring(case, index, &wider(k), "set the dowels wider")).collect()
}

/// One dowel more, and more still; where they stand or on a wider circle.
fn counts(case: &Case<'_>, index: usize) -> Vec<Trial> {
    let Some(ring) = ring(case, index) else { return Vec::new() };
    let mut all = Vec::new();
    for more in 1..=5 {
        for wider in [0.0, 6.0, 12.0] {
            let ring = Ring { count: ring.count + more, radius: ring.radius + wider, ..ring.clone() };
            let what =
                if more == 1 { "use one dowel more".into() } else { format!("use {more} dowels more") };
            all.extend(try_ring(case, index, &ring, &what));
        }
    }
    all
}

/// Thicker dowels, or the same in wood.
fn thicker(case: &Case<'_>, index: usize) -> Vec<Trial> {
    let Some(ring) = ring(case, index) else { return Vec::new() };
    let mut all = Vec::new();
    if let Some(wood) = wood().filter(|wood| wood.like != ring.like.material.like) {
        let mut wooden = ring.clone();
        (wooden.like.material, wooden.like.wall) = (wood, None);
        all.extend(try_ring(case, index, &wooden, "use wooden dowels"));
    }
    for diameter in STOCK.into_iter().filter(|d| *d > ring.like.diameter + 0.5) {
        let mut thick = ring.clone();
        thick.like.diameter = diameter;
        all.extend(try_ring(case, index, &thick, "use thicker dowels"));
    }
    all
}

/// Dowels where there are none, or none that carry.
fn fresh(case: &Case<'_>, index: usize) -> Vec<Trial> {
    let level = &case.levels[index];
    let (Some(slab), Some(ring)) = (level.slab.map(|i| &case.stack.slabs[i]), fresh_ring(case, index)) else {
        return Vec::new();
    };
    let least = trade_count(2.0 * slab.footprint.reach()).0;
    let mut all = Vec::new();
    for share in [0.68, 0.6, 0.5, 0.4, 0.3] {
        for count in [least, least + 1, least + 2] {
            for diameter in [ring.like.diameter, 8.0, 10.0] {
                let ring = Ring {
                    like: Dowel { diameter, ..ring.like.clone() },
                    radius: (slab.footprint.reach() * share).round(),
                    count,
                    ..ring.clone()
                };
                all.extend(try_ring(case, index, &ring, "put dowels"));
            }
        }
    }
    all
}

/// All dowels under a board cut to it.
fn recut(case: &Case<'_>, index: usize) -> Vec<Trial> {
    let level = &case.levels[index];
    let mut stack = case.stack.clone();
    for misfit in &level.misfits {
        stack.dowels[misfit.dowel].top = level.z;
    }
    let Some(dowel) = level.misfits.first().map(|misfit| &case.stack.dowels[misfit.dowel]) else {
        return Vec::new();
    };
    let words = format!("cut them to {}", case.mm(level.z - dowel.bottom));
    vec![Trial::of_stack(words, stack)]
}

/// A centre dowel through all boards, thicker than there is one.
fn centre_dowels(case: &Case<'_>) -> Vec<Trial> {
    /// How much wider its holes are, mm.
    const FIT: f64 = 2.0;
    let Some(material) = wood() else { return Vec::new() };
    let old = case.stack.dowels.iter().find(|dowel| dowel.tier.is_none());
    let thickest = old.map_or(0.0, |old| old.diameter);
    let top_board = case.stack.slabs.iter().filter(|slab| slab.kind == SlabKind::Board).map(|slab| slab.top);
    let reach = top_board.fold(0.0, f64::max) + 40.0;
    let fast = case.design.centre_dowel.as_ref().is_none_or(|centre| centre.fast);
    let mut all = Vec::new();
    let told = |mm: f64| case.scene.style.length_as_told(mm);
    for diameter in STOCK.into_iter().filter(|d| *d > thickest + 0.5 || !fast).map(told) {
        let hole = told(diameter + FIT);
        let top = on_grid(reach.min(case.scene.carved_top() - 15.0).max(old.map_or(0.0, |old| old.top)));
        let top = told(top);
        let mut stack = case.stack.clone();
        stack.dowels.retain(|dowel| dowel.tier.is_some());
        stack.dowels.push(Dowel {
            name: "centre dowel".into(),
            tier: None,
            at: DVec2::ZERO,
            diameter,
            wall: None,
            bottom: 0.0,
            top,
            material: material.clone(),
            field: FieldPath::root().key("centre_dowel"),
        });
        for slab in stack.slabs.iter_mut().filter(|slab| slab.kind == SlabKind::Board) {
            slab.hole = slab.hole.max(hole);
        }
        let design = with(case.design, |design| {
            if let Some(centre) = &mut design.centre_dowel {
                centre.fast = true;
            }
        });
        all.push(Trial {
            words: format!(
                "drive a centre dowel of {} through it into the presentation board, up to {}, with holes of {} in the \
                 boards",
                case.mm(diameter),
                case.mm(top),
                case.mm(hole)
            ),
            design: Some(design),
            stack: Some(stack),
            carves_anew: false,
        });
    }
    all
}

// ── Boards, rooms, parts ────────────────────────────────────────────────────────────────────────────

/// The same board of plywood.
fn boards(case: &Case<'_>, index: usize) -> Vec<Trial> {
    let (Some(slab), Some(stiff)) = (case.levels[index].slab, stiff_board()) else { return Vec::new() };
    let old = &case.stack.slabs[slab];
    if old.material.like == stiff.like {
        return Vec::new();
    }
    let mut stack = case.stack.clone();
    stack.slabs[slab].material = stiff;
    vec![Trial::of_stack(format!("make {} of plywood: material = \"plywood board\"", old.name), stack)]
}

/// A cooler room.
fn rooms(case: &Case<'_>) -> Vec<Trial> {
    let room = case.design.support.room;
    let cooler = (0..60).map(|k| room.floor() - f64::from(k)).filter(|&c| c < room && c >= 10.0);
    cooler
        .map(|celsius| {
            let celsius = case.scene.style.temperature_as_told(celsius);
            let design = with(case.design, |design| design.support.room = celsius);
            Trial::of_design(format!("keep it at {} at most", case.scene.style.temperature(celsius)), design)
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
            let design = with(case.design, |design| {
                design.support.apart.push(tier);
                design.support.apart.sort_unstable();
            });
            Trial::of_design(
                format!("carry \"{name}\" apart and set it on at the venue: [support] apart = [\"{name}\"]"),
                design,
            )
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
    let material = (stiff_board()?, wood()?);
    if layers < 2 {
        return None;
    }
    let keep = layers.div_ceil(2);
    let seam = case
        .stack
        .slabs
        .iter()
        .filter(|slab| slab.tier == tier && slab.kind == SlabKind::Layer)
        .nth(keep - 1)?
        .top;
    let outline = case.scene.carved_at(seam);
    let inside = outline.depth(DVec2::ZERO) - case.design.limits.cover;
    // A joint more has to be held sideways.
    let old = case.design.centre_dowel.clone();
    let centre = CentreDowel {
        diameter: old.as_ref().map_or(CENTRE, |old| old.diameter),
        height: old.as_ref().map_or(0.0, |old| old.height).max(on_grid(seam + 4.0 + 40.0)),
        wall: None,
        fast: true,
        material: material.1.clone(),
        field: FieldPath::root().key("centre_dowel"),
    };
    let told = |mm: f64| case.scene.style.length_as_told(mm);
    let hole = centre.diameter + 2.0;
    let diameter = told(6.0);
    let width = told(2.0 * inside.floor());
    // Their feet stand on the tier's own board, if it has one.
    let below = case.design.tiers[tier].board.as_ref();
    let held = below.map_or(f64::INFINITY, |board| board.footprint.depth(DVec2::ZERO) - diameter / 2.0);
    let radius = told(2.0 * (inside * 0.68).min(held).floor()) / 2.0;
    if radius < centre.diameter / 2.0 + 2.0 * diameter || inside < 20.0 {
        return None;
    }
    let count = trade_count(2.0 * inside).0;
    let design = with(case.design, |design| {
        let field = design.tiers[tier].field.clone();
        let footprint =
            Footprint { shape: FootprintShape::Round { diameter: width }, centre: DVec2::ZERO, turn: 0.0 };
        let at = |k: usize| radius * DVec2::from_angle(TAU * k as f64 / count as f64);
        let upper_layers = design.tiers[tier].layers.split_off(keep);
        if let Some(last) = design.tiers[tier].layers.last_mut() {
            last.filling = None;
        }
        let carried = Dowels {
            at: (0..count).map(at).collect(),
            diameter,
            wall: None,
            length: None,
            material: material.1,
            field: field.key("dowels"),
        };
        let above = design.tiers[tier].dowels.replace(carried);
        let upper = Tier {
            name: format!("{}, upper half", design.tiers[tier].name),
            board: Some(Board {
                footprint,
                thickness: 4.0,
                hole,
                material: material.0,
                field: field.key("board"),
            }),
            dowels: above,
            layers: upper_layers,
            field,
        };
        design.tiers.insert(tier + 1, upper);
        design.centre_dowel = Some(centre.clone());
        design.support.apart.iter_mut().filter(|apart| **apart > tier).for_each(|apart| *apart += 1);
    });
    Some(Trial {
        words: format!(
            "split \"{}\" after {keep} layers with a plywood board of {} on {count} dowels of {} round a circle of \
             {}{}",
            case.design.tiers[tier].name,
            case.mm(width),
            case.mm(diameter),
            case.mm(2.0 * radius),
            match old {
                Some(_) => String::new(),
                None => format!(
                    ", and drive a centre dowel of {} up to {} through it",
                    case.mm(centre.diameter),
                    case.mm(centre.height)
                ),
            }
        ),
        design: Some(design),
        stack: None,
        carves_anew: true,
    })
}
