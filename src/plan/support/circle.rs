//! Dowels evenly round a circle: where they may stand, and where they ought to.

use glam::DVec2;

use crate::{
    design::{Design, Dowels},
    fix::FileValue,
    stack::{Dowel, SlabKind},
};
use geom::real;
use geom::{
    revolve::{at_bearing, bearing_of},
    units::UnitStyle,
};

use super::{
    capacity::{calculated_count, trade_count},
    case::Case,
    stock::wood,
};

/// What dowels are made of where a cake file does not say.
const USUAL: &str = "wooden dowel";

/// Dowels standing evenly round a circle.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct DowelCircle {
    /// One of them; its place does not matter.
    pub like: Dowel,
    /// The tier that they stand in.
    pub tier: usize,
    /// What the cake file cuts them to, mm; `None` for up to the top of their tier.
    pub length: Option<f64>,
    /// The middle of the circle.
    pub middle: DVec2,
    /// Its radius, mm.
    pub radius: f64,
    /// How many.
    pub count: usize,
    /// Bearing of the first, degrees.
    pub turn: f64,
}

impl DowelCircle {
    /// Where they stand, mm.
    pub fn places(&self) -> Vec<DVec2> {
        let bearing = |k: usize| self.turn + 360.0 * k as f64 / self.count as f64;
        (0..self.count).map(|k| self.middle + at_bearing(self.radius, 0.0, bearing(k)).truncate()).collect()
    }

    /// The same circle, as thick and as wide as it is written for the maker.
    pub fn as_written(&self, style: UnitStyle) -> Self {
        let mut written = self.clone();
        written.like.diameter = style.length_as_told(self.like.diameter);
        written.radius = style.length_as_told(2.0 * self.radius) / 2.0;
        written.turn = self.turn.round().rem_euclid(360.0);
        let place = |mm: f64| style.length_as_told(mm.abs()) * mm.signum();
        written.middle = match self.is_about_axis() {
            true => DVec2::ZERO,
            false => DVec2::new(place(self.middle.x), place(self.middle.y)),
        };
        written
    }

    /// Whether it is a circle about the middle of the cake, as a cake file describes one in a word.
    fn is_about_axis(&self) -> bool {
        /// Nobody sets a dowel more exactly, mm.
        const NEAR: f64 = 0.05;
        self.middle.length() < NEAR
    }

    /// The same as a maker says it.
    pub fn told(&self, style: UnitStyle) -> String {
        let (count, thick) = (self.count, style.length_alone(self.like.diameter));
        let material = &self.like.material.name;
        if self.is_about_axis() {
            let circle = style.length_alone(2.0 * self.radius);
            return format!("{count} of {thick} {material}, evenly round a circle of {circle}");
        }
        let places: Vec<String> = self.places().iter().map(|p| style.place(p.x, p.y)).collect();
        format!("{count} of {thick} {material}, each at its place: {}", places.join("; "))
    }

    /// As it is written in a cake file.
    pub fn written(&self, style: UnitStyle) -> String {
        let mut said = format!("count = {}, diameter = \"{}\"", self.count, style.in_own(self.like.diameter));
        if self.is_about_axis() {
            said += &format!(", circle = \"{}\"", style.in_own(2.0 * self.radius));
            if self.turn != 0.0 {
                said += &format!(", turn = {:.0}", self.turn);
            }
        } else {
            let one = |mm: f64| format!("\"{}{}\"", if mm < 0.0 { "-" } else { "" }, style.in_own(mm.abs()));
            let places = self.places();
            let all: Vec<String> = places.iter().map(|p| format!("[{}, {}]", one(p.x), one(p.y))).collect();
            said += &format!(", at = [{}]", all.join(", "));
        }
        if self.like.material.name != USUAL {
            said += &format!(", material = \"{}\"", self.like.material.name);
        }
        if let Some(wall) = self.own_wall() {
            said += &format!(", wall = \"{}\"", style.in_own(wall));
        }
        format!("dowels = {{ {said} }}")
    }

    /// The same as a value of a cake file.
    pub fn value(&self) -> FileValue {
        let mut fields = vec![("count", FileValue::Count(self.count))];
        fields.push(("diameter", FileValue::Length(self.like.diameter)));
        if self.is_about_axis() {
            fields.push(("circle", FileValue::Length(2.0 * self.radius)));
            if self.turn != 0.0 {
                fields.push(("turn", FileValue::Number(self.turn)));
            }
        } else {
            let pair = |p: &DVec2| FileValue::List(p.to_array().map(FileValue::Length).into());
            fields.push(("at", FileValue::List(self.places().iter().map(pair).collect())));
        }
        if self.like.material.name != USUAL {
            fields.push(("material", FileValue::Text(self.like.material.name.clone())));
        }
        fields.extend(self.own_wall().map(|wall| ("wall", FileValue::Length(wall))));
        fields.extend(self.length.map(|length| ("length", FileValue::Length(length))));
        FileValue::Table(fields)
    }

