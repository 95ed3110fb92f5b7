//! What dowels bear, and how many of them are asked for.

use glam::DVec2;

use crate::stack::Dowel;
use geom::real;

use super::{
    case::Case,
    levels::Level,
    share::uneven,
    strut::{self, Bar, Ends, Failure},
};

/// Whether the centre dowel holds the board of `level` sideways: its foot is fast and it goes through.
pub fn is_held_sideways(case: &Case<'_>, level: &Level) -> bool {
    /// As far above the board it has to reach to hold it, mm.
    const THROUGH: f64 = 10.0;
    let fast = case.design.centre_dowel.as_ref().is_none_or(|centre| centre.fast);
    let Some(slab) = level.slab.map(|slab| &case.stack.slabs[slab]) else { return true };
    let through = |dowel: &&Dowel| {
        dowel.tier.is_none() && dowel.top >= slab.top + THROUGH && slab.hole > dowel.diameter
    };
    fast && case.stack.dowels.iter().any(|dowel| through(&dowel))
}

/// What a dowel carries before it gives way under a load that stays, N, and how it does.
pub fn capacity(case: &Case<'_>, level: &Level, dowel: &Dowel) -> Option<(f64, Failure)> {
    let stuff = dowel.material.dowel_stuff()?;
    let ends = if is_held_sideways(case, level) { Ends::Pinned } else { Ends::FreeHead };
    let lasting = strut::Stuff {
        modulus: stuff.modulus * stuff.lasting,
        strength: stuff.strength * stuff.lasting,
        poisson: stuff.poisson,
    };
    Some(strut::capacity(&lasting, &Bar::from(dowel), dowel.length(), ends))
}

/// How many dowels the trade puts under a board so wide (between shop guides, four or five, and tiered-cake
/// guides, six to eight), and the range of the published figures.
pub fn trade_count(width: f64) -> (usize, &'static str) {
    match width {
        w if w <= 6.0 * 25.4 => (3, "3 to 4"),
        w if w <= 10.0 * 25.4 => (4, "4 to 6"),
        w if w <= 14.0 * 25.4 => (5, "5 to 8"),
        _ => (6, "5 to 8"),
    }
}

/// The least number, evenly round the circle of `dowel`, that carries `level` with the safety asked for.
pub fn calculated_count(case: &Case<'_>, level: &Level, dowel: &Dowel, middle: DVec2) -> Option<usize> {
    /// More than any circle holds.
    const MOST: u32 = 40;
    let (bears, _) = capacity(case, level, dowel)?;
    let radius = dowel.at.distance(middle);
    let enough = |n: u32| {
        let turn = std::f64::consts::TAU / f64::from(n);
        let at: Vec<DVec2> =
            (0..n).map(|k| middle + radius * real::unit_vector(turn * f64::from(k))).collect();
        uneven(&at, level.weight(), level.centre())
            .is_some_and(|push| push * case.design.support.safety <= bears)
    };
    (3..MOST).find(|&n| enough(n)).map(|n| n as usize)
}
