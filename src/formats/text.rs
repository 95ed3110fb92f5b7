//! A line of text → glyphs at their places, and their outlines: one layout for sheets, pictures and raised names.
//!
//! Letters are laid out by the OpenType shaping of the shipped fonts, kerning and ligatures included. Lengths are in
//! whatever unit the size is given in: millimetres on sheets and printed parts, pixels on pictures.

pub mod words;

use std::{ops::Range, sync::LazyLock};

use glam::{DVec2, dvec2};
use harfrust::{Feature, FontRef, ShapeOptions, ShaperData, UnicodeBuffer};
use kurbo::BezPath;
use skrifa::{
    GlyphId, MetadataProvider, OutlineGlyphCollection,
    instance::{LocationRef, Size},
    outline::{DrawSettings, OutlinePen},
};

/// A shipped typeface.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Hash)]
pub enum Face {
    /// For reading.
    #[default]
    Plain,
    /// For finding.
    Bold,
}

/// The fonts' files.
pub mod fonts {
    use super::Face;

    /// What the typefaces are called.
    pub const FAMILY: &str = "DejaVu Sans";

    /// The font file of `face`.
    pub fn file(face: Face) -> &'static [u8] {
        match face {
            Face::Plain => include_bytes!("../../assets/fonts/DejaVuSans.ttf"),
            Face::Bold => include_bytes!("../../assets/fonts/DejaVuSans-Bold.ttf"),
        }
    }
}

/// A font as it is read once.
struct Font<'a> {
    font: FontRef<'a>,
    shaper: ShaperData,
    outlines: OutlineGlyphCollection<'a>,
    units_per_em: f64,
}

impl Font<'static> {
    fn of(face: Face) -> &'static Self {
        static PLAIN: LazyLock<Font<'static>> = LazyLock::new(|| Font::shipped(Face::Plain));
        static BOLD: LazyLock<Font<'static>> = LazyLock::new(|| Font::shipped(Face::Bold));
        match face {
            Face::Plain => &PLAIN,
            Face::Bold => &BOLD,
        }
    }

    fn shipped(face: Face) -> Self {
        Self::read(fonts::file(face)).expect("the shipped font files are whole")
    }
}

impl<'a> Font<'a> {
    /// The font in a file, of a collection the first; `None` if it is none.
    fn read(file: &'a [u8]) -> Option<Self> {
        let font = FontRef::from_index(file, 0).ok()?;
        let units = font.metrics(Size::unscaled(), LocationRef::default()).units_per_em;
        (units > 0).then(|| Self {
            shaper: ShaperData::new(&font),
            outlines: font.outline_glyphs(),
            units_per_em: f64::from(units),
            font,
        })
    }

    /// The glyphs of `text`, lengths in the font's units times `scale`, and how far the base line runs.
    fn shaped(&self, text: &str, scale: f64, with_ligatures: bool) -> (Vec<Glyph>, f64) {
        let mut buffer = UnicodeBuffer::new();
        buffer.push_str(text);
        buffer.guess_segment_properties();
        let without: Vec<Feature> = ["-liga", "-clig"].iter().filter_map(|name| name.parse().ok()).collect();
        let features = if with_ligatures { &[] } else { without.as_slice() };
        let options = ShapeOptions::new().features(features);
        let shaped = self.shaper.shaper(&self.font).build().shape(buffer, options);
        let infos = shaped.glyph_infos();
        // Glyphs of one cluster stand for the same bytes; the next cluster begins where those end.
        let mut starts: Vec<usize> = infos.iter().map(|info| info.cluster as usize).collect();
        starts.sort_unstable();
        let bytes_of = |start: usize| {
            let next = starts.partition_point(|other| *other <= start);
            start..starts.get(next).copied().unwrap_or(text.len())
        };
        let mut along = 0.0;
        let glyphs = infos
            .iter()
            .zip(shaped.glyph_positions())
            .map(|(info, place)| {
                let offset = dvec2(f64::from(place.x_offset), f64::from(place.y_offset)) * scale;
                let (start, advance) = (along, f64::from(place.x_advance) * scale);
                along += advance;
                Glyph { id: info.glyph_id, start, offset, advance, bytes: bytes_of(info.cluster as usize) }
            })
            .collect();
        (glyphs, along)
    }

