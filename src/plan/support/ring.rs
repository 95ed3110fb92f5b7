//! Dowels evenly round a circle: where they may stand, and where they ought to.

use glam::DVec2;

use crate::stack::{Dowel, SlabKind, Stack};
use geom::{
    revolve::{at_bearing, bearing_of},
    units::UnitStyle,
};

use super::{
    Case,
    advice::wood,
    dowels::{calculated_count, trade_count},
};

/// Dowels standing evenly round a circle.
#[derive(Clone)]
pub(super) struct Ring {
    /// One of them; its place does not matter.
    pub like: Dowel,
    /// The middle of the circle.
    pub middle: DVec2,
    /// Its radius, mm.
    pub radius: f64,
    /// How many.
    pub count: usize,
    /// Bearing of the first, degrees.
    pub turn: f64,
}

impl Ring {
    /// The dowels, one by one.
    pub fn dowels(&self) -> Vec<Dowel> {
        (0..self.count)
            .map(|k| {
                let bearing = self.turn + 360.0 * k as f64 / self.count as f64;
                let at = self.middle + at_bearing(self.radius, 0.0, bearing).truncate();
                let name = match self.like.name.rsplit_once(' ') {
                    Some((before, _)) => format!("{before} {}", k + 1),
                    None => self.like.name.clone(),
                };
                Dowel { at, name, ..self.like.clone() }
            })
            .collect()
    }

    /// The same ring, as thick and as wide as the maker is told.
    pub fn as_told(&self, style: UnitStyle) -> Self {
        let mut told = self.clone();
        told.like.diameter = style.length_as_told(self.like.diameter);
        told.radius = style.length_as_told(2.0 * self.radius) / 2.0;
        told
    }

    /// As it is written in a cake file.
    pub fn written(&self, style: UnitStyle) -> String {
        let turn = match self.turn.round().rem_euclid(360.0) {
            0.0 => String::new(),
            turn => format!(", turn = {turn:.0}"),
        };
        let material = match self.like.material.name.as_str() {
            "wooden dowel" => String::new(),
            other => format!(", material = \"{other}\""),
        };
        format!(
            "dowels = {{ count = {}, diameter = \"{}\", circle = \"{}\"{turn}{material} }}",
            self.count,
            style.length_alone(self.like.diameter),
            style.length_alone(2.0 * self.radius)
        )
    }

    /// Whether all of it stands inside the board and clear of the carve, of the centre dowel and of itself.
    pub fn is_clear(&self, case: &Case<'_>, index: usize) -> bool {
        let Some(board) = case.levels[index].slab.map(|i| case.stack.slabs[i].footprint) else {
            return false;
        };
        let half = self.like.diameter / 2.0;
        let dowels = self.dowels();
        let centre = case.stack.dowels.iter().find(|dowel| dowel.tier.is_none());
        let heights: Vec<f64> = case.looked_at(index - 1).into_iter().map(|(_, z)| z).collect();
        // Feet that stand above the presentation board need a board of their own.
        let on_board = |dowel: &Dowel| {
            let boards = case.stack.slabs.iter().filter(|slab| slab.kind == SlabKind::Board);
            dowel.bottom < 0.5
                || boards
                    .filter(|slab| (slab.top - dowel.bottom).abs() < 0.5)
                    .any(|slab| slab.footprint.depth(dowel.at) >= half)
        };
        let apart = 2.0 * self.radius * (std::f64::consts::PI / self.count.max(2) as f64).sin();
        let covered = |dowel: &Dowel| {
            let cover = case.design.limits.cover;
            heights.iter().all(|&z| case.scene.carved_at(z).depth(dowel.at) - half >= cover - 1e-6)
        };
        apart >= 1.5 * self.like.diameter
            && centre.is_none_or(|c| self.radius >= 0.5 * (c.diameter + self.like.diameter) + half)
            && dowels.iter().all(|dowel| board.depth(dowel.at) >= half && covered(dowel) && on_board(dowel))
    }
}

/// The dowels under level `index` as a ring; `None` where there are none.
pub(super) fn ring(case: &Case<'_>, index: usize) -> Option<Ring> {
    let level = &case.levels[index];
    let heads: Vec<&Dowel> = level.carriers.iter().map(|&k| &case.stack.dowels[k]).collect();
    let like = (*heads.first()?).clone();
    let middle = heads.iter().map(|dowel| dowel.at).sum::<DVec2>() / heads.len() as f64;
    let radius = heads.iter().map(|dowel| dowel.at.distance(middle)).sum::<f64>() / heads.len() as f64;
    let first = heads[0].at - middle;
    let turn = bearing_of(first);
    Some(Ring { like, middle, radius, count: heads.len(), turn })
}

