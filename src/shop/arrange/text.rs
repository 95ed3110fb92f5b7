//! Proposals for a person at a terminal.

use std::fmt::Write;

use super::{
    Aim, Proposals, pieces,
    problem::Rules,
    summary::{ProposalSummary, summary},
};
use geom::units::UnitStyle;
use make::report::table;
use plan::support::capital;

/// The proposals as text; the tiers of number `chosen` in full.
pub fn text(proposals: &Proposals, chosen: usize) -> String {
    let summary = summary(proposals);
    let style = proposals.setup.style;
    let mut out = format!("{}: stacks of the pans that are there\n", summary.name);
    if let Some(trouble) = &summary.trouble {
        let what = if summary.proposals.is_empty() { "No stack" } else { "No stack keeps to the limits" };
        let _ = writeln!(out, "\n{what}: {}\n  fix: {}", trouble.message, trouble.fix);
        if !summary.proposals.is_empty() {
            out.push_str("  The nearest that there are:\n");
        }
    }
    // Where there is no stack at all, that of the first aim is told above.
    let told = usize::from(summary.proposals.is_empty());
    for failed in summary.failed.iter().skip(told) {
        let _ = writeln!(
            out,
            "\nNot proposed, since its own check fails: {}\n  {}\n  fix: {}",
            aims(&failed.aims),
            failed.message,
            failed.fix
        );
    }
    if !summary.kept.is_empty() {
        let _ = writeln!(out, "\nKept as the cake file has them: {}", summary.kept.join(", "));
    }
    if summary.proposals.is_empty() {
        return out;
    }
    let pieces_too = pieces::are_looked_for(&proposals.setup);
    let rows = summary.proposals.iter().map(|p| {
        vec![
            aims(&p.aims),
            format!("{} ({:.0} %)", style.mass_alone(p.offcut_g), p.offcut_percent),
            p.bakes.to_string(),
            p.loads.to_string(),
            p.pan_sizes.to_string(),
            p.boards.to_string(),
            if p.sound { "OK".into() } else { "errors".into() },
            proof(p, pieces_too),
        ]
    });
    let head = [
        "stack",
        "not on the cake",
        "bakes",
        "oven loads",
        "pan sizes",
        "boards",
        "plan",
        "cheapest possible",
    ];
    out.push('\n');
    out += &table(&head, 1, rows.collect());
    out += &weights(&proposals.setup.rules, style, pieces_too);
    let Some(p) = summary.proposals.get(chosen) else { return out };
    let _ = writeln!(out, "\n{}, from the top down", capital(&aims(&p.aims)));
    let mut rows = Vec::new();
    for (i, slab) in p.slabs.iter().enumerate().rev() {
        let [x, y] = slab.at_mm;
        let turn = if slab.turn_deg == 0.0 { String::new() } else { format!(", turned {}°", slab.turn_deg) };
        let place = style.place(x, y) + &turn;
        let top = slab.bottom_mm + slab.height_mm;
        let heights = format!("{} to {}", style.length_alone(slab.bottom_mm), style.length_alone(top));
        let hangs = |mm: f64| if mm > 0.05 { style.length_alone(mm) } else { "–".into() };
        let (raw, carved) = (hangs(slab.raw_overhang_mm), hangs(slab.overhang_mm));
        rows.push(vec![format!("{}", i + 1), slab.pan.clone(), place, heights, raw, carved]);
        if slab.on_board {
            let mut row = vec![String::new(); 6];
            row[1] = "board".into();
            rows.push(row);
        }
    }
    out += &table(&["", "pan", "where", "heights", "hangs over", "once carved"], 3, rows);
    out.push_str("\nWhat is cut from each bake\n");
    let rows = p.cuts.iter().map(|bake| {
        let slabs: Vec<String> = bake
            .slabs
            .iter()
            .map(|(name, height)| format!("{name} ({})", style.length_alone(*height)))
            .collect();
        vec![bake.pan.clone(), slabs.join(", "), style.length_alone(bake.rest_mm)]
    });
    out += &table(&["pan", "layers", "left over"], 2, rows.collect());
    // What is remarked on the file is nothing of the stack's.
    let findings: Vec<_> = proposals.proposals[chosen]
        .plan
        .findings
        .iter()
        .filter(|found| found.code != plan::findings::FindingCode::CakeFile)
        .collect();
    if !findings.is_empty() {
        out.push_str("\nWhat the plan says of it\n");
        for found in findings {
            let _ = writeln!(out, "  {}\n    fix: {}", found.message, found.fix.words);
        }
    }
    let _ = write!(out, "\nIts tiers, to paste into the cake file\n\n{}", p.tiers);
    out
}

/// How near to the best a stack is proved to be, and among which.
fn proof(p: &ProposalSummary, pieces_too: bool) -> String {
    match (p.proved, pieces_too && !p.pieces) {
        (true, false) => "yes".into(),
        (true, true) => "of whole layers".into(),
        (false, false) => format!("within {:.1} %", 100.0 * p.gap),
        (false, true) => format!("of whole layers within {:.1} %", 100.0 * p.gap),
    }
}

/// What was weighed against what.
fn weights(rules: &Rules, style: UnitStyle, pieces_too: bool) -> String {
    let mass = |grams: f64| style.mass_alone(grams);
    let mut text = format!(
        "  Weighed as the pantry says ([pantry.stacking]): a bake is worth {} of offcut, an oven load {}, a board {}.\n",
        mass(rules.weights.bake),
        mass(rules.weights.load),
        mass(rules.weights.board)
    );
    if pieces_too {
        let _ = writeln!(
            text,
            "  Layers of pieces side by side are looked for as well, a piece worth {}: the best that was found, and how much \
             less any stack\n  out of these pans could cost at most.",
            mass(rules.weights.piece)
        );
    }
    text
}

fn aims(aims: &[Aim]) -> String {
    let words = aims.iter().map(|aim| match aim {
        Aim::Best => "best in all",
        Aim::LeastOffcut => "least offcut",
        Aim::FewestBakes => "fewest bakes",
        Aim::FewestPanSizes => "fewest pan sizes",
        Aim::WholeLayers => "best of whole layers",
    });
    words.collect::<Vec<_>>().join(", ")
}
