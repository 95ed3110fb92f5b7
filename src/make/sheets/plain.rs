//! The cutting sheet as plain text.

use std::fmt::Write;

use super::{
    cautions::cautions,
    kind::ShapeKind,
    order::{CuttingOrder, Row},
    pieces::has_pieces,
    sentences::Sentences,
    steady::Steady,
};
use crate::language::{Language, filled};
use plan::{Plan, stack::sheet_cakes};

/// Lines are no longer, letters.
const WIDE: usize = 96;

/// The cutting sheet of `plan`.
pub fn text(plan: &Plan, order: &CuttingOrder) -> String {
    let sentences = Sentences::new(plan, order);
    let mut out = String::new();
    let language = &order.language;
    let words = &language.sheet;
    let title = filled(&words.title, &[("cake", &plan.design.name)]);
    line(&mut out, &title);
    line(&mut out, &"=".repeat(title.chars().count()));
    wrapped(&mut out, "", &words.measured);
    let overview = &order.overview;
    if !overview.decide.is_empty() {
        heading(&mut out, overview.heading());
        overview.decide.iter().for_each(|told| wrapped(&mut out, "- ", &told.sentences()));
    }
    heading(&mut out, &words.glance);
    overview
        .lines()
        .iter()
        .for_each(|line| wrapped(&mut out, "- ", &format!("{}: {}", line.label, line.text)));
    heading(&mut out, &words.stack);
    for slab in &order.stack {
        let what = filled(
            &words.stacked,
            &[
                ("from", &sentences.mm(slab.bottom)),
                ("to", &sentences.mm(slab.top)),
                ("name", &slab.name),
                ("size", &sentences.size(slab.slab)),
                ("material", &slab.material),
            ],
        );
        wrapped(&mut out, "[ ] ", &what);
    }
    if !order.dowels.is_empty() {
        let count = order.dowel_count().to_string();
        heading(&mut out, &filled(&words.dowels, &[("count", &count)]));
        order.dowels.iter().for_each(|cut| wrapped(&mut out, "[ ] ", &sentences.dowel(cut)));
        wrapped(&mut out, "[ ] ", &filled(&words.dowels_out, &[("count", &count)]));
    }
    if has_pieces(plan) {
        laid(&mut out, plan, &sentences);
    }
    heading(&mut out, &words.care);
    cautions(&order.steady, language).iter().for_each(|caution| wrapped(&mut out, "- ", caution));
    heading(&mut out, &words.make);
    sentences.steps().iter().for_each(|step| wrapped(&mut out, "[ ] ", step));
    heading(&mut out, &words.thin);
    order.thin.iter().for_each(|thin| wrapped(&mut out, "- ", &sentences.thin(thin)));
    wrapped(&mut out, "- ", &sentences.turning());
    if order.kind == ShapeKind::StraightSided {
        heading(&mut out, &words.where_to_cut);
        wrapped(&mut out, "", &language.reach.straight_down);
    } else {
        heading(&mut out, &filled(&words.radii, &[("pass", &sentences.mm(order.pass))]));
        order.rows.iter().for_each(|row| reach(&mut out, &sentences, row));
        wrapped(&mut out, "", &words.off_means);
    }
    standing(&mut out, &order.steady, language);
    out
}

/// How the sheet cakes are cut and how the pieces lie.
fn laid(out: &mut String, plan: &Plan, sentences: &Sentences<'_>) {
    let words = &sentences.language().pieces;
    heading(out, &words.heading);
    sentences.pieces().iter().for_each(|step| wrapped(out, "[ ] ", step));
    for (i, sheet) in sheet_cakes(&plan.stack, &plan.pantry).iter().enumerate() {
        wrapped(out, "", &sentences.sheet_cake(i + 1, sheet));
        sentences.cuts(sheet).iter().for_each(|cut| wrapped(out, "[ ] ", cut));
    }
    for (i, slab) in plan.stack.slabs.iter().enumerate() {
        let laid = sentences.laid(i);
        if !laid.is_empty() {
            wrapped(out, "", &filled(&words.middles, &[("layer", &slab.name)]));
            laid.iter().for_each(|piece| wrapped(out, "[ ] ", piece));
        }
    }
}

fn standing(out: &mut String, steady: &Steady, language: &Language) {
    let words = &language.steady;
    heading(out, &words.heading);
    wrapped(out, "", &words.estimate);
    steady.answers.iter().chain([&steady.warmth]).for_each(|answer| wrapped(out, "- ", answer));
    heading(out, &words.scales);
    for row in steady.weights.iter().skip(1) {
        if let [tier, raw, carved, finished, above] = &row[..] {
            let weights = [
                ("tier", tier.as_str()),
                ("raw", raw),
                ("carved", carved),
                ("finished", finished),
                ("above", above),
            ];
            wrapped(out, "[ ] ", &filled(&words.weighs, &weights));
        }
    }
    if steady.hidden_count() > 0 {
        heading(out, &words.hidden);
        for hidden in &steady.hidden {
            wrapped(out, "[ ] ", &hidden.told(language));
        }
    }
}

fn reach(out: &mut String, sentences: &Sentences<'_>, row: &Row) {
    let language = sentences.language();
    let words = &language.reach;
    let at = |place: &super::order::Reach| {
        filled(
            &words.one,
            &[
                ("radius", &sentences.mm(place.radius)),
                ("depth", &sentences.mm(place.depth.max(0.0))),
                ("passes", &sentences.passes(place)),
            ],
        )
    };
    let height = sentences.mm(row.height);
    if row.moulded {
        wrapped(out, "[ ] ", &filled(&words.not_carved, &[("height", &height)]));
        return;
    }
    if row.is_all_round() {
        let all = row.places[0].as_ref().map(at).unwrap_or_default();
        wrapped(out, "[ ] ", &filled(&words.all_round, &[("height", &height), ("reach", &all)]));
        return;
    }
    wrapped(out, "[ ] ", &filled(&words.at_height, &[("height", &height)]));
    for (place, name) in row.places.iter().zip(&language.side.names) {
        let what = place.as_ref().map_or_else(|| words.none.clone(), at);
        wrapped(out, "      ", &format!("{name}: {what}"));
    }
}

fn line(out: &mut String, text: &str) {
    // Writing to a string cannot fail.
    let _ = writeln!(out, "{text}");
}

fn heading(out: &mut String, text: &str) {
    let _ = writeln!(out, "\n{text}\n{}", "-".repeat(text.chars().count()));
}

/// A paragraph behind `mark`, broken between words.
fn wrapped(out: &mut String, mark: &str, text: &str) {
    let indent = " ".repeat(mark.chars().count());
    let mut row = mark.to_owned();
    let mut empty = true;
    for word in text.split_whitespace() {
        if !empty && row.chars().count() + 1 + word.chars().count() > WIDE {
            line(out, &row);
            row.clone_from(&indent);
            empty = true;
        }
        if !empty {
            row.push(' ');
        }
        row.push_str(word);
        empty = false;
    }
    line(out, &row);
}
