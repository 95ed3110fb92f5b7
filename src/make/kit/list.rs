//! The list of a kit in words, to lie beside the printer.

use std::fmt::Write as _;

use super::{Choice, Kit, Part, cautions::cautions};
use crate::language::{Language, filled, filled_with};
use formats::escape;

/// Lines of words are no longer, letters.
const WIDE: usize = 104;

/// What is worth printing and why, the parts with sizes, copies, plastic and time, the beds, the findings and the
/// cautions, in `language`. Parts are called as it stands on them and in the names of their files.
pub fn list(kit: &Kit, language: &Language) -> String {
    Writer { kit, language }.list()
}

struct Writer<'a> {
    kit: &'a Kit,
    language: &'a Language,
}

impl Writer<'_> {
    fn list(&self) -> String {
        let (kit, words) = (self.kit, &self.language.kit);
        let mut text = filled(&words.title, &[("cake", &kit.cake)]) + "\n\n";
        if !kit.left_out.is_empty() {
            let _ = writeln!(text, "{}", words.left_out);
            for error in &kit.left_out {
                let _ = writeln!(text, "- {error}");
            }
            text.push('\n');
        }
        self.proposed(&mut text);
        self.table(&mut text);
        if !kit.parts.is_empty() {
            let _ = writeln!(text, "\n{}", words.cautions);
            cautions(kit, self.language).iter().for_each(|caution| wrapped(&mut text, "- ", caution));
        }
        if !kit.findings.is_empty() {
            let _ = writeln!(text, "\n{}", words.before);
            for finding in &kit.findings {
                let own = format!("{}: {}", finding.about, finding.message);
                let about = [finding.about.clone()];
                let (what, fix) = self.language.told(finding.code, &about, (&own, &finding.fix.words));
                let _ = writeln!(text, "- {what}\n  {}", filled(&words.fix, &[("fix", &fix)]));
            }
        }
        self.not_proposed(&mut text);
        escape::lines(&text).into_owned()
    }

    /// What printing `parts` takes, as "105 g, 8.1 h, 2.10 EUR".
    fn takes<'p>(&self, parts: impl Iterator<Item = &'p Part>) -> String {
        let (grams, hours) = parts.fold((0.0, 0.0), |(grams, hours), part| {
            let copies = part.copies as f64;
            (grams + copies * part.plastic.grams, hours + copies * part.plastic.hours)
        });
        let words = &self.language.kit;
        let cost = self.kit.price.as_ref().and_then(|price| {
            let coins = price.kilogram.times(grams / 1000.0)?.coins(price.decimals)?;
            let own = price.of_grams(grams)?;
            Some(self.language.price(coins, &price.currency, price.decimals).unwrap_or(own))
        });
        let form = if cost.is_some() { &words.takes_cost } else { &words.takes };
        let said = [
            ("grams", self.language.number(grams, 0)),
            ("hours", self.language.number(hours, 1)),
            ("cost", cost.unwrap_or_default()),
        ];
        filled_with(form, &said)
    }

    fn proposed(&self, text: &mut String) {
        let (kit, words) = (self.kit, &self.language.kit);
        if kit.choices.is_empty() {
            return;
        }
        if kit.parts.is_empty() {
            let _ = writeln!(text, "{}", words.nothing_worth);
            return;
        }
        let _ = writeln!(text, "{}", words.worth);
        for choice in kit.choices.iter().filter(|choice| choice.is_proposed()) {
            let parts = || kit.parts.iter().filter(|part| part.group == choice.group);
            if parts().next().is_some() {
                let said = [
                    ("group", choice.group.told(self.language).to_owned()),
                    ("takes", self.takes(parts())),
                    ("reason", choice.reason.told(self.language)),
                ];
                wrapped(text, "- ", &filled_with(&words.group, &said));
            }
        }
        text.push('\n');
    }

    fn not_proposed(&self, text: &mut String) {
        let words = &self.language.kit;
        let left: Vec<&Choice> = self.kit.choices.iter().filter(|choice| !choice.is_proposed()).collect();
        if left.is_empty() {
            return;
        }
        let _ = writeln!(text, "\n{}", words.not_worth);
        for choice in left {
            let reason = choice.reason.told(self.language);
            let said = [("group", choice.group.told(self.language)), ("reason", &reason)];
            wrapped(text, "- ", &filled(&words.group_left, &said));
        }
    }

    fn table(&self, text: &mut String) {
        let (kit, words) = (self.kit, &self.language.kit);
        if kit.parts.is_empty() {
            return;
        }
        if !words.names.is_empty() {
            wrapped(text, "", &words.names);
            text.push('\n');
        }
        let width = kit.parts.iter().map(|p| p.full_name().chars().count()).max().unwrap_or(0);
        for part in &kit.parts {
            let size = part.size();
            let each = if part.copies > 1 { format!("  × {}", part.copies) } else { String::new() };
            let _ = writeln!(
                text,
                "{:<width$}  {:>4.0} × {:>3.0} × {:>3.0} mm  {:>5.0} g  {:>5} h{each}",
                part.full_name(),
                size.x,
                size.y,
                size.z,
                part.plastic.grams,
                self.language.number(part.plastic.hours, 1),
            );
        }
        let metres: f64 =
            kit.parts.iter().map(|part| part.copies as f64 * part.plastic.filament / 1000.0).sum();
        let said = [
            ("parts", counted(kit.parts.iter().map(|p| p.copies).sum(), &words.part, &words.parts)),
            ("beds", counted(kit.beds.len(), &words.bed, &words.beds)),
            ("takes", self.takes(kit.parts.iter())),
            ("metres", self.language.number(metres, 0)),
        ];
        let _ = writeln!(text, "\n{}", filled_with(&words.summary, &said));
        for (number, bed) in kit.beds.iter().enumerate() {
            let names: Vec<String> = bed.placed.iter().map(|p| kit.parts[p.part].full_name()).collect();
            let said = [("number", (number + 1).to_string()), ("names", names.join("; "))];
            let _ = writeln!(text, "{}", filled_with(&words.bed_row, &said));
        }
    }
}

fn counted(count: usize, one: &str, several: &str) -> String {
    if count == 1 { one.to_owned() } else { filled(several, &[("count", &count.to_string())]) }
}

/// A paragraph behind `mark`, broken between words.
fn wrapped(text: &mut String, mark: &str, words: &str) {
    let indent = mark.chars().count();
    let mut row = mark.trim_end().to_owned();
    for word in words.split_whitespace() {
        if row.chars().count() + 1 + word.chars().count() > WIDE {
            let _ = writeln!(text, "{row}");
            row = " ".repeat(indent.saturating_sub(1));
        }
        if indent > 0 || !row.is_empty() {
            row.push(' ');
        }
        row.push_str(word);
    }
    let _ = writeln!(text, "{row}");
}
