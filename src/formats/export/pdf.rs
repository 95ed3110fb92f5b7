//! Pages → PDF: lines as vectors, text as text in embedded fonts, 72 points to the inch.
//!
//! No date, no random names: the same pages give the same bytes.

use glam::DVec2;
use krilla::{
    Document,
    color::rgb,
    geom::{Path, PathBuilder, Point, Rect, Size, Transform},
    image::Image,
    metadata::Metadata,
    num::NormalizedF32,
    page::PageSettings,
    paint::{Fill, FillRule, LineJoin, Stroke, StrokeDash},
    surface::Surface,
    text::{Font, GlyphId, KrillaGlyph},
};

use crate::{
    drawing::{Drawing, Face, Lettering, Mark, Page, Pen, PlacedDrawing, fonts},
    escape,
    model::Rgb,
    text::{Glyph, TextLine},
};
use geom::units::MM_PER_INCH;

/// Points of a PDF in a millimetre (ISO 32000-1, 8.3.2.3: 1/72 in).
const POINTS_PER_MM: f64 = 72.0 / MM_PER_INCH;

/// A PDF could not be made.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum PdfError {
    /// A sheet has no size.
    #[error("a sheet of {width} × {height} mm cannot be printed")]
    Sheet {
        /// Its width, mm.
        width: String,
        /// Its height, mm.
        height: String,
    },
    /// The writer refused.
    #[error("the PDF could not be written: {0}")]
    Writer(String),
}

/// The PDF of `pages`, called `title`.
///
/// # Errors
/// When a page has no size, or the pages are more than a PDF holds.
pub fn pdf(title: &str, pages: &[Page]) -> Result<Vec<u8>, PdfError> {
    let font = |face| Font::new(fonts::file(face).into(), 0).expect("the shipped font files are whole");
    let writer = Writer { plain: font(Face::Plain), bold: font(Face::Bold) };
    let mut document = Document::new();
    document.set_metadata(
        Metadata::new().title(escape::line(title).into()).creator("Crumbline".into()).language("en".into()),
    );
    for page in pages {
        let (width, height) = ((page.size.x * POINTS_PER_MM) as f32, (page.size.y * POINTS_PER_MM) as f32);
        let settings = PageSettings::from_wh(width, height).ok_or_else(|| PdfError::Sheet {
            width: page.size.x.to_string(),
            height: page.size.y.to_string(),
        })?;
        let mut sheet = document.start_page_with(settings);
        let mut surface = sheet.surface();
        let scale = POINTS_PER_MM as f32;
        surface.push_transform(&Transform::from_scale(scale, scale));
        page.placed.iter().for_each(|placed| writer.placed(&mut surface, placed));
        surface.pop();
        surface.finish();
        sheet.finish();
    }
    document.finish().map_err(|error| PdfError::Writer(error.to_string()))
}

struct Writer {
    plain: Font,
    bold: Font,
}

impl Writer {
    fn placed(&self, surface: &mut Surface<'_>, placed: &PlacedDrawing) {
        if let Some((lo, hi)) = placed.frame {
            let mut outline = PathBuilder::new();
            let Some(rect) = Rect::from_ltrb(lo.x as f32, lo.y as f32, hi.x as f32, hi.y as f32) else {
                return;
            };
            outline.push_rect(rect);
            let Some(outline) = outline.finish() else { return };
            surface.push_clip_path(&outline, &FillRule::NonZero);
        }
        self.drawing(surface, &placed.drawing, placed.at);
        if placed.frame.is_some() {
            surface.pop();
        }
    }

    /// Moved before it is rounded to `f32`: patterns may lie far from their own origin.
    fn drawing(&self, surface: &mut Surface<'_>, drawing: &Drawing, by: DVec2) {
        for mark in &drawing.marks {
            match mark {
                Mark::Path { contours, closed, fill, pen } => {
                    let Some(path) = path(contours, *closed, by) else { continue };
                    surface.set_fill(fill.map(filled));
                    surface.set_stroke(pen.map(stroked));
                    if fill.is_some() || pen.is_some() {
                        surface.draw_path(&path);
                    }
                }
                Mark::Text(lettering) => self.text(surface, lettering, by),
                Mark::Picture { image, corner, size } => {
                    let at = (*corner + by).as_vec2();
                    let Some(size) = Size::from_wh(size.x as f32, size.y as f32) else { continue };
                    let pixels = Image::from_rgba8(image.as_raw().clone(), image.width(), image.height());
                    surface.push_transform(&Transform::from_translate(at.x, at.y));
                    surface.draw_image(pixels, size);
                    surface.pop();
                }
            }
        }
    }

    fn text(&self, surface: &mut Surface<'_>, lettering: &Lettering, by: DVec2) {
        let font = match lettering.face {
            Face::Plain => self.plain.clone(),
            Face::Bold => self.bold.clone(),
        };
        let start = lettering.start() + by;
        surface.set_stroke(None);
        surface.set_fill(Some(filled(lettering.ink)));
        let at = Point::from_xy(start.x as f32, start.y as f32);
        let about = lettering.at + by;
        if lettering.turn != 0.0 {
            let turn = Transform::from_rotate_at(lettering.turn as f32, about.x as f32, about.y as f32);
            surface.push_transform(&turn);
        }
        let line = TextLine::new(&lettering.text, lettering.size, lettering.face);
        let glyphs: Vec<KrillaGlyph> =
            line.glyphs().iter().map(|glyph| pdf_glyph(glyph, lettering.size)).collect();
        surface.draw_glyphs(at, &glyphs, font, &lettering.text, lettering.size as f32, false);
        if lettering.turn != 0.0 {
            surface.pop();
        }
    }
}

/// A glyph of a line `size` high; a PDF measures it by that size.
fn pdf_glyph(glyph: &Glyph, size: f64) -> KrillaGlyph {
    let share = |length: f64| (length / size) as f32;
    let (x, y) = (share(glyph.offset.x), share(glyph.offset.y));
    KrillaGlyph::new(GlyphId::new(glyph.id), share(glyph.advance), x, y, 0.0, glyph.bytes.clone(), None)
}

fn colour(ink: Rgb) -> rgb::Color {
    rgb::Color::new(ink.0, ink.1, ink.2)
}

fn filled(ink: Rgb) -> Fill {
    Fill { paint: colour(ink).into(), opacity: NormalizedF32::ONE, rule: FillRule::NonZero }
}

fn stroked(pen: Pen) -> Stroke {
    let pattern = pen.dash.pattern();
    let dash = StrokeDash { array: pattern.iter().map(|&length| length as f32).collect(), offset: 0.0 };
    Stroke {
        paint: colour(pen.ink).into(),
        width: pen.width as f32,
        line_join: LineJoin::Round,
        dash: (!pattern.is_empty()).then_some(dash),
        ..Stroke::default()
    }
}

fn path(contours: &[Vec<DVec2>], closed: bool, by: DVec2) -> Option<Path> {
    let mut path = PathBuilder::new();
    for contour in contours.iter().filter(|contour| contour.len() > 1) {
        let mut points = contour.iter().map(|&p| (p + by).as_vec2());
        let Some(first) = points.next() else { continue };
        path.move_to(first.x, first.y);
        points.for_each(|p| path.line_to(p.x, p.y));
        if closed {
            path.close();
        }
    }
    path.finish()
}
