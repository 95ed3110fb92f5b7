//! Lines of text one below the other on the sheet, in pixels.

use std::sync::Arc;

use glam::{DVec2, UVec2, dvec2};
use image::RgbaImage;

use super::{SMALLEST, WIDE};
use formats::{
    drawing::{Drawing, Face, Lettering, Pen, fitted},
    model::Rgb,
};

/// From line to line, by the size of the letters.
const LEADING: f64 = 1.3;
/// Where the base line lies in a line, by the size of the letters.
const BASE: f64 = 1.0;

/// What is on the sheet so far, and where the next thing goes.
pub(super) struct Lines {
    pub drawing: Drawing,
    /// Where lines begin, and how wide they may be.
    left: f64,
    pub wide: f64,
    /// Where the next thing goes.
    pub y: f64,
    /// Colour of the letters.
    pub ink: Rgb,
}

impl Lines {
    pub fn new(at: DVec2, wide: f64, ink: Rgb) -> Self {
        Self { drawing: Drawing::new(), left: at.x, wide, y: at.y, ink }
    }

    /// Where lines begin.
    pub fn left(&self) -> f64 {
        self.left
    }

    /// Where lines end at most.
    pub fn right(&self) -> f64 {
        self.left + self.wide
    }

    pub fn gap(&mut self, high: f64) {
        self.y += high;
    }

    /// A text in at most so many lines.
    pub fn text(&mut self, text: &str, size: f64, face: Face, most: usize) {
        self.indented(text, (0.0, size), face, most);
    }

    fn indented(&mut self, text: &str, (indent, size): (f64, f64), face: Face, most: usize) {
        debug_assert!(size >= SMALLEST);
        for line in fitted(&drawable(text), self.wide - indent, size, face, most) {
            self.one(&line, dvec2(self.left + indent, self.y + BASE * size), size, face);
            self.y += LEADING * size;
        }
    }

    /// One line whose base line begins at `at`.
    fn one(&mut self, line: &str, at: DVec2, size: f64, face: Face) {
        let line = Lettering::new(line, at, size).ink(self.ink);
        self.drawing.text(if face == Face::Bold { line.bold() } else { line });
    }

    /// A text in bold in the first of these sizes that it fits into so many lines with; cut off where none does.
    pub fn largest(&mut self, text: &str, sizes: &[f64], most: usize) {
        let text = drawable(text);
        let fits = |size: &&f64| fitted(&text, self.wide, **size, Face::Bold, usize::MAX).len() <= most;
        if let Some(size) = sizes.iter().find(fits).or(sizes.last()) {
            self.text(&text, *size, Face::Bold, most);
        }
    }

    /// A picture, pixel for pixel.
    pub fn image(&mut self, image: &Arc<RgbaImage>) {
        let size = UVec2::from(image.dimensions()).as_dvec2();
        self.drawing.picture(image, dvec2(self.left, self.y.round()), size);
        self.y = self.y.round() + size.y;
    }

    pub fn heading(&mut self, text: &str, size: f64) {
        self.gap(0.75 * size);
        self.text(text, size, Face::Bold, 3);
        self.gap(0.15 * size);
    }

    /// A text behind a dash.
    pub fn item(&mut self, text: &str, size: f64) {
        self.one("–", dvec2(self.left, self.y + BASE * size), size, Face::Plain);
        self.indented(text, (size, size), Face::Plain, usize::MAX);
    }

    /// Texts about the middle of a column, one below the other from `top` on. Gives back where they end.
    pub fn caption(&mut self, texts: &[String], (middle, top): (f64, f64), room: f64, size: f64) -> f64 {
        let lines = texts.iter().flat_map(|text| fitted(&drawable(text), room, size, Face::Plain, 3));
        let mut y = top;
        for line in lines.collect::<Vec<_>>() {
            let line = Lettering::new(line, dvec2(middle, y + BASE * size), size);
            self.drawing.text(line.ink(self.ink).centred());
            y += LEADING * size;
        }
        y
    }

    /// A band across the whole sheet.
    pub fn band(&mut self, colour: Rgb, high: f64) {
        // On whole pixels, so that no seam is seen.
        self.y = self.y.round();
        let high = high.round();
        let to = dvec2(f64::from(WIDE), self.y + high);
        self.drawing.rectangle(dvec2(0.0, self.y), to, Some(colour), None);
        self.y += high;
    }

    /// What `write` writes, with letters of `ink` on a band across the whole sheet.
    pub fn on_band(&mut self, colour: Rgb, ink: Rgb, write: impl FnOnce(&mut Self)) {
        self.y = self.y.round();
        let (top, place) = (self.y, self.drawing.marks.len());
        let before = std::mem::replace(&mut self.ink, ink);
        write(self);
        self.ink = before;
        let written = self.drawing.marks.split_off(place);
        let high = self.y - top;
        self.y = top;
        self.band(colour, high);
        self.drawing.marks.extend(written);
    }

    /// A thin line across.
    pub fn rule(&mut self, colour: Rgb) {
        let from = dvec2(self.left, self.y);
        self.drawing.line(from, from + dvec2(self.wide, 0.0), Pen { ink: colour, ..Pen::black(2.0) });
    }
}

/// `text` on one line, in letters that the fonts have.
fn drawable(text: &str) -> String {
    Lettering::new(text, DVec2::ZERO, SMALLEST).text
}
