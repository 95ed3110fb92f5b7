//! Words as outlines to cut, press in or lay on, of letters as high as is asked.

use std::collections::BTreeMap;

use glam::dvec2;
use kurbo::{Affine, BezPath, Shape};
use skrifa::{
    MetadataProvider,
    instance::{LocationRef, Size},
};
use thiserror::Error;

use super::{Face, Font, KurboPen};

/// Whose letters.
#[derive(Debug, Clone, Copy)]
pub enum Typeface<'a> {
    /// Those of a shipped typeface.
    Shipped(Face),
    /// Those of a font file: OpenType or TrueType; of a collection its first.
    File(&'a [u8]),
}

/// Words to be made outlines.
#[derive(Debug, Clone, Copy)]
pub struct Words<'a> {
    /// What is written, its lines parted by line feeds.
    pub words: &'a str,
    /// Height of a capital letter.
    pub capital: f64,
    /// What is put between two letters besides what the font has there.
    pub spacing: f64,
    /// Whose letters.
    pub typeface: Typeface<'a>,
}

/// Words of more letters than this are no inscription.
const MOST_LETTERS: usize = 200;

/// Letters of more lines and curves than this, all together, are not drawn: each is cut into every solid that they are
/// on. Those of the shipped font have about thirty each.
const MOST_PIECES: usize = 20_000;

/// Why words cannot be made outlines.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum WordsError {
    /// Nothing is written, or blanks alone.
    #[error("nothing is written")]
    Blank,
    /// More letters than an inscription has.
    #[error("{0} letters are more than can be cut ({MOST_LETTERS})")]
    TooLong(usize),
    /// The font lacks these letters.
    #[error("the font has no letters for {0}")]
    Lacking(String),
    /// The file is no font that can be read.
    #[error("it is not a font that can be read")]
    NotAFont,
    /// The font holds pictures of letters, and no outlines.
    #[error("the font has no outlines of its letters")]
    NoOutlines,
    /// The letters have more corners than can be cut.
    #[error("its letters have more lines and curves than can be cut ({MOST_PIECES})")]
    TooFine,
}

impl WordsError {
    /// Whether it is the font's fault, not that of the words.
    pub fn is_of_font(&self) -> bool {
        matches!(self, Self::NotAFont | Self::NoOutlines | Self::TooFine)
    }

    /// What to do about it.
    pub fn fix(&self) -> &'static str {
        match self {
            Self::Blank => "write what the letters are to say: words = \"...\"",
            Self::TooLong(_) => "write less, or make it several details",
            Self::Lacking(_) => {
                "take them out, or name the file of a font that has them beside the cake file: font = \"letters.ttf\""
            }
            Self::NotAFont => {
                "name an OpenType or TrueType font (.ttf, .otf); a web font (.woff) has to be made one first"
            }
            Self::NoOutlines => "take a font that can be drawn in any size",
            Self::TooFine => "take a font with plainer letters, or write less",
        }
    }
}

