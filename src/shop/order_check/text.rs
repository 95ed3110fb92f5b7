//! The order check for a person at a terminal.

use std::fmt::Write;

use super::OrderCheck;
use make::language::{Language, filled};

/// The check in `language`, as text that stands above a plan or a quote.
pub fn text(check: &OrderCheck, language: &Language) -> String {
    let words = &language.check;
    let mut out = match check.open.len() {
        0 => words.clear.clone(),
        1 => words.one.clone(),
        n => filled(&words.several, &[("count", &n.to_string())]),
    };
    out.push('\n');
    let wide = words.open.chars().count().max(words.note.chars().count());
    for point in &check.open {
        let (what, fix) = point.told(language);
        let fix = filled(&words.fix, &[("fix", &fix)]);
        let _ = writeln!(out, "  {:<wide$}  {what}\n{:indent$}{fix}", words.open, "", indent = wide + 6);
    }
    for note in &check.notes {
        let _ = writeln!(out, "  {:<wide$}  {}", words.note, note.told(language));
    }
    out.push('\n');
    out
}
