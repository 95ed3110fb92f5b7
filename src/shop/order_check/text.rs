//! The order check for a person at a terminal.

use std::fmt::Write;

use super::{OrderCheck, count};

/// The check as text that stands above a plan or a quote.
pub fn text(check: &OrderCheck) -> String {
    let mut out = String::from("Order check: ");
    out += &match check.open.len() {
        0 => "nothing keeps the order from being met".to_owned(),
        n => format!("{} to fix before a price is told", count(n, "point")),
    };
    out.push('\n');
    for point in &check.open {
        let _ = writeln!(out, "  open  {}\n          fix: {}", point.message, point.fix);
    }
    for note in &check.notes {
        let _ = writeln!(out, "  note  {}", note.message);
    }
    out.push('\n');
    out
}
