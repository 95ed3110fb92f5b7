//! A page drawn over a picture → PNG.
//!
//! Letters are filled outlines of the shipped fonts; lines have soft edges.

use std::io::{self, Write};

use glam::DVec2;
use image::{
    DynamicImage, ExtendedColorType, ImageEncoder, RgbaImage,
    codecs::png::{CompressionType, FilterType, PngEncoder},
};
use tiny_skia::{
    FillRule, LineJoin, Paint, Path, PathBuilder, Pixmap, PixmapPaint, PremultipliedColorU8, Stroke,
    StrokeDash, Transform,
};

use crate::{
    drawing::{Mark, Page, Pen},
    model::Rgb,
    text::TextLine,
};

/// `page` at so many pixels a millimetre, white, with `picture` under what is drawn, its upper left corner in
/// that of the page. `None` where the page has no size.
pub fn drawn_over(picture: &RgbaImage, page: &Page, per_mm: f64) -> Option<RgbaImage> {
    let mut canvas = blank(page, per_mm)?;
    let under = premultiplied(picture)?;
    let plain = PixmapPaint::default();
    canvas.draw_pixmap(0, 0, under.as_ref(), &plain, Transform::identity(), None);
    Some(filled(canvas, page, per_mm))
}

/// `page` at so many pixels a millimetre, on white. `None` where the page has no size.
pub fn drawn(page: &Page, per_mm: f64) -> Option<RgbaImage> {
    blank(page, per_mm).map(|canvas| filled(canvas, page, per_mm))
}

fn blank(page: &Page, per_mm: f64) -> Option<Pixmap> {
    let size = (page.size * per_mm).ceil();
    let mut canvas = Pixmap::new(size.x as u32, size.y as u32)?;
    canvas.fill(tiny_skia::Color::WHITE);
    Some(canvas)
}

fn filled(mut canvas: Pixmap, page: &Page, per_mm: f64) -> RgbaImage {
    for placed in &page.placed {
        for mark in &placed.drawing.marks {
            draw(&mut canvas, mark, placed.at, per_mm);
        }
    }
    // White below: nothing is see-through, so that nothing was multiplied.
    let (width, height) = (canvas.width(), canvas.height());
    RgbaImage::from_raw(width, height, canvas.take()).expect("four bytes for each pixel")
}

/// Writes an image as PNG without its opacity.
///
/// # Errors
/// When `to` cannot be written to.
pub fn write(to: &mut dyn Write, image: &RgbaImage) -> io::Result<()> {
    let opaque = DynamicImage::ImageRgba8(image.clone()).to_rgb8();
    // A photograph's grain hardly gets smaller beyond this, and takes eight times as long.
    let encoder = PngEncoder::new_with_quality(to, CompressionType::Level(6), FilterType::Adaptive);
    let (width, height) = opaque.dimensions();
    encoder.write_image(opaque.as_raw(), width, height, ExtendedColorType::Rgb8).map_err(io::Error::other)
}

fn premultiplied(picture: &RgbaImage) -> Option<Pixmap> {
    let mut pixmap = Pixmap::new(picture.width(), picture.height())?;
    for (to, from) in pixmap.pixels_mut().iter_mut().zip(picture.pixels()) {
        let [r, g, b, a] = from.0;
        let scale = |c: u8| ((u16::from(c) * u16::from(a) + 127) / 255) as u8;
        *to = PremultipliedColorU8::from_rgba(scale(r), scale(g), scale(b), a)?;
    }
    Some(pixmap)
}

fn draw(canvas: &mut Pixmap, mark: &Mark, by: DVec2, per_mm: f64) {
    match mark {
        Mark::Path { contours, closed, fill, pen } => {
            let Some(path) = path(contours, *closed, by, per_mm) else { return };
            if let Some(fill) = fill {
                canvas.fill_path(&path, &paint(*fill), FillRule::Winding, Transform::identity(), None);
            }
            if let Some(pen) = pen {
                canvas.stroke_path(
                    &path,
                    &paint(pen.ink),
                    &stroke(*pen, per_mm),
                    Transform::identity(),
                    None,
                );
            }
        }
        Mark::Picture { image, corner, size } => {
            let Some(pixels) = premultiplied(image) else { return };
            let scale = *size * per_mm / DVec2::new(f64::from(image.width()), f64::from(image.height()));
            let at = ((*corner + by) * per_mm).as_vec2();
            let place = Transform::from_scale(scale.x as f32, scale.y as f32).post_translate(at.x, at.y);
            canvas.draw_pixmap(0, 0, pixels.as_ref(), &PixmapPaint::default(), place, None);
        }
        Mark::Text(lettering) => {
            let line = TextLine::new(&lettering.text, lettering.size * per_mm, lettering.face);
            if let Some(path) = line.pixel_path(lettering.start() * per_mm) {
                let about = ((lettering.at + by) * per_mm).as_vec2();
                let place = Transform::from_translate((by.x * per_mm) as f32, (by.y * per_mm) as f32)
                    .post_concat(Transform::from_rotate_at(lettering.turn as f32, about.x, about.y));
                canvas.fill_path(&path, &paint(lettering.ink), FillRule::Winding, place, None);
            }
        }
    }
}

fn paint(ink: Rgb) -> Paint<'static> {
    let mut paint = Paint { anti_alias: true, ..Paint::default() };
    paint.set_color_rgba8(ink.0, ink.1, ink.2, 255);
    paint
}

fn stroke(pen: Pen, per_mm: f64) -> Stroke {
    let pattern = pen.dash.pattern().iter().map(|length| (length * per_mm) as f32).collect();
    Stroke {
        width: (pen.width * per_mm) as f32,
        line_join: LineJoin::Round,
        dash: StrokeDash::new(pattern, 0.0),
        ..Stroke::default()
    }
}

fn path(contours: &[Vec<DVec2>], closed: bool, by: DVec2, per_mm: f64) -> Option<Path> {
    let mut path = PathBuilder::new();
    for contour in contours.iter().filter(|contour| contour.len() > 1) {
        let mut points = contour.iter().map(|&p| ((p + by) * per_mm).as_vec2());
        let Some(first) = points.next() else { continue };
        path.move_to(first.x, first.y);
        points.for_each(|p| path.line_to(p.x, p.y));
        if closed {
            path.close();
        }
    }
    path.finish()
}