impl Words<'_> {
    /// The outlines of all letters, to be filled by the non-zero rule; y runs upwards. The middle of what is inked of
    /// every line, and half way between the upper edge of the first line's capitals and the base of the last line, lie at
    /// the origin.
    ///
    /// # Errors
    /// When there is nothing to draw, too much, or no letters to draw it with.
    pub fn outline(&self) -> Result<BezPath, WordsError> {
        let words = self.words.trim_matches(['\n', '\r']);
        if words.chars().all(|letter| !is_seen(letter)) {
            return Err(WordsError::Blank);
        }
        let letters = words.chars().filter(|letter| is_seen(*letter)).count();
        if letters > MOST_LETTERS {
            return Err(WordsError::TooLong(letters));
        }
        let own;
        let font: &Font<'_> = match self.typeface {
            Typeface::Shipped(face) => Font::of(face),
            Typeface::File(bytes) => {
                own = Font::read(bytes).ok_or(WordsError::NotAFont)?;
                &own
            }
        };
        if font.outlines.format().is_none() {
            return Err(WordsError::NoOutlines);
        }
        let (capital, pitch) = heights(font);
        let scale = self.capital / capital;
        let mut all = BezPath::new();
        let mut lacking = String::new();
        let lines: Vec<&str> = words.split('\n').map(|line| line.trim_end_matches('\r')).collect();
        let last = lines.len() as f64 - 1.0;
        for (i, line) in lines.iter().enumerate() {
            let path = self.line(font, line, scale, &mut lacking);
            if all.elements().len() + path.elements().len() > MOST_PIECES {
                return Err(WordsError::TooFine);
            }
            let middle = path.bounding_box().center().x;
            let base = (last / 2.0 - i as f64) * pitch * scale - self.capital / 2.0;
            all.extend(Affine::translate((-middle, base)) * path);
        }
        if !lacking.is_empty() {
            return Err(WordsError::Lacking(listed(&lacking)));
        }
        // A font may say anything of itself; what it says must make letters.
        let size = all.bounding_box().size();
        let most = 20.0 * self.capital * (letters + 1) as f64;
        if !(size.width + size.height).is_finite() || size.width.max(size.height) > most {
            return Err(WordsError::NotAFont);
        }
        Ok(all)
    }

    /// One line from the origin to the right. Letters that the font cannot draw are added to `lacking`.
    fn line(&self, font: &Font<'_>, line: &str, scale: f64, lacking: &mut String) -> BezPath {
        let (mut glyphs, _) = font.shaped(line, scale, self.spacing == 0.0);
        let mut wider = 0.0;
        for i in 1..glyphs.len() {
            // Marks belong to the letter before them.
            if glyphs[i].bytes != glyphs[i - 1].bytes {
                wider += self.spacing;
            }
            glyphs[i].start += wider;
        }
        let mut path = BezPath::new();
        // Whether anything is drawn of the letters that begin at this byte, and where they end.
        let mut inked: BTreeMap<usize, (usize, bool)> = BTreeMap::new();
        for glyph in &glyphs {
            let mut pen = KurboPen(BezPath::new());
            font.draw(std::slice::from_ref(glyph), scale, |p| dvec2(p.x, p.y), &mut pen);
            let is_drawn = glyph.id != 0 && !pen.0.elements().is_empty();
            inked.entry(glyph.bytes.start).or_insert((glyph.bytes.end, false)).1 |= is_drawn;
            // The box for what a font lacks makes the letter one that it lacks, whatever else is drawn of it.
            if glyph.id == 0 {
                lacking.push_str(&line[glyph.bytes.clone()]);
            }
            path.extend(pen.0);
        }
        for (start, (end, is_drawn)) in inked {
            if !is_drawn {
                lacking.extend(line[start..end].chars().filter(|letter| is_seen(*letter)));
            }
        }
        path
    }
}

/// The height of a capital and how far lines lie below each other, in the font's own units.
fn heights(font: &Font<'_>) -> (f64, f64) {
    /// Capitals of a font that has none and says nothing of them, as a share of its height: common practice, no source.
    const USUAL_CAPITAL: f64 = 0.7;
    /// How far lines lie below each other where a font says nothing sensible, in heights of a capital: as above.
    const USUAL_PITCH: f64 = 1.7;
    let em = font.units_per_em;
    let metrics = font.font.metrics(Size::unscaled(), LocationRef::default());
    let is_height = |height: &f64| (0.1 * em..2.0 * em).contains(height);
    let measured = || {
        let (glyphs, _) = font.shaped("H", 1.0, true);
        let mut pen = KurboPen(BezPath::new());
        font.draw(&glyphs, 1.0, |p| p, &mut pen);
        glyphs.iter().all(|glyph| glyph.id != 0).then(|| pen.0.bounding_box().y1)
    };
    let told = metrics.cap_height.map(f64::from).filter(is_height);
    let capital = told.or_else(|| measured().filter(is_height)).unwrap_or(USUAL_CAPITAL * em);
    let pitch = f64::from(metrics.ascent) - f64::from(metrics.descent) + f64::from(metrics.leading);
    let is_pitch = (capital..4.0 * capital).contains(&pitch);
    (capital, if is_pitch { pitch } else { USUAL_PITCH * capital })
}

/// Whether a letter is to be seen: no blank, and none of the marks that only steer how others are drawn.
fn is_seen(letter: char) -> bool {
    let only_steers = matches!(letter,
        '\u{ad}' | '\u{34f}' | '\u{61c}' | '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2060}'..='\u{206f}'
        | '\u{fe00}'..='\u{fe0f}' | '\u{feff}' | '\u{e0100}'..='\u{e01ef}');
    !letter.is_whitespace() && !only_steers
}