    /// Draws glyphs that were shaped with this `scale`, each at its place in the line.
    fn draw(&self, glyphs: &[Glyph], scale: f64, place: impl Fn(DVec2) -> DVec2, pen: &mut impl PathPen) {
        for glyph in glyphs {
            if let Some(outline) = self.outlines.get(GlyphId::new(glyph.id)) {
                // In the font's own units, whole numbers: scaled here, so that nothing is rounded to pixels.
                let settings = DrawSettings::unhinted(Size::unscaled(), LocationRef::default());
                let origin = dvec2(glyph.start, 0.0) + glyph.offset;
                let mut placed = Placing { pen, place: |p: DVec2| place(origin + p * scale) };
                // A glyph that cannot be drawn leaves its gap.
                let _ = outline.draw(settings, &mut placed);
            }
        }
    }
}

/// One glyph of a line.
#[derive(Debug, Clone, PartialEq)]
pub struct Glyph {
    /// Its number in the font; 0 is the box for what the font lacks.
    pub id: u32,
    /// Where it begins on the base line, from the line's start.
    pub start: f64,
    /// How far its origin lies off that place, y upwards.
    pub offset: DVec2,
    /// How far the base line goes on to the next.
    pub advance: f64,
    /// The bytes of the text that it stands for.
    pub bytes: Range<usize>,
}

/// A line of text, laid out from left to right.
#[derive(Debug, Clone, PartialEq)]
pub struct TextLine {
    face: Face,
    size: f64,
    glyphs: Vec<Glyph>,
    width: f64,
}

impl TextLine {
    /// `text` in `face`, `size` high: the height of the font; a capital is about 0.73 of it.
    pub fn new(text: &str, size: f64, face: Face) -> Self {
        let font = Font::of(face);
        let (glyphs, width) = font.shaped(text, size / font.units_per_em, true);
        Self { face, size, glyphs, width }
    }

    /// How far the base line runs.
    pub fn width(&self) -> f64 {
        self.width
    }

    /// Its glyphs from left to right.
    pub fn glyphs(&self) -> &[Glyph] {
        &self.glyphs
    }

    /// The outlines of all glyphs, to be filled by the non-zero rule. The base line begins at the origin; y runs
    /// upwards.
    pub fn outline(&self) -> BezPath {
        let mut pen = KurboPen(BezPath::new());
        self.draw(|p| p, &mut pen);
        pen.0
    }

    /// The outlines of all glyphs as a path for pixels, whose y runs downwards; the base line begins at `start`.
    /// `None` where there is nothing to fill, as in a space.
    pub fn pixel_path(&self, start: DVec2) -> Option<tiny_skia::Path> {
        let mut pen = PixelPen(tiny_skia::PathBuilder::new());
        self.draw(|p| start + dvec2(p.x, -p.y), &mut pen);
        pen.0.finish()
    }

    fn draw(&self, place: impl Fn(DVec2) -> DVec2, pen: &mut impl PathPen) {
        let font = Font::of(self.face);
        font.draw(&self.glyphs, self.size / font.units_per_em, place, pen);
    }
}

/// How wide `text` runs in a font `size` high.
pub fn width(text: &str, size: f64, face: Face) -> f64 {
    TextLine::new(text, size, face).width()
}

/// The letters of `text` that the shipped fonts cannot draw, in their order; marks that nobody sees are none.
///
/// ```
/// assert_eq!(formats::text::lacking("Ярмарка 蛋").collect::<String>(), "蛋");
/// ```
pub fn lacking(text: &str) -> impl Iterator<Item = char> {
    let drawn = |letter: char| [Face::Plain, Face::Bold].iter().all(|face| has_glyph(letter, *face));
    text.chars().filter(move |letter| !letter.is_whitespace() && !letter.is_control() && !drawn(*letter))
}

/// Whether the font has a glyph for `letter`.
pub fn has_glyph(letter: char, face: Face) -> bool {
    Font::of(face).font.charmap().map(letter).is_some()
}

/// What a path is drawn with.
trait PathPen {
    fn move_to(&mut self, p: DVec2);
    fn line_to(&mut self, p: DVec2);
    fn quad_to(&mut self, c: DVec2, p: DVec2);
    fn curve_to(&mut self, a: DVec2, b: DVec2, p: DVec2);
    fn close(&mut self);
}

/// Takes what a font draws to its place in the line.
struct Placing<'a, P, F> {
    pen: &'a mut P,
    place: F,
}

impl<P: PathPen, F: Fn(DVec2) -> DVec2> Placing<'_, P, F> {
    fn at(&self, x: f32, y: f32) -> DVec2 {
        (self.place)(dvec2(f64::from(x), f64::from(y)))
    }
}

