//! What the cutting sheet says, before it is laid out: the stack, the dowels, how far to carve where.

use rayon::prelude::*;

use super::{
    form::{Thin, UpsideDown, thin, turns, upside_down},
    kind::ShapeKind,
    steady::Steady,
    taken::{From, taken},
    view::plain_body,
};
use crate::{
    language::{Language, filled},
    overview::Overview,
};
use geom::units::{MM_PER_INCH, Unit};
use plan::{
    Plan,
    carve::ShaveMap,
    design::{MaterialKind, Paper},
    stack::{Dowel, Slab, SlabKind},
};

/// Everything the cutting sheet says.
#[derive(Debug, Clone, PartialEq)]
pub struct CuttingOrder {
    /// What to know first.
    pub overview: Overview,
    /// Boards, layers and fillings from the bottom up.
    pub stack: Vec<Stacked>,
    /// Dowels by length.
    pub dowels: Vec<DowelCut>,
    /// The shave chart of the shape without its details.
    pub chart: ShaveMap,
    /// How far to carve, from the top down: the chart at chosen heights.
    pub rows: Vec<Row>,
    /// Whether every row is the same all round.
    pub all_round: bool,
    /// How the shape is carved.
    pub kind: ShapeKind,
    /// Where the carved cake is thinnest.
    pub thin: Vec<Thin>,
    /// Tiers that are better carved upside down.
    pub upside_down: Vec<UpsideDown>,
    /// The most that one pass takes off, mm.
    pub pass: f64,
    /// Whether it stands and travels, and what it weighs.
    pub steady: Steady,
    /// What it is told in.
    pub language: Language,
}

/// Something in the stack.
#[derive(Debug, Clone, PartialEq)]
pub struct Stacked {
    /// Its place in the plan's stack.
    pub slab: usize,
    /// The tier it belongs to, from 0 at the bottom.
    pub tier: usize,
    /// What it is.
    pub kind: SlabKind,
    /// Its name.
    pub name: String,
    /// Of what.
    pub material: String,
    /// Height of its underside, mm.
    pub bottom: f64,
    /// Height of its top, mm.
    pub top: f64,
}

/// Dowels of one kind, length and tier.
#[derive(Debug, Clone, PartialEq)]
pub struct DowelCut {
    /// The tier they stand in; `None` for the centre dowel.
    pub tier: Option<usize>,
    /// What they are called.
    pub name: String,
    /// Of what.
    pub material: String,
    /// How many.
    pub count: usize,
    /// Thickness, mm.
    pub diameter: f64,
    /// Length to cut them to, mm.
    pub length: f64,
    /// Height of their feet, mm.
    pub bottom: f64,
}

/// How far to carve at one height.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// The height, mm.
    pub height: f64,
    /// Whether what lies there is cast or moulded to its line: no knife takes anything off it.
    pub moulded: bool,
    /// At each of [`BEARINGS`]; `None` above the shape.
    pub places: Vec<Option<Reach>>,
}

/// How far to carve at one place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reach {
    /// From the axis to the carved surface, mm.
    pub radius: f64,
    /// How much the knife takes off, mm; below zero where cake is missing.
    pub depth: f64,
    /// From where.
    pub from: From,
    /// In how many passes it comes off.
    pub passes: u32,
}

/// Bearings of the table, degrees: front, right side, back, left side and between them.
pub const BEARINGS: [f64; 8] = [0.0, 45.0, 90.0, 135.0, 180.0, 225.0, 270.0, 315.0];

/// Columns of the chart: each of [`BEARINGS`] is one.
const COLUMNS: u32 = 72;

impl CuttingOrder {
    /// The cutting order of `plan`, told in the language of the program's own messages.
    pub fn new(plan: &Plan, paper: &Paper) -> Self {
        Self::in_language(plan, paper, Language::english())
    }

