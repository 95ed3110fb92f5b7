//! What stands on every page: at its head what it is, at its foot the bars that prove its scale.

use glam::{DVec2, dvec2};

use super::figure::Key;
use formats::drawing::{BLACK, Drawing, Face, Lettering, Page, Pen, lines, width};
use geom::units::MM_PER_INCH;
use plan::design::{
    Paper,
    paper::{FOOT, HEAD},
};

/// What a page says at its head.
#[derive(Debug, Clone, Default)]
pub struct Heading {
    /// The cake and what of it.
    pub title: String,
    /// Which page, and of what size.
    pub page: String,
    /// One line of instruction.
    pub line: String,
    /// What the lines stand for.
    pub key: Key,
    /// The sentence about its scale, which must stand on every page.
    pub print_at: String,
}

/// Size of the words at the foot, mm.
const SMALL: f64 = 3.0;
/// Height of a bar, mm.
const BAR: f64 = 3.4;

/// A page with its head and foot. `map` stands at the right of the foot.
pub fn page(paper: &Paper, on_its_side: bool, heading: &Heading, map: Option<&Drawing>) -> Page {
    let size = paper.sheet(on_its_side);
    let mut page = Page::new(size);
    let wide = size.x - 2.0 * paper.margin;
    page.place(head(heading, wide), DVec2::splat(paper.margin));
    page.place(foot(wide, map, &heading.print_at), dvec2(paper.margin, size.y - paper.margin - FOOT));
    page
}

/// Where what a page shows begins.
pub fn shown_from(paper: &Paper) -> DVec2 {
    dvec2(paper.margin, paper.margin + HEAD)
}

fn head(heading: &Heading, wide: f64) -> Drawing {
    const TITLE: f64 = 5.0;
    let mut drawing = Drawing::new();
    let page = Lettering::new(&heading.page, dvec2(wide, 4.2), SMALL + 0.4).ending();
    let room = wide - page.width() - 4.0;
    // A long name is written smaller rather than cut off.
    let full = width(&heading.title, TITLE, Face::Bold);
    let size = TITLE * (room / full.max(1e-9)).min(1.0);
    drawing.text(Lettering::new(&heading.title, dvec2(0.0, 4.2), size).bold());
    drawing.text(page);
    if !heading.line.is_empty() {
        let full = width(&heading.line, SMALL, Face::Plain);
        let size = SMALL * (wide / full).min(1.0);
        drawing.text(Lettering::new(&heading.line, dvec2(0.0, 9.6), size));
    }
    drawing.extend(&key(&heading.key, wide), dvec2(0.0, 14.2));
    drawing.line(dvec2(0.0, 16.0), dvec2(wide, 16.0), Pen::grey(0.2));
    drawing
}

/// What the lines stand for, in one row no wider than `wide` mm.
pub fn key(key: &Key, wide: f64) -> Drawing {
    /// Length of a line, from it to its words, and from those to the next line, mm.
    const PARTS: [f64; 3] = [11.0, 2.0, 6.0];
    let each = |(_, meaning): &(Pen, String)| PARTS.iter().sum::<f64>() + width(meaning, SMALL, Face::Plain);
    let full = key.iter().map(each).sum::<f64>() - PARTS[2];
    // Many words are written smaller rather than cut off.
    let scale = (wide / full.max(1e-9)).min(1.0);
    let [line, gap, next] = PARTS.map(|part| part * scale);
    let mut drawing = Drawing::new();
    let mut x = 0.0;
    for (pen, meaning) in key {
        let text = Lettering::new(meaning, dvec2(x + line + gap, 0.0), SMALL * scale);
        drawing.line(dvec2(x, -1.0), dvec2(x + line, -1.0), *pen);
        x += line + gap + text.width() + next;
        drawing.text(text);
    }
    drawing
}

/// The bars, the sentence and the map, `wide` mm wide and [`FOOT`] mm high.
pub fn foot(wide: f64, map: Option<&Drawing>, print_at: &str) -> Drawing {
    let mut drawing = Drawing::new();
    drawing.line(dvec2(0.0, 1.6), dvec2(wide, 1.6), Pen::grey(0.2));
    bar(&mut drawing, 4.4, 100.0, 10, "100 mm");
    bar(&mut drawing, 13.2, 4.0 * MM_PER_INCH, 8, "4 in");
    let from = 4.0 * MM_PER_INCH + 18.0;
    let mut to = wide;
    if let Some(map) = map {
        let (lo, hi) = map.bounds().unwrap_or_default();
        to -= hi.x - lo.x + 3.0;
        drawing.extend(map, dvec2(wide - hi.x, 2.6 - lo.y));
    }
    for (i, line) in lines(print_at, to - from, SMALL, Face::Bold).into_iter().enumerate() {
        drawing.text(Lettering::new(line, dvec2(from, 6.6 + i as f64 * SMALL * 1.3), SMALL).bold());
    }
    drawing
}

/// A line of small words that stands on its base line.
pub fn small(text: &str) -> Drawing {
    let mut drawing = Drawing::new();
    drawing.text(Lettering::new(text, DVec2::ZERO, SMALL));
    drawing
}

/// A bar `long` mm long in `parts` parts, black and white in turn over a whole black edge.
fn bar(drawing: &mut Drawing, top: f64, long: f64, parts: u32, name: &str) {
    /// Height of the whole edge, mm.
    const EDGE: f64 = 0.9;
    let at = |i: u32| long * f64::from(i) / f64::from(parts);
    for i in (0..parts).step_by(2) {
        drawing.rectangle(dvec2(at(i), top), dvec2(at(i + 1), top + BAR), Some(BLACK), None);
    }
    drawing.rectangle(dvec2(0.0, top + BAR - EDGE), dvec2(long, top + BAR), Some(BLACK), None);
    drawing.text(Lettering::new(name, dvec2(long + 2.0, top + BAR - 0.2), SMALL + 0.4).bold());
}
