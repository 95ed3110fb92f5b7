//! Proposals for a person at a terminal and for a program.

use std::fmt::Write;

use serde::Serialize;

use super::{Aim, Proposal, Proposals, problem::Rules};
use geom::units::UnitStyle;
use make::report::{Report, table};
use plan::{findings::FindingCode, pantry::Trouble, support::capital};

/// The proposals in figures; masses and volumes are those of each plan.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Told {
    /// The cake's name.
    pub name: String,
    /// Why there is none within the limits.
    pub trouble: Option<Trouble>,
    /// The stacks.
    pub proposals: Vec<ToldProposal>,
}

/// One proposal in figures.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ToldProposal {
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
    /// Missing inside the carved line, to be patched.
    pub shortfall_ml: f64,
    /// Whether it is proved the best for its first aim.
    pub proved: bool,
    /// How much better a stack could still be at most, as a share of its cost.
    pub gap: f64,
    /// Slabs from the bottom up.
    pub slabs: Vec<ToldSlab>,
    /// What is cut from each bake.
    pub cuts: Vec<ToldBake>,
    /// The tiers to paste into the cake file.
    pub tiers: String,
}

/// One slab in figures.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ToldSlab {
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
    /// How far it hangs over what carries it.
    pub overhang_mm: f64,
}

/// One bake in figures.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ToldBake {
    /// Its pan.
    pub pan: String,
    /// Names and heights of what is cut from it.
    pub slabs: Vec<(String, f64)>,
    /// Height that is left over.
    pub rest_mm: f64,
}

/// `proposals` in figures.
pub fn told(proposals: &Proposals) -> Told {
    let all = proposals.proposals.iter().map(|proposal| told_proposal(proposals, proposal));
    Told {
        name: proposals.setup.design.name.clone(),
        trouble: proposals.trouble.clone(),
        proposals: all.collect(),
    }
}

fn told_proposal(proposals: &Proposals, proposal: &Proposal) -> ToldProposal {
    let setup = &proposals.setup;
    let totals = Report::new(&proposal.plan).totals;
    let baked = proposal.baked(setup.density);
    let offcut = baked - totals.sponge.kept.mass_g;
    let unit = setup.unit;
    let slabs = proposal.found.slabs.iter().map(|slab| ToldSlab {
        pan: proposal.pans[slab.pan].shape.name(unit),
        bottom_mm: slab.bottom,
        height_mm: slab.height,
        at_mm: slab.footprint.centre.to_array(),
        turn_deg: slab.footprint.turn,
        on_board: slab.board.is_some(),
        overhang_mm: slab.overhang,
    });
    let cuts = proposal.bakes.iter().flat_map(|(pan, bakes)| {
        bakes.iter().map(|bake| ToldBake {
            pan: pan.shape.name(unit),
            slabs: bake.slabs.iter().map(|slab| (slab.name.clone(), slab.height)).collect(),
            rest_mm: (pan.level - bake.used()).max(0.0),
        })
    });
    ToldProposal {
        aims: proposal.aims.clone(),
        sound: !proposal.plan.has_errors(),
        baked_g: baked,
        offcut_g: offcut,
        offcut_percent: 100.0 * offcut / baked.max(1e-9),
        bakes: proposal.bake_count(),
        loads: proposal.found.loads,
        pan_sizes: proposal.bakes.len(),
        boards: proposal.board_count(),
        shortfall_ml: totals.shortfall_ml,
        proved: proposal.found.gap() == 0.0,
        gap: proposal.found.gap(),
        slabs: slabs.collect(),
        cuts: cuts.collect(),
        tiers: proposal.tiers.clone(),
    }
}

