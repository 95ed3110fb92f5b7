//! Kinds of work on a cake, and the minutes that each takes.

use serde::Serialize;

use crate::amounts::Amounts;
use make::language::Language;
use plan::{
    Plan,
    design::{Detail, MaterialKind, Strand, Tool},
    finishes::PutOn,
    stack::SlabKind,
};

/// A kind of work, in the order in which it is charged.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum WorkKind {
    /// Talking, drawing, shopping, boxing: once for each cake.
    Errands,
    /// Mixing batter and filling pans.
    Mixing,
    /// Levelling and splitting bakes.
    Levelling,
    /// Cutting and setting boards and dowels.
    Supports,
    /// Filling and stacking layers.
    Stacking,
    /// Carving.
    Carving,
    /// Coating.
    Coating,
    /// Covering with rolled icing.
    Covering,
    /// Cuts and adds.
    Details,
    /// Painting and dusting.
    Finishing,
}

impl WorkKind {
    /// Every kind.
    pub const ALL: [Self; 10] = [
        Self::Errands,
        Self::Mixing,
        Self::Levelling,
        Self::Supports,
        Self::Stacking,
        Self::Carving,
        Self::Coating,
        Self::Covering,
        Self::Details,
        Self::Finishing,
    ];

    /// What it is called in `language`.
    pub fn told(self, language: &Language) -> &str {
        let words = &language.cost;
        match self {
            Self::Errands => &words.errands,
            Self::Mixing => &words.mixing,
            Self::Levelling => &words.levelling,
            Self::Supports => &words.supports,
            Self::Stacking => &words.stacking,
            Self::Carving => &words.carving,
            Self::Coating => &words.coating,
            Self::Covering => &words.covering,
            Self::Details => &words.details,
            Self::Finishing => &words.finishing,
        }
    }
}

/// Minutes of each kind of work, from the pantry's rates.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WorkMinutes([f64; WorkKind::ALL.len()]);

impl WorkMinutes {
    /// What `plan` takes.
    pub fn new(plan: &Plan, amounts: &Amounts) -> Self {
        let rates = &plan.pantry.work;
        let bakes: usize = amounts.bakes.iter().map(|group| group.bakes.len()).sum();
        let layers = plan.stack.slabs.iter().filter(|slab| slab.kind == SlabKind::Layer).count();
        let supports = amounts.boards.len() + plan.stack.dowels.len();
        let volumes = plan.line_volumes();
        let coverings = || plan.design.coverings.iter().zip(volumes.windows(2));
        // In hundreds of square centimetres.
        let area = |paste: bool| -> f64 {
            let of = |kind: MaterialKind| (kind == MaterialKind::Paste) == paste;
            let kinds = coverings().filter(|(covering, _)| of(covering.material.kind));
            kinds.map(|(covering, pair)| (pair[0] - pair[1]) / covering.thickness / 1e4).sum()
        };
        Self(WorkKind::ALL.map(|kind| match kind {
            WorkKind::Errands => rates.each_cake,
            WorkKind::Mixing => rates.mix * bakes as f64,
            WorkKind::Levelling => rates.level * layers as f64,
            WorkKind::Supports => rates.board * supports as f64,
            WorkKind::Stacking => rates.stack * layers as f64,
            WorkKind::Carving => rates.carve * plan.design.shape.surface() / 1e4,
            WorkKind::Coating => rates.coat * area(false),
            WorkKind::Covering => rates.cover * area(true) + board_minutes(plan),
            WorkKind::Details => detail_minutes(plan).iter().sum(),
            WorkKind::Finishing => {
                let area = |put_on: &PutOn<'_>| f64::from(put_on.finish.coats) * put_on.covered / 1e4;
                rates.finish * plan.finishes().iter().map(area).sum::<f64>()
            }
        }))
    }

    /// Minutes of one kind; 0 where there is nothing to do.
    pub fn of(&self, kind: WorkKind) -> f64 {
        self.0[kind as usize]
    }

    /// Every kind that takes any time, with its minutes.
    pub fn each(&self) -> impl Iterator<Item = (WorkKind, f64)> + '_ {
        WorkKind::ALL.into_iter().map(|kind| (kind, self.of(kind))).filter(|(_, minutes)| *minutes > 0.0)
    }

    /// All of it.
    pub fn total(&self) -> f64 {
        self.each().map(|(_, minutes)| minutes).sum()
    }
}

/// Minutes to ice the presentation board; 0 where it is bare.
pub fn board_minutes(plan: &Plan) -> f64 {
    let board = plan.design.board.as_ref().filter(|board| board.icing.is_some());
    board.map_or(0.0, |board| plan.pantry.work.cover * board.footprint.area() / 1e4)
}

/// Minutes that each cut or add takes: those that are like one before go faster, and a roll takes as long as it is long.
pub fn detail_minutes(plan: &Plan) -> Vec<f64> {
    let rates = &plan.pantry.work;
    let details = &plan.design.details;
    let seen = |i: usize| details[..i].iter().any(|before| alike(before, &details[i]));
    let minutes = |i: usize| match &details[i].tool {
        Tool::Roll(roll) => rates.roll * roll.strands().iter().map(Strand::length).sum::<f64>() / 1000.0,
        _ if seen(i) => rates.detail_again.min(rates.detail),
        _ => rates.detail,
    };
    (0..details.len()).map(minutes).collect()
}

/// Whether two details are of one form and material, and neither is more than twice as large.
fn alike(a: &Detail, b: &Detail) -> bool {
    a.operation == b.operation
        && a.depth == b.depth
        && a.material == b.material
        && std::mem::discriminant(&a.tool) == std::mem::discriminant(&b.tool)
        && sizes(&a.tool).iter().zip(sizes(&b.tool)).all(|(x, y)| (x - y).abs() <= 0.5 * x.abs().max(y.abs()))
}

/// Sizes of a form that do not depend on where it lies, mm.
fn sizes(tool: &Tool) -> [f64; 3] {
    match tool {
        Tool::Box { size, .. } => size.to_array(),
        Tool::Ball { radius, .. } => [*radius, 0.0, 0.0],
        Tool::Cylinder { from, to, from_radius, to_radius } => [from.distance(*to), *from_radius, *to_radius],
        Tool::Ring { radius, bar_radius, .. } => [*radius, *bar_radius, 0.0],
        Tool::Bar { stations } => {
            let length = stations.windows(2).map(|pair| pair[0].0.distance(pair[1].0)).sum();
            let thickest = stations.iter().map(|(_, radius)| *radius).fold(0.0, f64::max);
            [length, thickest, 0.0]
        }
        // Their minutes go by their length.
        Tool::Roll(_) | Tool::HalfSpace { .. } => [0.0; 3],
        Tool::Relief(relief) => [relief.outline.area().sqrt(), relief.reach(), relief.depth],
    }
}
