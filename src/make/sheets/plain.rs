//! The cutting sheet as plain text.

use std::fmt::Write;

use super::{
    cautions::cautions,
    kind::ShapeKind,
    order::{CuttingOrder, Row},
    pieces::has_pieces,
    sentences::{STRAIGHT_DOWN, Sentences},
    steady::Steady,
};
use crate::bearing_words::BEARING_NAMES;
use plan::{Plan, stack::sheet_cakes};

/// Lines are no longer, letters.
const WIDE: usize = 96;

/// The cutting sheet of `plan`.
pub fn text(plan: &Plan, order: &CuttingOrder) -> String {
    let sentences = Sentences::new(plan, order);
    let mut out = String::new();
    let title = format!("{}: cutting sheet", plan.design.name);
    line(&mut out, &title);
    line(&mut out, &"=".repeat(title.chars().count()));
    wrapped(
        &mut out,
        "",
        "Heights from the top of the board, radii from the middle. Right and left as you face it.",
    );
    let overview = &order.overview;
    if !overview.decide.is_empty() {
        heading(&mut out, overview.heading());
        overview.decide.iter().for_each(|told| wrapped(&mut out, "- ", &told.sentences()));
    }
    heading(&mut out, "At a glance");
    overview
        .lines()
        .iter()
        .for_each(|line| wrapped(&mut out, "- ", &format!("{}: {}", line.label, line.text)));
    heading(&mut out, "Stack, from the bottom up");
    for slab in &order.stack {
        let what = format!(
            "{} to {}: {} ({}), {}",
            sentences.mm(slab.bottom),
            sentences.mm(slab.top),
            slab.name,
            sentences.size(slab.slab),
            slab.material
        );
        wrapped(&mut out, "[ ] ", &what);
    }
    if !order.dowels.is_empty() {
        heading(&mut out, &format!("Dowels: {} in all", order.dowel_count()));
        order.dowels.iter().for_each(|cut| wrapped(&mut out, "[ ] ", &sentences.dowel(cut)));
        wrapped(&mut out, "[ ] ", &format!("All {} counted out again before serving.", order.dowel_count()));
    }
    if has_pieces(plan) {
        laid(&mut out, plan, &sentences);
    }
    heading(&mut out, "Take care");
    cautions(&order.steady).iter().for_each(|caution| wrapped(&mut out, "- ", caution));
    heading(&mut out, "Carve, coat and finish, in this order");
    sentences.steps().iter().for_each(|step| wrapped(&mut out, "[ ] ", step));
    heading(&mut out, "Thinnest places");
    order.thin.iter().for_each(|thin| wrapped(&mut out, "- ", &sentences.thin(thin)));
    wrapped(&mut out, "- ", &sentences.turning());
    if order.kind == ShapeKind::StraightSided {
        heading(&mut out, "How far to cut");
        wrapped(&mut out, "", STRAIGHT_DOWN);
    } else {
        heading(&mut out, &format!("Radius to reach, and passes of at most {}", sentences.mm(order.pass)));
        order.rows.iter().for_each(|row| reach(&mut out, &sentences, row));
        wrapped(
            &mut out,
            "",
            "What comes off is what the knife takes from the side at that height, or from the top where less lies \
             there. Details are cut in last and are not in these figures.",
        );
    }
    standing(&mut out, &order.steady);
    out
}

/// How the sheet cakes are cut and how the pieces lie.
fn laid(out: &mut String, plan: &Plan, sentences: &Sentences<'_>) {
    heading(out, "Cut the sheet cakes, and lay the pieces");
    sentences.pieces().iter().for_each(|step| wrapped(out, "[ ] ", step));
    for (i, sheet) in sheet_cakes(&plan.stack, &plan.pantry).iter().enumerate() {
        wrapped(out, "", &sentences.sheet_cake(i + 1, sheet));
        sentences.cuts(sheet).iter().for_each(|cut| wrapped(out, "[ ] ", cut));
    }
    for (i, slab) in plan.stack.slabs.iter().enumerate() {
        let laid = sentences.laid(i);
        if !laid.is_empty() {
            wrapped(out, "", &format!("{}, middles of its pieces from the middle of the board:", slab.name));
            laid.iter().for_each(|piece| wrapped(out, "[ ] ", piece));
        }
    }
}

fn standing(out: &mut String, steady: &Steady) {
    heading(out, "Will it stand, and will it travel: an estimate");
    steady.answers.iter().chain([&steady.warmth]).for_each(|answer| wrapped(out, "- ", answer));
    heading(out, "Put it on the scales and compare");
    for row in steady.weights.iter().skip(1) {
        if let [tier, raw, carved, finished, above] = &row[..] {
            let what =
                format!("{tier}: raw {raw}, carved {carved}, finished {finished}, with all above {above}");
            wrapped(out, "[ ] ", &what);
        }
    }
    if steady.hidden_count() > 0 {
        heading(out, "Hidden in it: count it in, count it out");
        for hidden in &steady.hidden {
            wrapped(out, "[ ] ", &format!("{} × {}, {}", hidden.count, hidden.what, hidden.place));
        }
    }
}

fn reach(out: &mut String, sentences: &Sentences<'_>, row: &Row) {
    let at = |place: &super::order::Reach| {
        format!(
            "radius {}, comes off {}: {}",
            sentences.mm(place.radius),
            sentences.mm(place.depth.max(0.0)),
            sentences.passes(place)
        )
    };
    let height = sentences.mm(row.height);
    if row.moulded {
        wrapped(out, "[ ] ", &format!("height {height}: cast or moulded, not carved"));
        return;
    }
    if row.is_all_round() {
        let all = row.places[0].as_ref().map(at).unwrap_or_default();
        wrapped(out, "[ ] ", &format!("height {height}, all round: {all}"));
        return;
    }
    wrapped(out, "[ ] ", &format!("height {height}:"));
    for (place, name) in row.places.iter().zip(BEARING_NAMES) {
        let what = place.as_ref().map_or_else(|| "nothing of the shape".into(), at);
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