/// The proposals as text; the tiers of number `chosen` in full.
pub fn text(proposals: &Proposals, chosen: usize) -> String {
    let told = told(proposals);
    let style = UnitStyle::new(proposals.setup.unit);
    let mut out = format!("{}: stacks of the pans that are there\n", told.name);
    if let Some(trouble) = &told.trouble {
        let _ =
            writeln!(out, "\nNo stack keeps to the limits: {}\n  mend: {}", trouble.message, trouble.mend);
        if !told.proposals.is_empty() {
            out.push_str("  The nearest that there are:\n");
        }
    }
    if told.proposals.is_empty() {
        return out;
    }
    let rows = told.proposals.iter().map(|p| {
        vec![
            aims(&p.aims),
            format!("{} ({:.0} %)", style.mass_alone(p.offcut_g), p.offcut_percent),
            p.bakes.to_string(),
            p.loads.to_string(),
            p.pan_sizes.to_string(),
            p.boards.to_string(),
            if p.sound { "sound".into() } else { "errors".into() },
            if p.proved { "proved".into() } else { format!("within {:.1} %", 100.0 * p.gap) },
        ]
    });
    let head = ["stack", "not on the cake", "bakes", "oven loads", "pan sizes", "boards", "plan", "the best"];
    out.push('\n');
    out += &table(&head, 1, rows.collect());
    out += &weights(&proposals.setup.rules, style);
    let Some(p) = told.proposals.get(chosen) else { return out };
    let _ = writeln!(out, "\n{}, from the top down", capital(&aims(&p.aims)));
    let mut rows = Vec::new();
    for (i, slab) in p.slabs.iter().enumerate().rev() {
        let [x, y] = slab.at_mm;
        let turn = if slab.turn_deg == 0.0 { String::new() } else { format!(", turned {}°", slab.turn_deg) };
        let place = style.place(x, y) + &turn;
        let top = slab.bottom_mm + slab.height_mm;
        let heights = format!("{} to {}", style.length_alone(slab.bottom_mm), style.length_alone(top));
        let hangs = if slab.overhang_mm > 0.05 { style.length_alone(slab.overhang_mm) } else { "–".into() };
        rows.push(vec![format!("{}", i + 1), slab.pan.clone(), place, heights, hangs]);
        if slab.on_board {
            rows.push(vec![String::new(), "board".into(), String::new(), String::new(), String::new()]);
        }
    }
    out += &table(&["", "pan", "where", "heights", "hangs over"], 3, rows);
    out.push_str("\nWhat is cut from each bake\n");
    let rows = p.cuts.iter().map(|bake| {
        let slabs: Vec<String> = bake
            .slabs
            .iter()
            .map(|(name, height)| format!("{name} ({})", style.length_alone(*height)))
            .collect();
        vec![bake.pan.clone(), slabs.join(", "), style.length_alone(bake.rest_mm)]
    });
    out += &table(&["pan", "slabs", "left over"], 2, rows.collect());
    // What is remarked on the file is nothing of the stack's.
    let findings: Vec<_> = proposals.proposals[chosen]
        .plan
        .findings
        .iter()
        .filter(|found| found.code != FindingCode::CakeFile)
        .collect();
    if !findings.is_empty() {
        out.push_str("\nWhat the plan says of it\n");
        for found in findings {
            let _ = writeln!(out, "  {}\n    mend: {}", found.message, found.fix.words);
        }
    }
    let _ = write!(out, "\nIts tiers, to paste into the cake file\n\n{}", p.tiers);
    out
}

/// What was weighed against what.
fn weights(rules: &Rules, style: UnitStyle) -> String {
    let mass = |grams: f64| style.mass_alone(grams);
    format!(
        "  Weighed as [pantry.stacking] says: a bake is worth {} of offcut, an oven load {}, a board {}.\n",
        mass(rules.weights.bake),
        mass(rules.weights.load),
        mass(rules.weights.board)
    )
}

fn aims(aims: &[Aim]) -> String {
    let words = aims.iter().map(|aim| match aim {
        Aim::Best => "best in all",
        Aim::LeastWaste => "least waste",
        Aim::FewestBakes => "fewest bakes",
        Aim::FewestPanSizes => "fewest pan sizes",
    });
    words.collect::<Vec<_>>().join(", ")
}
