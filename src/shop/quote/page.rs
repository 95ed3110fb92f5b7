//! A quote on paper: a page for the client without the maker's costs, and a bench page with them.

use glam::{DVec2, dvec2};

use super::{Group, Quote, Sum};
use crate::words::listed;
use formats::drawing::{Drawing, Face, Lettering, PALE, Page, Pen, width};
use make::sheets::Column;
use plan::{design::Paper, support::capital};

/// Whose page it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// The client's: no costs of the maker's.
    Client,
    /// The maker's own.
    Bench,
}

/// Size of words where there is room, mm: 11 points.
const SIZE: f64 = 3.9;
/// Words are never smaller, mm.
const SMALLEST: f64 = 2.3;
/// Height of the head, mm.
const HEAD: f64 = 22.0;

/// The page of `quote` for one side.
pub fn pages(quote: &Quote, paper: &Paper, side: Side) -> Vec<Page> {
    let sheet = paper.sheet(false);
    // Wider margins than a template has: nothing has to be at true size here.
    let margin = paper.margin.max(16.0);
    let shown = sheet - DVec2::splat(2.0 * margin) - dvec2(0.0, HEAD);
    let mut size = SIZE;
    let drawing = loop {
        let (drawing, used) = match side {
            Side::Client => client(quote, shown.x, size),
            Side::Bench => bench(quote, shown.x, size),
        };
        if used <= shown.y || size <= SMALLEST {
            break drawing;
        }
        size *= 0.97;
    };
    let mut page = Page::new(sheet);
    let title = match side {
        Side::Client => "Quote",
        Side::Bench => "Costs, for the bench only",
    };
    page.place(head(&quote.name, title, shown.x), DVec2::splat(margin));
    page.place(drawing, dvec2(margin, margin + HEAD));
    vec![page]
}

fn head(name: &str, title: &str, wide: f64) -> Drawing {
    let mut drawing = Drawing::new();
    let full = width(name, 8.0, Face::Bold);
    let size = 8.0 * ((wide - 4.0) / full.max(1e-9)).min(1.0);
    drawing.text(Lettering::new(name, dvec2(0.0, 7.0), size).bold());
    drawing.text(Lettering::new(title, dvec2(0.0, 14.0), 4.6));
    drawing.line(dvec2(0.0, 17.5), dvec2(wide, 17.5), Pen::black(0.35));
    drawing
}

fn client(quote: &Quote, wide: f64, size: f64) -> (Drawing, f64) {
    let mut column = Column::new(DVec2::ZERO, wide, size);
    let mut facts = Vec::new();
    if let Some(client) = &quote.client {
        facts.push(format!("For: {client}"));
    }
    if let Some(deliver) = &quote.deliver {
        facts.push(format!("Handed over: {deliver}"));
    }
    facts.push(format!("Serves: about {}", quote.serves));
    facts.iter().for_each(|fact| column.strong(fact));
    column.heading("The cake");
    quote.seen.iter().for_each(|line| column.item(line));
    column.heading("Price");
    prices(&mut column, quote);
    if !quote.hidden.is_empty() {
        let all = quote.hidden_count();
        column.heading(&format!("Hidden in the cake, {all} in all: take out and count before it is served"));
        for hidden in &quote.hidden {
            column.check(&format!("{} × {}, {}", hidden.count, hidden.what, hidden.place));
        }
    }
    column.heading("Please note");
    let allergens = if quote.allergens.is_empty() {
        "Allergens: ask before you order.".to_owned()
    } else {
        format!(
            "Contains: {}. Made in a kitchen that handles other allergens too: ask.",
            listed(&quote.allergens)
        )
    };
    column.item(&allergens);
    column.item(
        "Take out every board, dowel, stick and wire before it is served; keep them from small children.",
    );
    column.item("Keep it cold and level on the way; lift it by the board, with two people.");
    column.item("The number of servings follows from a cutting plan and is an estimate.");
    column.at.y += size * 2.0;
    column.paragraph("Date and signature:");
    let line = column.at + dvec2(0.0, size * 2.2);
    column.drawing.line(line, line + dvec2(wide * 0.5, 0.0), Pen::grey(0.25));
    column.at.y += size * 2.6;
    (column.drawing, column.at.y)
}

/// What is charged; nothing is written where nothing has a price yet.
fn prices(column: &mut Column, quote: &Quote) {
    if quote.gross == 0 && !quote.unpriced.is_empty() {
        column.paragraph("The price follows.");
        return;
    }
    if quote.tax > 0 {
        entry(column, "Price before tax", "", &quote.price(quote.net), false);
        let tax = format!("Tax, {} %", percent(quote.tax_share));
        entry(column, &tax, "", &quote.price(quote.tax), false);
    }
    entry(column, "Price", "", &quote.price(quote.gross), true);
    entry(column, "Deposit, when you order", "", &quote.price(quote.deposit), false);
    entry(column, "Due when the cake is handed over", "", &quote.price(quote.balance), false);
}

fn bench(quote: &Quote, wide: f64, size: f64) -> (Drawing, f64) {
    let mut column = Column::new(DVec2::ZERO, wide, size);
    if !quote.unpriced.is_empty() {
        column.heading("Not in the price: the pantry has none for these");
        column.paragraph(&listed(&quote.unpriced));
    }
    for group in Group::ALL {
        let lines: Vec<_> = quote.lines.iter().filter(|line| line.group == group).collect();
        if lines.is_empty() {
            continue;
        }
        column.heading(&format!("{}: {}", capital(group.name()), quote.price(quote.group(group))));
        for line in lines {
            entry(&mut column, &line.what.to_string(), &line.amount, &quote.price(line.price), false);
        }
    }
    column.heading("Sums");
    for (sum, coins) in quote.sums() {
        entry(&mut column, &capital(sum.name()), "", &quote.price(coins), sum == Sum::Gross);
    }
    column.paragraph(&format!(
        "{:.1} hours of work. Ingredients by what is used; packs are dearer.",
        quote.minutes / 60.0
    ));
    (column.drawing, column.at.y)
}

/// A line with its price at the right edge, and a hair line under it.
fn entry(column: &mut Column, what: &str, amount: &str, price: &str, bold: bool) {
    let (size, wide) = (column.size, column.wide);
    let base = column.at + dvec2(0.0, size * 1.05);
    let set = |words: Lettering| if bold { words.bold() } else { words };
    column.drawing.text(set(Lettering::new(what, base, size)));
    column.drawing.text(set(Lettering::new(amount, base + dvec2(wide * 0.72, 0.0), size).ending()));
    column.drawing.text(set(Lettering::new(price, base + dvec2(wide, 0.0), size).ending()));
    column.at.y += size * 1.42;
    column.drawing.line(column.at, column.at + dvec2(wide, 0.0), Pen { ink: PALE, ..Pen::grey(0.15) });
}

/// A share in per cent, without zeros that say nothing.
fn percent(share: f64) -> String {
    let text = format!("{:.2}", 100.0 * share);
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}
