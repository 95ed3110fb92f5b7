//! A quote for a person at a terminal: the bench page, costs and all.

use std::fmt::Write;

use super::{Group, Quote};
use crate::words::listed;
use make::report::table;

/// The bench page as text.
pub fn text(quote: &Quote) -> String {
    let mut out = format!("{}: what to charge\n", quote.name);
    if !quote.unpriced.is_empty() {
        let _ = write!(
            out,
            "\nNot in the price, since the pantry has none for them: {}\n  mend: add `price` under [pantry.goods], \
             [[pantry.board]] and [[pantry.dowel]], and `hour`, `plastic`, `presentation`, `road` under \
             [pantry.money]\n",
            listed(&quote.unpriced)
        );
    }
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
    let rows = quote.sums().map(|(sum, coins)| vec![sum.name().to_owned(), quote.price(coins)]);
    out.push('\n');
    out += &table(&["sum", ""], 1, rows.to_vec());
    let _ = writeln!(out, "  {:.1} hours of work.", quote.minutes / 60.0);
    out
}
