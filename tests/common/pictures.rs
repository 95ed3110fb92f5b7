//! Pictures of known shapes, drawn pixel by pixel.

// The tests of each member use their part of it.
#![allow(dead_code)]

use std::io::Cursor;

use geom::trace::{Options, Scale};
use image::{DynamicImage, GrayImage, ImageFormat, Luma};

/// Dark ink on light paper, `width` × `height` pixels, where `inside` gives how far a point lies inside what is
/// drawn, in pixels: edges are as soft as a camera's.
pub fn drawn(width: u32, height: u32, inside: impl Fn(f64, f64) -> f64) -> DynamicImage {
    const PAPER: f64 = 235.0;
    const INK: f64 = 30.0;
    let shade = |x: u32, y: u32| {
        let share = (inside(f64::from(x) + 0.5, f64::from(y) + 0.5) + 0.5).clamp(0.0, 1.0);
        Luma([(PAPER + (INK - PAPER) * share).round() as u8])
    };
    GrayImage::from_fn(width, height, shade).into()
}

/// The bytes of a picture as PNG.
pub fn png(image: &DynamicImage) -> Vec<u8> {
    let mut bytes = Cursor::new(Vec::new());
    image.write_to(&mut bytes, ImageFormat::Png).expect("a picture can be written");
    bytes.into_inner()
}

/// One pixel is one millimetre, and nothing is turned.
pub fn to_scale() -> Options {
    let marks = Scale::Marks([glam::DVec2::ZERO, glam::dvec2(10.0, 0.0)], 10.0);
    Options { straighten: false, ..Options::new(marks) }
}
