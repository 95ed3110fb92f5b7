//! Kinds of work on a cake, and the minutes that each takes.

use serde::Serialize;

use crate::amounts::Amounts;
use plan::{Plan, design::MaterialKind, stack::SlabKind};

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
}

impl WorkKind {
    /// Every kind.
    pub const ALL: [Self; 9] = [
        Self::Errands,
        Self::Mixing,
        Self::Levelling,
        Self::Supports,
        Self::Stacking,
        Self::Carving,
        Self::Coating,
        Self::Covering,
        Self::Details,
    ];

    /// What it is called.
    pub fn name(self) -> &'static str {
        match self {
            Self::Errands => "talking, drawing, shopping, boxing",
            Self::Mixing => "mixing and filling pans",
            Self::Levelling => "levelling and splitting",
            Self::Supports => "boards and dowels",
            Self::Stacking => "filling and stacking",
            Self::Carving => "carving",
            Self::Coating => "coating",
            Self::Covering => "covering",
            Self::Details => "details",
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
        let shaved: f64 = plan
            .stack
            .slabs
            .iter()
            .zip(&plan.carving.slabs)
            .filter(|(slab, _)| slab.kind == SlabKind::Layer)
            .map(|(_, carved)| carved.volumes.offcut / 1e6)
            .sum();
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
            WorkKind::Carving => rates.carve * shaved,
            WorkKind::Coating => rates.coat * area(false),
            WorkKind::Covering => rates.cover * area(true),
            WorkKind::Details => rates.detail * plan.design.trims.len() as f64,
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