/// Letters once each, in their order, those that cannot be printed by their number.
fn listed(letters: &str) -> String {
    /// Letters shown at most; the rest is counted.
    const SHOWN: usize = 12;
    let mut once: Vec<char> = Vec::new();
    for letter in letters.chars() {
        if !once.contains(&letter) {
            once.push(letter);
        }
    }
    let written = |letter: &char| {
        if letter.is_control() { format!("U+{:04X}", u32::from(*letter)) } else { letter.to_string() }
    };
    let shown: Vec<String> = once.iter().take(SHOWN).map(written).collect();
    let more = once.len().saturating_sub(SHOWN);
    if more == 0 { shown.join(" ") } else { format!("{} and {more} more", shown.join(" ")) }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shipped(words: &str, capital: f64, spacing: f64) -> Result<BezPath, WordsError> {
        Words { words, capital, spacing, typeface: Typeface::Shipped(Face::Plain) }.outline()
    }

    #[test]
    fn capitals_are_as_high_as_asked_and_stand_about_the_middle() {
        let bounds = shipped("H", 30.0, 0.0).unwrap().bounding_box();
        assert!((bounds.y0 + 15.0).abs() < 1e-9 && (bounds.y1 - 15.0).abs() < 1e-9, "{bounds:?}");
        assert!((bounds.x0 + bounds.x1).abs() < 1e-9);
    }

    #[test]
    fn lines_lie_below_each_other_about_the_same_middle() {
        let both = shipped("H\nHHH", 10.0, 0.0).unwrap();
        let bounds = both.bounding_box();
        // The font's lines lie 1901 + 483 of 2048 units below each other (its hhea table), capitals are 1493 high.
        let pitch = 10.0 * 2384.0 / 1493.0;
        assert!((bounds.y1 - (10.0 + pitch) / 2.0).abs() < 1e-9, "{bounds:?}");
        assert!((bounds.y0 + bounds.y1).abs() < 1e-9 && (bounds.x0 + bounds.x1).abs() < 1e-9);
        let one = shipped("H", 10.0, 0.0).unwrap().bounding_box().width();
        let first =
            BezPath::from_vec(both.elements()[..shipped("H", 10.0, 0.0).unwrap().elements().len()].to_vec());
        assert!((first.bounding_box().center().x).abs() < 1e-9);
        assert!((first.bounding_box().width() - one).abs() < 1e-9);
        // A line feed at the end, as a text over several lines has it, is no line.
        assert_eq!(shipped("H\n", 10.0, 0.0), shipped("H", 10.0, 0.0));
    }

    #[test]
    fn spacing_goes_between_letters_and_parts_no_mark_from_its_letter() {
        let wide = |words, spacing| shipped(words, 10.0, spacing).unwrap().bounding_box().width();
        assert!((wide("HHH", 2.0) - wide("HHH", 0.0) - 4.0).abs() < 1e-9);
        assert!((wide("e\u{301}", 2.0) - wide("e\u{301}", 0.0)).abs() < 1e-9);
        assert!((wide("H", 2.0) - wide("H", 0.0)).abs() < 1e-9);
    }

    #[test]
    fn what_cannot_be_drawn_is_told() {
        assert_eq!(shipped(" \n ", 10.0, 0.0), Err(WordsError::Blank));
        assert_eq!(shipped("", 10.0, 0.0), Err(WordsError::Blank));
        assert_eq!(shipped("a蛋b蛋糕", 10.0, 0.0), Err(WordsError::Lacking("蛋 糕".into())));
        assert_eq!(shipped(&"x".repeat(201), 10.0, 0.0), Err(WordsError::TooLong(201)));
        let file = |bytes: &[u8]| {
            Words { words: "H", capital: 10.0, spacing: 0.0, typeface: Typeface::File(bytes) }.outline()
        };
        assert_eq!(file(b"no font"), Err(WordsError::NotAFont));
        let whole = super::super::fonts::file(Face::Bold);
        assert_eq!(file(whole).unwrap().bounding_box().height(), 10.0);
        // Cut off anywhere it is no font, or one without letters; never a fault.
        for part in [4, 12, 200, 5_000, 100_000, 400_000] {
            assert!(file(&whole[..part]).is_err(), "{part}");
        }
    }
}
