//! The picture sheet: one picture for a chat that shows the finished cake from three sides, how large it is beside a dinner
//! plate, and what whoever eats it must know.
//!
//! Everything is laid out in pixels of the sheet, [`WIDE`] across, for a phone held upright. No letter is smaller than
//! [`SMALLEST`]: on a screen 390 points wide that is 7.6 points, and the sheet is made to be enlarged. Prices, costs and what
//! only the workshop must know are not on it: such a picture is sent on.

mod lines;
mod to_scale;

use std::sync::Arc;

use glam::{DVec2, dvec2};
use image::{Rgba, RgbaImage};

use super::page::extent;
use crate::{
    maker_look::{MakerLook, within},
    order_check::OrderCheck,
    quote::{ClientText, Quote},
};
use formats::{
    drawing::{Drawing, Face, Page},
    export::png::drawn,
    model::Rgb,
};
use lines::Lines;
use make::language::{Language, filled};
use plan::Plan;

pub use to_scale::Elevation;

/// Width of the sheet, pixels.
pub const WIDE: u32 = 1440;
/// Height of the large picture, pixels.
pub const PICTURE_HIGH: u32 = 1080;
/// Height of the smallest letters, pixels.
pub const SMALLEST: f64 = 30.0;

/// Free at the left and at the right, pixels.
const EDGE: f64 = 64.0;
/// Letters of the text, pixels.
const BODY: f64 = 36.0;
/// Letters of headings, pixels.
const HEADING: f64 = 42.0;
/// So many kinds of hidden thing are listed; what there is beyond them is told by its number.
const MOST_HIDDEN: usize = 12;

/// The pictures of the sheet, of the finished cake, each see-through where nothing is.
#[derive(Debug, Clone)]
pub struct SheetViews {
    /// From three quarters, as a camera sees it, [`WIDE`] by [`PICTURE_HIGH`].
    pub round: RgbaImage,
    /// Straight at the front.
    pub front: Elevation,
    /// Straight at the right-hand side.
    pub side: Elevation,
}

/// What a sheet is made of.
#[derive(Debug, Clone, Copy)]
pub struct PictureSheet<'a> {
    /// The cake.
    pub plan: &'a Plan,
    /// What its client is told.
    pub quote: &'a Quote,
    /// What keeps the order from being met.
    pub check: &'a OrderCheck,
    /// The pictures.
    pub views: &'a SheetViews,
    /// The mark of the cake, which its page carries too.
    pub mark: &'a str,
    /// The maker's colours.
    pub look: &'a MakerLook,
    /// The language of the sheet.
    pub language: &'a Language,
}

/// Letters of what is told on the sheet that the fonts cannot draw: a question mark stands instead of each.
pub fn lacking_on(sheet: &PictureSheet<'_>) -> Vec<char> {
    let mut lacking: Vec<char> = sheet.names().flat_map(formats::text::lacking).collect();
    lacking.sort_unstable();
    lacking.dedup();
    lacking
}

