//! Dowels under a board: how many, and where there is cake enough around them.

use std::f64::consts::TAU;

use glam::DVec2;

use super::setup::Setup;
use geom::{Region, Solid, Tolerance, real};
use plan::design::{Footprint, FootprintShape};

/// Places of the dowels that carry `board` from height `low` to `high`, their feet on the board `under` them if there is
/// one; none where there is no room.
pub fn places(
    setup: &Setup,
    board: &Footprint,
    under: Option<&Footprint>,
    low: f64,
    high: f64,
) -> Vec<DVec2> {
    let Some(kind) = &setup.dowel else { return Vec::new() };
    let outlines = setup.needs.outlines(low, high);
    let thick = kind.diameter;
    let clear =
        setup.design.centre_dowel.as_ref().map_or(0.0, |centre| (centre.diameter + thick) / 2.0 + 6.0);
    let holds = |p: DVec2| {
        let cake = outlines.iter().all(|outline| outline.depth(p) >= setup.rules.cover + thick / 2.0);
        let stands = under.is_none_or(|under| under.depth(p) >= thick / 2.0);
        cake && stands && board.depth(p) >= thick && p.length() >= clear
    };
    /// Less than this is round-off, mm³.
    const LEAST: f64 = 1e-3;
    let uncut = |p: DVec2| {
        let dowel = Solid::prism(&Region::disc(p, thick / 2.0, Tolerance::PREVIEW), low, high);
        setup.cuts.iter().all(|cut| !dowel.may_meet(cut) || dowel.intersection(cut).volume() <= LEAST)
    };
    let patterns = patterns(board, thick, setup.rules.mark);
    let fits = |places: &Vec<DVec2>| places.iter().all(|p| holds(*p)) && places.iter().all(|p| uncut(*p));
    patterns.into_iter().find(fits).unwrap_or_default()
}

/// Patterns of places, to whole `mark`s, the best first. All in mm.
fn patterns(board: &Footprint, thick: f64, mark: f64) -> Vec<Vec<DVec2>> {
    /// How far a circle is turned, in spaces between two dowels.
    const TURNS: [f64; 4] = [0.5, 0.0, 0.25, 0.75];
    let turn = real::unit_vector(board.turn.to_radians());
    let place = |p: DVec2| {
        let p = board.centre + turn.rotate(p);
        (p / mark).round() * mark + 0.0
    };
    // From 1 1/2 in inside the edge ("Adding Dowel Rods") inwards, where that leaves a circle worth the name.
    let shares = (0..=8).map(|i| 1.0 - f64::from(i) * 0.08);
    let [width, depth] = board.shape.size();
    match board.shape {
        FootprintShape::Round { diameter } => {
            let outer = (diameter / 2.0 - 38.1).max(diameter * 0.3);
            let wanted = count(diameter);
            let counts = [wanted, 4, 3].into_iter().filter(move |n| *n <= wanted);
            let circles: Vec<f64> = shares.map(|share| outer * share).collect();
            counts
                .flat_map(|n| circles.iter().map(move |circle| (n, *circle)))
                .filter(|(n, circle)| TAU * circle / f64::from(*n) > 3.0 * thick)
                .flat_map(|(n, circle)| TURNS.map(|turn| (n, circle, turn)))
                .map(|(n, circle, turn)| {
                    (0..n)
                        .map(|i| {
                            place(real::unit_vector(TAU * (f64::from(i) + turn) / f64::from(n)) * circle)
                        })
                        .collect()
                })
                .collect()
        }
        FootprintShape::Rectangle { .. } | FootprintShape::Pieces(_) => shares
            .map(|share| {
                let (x, y) = (width * 0.35 * share, depth * 0.35 * share);
                let corners = [(-x, -y), (x, -y), (x, y), (-x, y)];
                // Long boards get two more in the middle of their long sides.
                let more = [(0.0, -y), (0.0, y)].into_iter().filter(|_| width > 200.0);
                corners.into_iter().chain(more).map(|(x, y)| place(DVec2::new(x, y))).collect()
            })
            .collect(),
    }
}

/// How many dowels carry a round board. Sources give four or six for a tier of up to 10 in and eight from 16 in
/// ("Adding Dowel Rods", "How to Support a 3-Tier Cake").
fn count(diameter: f64) -> u32 {
    match diameter / 25.4 {
        inches if inches <= 6.0 => 4,
        inches if inches < 16.0 => 6,
        _ => 8,
    }
}
