//! The list of a kit in words, to lie beside the printer.

use std::fmt::Write as _;

use super::{Choice, Kit, Part, cautions::cautions};
use formats::escape;

/// Lines of words are no longer, letters.
const WIDE: usize = 104;

/// What is worth printing and why, the parts with sizes, copies, plastic and time, the beds, the findings and the
/// cautions.
pub fn list(kit: &Kit) -> String {
    let mut text = format!("{}: printed parts\n\n", kit.cake);
    if !kit.left_out.is_empty() {
        text += "NOT IN THIS KIT\n";
        for error in &kit.left_out {
            let _ = writeln!(text, "- {error}");
        }
        text.push('\n');
    }
    proposed(&mut text, kit);
    table(&mut text, kit);
    if !kit.parts.is_empty() {
        text += "\nCautions\n";
        cautions(kit).iter().for_each(|caution| wrapped(&mut text, "- ", caution));
    }
    if !kit.findings.is_empty() {
        text += "\nBefore printing\n";
        for finding in &kit.findings {
            let _ = writeln!(text, "- {}: {}\n  fix: {}", finding.about, finding.message, finding.fix.words);
        }
    }
    not_proposed(&mut text, kit);
    escape::lines(&text).into_owned()
}

/// What printing `parts` takes, as "105 g, 8.1 h, 2.10 EUR".
fn takes<'p>(kit: &Kit, parts: impl Iterator<Item = &'p Part>) -> String {
    let (grams, hours) = parts.fold((0.0, 0.0), |(grams, hours), part| {
        let copies = part.copies as f64;
        (grams + copies * part.plastic.grams, hours + copies * part.plastic.hours)
    });
    let cost = kit.price.as_ref().and_then(|price| price.of_grams(grams));
    let cost = cost.map_or_else(String::new, |cost| format!(", {cost}"));
    format!("{grams:.0} g, {hours:.1} h{cost}")
}

fn proposed(text: &mut String, kit: &Kit) {
    if kit.choices.is_empty() {
        return;
    }
    if kit.parts.is_empty() {
        *text +=
            "Nothing is worth printing for this cake: the paper templates and what you own do all of it.\n";
        return;
    }
    *text += "WORTH PRINTING\n";
    for choice in kit.choices.iter().filter(|choice| choice.is_proposed()) {
        let parts = || kit.parts.iter().filter(|part| part.group == choice.group);
        if parts().next().is_some() {
            let what = format!("{} ({}): {}", choice.group.name(), takes(kit, parts()), choice.reason);
            wrapped(text, "- ", &what);
        }
    }
    text.push('\n');
}

fn not_proposed(text: &mut String, kit: &Kit) {
    let left: Vec<&Choice> = kit.choices.iter().filter(|choice| !choice.is_proposed()).collect();
    if left.is_empty() {
        return;
    }
    *text += "\nNot worth printing for this cake (--only NAME prints one of them all the same, --all everything)\n";
    for choice in left {
        wrapped(text, "- ", &format!("{}: {}", choice.group.name(), choice.reason));
    }
}

fn table(text: &mut String, kit: &Kit) {
    if kit.parts.is_empty() {
        return;
    }
    let width = kit.parts.iter().map(|p| p.full_name().chars().count()).max().unwrap_or(0);
    for part in &kit.parts {
        let size = part.size();
        let each = if part.copies > 1 { format!("  × {}", part.copies) } else { String::new() };
        let _ = writeln!(
            text,
            "{:<width$}  {:>4.0} × {:>3.0} × {:>3.0} mm  {:>5.0} g  {:>5.1} h{each}",
            part.full_name(),
            size.x,
            size.y,
            size.z,
            part.plastic.grams,
            part.plastic.hours,
        );
    }
    let metres: f64 = kit.parts.iter().map(|part| part.copies as f64 * part.plastic.filament / 1000.0).sum();
    let _ = writeln!(
        text,
        "\n{} on {}, about {}, {metres:.0} m of filament (an estimate; your slicer decides)",
        counted(kit.parts.iter().map(|p| p.copies).sum(), "part"),
        counted(kit.beds.len(), "bed"),
        takes(kit, kit.parts.iter()),
    );
    for (number, bed) in kit.beds.iter().enumerate() {
        let names: Vec<String> = bed.placed.iter().map(|p| kit.parts[p.part].full_name()).collect();
        let _ = writeln!(text, "bed {}: {}", number + 1, names.join("; "));
    }
}

fn counted(count: usize, what: &str) -> String {
    format!("{count} {what}{}", if count == 1 { "" } else { "s" })
}

/// A paragraph behind `mark`, broken between words.
fn wrapped(text: &mut String, mark: &str, words: &str) {
    let mut row = mark.trim_end().to_owned();
    for word in words.split_whitespace() {
        if row.chars().count() + 1 + word.chars().count() > WIDE {
            let _ = writeln!(text, "{row}");
            row = " ".repeat(mark.chars().count() - 1);
        }
        row.push(' ');
        row.push_str(word);
    }
    let _ = writeln!(text, "{row}");
}