impl PictureSheet<'_> {
    /// Whatever on the sheet the maker or the client wrote.
    fn names(&self) -> impl Iterator<Item = &str> {
        let Quote { name, maker, hidden, allergens, undeclared, .. } = self.quote;
        std::iter::once(name)
            .chain(&maker.name)
            .chain(&maker.address)
            .chain(hidden.iter().flat_map(|hidden| [&hidden.thing, &hidden.place]))
            .chain(allergens.iter().map(|allergen| &allergen.name))
            .chain(undeclared)
            .map(String::as_str)
    }

    /// The sheet, [`WIDE`] pixels wide and as high as it has to be.
    pub fn drawn(&self) -> RgbaImage {
        let Self { quote, check, look, language, .. } = *self;
        let told = ClientText::new(quote, check, language);
        let mut lines = Lines::new(dvec2(EDGE, 0.0), f64::from(WIDE) - 2.0 * EDGE, look.ink());
        self.head(&mut lines);
        if !check.is_clear() {
            self.incomplete(&mut lines);
        }
        self.picture(&mut lines);
        self.name(&mut lines, &told);
        self.sizes(&mut lines);
        self.cautions(&mut lines, &told);
        self.foot(&mut lines, &told);
        let size = dvec2(f64::from(WIDE), lines.y.ceil());
        let mut page = Page::new(size);
        let mut ground = Drawing::new();
        ground.rectangle(DVec2::ZERO, size, Some(look.ground), None);
        page.place(ground, DVec2::ZERO);
        page.place(lines.drawing, DVec2::ZERO);
        drawn(&page, 1.0).expect("a sheet has a size")
    }

    /// Who makes it.
    fn head(&self, lines: &mut Lines) {
        /// Room for the logo.
        const LOGO: (u32, u32) = (560, 170);
        if let Some(logo) = &self.look.logo {
            let small = flattened(&within((**logo).clone(), LOGO), self.look.ground);
            lines.gap(34.0);
            lines.image(&Arc::new(small));
        }
        if let Some(name) = &self.quote.maker.name {
            lines.gap(if self.look.logo.is_some() { 14.0 } else { 34.0 });
            lines.largest(name, &[46.0, 38.0], 3);
        }
        if self.quote.maker.name.is_some() || self.look.logo.is_some() {
            lines.gap(26.0);
        }
    }

    /// That something is open.
    fn incomplete(&self, lines: &mut Lines) {
        let caution = self.look.caution();
        let language = self.language;
        lines.on_band(caution, formats::colour::ink_on(caution), |lines| {
            lines.gap(22.0);
            lines.text(&language.page.incomplete, 66.0, Face::Bold, 2);
            lines.text(&language.share.sheet_open, BODY, Face::Plain, 4);
            lines.gap(20.0);
        });
    }

    /// The cake, large, under a line of the accent.
    fn picture(&self, lines: &mut Lines) {
        lines.band(self.look.accent, 10.0);
        let image = Arc::new(flattened(&self.views.round, self.look.stage()));
        let size =
            dvec2(f64::from(WIDE), f64::from(WIDE) * f64::from(image.height()) / f64::from(image.width()));
        lines.drawing.picture(&image, dvec2(0.0, lines.y), size);
        lines.y += size.y;
    }

    /// What it is called, how many it serves, when it is handed over.
    fn name(&self, lines: &mut Lines, told: &ClientText) {
        lines.on_band(self.look.accent, self.look.on_accent(), |lines| {
            lines.gap(34.0);
            lines.largest(&self.quote.name, &[84.0, 66.0, 52.0], 3);
            lines.gap(8.0);
            for fact in told.delivered.iter().chain(std::iter::once(&told.serves)) {
                lines.text(fact, BODY + 4.0, Face::Plain, 2);
            }
            lines.gap(30.0);
        });
    }

    /// The front and the side to scale beside a dinner plate.
    fn sizes(&self, lines: &mut Lines) {
        let words = &self.language.share;
        lines.heading(&words.measures, HEADING);
        lines.gap(10.0);
        to_scale::draw(self, lines);
        lines.gap(16.0);
        let extent = extent(self.plan, self.quote, self.language);
        lines.text(&format!("{extent}. {}", words.sheet_one_scale), BODY, Face::Plain, 4);
    }

    /// Allergens, and what is hidden.
    fn cautions(&self, lines: &mut Lines, told: &ClientText) {
        let words = &self.language.share;
        lines.heading(&self.language.allergens.heading, HEADING);
        for text in &told.allergens {
            lines.text(text, BODY, Face::Bold, usize::MAX);
        }
        lines.text(&told.no_other_allergens, BODY, Face::Plain, usize::MAX);
        let Some((heading, rows)) = &told.hidden else { return };
        lines.heading(heading, HEADING);
        for row in rows.iter().take(MOST_HIDDEN) {
            lines.item(row, BODY);
        }
        if let Some(more) = rows.len().checked_sub(MOST_HIDDEN).filter(|more| *more > 0) {
            let told = filled(&words.sheet_more_hidden, &[("count", &more.to_string())]);
            lines.text(&told, BODY, Face::Bold, 3);
        }
    }

    /// Which sheet it is, of when, and how to reach the maker.
    fn foot(&self, lines: &mut Lines, told: &ClientText) {
        lines.gap(30.0);
        lines.rule(self.look.line());
        lines.gap(16.0);
        lines.ink = self.look.soft();
        let maker = &self.quote.maker;
        let reached: Vec<&str> = maker.address.iter().chain(&maker.email).map(String::as_str).collect();
        if !reached.is_empty() {
            lines.text(&reached.join(" · "), SMALLEST, Face::Plain, 4);
        }
        let marked = filled(&self.language.share.sheet_marked, &[("mark", self.mark), ("date", &told.date)]);
        lines.text(&marked, SMALLEST, Face::Plain, 2);
        lines.gap(36.0);
    }
}

/// `image` over a colour.
fn flattened(image: &RgbaImage, Rgb(r, g, b): Rgb) -> RgbaImage {
    let mut flat = image.clone();
    for Rgba([red, green, blue, opacity]) in flat.pixels_mut() {
        let share = u32::from(*opacity);
        for (over, under) in [(red, r), (green, g), (blue, b)] {
            *over = ((u32::from(*over) * share + u32::from(under) * (255 - share) + 127) / 255) as u8;
        }
        *opacity = 255;
    }
    flat
}
