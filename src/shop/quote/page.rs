//! A quote on paper: a page for the client without the maker's costs, and a bench page with them.

use std::sync::Arc;

use glam::{DVec2, dvec2};
use image::RgbaImage;

use super::{ClientText, Group, Quote, Sum};
use crate::{maker_look::MakerLook, order_check::OrderCheck};
use formats::drawing::{BLACK, Drawing, Face, Lettering, PALE, Page, Pen, width};
use make::{
    language::{Language, filled},
    sheets::Column,
};
use plan::{design::Paper, support::capital};

/// Whose page it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// The client's: no costs of the maker's.
    Client,
    /// The maker's own.
    Bench,
}

/// What the pages show beside the quote: the picture is the client's alone.
#[derive(Debug, Clone, Default)]
pub struct ClientPage {
    /// A picture of the cake.
    pub picture: Option<Arc<RgbaImage>>,
    /// The maker's colours and logo; the client's alone.
    pub look: MakerLook,
    /// The language that both pages are written in.
    pub language: Language,
}

/// Size of words where there is room, mm: 11 points.
const SIZE: f64 = 3.9;
/// Words are never smaller, mm.
const SMALLEST: f64 = 2.3;
/// Height of the head, mm.
const HEAD: f64 = 22.0;

/// The page of `quote` for one side, dated as its order check is. While a point of that is open, INCOMPLETE stands
/// across it. `client_page` is what the client's page shows, and in which language.
pub fn pages(
    quote: &Quote,
    check: &OrderCheck,
    paper: &Paper,
    side: Side,
    client_page: &ClientPage,
) -> Vec<Page> {
    let sheet = paper.sheet(false);
    // Wider margins than a template has: nothing has to be at true size here.
    let margin = paper.margin.max(16.0);
    let shown = sheet - DVec2::splat(2.0 * margin) - dvec2(0.0, HEAD);
    let mut size = SIZE;
    let drawing = loop {
        let (drawing, used) = match side {
            Side::Client => client(quote, check, client_page, shown.x, size),
            Side::Bench => bench(quote, check, &client_page.language, shown.x, size),
        };
        if used <= shown.y || size <= SMALLEST {
            break drawing;
        }
        size *= 0.97;
    };
    let mut page = Page::new(sheet);
    if !check.is_clear() {
        page.place(incomplete(sheet, &client_page.language.page.incomplete), sheet / 2.0);
    }
    let title = match side {
        Side::Client => &client_page.language.page.quote,
        Side::Bench => &client_page.language.cost.title,
    };
    let bare = MakerLook::default();
    let look = if side == Side::Client { &client_page.look } else { &bare };
    page.place(head(&quote.name, title, shown.x, look), DVec2::splat(margin));
    page.place(drawing, dvec2(margin, margin + HEAD));
    vec![page]
}

/// What the document of one side is called, in `language`.
pub fn title(quote: &Quote, side: Side, language: &Language) -> String {
    let form = match side {
        Side::Client => &language.page.document,
        Side::Bench => &language.cost.document,
    };
    filled(form, &[("cake", &quote.name)])
}

/// A word from corner to corner, about the middle of a sheet, pale enough to read what is printed over it.
fn incomplete(sheet: DVec2, word: &str) -> Drawing {
    const SHARE: f64 = 0.72;
    let size = SHARE * sheet.length() / width(word, 1.0, Face::Bold);
    let turn = geom::real::direction_angle(dvec2(sheet.x, -sheet.y)).to_degrees();
    let mut drawing = Drawing::new();
    drawing.text(Lettering { ink: PALE, turn, ..Lettering::new(word, DVec2::ZERO, size).bold().centred() });
    drawing
}