    /// The wall of tubes, where it is not that of their material.
    fn own_wall(&self) -> Option<f64> {
        let usual = self.like.material.dowel_stuff().and_then(|stuff| stuff.wall);
        self.like.wall.filter(|wall| usual != Some(*wall))
    }

    /// Puts them into `design`, in place of the dowels that stand in their tier.
    pub fn put_into(&self, design: &mut Design) {
        let Some(tier) = design.tiers.get_mut(self.tier) else { return };
        tier.dowels = Some(Dowels {
            at: self.places(),
            diameter: self.like.diameter,
            wall: self.like.wall,
            length: self.length,
            material: self.like.material.clone(),
            field: tier.field.key("dowels"),
        });
    }

    /// Whether all of it stands inside the board and clear of the carve, of the centre dowel and of itself.
    pub fn is_clear(&self, case: &Case<'_>, index: usize) -> bool {
        let Some(board) = case.levels[index].slab.map(|i| &case.stack.slabs[i].footprint) else {
            return false;
        };
        let half = self.like.diameter / 2.0;
        let places = self.places();
        let centre = case.stack.dowels.iter().find(|dowel| dowel.tier.is_none());
        let heights: Vec<f64> = case.looked_at(index - 1).into_iter().map(|(_, z)| z).collect();
        // Feet that stand above the presentation board need a board of their own.
        let foot = self.like.bottom;
        let on_board = |at: DVec2| {
            let boards = case.stack.slabs.iter().filter(|slab| slab.kind == SlabKind::Board);
            foot < 0.5
                || boards
                    .filter(|slab| (slab.top - foot).abs() < 0.5)
                    .any(|slab| slab.footprint.depth(at) >= half)
        };
        let apart = 2.0 * self.radius * real::sin(std::f64::consts::PI / self.count.max(2) as f64);
        let covered = |at: DVec2| {
            let cover = case.design.limits.cover;
            heights.iter().all(|&z| case.cake.carved_at(z).depth(at) - half >= cover - 1e-6)
        };
        apart >= 1.5 * self.like.diameter
            && centre.is_none_or(|c| self.radius >= 0.5 * (c.diameter + self.like.diameter) + half)
            && places.iter().all(|&at| board.depth(at) >= half && covered(at) && on_board(at))
    }
}

/// The dowels that carry level `index` as a circle; `None` where there are none.
pub(super) fn circle(case: &Case<'_>, index: usize) -> Option<DowelCircle> {
    let level = &case.levels[index];
    let heads: Vec<&Dowel> = level.carriers.iter().map(|&k| &case.stack.dowels[k]).collect();
    let like = (*heads.first()?).clone();
    let tier = like.tier?;
    let length = case.design.tiers.get(tier)?.dowels.as_ref()?.length;
    let middle = heads.iter().map(|dowel| dowel.at).sum::<DVec2>() / heads.len() as f64;
    let radius = heads.iter().map(|dowel| dowel.at.distance(middle)).sum::<f64>() / heads.len() as f64;
    let turn = bearing_of(heads[0].at - middle);
    Some(DowelCircle { like, tier, length, middle, radius, count: heads.len(), turn })
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
    let board = &case.stack.slabs[slab].footprint;
    let (reach, half_width) = (board.reach(), board.depth(board.centre));
    let (trade, calculated) = (half_width - TRADE_INSIDE, 0.68 * half_width);
    let mut circle = circle(case, index).or_else(|| fresh_circle(case, index))?;
    circle.middle = board.centre;
    // Down from the wider of the two until they stand clear of the carve.
    let widest = trade.max(calculated).floor();
    let steps = widest.max(0.0) as u32;
    for less in 0..steps {
        circle.radius = widest - f64::from(less);
        let like = Dowel { at: board.centre + DVec2::X * circle.radius, ..circle.like.clone() };
        let asked = calculated_count(case, level, &like, board.centre).unwrap_or(0);
        circle.count = trade_count(2.0 * reach).0.max(asked);
        if circle.is_clear(case, index) {
            return Some(Advised {
                slab,
                tier: circle.tier,
                count: circle.count,
                diameter: circle.like.diameter,
                circle: 2.0 * circle.radius,
                length: level.z - circle.like.bottom,
                at: circle.places(),
                trade_circle: 2.0 * trade.max(0.0),
                calculated_circle: 2.0 * calculated,
            });
        }
    }
    None
}

/// A wooden dowel of 6 mm, or as thick as those that stand there, for a board that has none that carry it.
pub(super) fn fresh_circle(case: &Case<'_>, index: usize) -> Option<DowelCircle> {
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
    let middle = case.stack.slabs[slab].footprint.centre;
    Some(DowelCircle { like, tier, length: None, middle, radius: 0.0, count: 0, turn: 0.0 })
}