impl<P: PathPen, F: Fn(DVec2) -> DVec2> OutlinePen for Placing<'_, P, F> {
    fn move_to(&mut self, x: f32, y: f32) {
        self.pen.move_to(self.at(x, y));
    }

    fn line_to(&mut self, x: f32, y: f32) {
        self.pen.line_to(self.at(x, y));
    }

    fn quad_to(&mut self, cx: f32, cy: f32, x: f32, y: f32) {
        self.pen.quad_to(self.at(cx, cy), self.at(x, y));
    }

    fn curve_to(&mut self, ax: f32, ay: f32, bx: f32, by: f32, x: f32, y: f32) {
        self.pen.curve_to(self.at(ax, ay), self.at(bx, by), self.at(x, y));
    }

    fn close(&mut self) {
        self.pen.close();
    }
}

struct KurboPen(BezPath);

fn point(p: DVec2) -> kurbo::Point {
    kurbo::Point::new(p.x, p.y)
}

impl PathPen for KurboPen {
    fn move_to(&mut self, p: DVec2) {
        self.0.move_to(point(p));
    }

    fn line_to(&mut self, p: DVec2) {
        self.0.line_to(point(p));
    }

    fn quad_to(&mut self, c: DVec2, p: DVec2) {
        self.0.quad_to(point(c), point(p));
    }

    fn curve_to(&mut self, a: DVec2, b: DVec2, p: DVec2) {
        self.0.curve_to(point(a), point(b), point(p));
    }

    fn close(&mut self) {
        self.0.close_path();
    }
}

struct PixelPen(tiny_skia::PathBuilder);

impl PathPen for PixelPen {
    fn move_to(&mut self, p: DVec2) {
        self.0.move_to(p.x as f32, p.y as f32);
    }

    fn line_to(&mut self, p: DVec2) {
        self.0.line_to(p.x as f32, p.y as f32);
    }

    fn quad_to(&mut self, c: DVec2, p: DVec2) {
        self.0.quad_to(c.x as f32, c.y as f32, p.x as f32, p.y as f32);
    }

    fn curve_to(&mut self, a: DVec2, b: DVec2, p: DVec2) {
        self.0.cubic_to(a.x as f32, a.y as f32, b.x as f32, b.y as f32, p.x as f32, p.y as f32);
    }

    fn close(&mut self) {
        self.0.close();
    }
}

#[cfg(test)]
mod tests {
    use kurbo::Shape as _;

    use super::*;

    /// Advance widths as the font's own table has them: "M" is 1767 of 2048 units in the plain face.
    #[test]
    fn text_is_as_wide_as_the_font_says() {
        assert!((width("M", 2048.0, Face::Plain) - 1767.0).abs() < 1e-9);
        assert!(width("M", 10.0, Face::Bold) > width("M", 10.0, Face::Plain));
        // The font's kerning pulls these two together.
        let (pair, alone) = (width("AV", 2048.0, Face::Plain), width("A", 2048.0, Face::Plain) * 2.0);
        assert!(pair < alone - 50.0, "{pair} {alone}");
    }

    #[test]
    fn outlines_stand_on_the_base_line_where_their_glyphs_do() {
        let line = TextLine::new("HH", 2048.0, Face::Bold);
        // Capitals are 1493 of 2048 units high (the bounds of its H in the font's glyf table).
        let all = line.outline().bounding_box();
        assert_eq!((all.y0, all.y1), (0.0, 1493.0));
        let one = TextLine::new("H", 2048.0, Face::Bold).outline().bounding_box();
        assert!((all.x1 - (one.x1 + line.glyphs()[1].start)).abs() < 1e-9);
        let path = line.pixel_path(dvec2(10.0, 3000.0)).unwrap().bounds();
        assert_eq!((path.top(), path.bottom()), (1507.0, 3000.0));
        assert!((f64::from(path.left()) - 10.0 - all.x0).abs() < 1e-3);
        assert!(TextLine::new(" ", 10.0, Face::Plain).pixel_path(DVec2::ZERO).is_none());
    }

    #[test]
    fn every_byte_of_a_text_belongs_to_a_glyph() {
        for text in ["Böden", "fi ½ ⌀", "é", ""] {
            let line = TextLine::new(text, 10.0, Face::Plain);
            let mut at = 0;
            for glyph in line.glyphs() {
                assert_eq!(glyph.bytes.start, at, "{text}");
                at = glyph.bytes.end;
            }
            assert_eq!(at, text.len(), "{text}");
        }
        assert!(has_glyph('½', Face::Bold) && !has_glyph('\u{10ffff}', Face::Plain));
    }
}
