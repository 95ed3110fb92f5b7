//! A quote on paper: a page for the client without the maker's costs, and a bench page with them.

use std::sync::Arc;

use glam::{DVec2, dvec2};
use image::RgbaImage;

use super::{Group, Quote, Sum};
use crate::{order_check::OrderCheck, words::listed};
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

/// The page of `quote` for one side, dated as its order check is. While a point of that is open, INCOMPLETE stands
/// across it. `picture` is what the client's page shows of the cake.
pub fn pages(
    quote: &Quote,
    check: &OrderCheck,
    paper: &Paper,
    side: Side,
    picture: Option<&Arc<RgbaImage>>,
) -> Vec<Page> {
    let sheet = paper.sheet(false);
    // Wider margins than a template has: nothing has to be at true size here.
    let margin = paper.margin.max(16.0);
    let shown = sheet - DVec2::splat(2.0 * margin) - dvec2(0.0, HEAD);
    let mut size = SIZE;
    let drawing = loop {
        let (drawing, used) = match side {
            Side::Client => client(quote, check, picture, shown.x, size),
            Side::Bench => bench(quote, check, shown.x, size),
        };
        if used <= shown.y || size <= SMALLEST {
            break drawing;
        }
        size *= 0.97;
    };
    let mut page = Page::new(sheet);
    if !check.is_clear() {
        page.place(incomplete(sheet), sheet / 2.0);
    }
    let title = match side {
        Side::Client => "Quote",
        Side::Bench => "Costs, for the bench only",
    };
    page.place(head(&quote.name, title, shown.x), DVec2::splat(margin));
    page.place(drawing, dvec2(margin, margin + HEAD));
    vec![page]
}

/// INCOMPLETE from corner to corner, about the middle of a sheet, pale enough to read what is printed over it.
fn incomplete(sheet: DVec2) -> Drawing {
    const WORD: &str = "INCOMPLETE";
    const SHARE: f64 = 0.72;
    let size = SHARE * sheet.length() / width(WORD, 1.0, Face::Bold);
    let turn = geom::real::direction_angle(dvec2(sheet.x, -sheet.y)).to_degrees();
    let mut drawing = Drawing::new();
    drawing.text(Lettering { ink: PALE, turn, ..Lettering::new(WORD, DVec2::ZERO, size).bold().centred() });
    drawing
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

fn client(
    quote: &Quote,
    check: &OrderCheck,
    picture: Option<&Arc<RgbaImage>>,
    wide: f64,
    size: f64,
) -> (Drawing, f64) {
    /// Width of the picture, as a share of the page, and its height by the size of the words.
    const PICTURE: (f64, f64) = (0.42, 17.0);
    let room = dvec2(wide * PICTURE.0, size * PICTURE.1);
    let beside = if picture.is_some() { wide - room.x - 4.0 } else { wide };
    let mut column = Column::new(DVec2::ZERO, beside, size);
    if let Some(name) = &quote.maker.name {
        column.strong(name);
    }
    quote.maker.address.iter().for_each(|line| column.paragraph(line));
    let day = check.today.date();
    let mut facts = vec![format!(
        "{}; valid until {}",
        quote.writing.date(day),
        quote.writing.date(quote.valid_until(day))
    )];
    if let Some(client) = &quote.client {
        facts.push(format!("For: {client}"));
    }
    if let Some(deliver) = &quote.deliver {
        facts.push(format!("Delivered: {}", quote.writing.time(deliver.time())));
    }
    facts.push(format!("Serves: about {}", quote.serves));
    facts.iter().for_each(|fact| column.strong(fact));
    column.heading("The cake");
    quote.seen.iter().for_each(|line| column.item(line));
    if let Some(picture) = picture {
        let mut shown = Drawing::new();
        let drawn = shown.picture(picture, DVec2::ZERO, room);
        column.drawing.extend(&shown, dvec2(wide - drawn.x, 0.0));
        column.at.y = column.at.y.max(drawn.y);
    }
    column.wide = wide;
    column.heading("Price");
    prices(&mut column, quote);
    if !quote.hidden.is_empty() {
        let all = quote.hidden_count();
        column.heading(&format!("Hidden in the cake, {all} in all: count them out before serving"));
        for hidden in &quote.hidden {
            column.check(&format!("{} × {}, {}", hidden.count, hidden.what, hidden.place));
        }
    }
    allergens(&mut column, quote);
    column.heading("Please note");
    column.item(
        "Take out every board, dowel, stick and wire before it is served; keep them from small children.",
    );
    column.item(if quote.heavy {
        "Keep it cold and level on the way; two people lift it, by the board."
    } else {
        "Keep it cold and level on the way; lift it by the board."
    });
    column.item("The number of servings follows from a cutting plan and is an estimate.");
    column.at.y += size * 2.0;
    column.paragraph("Date and signature:");
    let line = column.at + dvec2(0.0, size * 2.2);
    column.drawing.line(line, line + dvec2(wide * 0.5, 0.0), Pen::grey(0.25));
    column.at.y += size * 2.6;
    (column.drawing, column.at.y)
}

/// What is declared, what is not, and by which list.
fn allergens(column: &mut Column, quote: &Quote) {
    column.heading("Allergens");
    if !quote.allergens.is_empty() {
        column.strong(&format!("Contains: {}.", listed(&quote.allergens)));
    }
    if !quote.undeclared.is_empty() {
        column.strong(&format!("Not declared for: {}; read the label.", listed(&quote.undeclared)));
    }
    let rest = match (quote.allergens.is_empty(), quote.undeclared.is_empty()) {
        (true, true) => "The labels name none of",
        (false, true) => "The labels name no other of",
        (_, false) => "Of what is declared, the labels name no other of",
    };
    column.item(&format!("{rest} {}. Made where other allergens are handled too: ask.", quote.allergen_list));
}

/// What is charged; no price is written while something has none.
fn prices(column: &mut Column, quote: &Quote) {
    let Some(charged) = quote.charged else {
        column.paragraph("The price follows.");
        return;
    };
    if charged.tax > 0 {
        entry(column, "Price before tax", "", &quote.price(charged.net), false);
        let tax = format!("{}, {} %", quote.tax_name, percent(quote.tax_share));
        entry(column, &tax, "", &quote.price(charged.tax), false);
    }
    entry(column, "Price", "", &quote.price(charged.gross), true);
    if charged.deposit > 0 {
        entry(column, "Deposit, when you order", "", &quote.price(charged.deposit), false);
    }
    if charged.balance > 0 {
        entry(column, "Due when the cake is delivered", "", &quote.price(charged.balance), false);
    }
}

fn bench(quote: &Quote, check: &OrderCheck, wide: f64, size: f64) -> (Drawing, f64) {
    let mut column = Column::new(DVec2::ZERO, wide, size);
    if !check.is_clear() {
        column.heading("To fix before a price is told");
        check
            .open
            .iter()
            .for_each(|point| column.item(&format!("{}. Fix: {}", capital(&point.message), point.mend)));
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
        entry(&mut column, &capital(&quote.name_of(sum)), "", &quote.price(coins), sum == Sum::Gross);
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