/// What it is of and what it is, over a line; in the maker's colours where they have some, with the logo at the right.
fn head(name: &str, title: &str, wide: f64, look: &MakerLook) -> Drawing {
    /// Room for the logo, mm; beyond it the ground reaches so far.
    const LOGO: DVec2 = dvec2(50.0, 15.0);
    const ROUND: f64 = 2.5;
    /// Height of the line below.
    const LINE: f64 = 17.5;
    let mut drawing = Drawing::new();
    let mut ink = BLACK;
    // A logo is laid on the ground that it was made for.
    if look.owns_ground {
        let corners = (dvec2(-ROUND, -ROUND), dvec2(wide + ROUND, LINE));
        drawing.rectangle(corners.0, corners.1, Some(look.ground), None);
        ink = look.ink();
    }
    let mut room = wide - 4.0;
    if let Some(logo) = &look.logo {
        let mut shown = Drawing::new();
        let size = shown.picture(logo, DVec2::ZERO, LOGO);
        drawing.extend(&shown, dvec2(wide - size.x, (LOGO.y - size.y) / 2.0));
        room -= size.x;
    }
    let full = width(name, 8.0, Face::Bold);
    let size = 8.0 * (room / full.max(1e-9)).min(1.0);
    drawing.text(Lettering::new(name, dvec2(0.0, 7.0), size).bold().ink(ink));
    drawing.text(Lettering::new(title, dvec2(0.0, 14.0), 4.6).ink(ink));
    let pen = if look.owns_accent { Pen { ink: look.accent, ..Pen::black(1.2) } } else { Pen::black(0.35) };
    drawing.line(dvec2(0.0, LINE), dvec2(wide, LINE), pen);
    drawing
}

fn client(quote: &Quote, check: &OrderCheck, page: &ClientPage, wide: f64, size: f64) -> (Drawing, f64) {
    /// Width of the picture, as a share of the page, and its height by the size of the words.
    const PICTURE: (f64, f64) = (0.42, 17.0);
    let (language, words) = (&page.language, &page.language.page);
    let told = ClientText::new(quote, check, language);
    let picture = page.picture.as_ref();
    let room = dvec2(wide * PICTURE.0, size * PICTURE.1);
    let beside = if picture.is_some() { wide - room.x - 4.0 } else { wide };
    let mut column = Column::new(DVec2::ZERO, beside, size);
    if let Some(name) = &quote.maker.name {
        column.strong(name);
    }
    quote.maker.address.iter().for_each(|line| column.paragraph(line));
    std::iter::once(&told.dated).chain(told.facts()).for_each(|fact| column.strong(fact));
    column.heading(&words.cake);
    told.contents.iter().for_each(|line| column.item(line));
    if let Some(picture) = picture {
        let mut shown = Drawing::new();
        let drawn = shown.picture(picture, DVec2::ZERO, room);
        column.drawing.extend(&shown, dvec2(wide - drawn.x, 0.0));
        column.at.y = column.at.y.max(drawn.y);
    }
    column.wide = wide;
    column.heading(&language.price.heading);
    if told.prices.is_empty() {
        column.paragraph(&language.price.follows);
    }
    for line in &told.prices {
        entry(&mut column, &line.what, "", &line.price, line.is_total);
    }
    if let Some((heading, rows)) = &told.hidden {
        column.heading(heading);
        rows.iter().for_each(|row| column.check(row));
    }
    column.heading(&language.allergens.heading);
    told.allergens.iter().for_each(|line| column.strong(line));
    column.item(&told.no_other_allergens);
    column.heading(&language.note.heading);
    told.notes.iter().for_each(|note| column.item(note));
    column.at.y += size * 2.0;
    column.paragraph(&words.signature);
    let line = column.at + dvec2(0.0, size * 2.2);
    column.drawing.line(line, line + dvec2(wide * 0.5, 0.0), Pen::grey(0.25));
    column.at.y += size * 2.6;
    (column.drawing, column.at.y)
}

fn bench(quote: &Quote, check: &OrderCheck, language: &Language, wide: f64, size: f64) -> (Drawing, f64) {
    let words = &language.cost;
    let mut column = Column::new(DVec2::ZERO, wide, size);
    if !check.is_clear() {
        column.heading(&words.open);
        for point in &check.open {
            let (what, fix) = point.told(language);
            column.item(&filled(&words.point, &[("what", &capital(&what)), ("fix", &fix)]));
        }
    }
    for group in Group::ALL {
        let lines: Vec<_> = quote.lines.iter().filter(|line| line.group == group).collect();
        if lines.is_empty() {
            continue;
        }
        let all = quote.price_in(quote.group(group), language);
        column.heading(&format!("{}: {all}", capital(group.told(language))));
        for line in lines {
            let (what, price) = (line.what.told(language, quote.style), quote.price_in(line.price, language));
            entry(&mut column, &what, &line.quantity.text(language.style(quote.style)), &price, false);
        }
    }
    column.heading(&words.sums);
    for (sum, coins) in quote.sums() {
        let name = capital(&quote.name_of(sum, language));
        entry(&mut column, &name, "", &quote.price_in(coins, language), sum == Sum::Gross);
    }
    column.paragraph(&filled(&words.hours, &[("hours", &language.number(quote.minutes / 60.0, 1))]));
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
