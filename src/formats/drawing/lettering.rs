//! Words: the fonts that are shipped, and how wide words run in them.

use std::sync::LazyLock;

use glam::{DVec2, dvec2};

use super::BLACK;
use crate::model::Rgb;
use geom::real;

/// A shipped typeface.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Hash)]
pub enum Face {
    /// For reading.
    #[default]
    Plain,
    /// For finding.
    Bold,
}

/// A line of words.
#[derive(Debug, Clone, PartialEq)]
pub struct Lettering {
    /// What it says.
    pub words: String,
    /// Where its base line begins, is in the middle or ends, see `anchor`.
    pub at: DVec2,
    /// Which part of it lies at `at`: 0 its beginning, 0.5 its middle, 1 its end.
    pub anchor: f64,
    /// Height of the font, mm; capitals are about 0.73 of it.
    pub size: f64,
    /// The typeface.
    pub face: Face,
    /// Colour.
    pub ink: Rgb,
    /// Degrees that it is turned about `at`, clockwise as one looks at the sheet.
    pub turn: f64,
}

/// The fonts' files.
pub mod fonts {
    use super::Face;

    /// What the typefaces are called.
    pub const FAMILY: &str = "DejaVu Sans";

    /// The font file of `face`.
    pub fn file(face: Face) -> &'static [u8] {
        match face {
            Face::Plain => include_bytes!("../../../assets/fonts/DejaVuSans.ttf"),
            Face::Bold => include_bytes!("../../../assets/fonts/DejaVuSans-Bold.ttf"),
        }
    }
}

fn face(face: Face) -> &'static rustybuzz::Face<'static> {
    static PLAIN: LazyLock<rustybuzz::Face<'static>> = LazyLock::new(|| read(Face::Plain));
    static BOLD: LazyLock<rustybuzz::Face<'static>> = LazyLock::new(|| read(Face::Bold));
    match face {
        Face::Plain => &PLAIN,
        Face::Bold => &BOLD,
    }
}

fn read(face: Face) -> rustybuzz::Face<'static> {
    rustybuzz::Face::from_slice(fonts::file(face), 0).expect("the shipped font files are whole")
}

/// How wide `words` run in a font `size` mm high, mm.
pub fn width(words: &str, size: f64, in_face: Face) -> f64 {
    let face = face(in_face);
    let mut buffer = rustybuzz::UnicodeBuffer::new();
    buffer.push_str(words);
    buffer.guess_segment_properties();
    let glyphs = rustybuzz::shape(face, &[], buffer);
    let units: i32 = glyphs.glyph_positions().iter().map(|glyph| glyph.x_advance).sum();
    f64::from(units) * size / f64::from(face.units_per_em())
}

/// `words` without what the font cannot draw: controls become spaces, letters it lacks a question mark.
fn drawable(words: &str, in_face: Face) -> String {
    let known = |c: char| face(in_face).glyph_index(c).is_some();
    let plain = |c: char| match c {
        c if c.is_control() || c.is_whitespace() => ' ',
        c if known(c) => c,
        _ => '?',
    };
    words.chars().map(plain).collect()
}

impl Lettering {
    /// Black words that begin at `at`.
    pub fn new(words: impl AsRef<str>, at: DVec2, size: f64) -> Self {
        let words = drawable(words.as_ref(), Face::Plain);
        Self { words, at, anchor: 0.0, size, face: Face::Plain, ink: BLACK, turn: 0.0 }
    }

    /// The same in bold.
    #[must_use]
    pub fn bold(self) -> Self {
        Self { face: Face::Bold, ..self }
    }

    /// The same about its middle.
    #[must_use]
    pub fn centred(self) -> Self {
        Self { anchor: 0.5, ..self }
    }

    /// The same ending at its place.
    #[must_use]
    pub fn ending(self) -> Self {
        Self { anchor: 1.0, ..self }
    }

    /// The same in another colour.
    #[must_use]
    pub fn ink(self, ink: Rgb) -> Self {
        Self { ink, ..self }
    }

    /// The same turned, clockwise, degrees; brought upright where it would stand on its head.
    #[must_use]
    pub fn turned(self, degrees: f64) -> Self {
        let turn = (degrees + 90.0).rem_euclid(180.0) - 90.0;
        Self { turn, ..self }
    }

    /// How wide it runs, mm.
    pub fn width(&self) -> f64 {
        width(&self.words, self.size, self.face)
    }

    /// Where its base line begins before it is turned.
    pub fn start(&self) -> DVec2 {
        if self.anchor == 0.0 { self.at } else { self.at - dvec2(self.anchor * self.width(), 0.0) }
    }

    /// Upper left and lower right corner.
    pub fn bounds(&self) -> (DVec2, DVec2) {
        /// How far letters of the shipped fonts rise over the base line and hang below it, by their size.
        const RISE: f64 = 0.78;
        const HANG: f64 = 0.24;
        let start = self.start();
        let (lo, hi) = (start - dvec2(0.0, RISE * self.size), start + dvec2(self.width(), HANG * self.size));
        if self.turn == 0.0 {
            return (lo, hi);
        }
        let turn = real::unit_vector(self.turn.to_radians());
        let corners =
            [lo, dvec2(hi.x, lo.y), hi, dvec2(lo.x, hi.y)].map(|p| self.at + turn.rotate(p - self.at));
        corners.iter().fold((corners[0], corners[0]), |(lo, hi), &p| (lo.min(p), hi.max(p)))
    }
}

/// `words` in lines no wider than `room` mm, broken between words; a word wider than that stands alone.
pub fn lines(words: &str, room: f64, size: f64, face: Face) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in words.split_whitespace() {
        match lines.last_mut() {
            Some(line) if width(&format!("{line} {word}"), size, face) <= room => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Advance widths as the font's own table has them: "M" is 1767 of 2048 units in the plain face.
    #[test]
    fn words_are_as_wide_as_the_font_says() {
        assert!((width("M", 2048.0, Face::Plain) - 1767.0).abs() < 1e-9);
        assert!(width("M", 10.0, Face::Bold) > width("M", 10.0, Face::Plain));
    }

    #[test]
    fn what_the_font_lacks_is_seen_to_be_missing() {
        assert_eq!(Lettering::new("Café\n\u{1F382}", DVec2::ZERO, 3.0).words, "Café ?");
    }

    #[test]
    fn words_are_broken_where_the_room_ends() {
        let broken = lines("one two three four", width("one two", 3.0, Face::Plain) + 0.1, 3.0, Face::Plain);
        assert_eq!(broken, ["one two", "three", "four"]);
    }
}
