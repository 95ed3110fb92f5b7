//! A line of text at its place on paper, and how wide it runs.

use glam::{DVec2, dvec2};

use super::BLACK;
use crate::{
    escape,
    model::Rgb,
    text::{Face, TextLine, has_glyph, width},
};
use geom::real;

/// A line of text.
#[derive(Debug, Clone, PartialEq)]
pub struct Lettering {
    /// What it says.
    pub text: String,
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

/// `text` without what the font cannot draw: letters it lacks become a question mark.
fn drawable(text: &str, in_face: Face) -> String {
    let plain = |c: char| match c {
        c if c.is_whitespace() => ' ',
        c if has_glyph(c, in_face) => c,
        _ => '?',
    };
    escape::line(text).chars().map(plain).collect()
}

impl Lettering {
    /// Black text that begin at `at`.
    pub fn new(text: impl AsRef<str>, at: DVec2, size: f64) -> Self {
        let text = drawable(text.as_ref(), Face::Plain);
        Self { text, at, anchor: 0.0, size, face: Face::Plain, ink: BLACK, turn: 0.0 }
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
        width(&self.text, self.size, self.face)
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

/// `text` in lines no wider than `room` mm, broken between words; a word wider than that stands alone.
pub fn lines(text: &str, room: f64, size: f64, face: Face) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
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

/// `text` in at most `most` lines no wider than `room`: broken between words, a word wider than that between its letters. What
/// does not fit into the last line is cut off behind "…".
pub fn fitted(text: &str, room: f64, size: f64, face: Face, most: usize) -> Vec<String> {
    let fits = |line: &str| width(line, size, face) <= room;
    let mut broken: Vec<String> = Vec::new();
    for line in lines(text, room, size, face) {
        let mut rest = line.as_str();
        while !fits(rest) {
            let at = last_that_fits(rest, room, size, face);
            let (begin, end) = rest.split_at(at);
            if end.is_empty() {
                break;
            }
            broken.push(begin.to_owned());
            rest = end;
        }
        broken.push(rest.to_owned());
    }
    if broken.len() > most {
        broken.truncate(most);
        if let Some(last) = broken.last_mut() {
            while !last.is_empty() && !fits(&format!("{last}…")) {
                let at = letters(last, size, face).last().copied().unwrap_or(0);
                last.truncate(at);
            }
            last.truncate(last.trim_end().len());
            last.push('…');
        }
    }
    broken
}

/// Where the letters of `text` begin, with their accents and all that is drawn as one.
fn letters(text: &str, size: f64, face: Face) -> Vec<usize> {
    let mut starts: Vec<usize> =
        TextLine::new(text, size, face).glyphs().iter().map(|glyph| glyph.bytes.start).collect();
    starts.sort_unstable();
    starts.dedup();
    starts
}

/// How many bytes of `text` fit into `room`: one letter at least.
fn last_that_fits(text: &str, room: f64, size: f64, face: Face) -> usize {
    let mut ends = letters(text, size, face);
    ends.push(text.len());
    let fitting = ends.iter().skip(1).take_while(|end| width(&text[..**end], size, face) <= room).last();
    fitting.or(ends.get(1)).copied().unwrap_or(text.len())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_text_of_any_length_fits_its_lines() {
        let long = "Donaudampfschifffahrtsgesellschaftskapitänsmütze für Anna";
        let room = width("Donaudampfschiff", 10.0, Face::Bold);
        let all = fitted(long, room, 10.0, Face::Bold, 99);
        assert_eq!(all.concat().replace(' ', ""), long.replace(' ', ""));
        for most in 1..=all.len() {
            let some = fitted(long, room, 10.0, Face::Bold, most);
            assert_eq!(some.len(), most);
            assert!(some.iter().all(|line| width(line, 10.0, Face::Bold) <= room), "{some:?}");
            assert_eq!(some[most - 1].ends_with('…'), most < all.len());
        }
        // Accents stay with their letters, and what is narrower than a letter still holds one.
        let accents =
            fitted("e\u{301}e\u{301}e\u{301}", width("e", 10.0, Face::Plain) * 1.2, 10.0, Face::Plain, 9);
        assert!(accents.iter().all(|line| !line.starts_with('\u{301}')), "{accents:?}");
        assert_eq!(fitted("abc", 0.1, 10.0, Face::Plain, 9), ["a", "b", "c"]);
        assert!(fitted(" ", 10.0, 10.0, Face::Plain, 3).is_empty());
    }

    #[test]
    fn what_the_font_lacks_is_seen_to_be_missing() {
        assert_eq!(Lettering::new("Café\n\u{1F382}", DVec2::ZERO, 3.0).text, "Café ?");
    }

    #[test]
    fn words_are_broken_where_the_room_ends() {
        let broken = lines("one two three four", width("one two", 3.0, Face::Plain) + 0.1, 3.0, Face::Plain);
        assert_eq!(broken, ["one two", "three", "four"]);
    }
}