/// The stack with the dowels under level `index` replaced.
pub(super) fn with_ring(case: &Case<'_>, ring: &Ring) -> Stack {
    let mut stack = case.stack.clone();
    let tier = ring.like.tier;
    let at = stack.dowels.iter().position(|dowel| dowel.tier == tier || dowel.tier.is_none());
    let at = at.unwrap_or(stack.dowels.len());
    let (before, after) = stack.dowels.split_at(at);
    let rest = after.iter().filter(|dowel| dowel.tier != tier).cloned();
    stack.dowels = before.iter().cloned().chain(ring.dowels()).chain(rest).collect();
    stack
}

/// Dowels that a board ought to have.
#[derive(Debug, Clone, PartialEq)]
pub struct Advised {
    /// The board, as its place in the stack.
    pub slab: usize,
    /// The tier that they stand in.
    pub tier: usize,
    /// How many.
    pub count: usize,
    /// Diameter, mm.
    pub diameter: f64,
    /// Diameter of the circle that they stand on, mm.
    pub circle: f64,
    /// What to cut them to, mm.
    pub length: f64,
    /// Where they stand, mm.
    pub at: Vec<DVec2>,
    /// The trade's circle: 1 1/2 in inside the board's edge, mm (tiered-cake construction guides).
    pub trade_circle: f64,
    /// The circle that bends an evenly loaded round board least: 0.68 of its width, mm.
    pub calculated_circle: f64,
}

/// Where the trade sets dowels: so far inside the outline of what stands on them, mm.
const TRADE_INSIDE: f64 = 1.5 * 25.4;

/// The dowels that the board at level `index` ought to have: on the wider of the trade's circle and the calculated
/// one, for it tips later on a wide one, or the widest that leaves enough cake over them; as many as the trade or the
/// calculation asks for. `None` where none fit.
pub fn advised(case: &Case<'_>, index: usize) -> Option<Advised> {
    let level = &case.levels[index];
    let slab = level.slab?;
    let board = case.stack.slabs[slab].footprint;
    let (reach, half_width) = (board.reach(), board.depth(board.centre));
    let (trade, calculated) = (half_width - TRADE_INSIDE, 0.68 * half_width);
    let mut ring = ring(case, index).or_else(|| fresh_ring(case, index))?;
    ring.middle = board.centre;
    // Down from the wider of the two until they stand clear of the carve.
    let widest = trade.max(calculated).floor();
    let steps = widest.max(0.0) as u32;
    for less in 0..steps {
        ring.radius = widest - f64::from(less);
        let like = Dowel { at: board.centre + DVec2::X * ring.radius, ..ring.like.clone() };
        let asked = calculated_count(case, level, &like, board.centre).unwrap_or(0);
        ring.count = trade_count(2.0 * reach).0.max(asked);
        if ring.is_clear(case, index) {
            return Some(Advised {
                slab,
                tier: ring.like.tier?,
                count: ring.count,
                diameter: ring.like.diameter,
                circle: 2.0 * ring.radius,
                length: level.z - ring.like.bottom,
                at: ring.dowels().iter().map(|dowel| dowel.at).collect(),
                trade_circle: 2.0 * trade.max(0.0),
                calculated_circle: 2.0 * calculated,
            });
        }
    }
    None
}

/// A wooden dowel of 6 mm, or as thick as those that stand there, for a board that has none that carry it.
pub(super) fn fresh_ring(case: &Case<'_>, index: usize) -> Option<Ring> {
    let level = &case.levels[index];
    let slab = level.slab?;
    let tier = case.stack.slabs[..slab].last()?.tier;
    let foot = case.stack.slabs.iter().find(|s| s.tier == tier && s.kind != SlabKind::Board)?.bottom;
    let old = case.stack.dowels.iter().find(|dowel| dowel.tier == Some(tier));
    let like = Dowel {
        name: format!("{} dowel 1", case.design.tiers[tier].name),
        tier: Some(tier),
        at: DVec2::ZERO,
        diameter: old.map_or(6.0, |old| old.diameter),
        wall: None,
        bottom: foot,
        top: level.z,
        material: wood()?,
        field: case.design.tiers[tier].field.key("dowels"),
    };
    Some(Ring { like, middle: case.stack.slabs[slab].footprint.centre, radius: 0.0, count: 0, turn: 0.0 })
}