    /// The same in `language`.
    pub fn in_language(plan: &Plan, paper: &Paper, language: &Language) -> Self {
        let target = plain_body(plan, plan.lines.all().len() - 1);
        // Heights that a ruler of the maker's shows.
        let step = if plan.design.unit == Unit::Inch { MM_PER_INCH / 4.0 } else { 5.0 };
        let mut chart = ShaveMap::new(&target, &plan.stack, step, COLUMNS, plan.design.tool);
        let faces = take(plan, &mut chart);
        let rows = rows(plan, &chart, &faces, paper.pass);
        let all_round = rows.iter().all(Row::is_all_round);
        Self {
            overview: Overview::in_language(plan, language),
            stack: plan
                .stack
                .slabs
                .iter()
                .enumerate()
                .map(|(i, slab)| stacked(plan, language, i, slab))
                .collect(),
            dowels: dowel_cuts(plan, language),
            rows,
            all_round,
            kind: ShapeKind::of(plan, &target),
            thin: thin(plan, &target),
            upside_down: upside_down(plan, &target),
            chart,
            pass: paper.pass,
            steady: Steady::new(plan, language),
            language: language.clone(),
        }
    }

    /// How many dowels there are in all.
    pub fn dowel_count(&self) -> usize {
        self.dowels.iter().map(|cut| cut.count).sum()
    }
}

fn stacked(plan: &Plan, language: &Language, index: usize, slab: &Slab) -> Stacked {
    Stacked {
        slab: index,
        tier: slab.tier,
        kind: slab.kind,
        name: language.slab(plan, index),
        material: language.name(&slab.material.name).to_owned(),
        bottom: slab.bottom,
        top: slab.top,
    }
}

fn dowel_cuts(plan: &Plan, language: &Language) -> Vec<DowelCut> {
    let mut cuts: Vec<DowelCut> = Vec::new();
    for dowel in &plan.stack.dowels {
        let same = |cut: &&mut DowelCut| {
            cut.tier == dowel.tier
                && cut.diameter == dowel.diameter
                && cut.length == dowel.length()
                && cut.bottom == dowel.bottom
        };
        match cuts.iter_mut().find(same) {
            Some(cut) => cut.count += 1,
            None => cuts.push(dowel_cut(plan, language, dowel)),
        }
    }
    cuts
}

fn dowel_cut(plan: &Plan, language: &Language, dowel: &Dowel) -> DowelCut {
    let tier = dowel.tier.and_then(|tier| plan.design.tiers.get(tier));
    DowelCut {
        tier: dowel.tier,
        name: tier.map_or_else(
            || language.thing.centre_dowel.clone(),
            |tier| filled(&language.thing.dowels, &[("tier", &tier.name)]),
        ),
        material: language.name(&dowel.material.name).to_owned(),
        count: 1,
        diameter: dowel.diameter,
        length: dowel.length(),
        bottom: dowel.bottom,
    }
}

/// Less is not seen by eye, mm.
const SEEN_BY_EYE: f64 = 0.5;

impl Row {
    /// Whether a maker would set the knife alike all round.
    pub fn is_all_round(&self) -> bool {
        let alike = |a: &Reach, b: &Reach| {
            (a.radius - b.radius).abs() <= SEEN_BY_EYE && (a.depth - b.depth).abs() <= SEEN_BY_EYE
        };
        match self.places.first() {
            Some(Some(first)) => self.places.iter().all(|p| p.as_ref().is_some_and(|p| alike(first, p))),
            _ => false,
        }
    }

    /// Whether the shape is round at this height, whatever the stack is.
    pub fn has_one_radius(&self) -> bool {
        let radius = |place: &Option<Reach>| place.as_ref().map(|reach| reach.radius);
        let first = self.places.first().and_then(radius);
        let same = |r: f64| first.is_some_and(|first| (r - first).abs() <= SEEN_BY_EYE);
        self.places.iter().all(|place| radius(place).is_some_and(same))
    }
}

impl Reach {
    fn new(radius: f64, (depth, from): (f64, From), pass: f64) -> Self {
        /// Round-off must not ask for a pass more, mm.
        const EQUAL: f64 = 1e-6;
        Self { radius, depth, from, passes: ((depth - EQUAL) / pass).ceil().max(0.0) as u32 }
    }

