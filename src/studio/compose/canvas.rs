//! A picture to draw on: text, lines and areas, with soft edges.

use glam::dvec2;
use tiny_skia::{FillRule, IntSize, Paint, PathBuilder, Pixmap, Rect, Shader, Stroke, Transform};

use formats::{
    model::Rgb,
    text::{Face, TextLine},
};

/// Which point of a text lies at the given place; always its baseline in height.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Anchor {
    /// Its left end.
    Left,
    /// Its middle.
    Middle,
    /// Its right end.
    Right,
}

/// A picture being drawn on.
pub struct Canvas {
    pixmap: Pixmap,
}

impl Canvas {
    /// Starts on a picture; colours straight, not premultiplied.
    ///
    /// # Panics
    /// When the picture has no pixels; [`super::super::PictureOptions::check`] refuses such sizes.
    pub fn on(picture: &image::RgbaImage) -> Self {
        let mut pixels = picture.as_raw().clone();
        for p in pixels.as_chunks_mut::<4>().0 {
            let scale = |c: u8| ((u16::from(c) * u16::from(p[3]) + 127) / 255) as u8;
            *p = [scale(p[0]), scale(p[1]), scale(p[2]), p[3]];
        }
        let size = IntSize::from_wh(picture.width(), picture.height()).expect("a picture has pixels");
        Self { pixmap: Pixmap::from_vec(pixels, size).expect("four bytes for each pixel") }
    }

    /// Width, pixels.
    pub fn width(&self) -> f32 {
        self.pixmap.width() as f32
    }

    /// Height, pixels.
    pub fn height(&self) -> f32 {
        self.pixmap.height() as f32
    }

    /// The finished picture; colours straight, not premultiplied.
    pub fn finish(self) -> image::RgbaImage {
        let (width, height) = (self.pixmap.width(), self.pixmap.height());
        let straight = self.pixmap.pixels().iter().map(|p| p.demultiply());
        let bytes = straight.flat_map(|c| [c.red(), c.green(), c.blue(), c.alpha()]).collect();
        image::RgbaImage::from_raw(width, height, bytes).expect("four bytes for each pixel")
    }

    /// Fills a rectangle.
    pub fn area(&mut self, [x, y, width, height]: [f32; 4], colour: Rgb, opacity: f32) {
        if let Some(rect) = Rect::from_xywh(x, y, width, height) {
            self.pixmap.fill_rect(rect, &paint(colour, opacity), Transform::identity(), None);
        }
    }

    /// Fills a polygon.
    pub fn polygon(&mut self, points: &[(f32, f32)], colour: Rgb) {
        let mut path = PathBuilder::new();
        for (i, (x, y)) in points.iter().enumerate() {
            if i == 0 { path.move_to(*x, *y) } else { path.line_to(*x, *y) }
        }
        path.close();
        if let Some(path) = path.finish() {
            let paint = paint(colour, 1.0);
            self.pixmap.fill_path(&path, &paint, FillRule::Winding, Transform::identity(), None);
        }
    }

    /// Draws a line.
    pub fn line(&mut self, from: (f32, f32), to: (f32, f32), width: f32, colour: Rgb) {
        let mut path = PathBuilder::new();
        path.move_to(from.0, from.1);
        path.line_to(to.0, to.1);
        if let Some(path) = path.finish() {
            let stroke = Stroke { width, ..Stroke::default() };
            self.pixmap.stroke_path(&path, &paint(colour, 1.0), &stroke, Transform::identity(), None);
        }
    }

    /// The size of letters at which `text` is no wider than `room`, pixels: `size`, or less.
    pub fn fitting(&self, text: &str, size: f32, face: Face, room: f32) -> f32 {
        let width = TextLine::new(text, size.into(), face).width() as f32;
        if width > room { size * room / width } else { size }
    }

    /// Writes text in a font of this height, pixels, and returns its width.
    pub fn text(
        &mut self,
        (x, y): (f32, f32),
        size: f32,
        face: Face,
        anchor: Anchor,
        colour: Rgb,
        text: &str,
    ) -> f32 {
        let line = TextLine::new(text, size.into(), face);
        let width = line.width() as f32;
        let start = match anchor {
            Anchor::Left => x,
            Anchor::Middle => x - width / 2.0,
            Anchor::Right => x - width,
        };
        if let Some(path) = line.pixel_path(dvec2(start.into(), y.into())) {
            let paint = paint(colour, 1.0);
            self.pixmap.fill_path(&path, &paint, FillRule::Winding, Transform::identity(), None);
        }
        width
    }
}

fn paint(Rgb(r, g, b): Rgb, opacity: f32) -> Paint<'static> {
    let mut colour = tiny_skia::Color::from_rgba8(r, g, b, 255);
    colour.apply_opacity(opacity);
    Paint { shader: Shader::SolidColor(colour), anti_alias: true, ..Paint::default() }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn blank() -> image::RgbaImage {
        image::RgbaImage::from_pixel(200, 60, image::Rgba([255, 255, 255, 255]))
    }

    fn inked(picture: &image::RgbaImage) -> Vec<u32> {
        picture.enumerate_pixels().filter(|(_, _, p)| p.0[0] < 128).map(|(x, _, _)| x).collect()
    }

    #[test]
    fn text_lands_where_its_anchor_says() {
        for (anchor, at) in [(Anchor::Left, 10.0), (Anchor::Middle, 100.0), (Anchor::Right, 190.0)] {
            let mut canvas = Canvas::on(&blank());
            let width = canvas.text((at, 40.0), 24.0, Face::Bold, anchor, Rgb(0, 0, 0), "HHHH");
            let ink = inked(&canvas.finish());
            let middle = (ink.iter().min().unwrap() + ink.iter().max().unwrap()) as f32 / 2.0;
            let wanted = match anchor {
                Anchor::Left => at + width / 2.0,
                Anchor::Middle => at,
                Anchor::Right => at - width / 2.0,
            };
            assert!((middle - wanted).abs() < 2.0, "{anchor:?}: {middle} for {wanted}");
        }
    }

    #[test]
    fn a_transparent_picture_stays_transparent_where_nothing_is_drawn() {
        let mut canvas = Canvas::on(&image::RgbaImage::new(20, 20));
        canvas.area([5.0, 5.0, 10.0, 10.0], Rgb(10, 200, 30), 1.0);
        let picture = canvas.finish();
        assert_eq!(picture.get_pixel(1, 1).0[3], 0);
        assert_eq!(picture.get_pixel(10, 10).0, [10, 200, 30, 255]);
    }
}
