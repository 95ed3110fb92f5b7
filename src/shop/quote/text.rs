//! A quote for a person at a terminal: the bench page, costs and all.

use std::fmt::Write;

use super::{Group, Quote};
use make::{
    language::{Language, filled},
    report::table,
};

/// The bench page as text, in `language`.
pub fn text(quote: &Quote, language: &Language) -> String {
    let (words, style) = (&language.cost, language.style(quote.style));
    let mut out = filled(&words.heading, &[("cake", &quote.name)]) + "\n";
    let mut rows = Vec::new();
    for group in Group::ALL {
        for (i, line) in quote.lines.iter().filter(|line| line.group == group).enumerate() {
            let name = if i == 0 { group.told(language) } else { "" };
            rows.push(vec![
                name.to_owned(),
                line.what.told(language, quote.style),
                line.quantity.text(style),
                quote.price_in(line.price, language),
            ]);
        }
    }
    if !rows.is_empty() {
        out.push('\n');
        out += &table(&[&words.group, &words.what, &words.amount, &words.price], 2, rows);
    }
    let row = |(sum, coins)| vec![quote.name_of(sum, language), quote.price_in(coins, language)];
    let rows: Vec<_> = quote.sums().into_iter().map(row).collect();
    out.push('\n');
    if !rows.is_empty() {
        out += &table(&[&words.sum, ""], 1, rows);
    }
    if quote.charged.is_none() {
        let _ = writeln!(out, "  {}", words.none);
    }
    let hours = language.number(quote.minutes / 60.0, 1);
    let _ = writeln!(out, "  {}", filled(&words.hours_alone, &[("hours", &hours)]));
    out
}
