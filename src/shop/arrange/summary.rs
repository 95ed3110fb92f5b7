//! Proposals in figures, for programs.

use serde::Serialize;

use super::{Aim, Proposal, Proposals, search::PlacedSlab};
use geom::units::Unit;
use make::report::Totals;
use plan::pantry::{Pan, PanShape, Trouble};

/// The proposals in figures; masses and volumes are those of each plan.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Summary {
    /// The cake's name.
    pub name: String,
    /// Why there is none within the limits.
    pub trouble: Option<Trouble>,
    /// Layers that stay as the cake file has them.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub kept: Vec<String>,
    /// The stacks.
    pub proposals: Vec<ProposalSummary>,
    /// Aims without a stack, as each that was tried fails its own check.
    pub failed: Vec<FailedSummary>,
}

/// What an aim's cheapest stack fails at.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FailedSummary {
    /// The aims.
    pub aims: Vec<Aim>,
    /// What the plan says of it.
    pub message: String,
    /// What would make one possible.
    pub fix: String,
}

/// One proposal in figures.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ProposalSummary {
    /// What it saves.
    pub aims: Vec<Aim>,
    /// Whether the plan finds nothing that keeps it from being made.
    pub sound: bool,
    /// Sponge baked.
    pub baked_g: f64,
    /// Sponge that is not on the cake: shaved off, and rests of bakes.
    pub offcut_g: f64,
    /// The same as a share of what is baked.
    pub offcut_percent: f64,
    /// Bakes.
    pub bakes: usize,
    /// Oven loads.
    pub loads: u32,
    /// Sizes of pan.
    pub pan_sizes: usize,
    /// Boards inside.
    pub boards: usize,
    /// Whether layers are laid of pieces of sheet cakes.
    pub pieces: bool,
    /// Missing inside the carved line, to be patched.
    pub shortfall_ml: f64,
    /// Whether it is proved the best for its first aim: of all stacks where it has layers of pieces, else of those of whole
    /// slabs.
    pub proved: bool,
    /// How much better one of those could still be at most, as a share of its cost.
    pub gap: f64,
    /// Slabs from the bottom up.
    pub slabs: Vec<SlabSummary>,
    /// What is cut from each bake.
    pub cuts: Vec<BakeSummary>,
    /// The tiers to paste into the cake file.
    pub tiers: String,
}

/// One slab in figures.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SlabSummary {
    /// Its pan.
    pub pan: String,
    /// Height of its underside.
    pub bottom_mm: f64,
    /// Its height.
    pub height_mm: f64,
    /// Where its middle stands.
    pub at_mm: [f64; 2],
    /// How far it is turned.
    pub turn_deg: f64,
    /// Whether it lies on a board.
    pub on_board: bool,
    /// How far what is carved of it hangs over what carries it.
    pub overhang_mm: f64,
    /// How far it hangs over until it is carved.
    pub raw_overhang_mm: f64,
}

/// One bake in figures.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BakeSummary {
    /// Its pan.
    pub pan: String,
    /// Names and heights of what is cut from it.
    pub slabs: Vec<(String, f64)>,
    /// Height that is left over.
    pub rest_mm: f64,
}

/// `proposals` in figures.
pub fn summary(proposals: &Proposals) -> Summary {
    let all = proposals.proposals.iter().map(|proposal| proposal_summary(proposals, proposal));
    Summary {
        name: proposals.setup.design.name.clone(),
        trouble: proposals.trouble.clone(),
        kept: proposals.setup.kept.names.clone(),
        proposals: all.collect(),
        failed: proposals.failed.iter().filter_map(failed).collect(),
    }
}

fn failed(proposal: &Proposal) -> Option<FailedSummary> {
    proposal.fault().map(|fault| FailedSummary {
        aims: proposal.aims.clone(),
        message: fault.message.clone(),
        fix: fault.fix.words.clone(),
    })
}

/// The pan of a slab, or how many pieces are cut from each of its pans.
fn pan_name(proposal: &Proposal, slab: &PlacedSlab, unit: Unit) -> String {
    let Some(pieces) = slab.footprint.shape.pieces() else { return proposal.pans[slab.pan].shape.name(unit) };
    let of_pan = |pan: &Pan| {
        let own = pieces.list().iter().filter(|p| pan.shape.is(PanShape::Rectangle(p.pan[0], p.pan[1])));
        let (count, pan) = (own.count(), pan.shape.name(unit));
        match count {
            0 => None,
            1 => Some(format!("1 piece of {pan}")),
            count => Some(format!("{count} pieces of {pan}")),
        }
    };
    proposal.pans.iter().filter_map(of_pan).collect::<Vec<_>>().join(", ")
}

fn proposal_summary(proposals: &Proposals, proposal: &Proposal) -> ProposalSummary {
    let setup = &proposals.setup;
    let totals = Totals::of(&proposal.plan);
    let baked = proposal.baked(setup.density);
    let offcut = baked - totals.sponge.kept.mass_g;
    let unit = setup.unit;
    let slabs = proposal.found.slabs.iter().map(|slab| SlabSummary {
        pan: pan_name(proposal, slab, unit),
        bottom_mm: slab.bottom,
        height_mm: slab.height,
        at_mm: slab.footprint.centre.to_array(),
        turn_deg: slab.footprint.turn,
        on_board: slab.board.is_some(),
        overhang_mm: slab.overhang,
        raw_overhang_mm: slab.raw_overhang,
    });
    let cuts = proposal.bakes.iter().flat_map(|(pan, bakes)| {
        bakes.iter().map(|bake| BakeSummary {
            pan: pan.shape.name(unit),
            slabs: bake.slabs.iter().map(|slab| (slab.name.clone(), slab.height)).collect(),
            rest_mm: (pan.level - bake.used()).max(0.0),
        })
    });
    ProposalSummary {
        aims: proposal.aims.clone(),
        sound: !proposal.plan.has_errors(),
        baked_g: baked,
        offcut_g: offcut,
        offcut_percent: 100.0 * offcut / baked.max(1e-9),
        bakes: proposal.bake_count(),
        loads: proposal.found.loads,
        pan_sizes: proposal.bakes.len(),
        boards: proposal.board_count(),
        pieces: proposal.has_pieces(),
        shortfall_ml: totals.shortfall_ml,
        proved: proposal.found.gap() == 0.0,
        gap: proposal.found.gap(),
        slabs: slabs.collect(),
        cuts: cuts.collect(),
        tiers: proposal.tiers.clone(),
    }
}
