//! A quote for a person at a terminal: the bench page, costs and all.

use std::fmt::Write;

use super::{Group, Quote};
use make::report::table;

/// The bench page as text.
pub fn text(quote: &Quote) -> String {
    let mut out = format!("{}: what to charge\n", quote.name);
    let mut rows = Vec::new();
    for group in Group::ALL {
        for (i, line) in quote.lines.iter().filter(|line| line.group == group).enumerate() {
            let name = if i == 0 { group.name() } else { "" };
            rows.push(vec![
                name.to_owned(),
                line.what.to_string(),
                line.amount.clone(),
                quote.price(line.price),
            ]);
        }
    }
    if !rows.is_empty() {
        out.push('\n');
        out += &table(&["group", "what", "amount", "price"], 2, rows);
    }
    let rows = quote.sums().into_iter().map(|(sum, coins)| vec![quote.name_of(sum), quote.price(coins)]);
    let rows: Vec<_> = rows.collect();
    out.push('\n');
    if !rows.is_empty() {
        out += &table(&["sum", ""], 1, rows);
    }
    if quote.charged.is_none() {
        out.push_str("  No price can be told yet: see the order check.\n");
    }
    let _ = writeln!(out, "  {:.1} hours of work.", quote.minutes / 60.0);
    out
}