    /// What each pass takes off, mm.
    pub fn each(&self) -> f64 {
        if self.passes == 0 { 0.0 } else { self.depth / f64::from(self.passes) }
    }
}

/// The chart's rows that go into the table, from the top down: evenly spread, and those where the shape is
/// widest and narrowest.
fn rows(plan: &Plan, chart: &ShaveMap, faces: &[Vec<From>], pass: f64) -> Vec<Row> {
    /// Most evenly spread rows.
    const MOST: usize = 12;
    let shown = |i: usize| chart.radius[i].iter().any(Option::is_some);
    let all: Vec<usize> = (0..chart.heights.len()).filter(|&i| shown(i)).collect();
    let every = all.len().div_ceil(MOST).max(1);
    let mut chosen: Vec<usize> = all.iter().copied().filter(|i| i % every == 0).collect();
    chosen.extend(all.last());
    let front = |i: usize| chart.radius[i][0].unwrap_or(0.0);
    for turn in turns(&all.iter().map(|&i| front(i)).collect::<Vec<_>>()) {
        // A row of its own rather than one beside it.
        chosen.retain(|i| all[turn].abs_diff(*i) != 1 || i == &all[0]);
        chosen.push(all[turn]);
    }
    chosen.sort_unstable();
    chosen.dedup();
    let per = chart.bearings.len() / BEARINGS.len();
    let place = |i: usize, column: usize| {
        let off = (chart.depth[i][column]?, faces[i][column]);
        Some(Reach::new(chart.radius[i][column]?, off, pass))
    };
    let row = |&i: &usize| Row {
        height: chart.heights[i],
        moulded: is_moulded(plan, chart.heights[i]),
        places: (0..BEARINGS.len()).map(|k| place(i, k * per)).collect(),
    };
    chosen.iter().rev().map(row).collect()
}

/// Puts into `chart` what the knife takes off at each place, and gives back from where.
fn take(plan: &Plan, chart: &mut ShaveMap) -> Vec<Vec<From>> {
    let stack = &plan.stack;
    let top = stack.slabs.iter().map(|slab| slab.top).fold(0.0, f64::max) + 1.0;
    let reach = plan.design.widest()
        + stack.slabs.iter().map(|slab| slab.footprint.centre.length()).fold(1.0, f64::max);
    let (heights, bearings, radius) = (&chart.heights, &chart.bearings, &chart.radius);
    let off: Vec<Vec<Option<(f64, From)>>> = heights
        .par_iter()
        .zip(radius)
        .map(|(&height, row)| {
            let at = |(radius, &bearing): (&Option<f64>, &f64)| {
                radius.map(|radius| taken(stack, (radius, height, bearing), reach, top))
            };
            row.iter().zip(bearings).map(at).collect()
        })
        .collect();
    chart.depth = off.iter().map(|row| row.iter().map(|off| off.map(|(depth, _)| depth)).collect()).collect();
    off.iter().map(|row| row.iter().map(|off| off.map_or(From::Side, |(_, from)| from)).collect()).collect()
}

/// Whether what lies at a height is cast or moulded.
fn is_moulded(plan: &Plan, height: f64) -> bool {
    let layers = plan.stack.slabs.iter().filter(|slab| slab.kind == SlabKind::Layer);
    let here = layers.filter(|slab| slab.bottom <= height && height < slab.top).collect::<Vec<_>>();
    !here.is_empty() && here.iter().all(|slab| slab.material.kind == MaterialKind::Firm)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_depth_is_split_into_equal_passes() {
        let reach = Reach::new(50.0, (14.0, From::Side), 6.0);
        assert_eq!(reach.passes, 3);
        assert!((reach.each() - 14.0 / 3.0).abs() < 1e-12);
        assert_eq!(Reach::new(50.0, (12.0, From::Side), 6.0).passes, 2);
        assert_eq!(Reach::new(50.0, (-3.0, From::Side), 6.0).passes, 0);
    }
}
