//! Photographs of drawn templates: an outline of known size, printed on paper and taken with a tilted, blurred, noisy
//! camera.

// The tests of each member use their part of it.
#![allow(dead_code)]

use glam::{DVec2, dvec2};
use image::{DynamicImage, GrayImage};

/// How a template is photographed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Camera {
    /// Pixels in a millimetre.
    pub per_mm: f64,
    /// How far the picture is turned counter-clockwise, degrees.
    pub tilt: f64,
    /// Standard deviation of the blur, pixels.
    pub blur: f64,
    /// Greatest noise of a pixel, in grey levels of 255.
    pub noise: f64,
    /// How much darker the paper is at the right end than at the left one, in grey levels.
    pub shade: f64,
    /// How many specks of dust lie on the paper.
    pub speckles: u32,
    /// Whether a ruler of [`RULER`] mm lies below the template.
    pub ruler: bool,
    /// Where the noise and the specks begin.
    pub seed: u64,
}

impl Camera {
    /// No tilt, soft edges, nothing else.
    pub fn still(per_mm: f64) -> Self {
        Self { per_mm, tilt: 0.0, blur: 0.6, noise: 0.0, shade: 0.0, speckles: 0, ruler: false, seed: 1 }
    }

    /// A telephone held by hand.
    pub fn by_hand(per_mm: f64, tilt: f64) -> Self {
        Self {
            tilt,
            blur: 1.2,
            noise: 14.0,
            shade: 40.0,
            speckles: 30,
            ruler: true,
            seed: 7,
            ..Self::still(per_mm)
        }
    }
}

/// Length of the ruler, mm.
pub const RULER: f64 = 100.0;
/// Paper round the template, mm.
const MARGIN: f64 = 25.0;
const PAPER: f64 = 225.0;
const INK: f64 = 40.0;

/// A photograph, and where the ends of its ruler are, [right, down] in pixels.
#[derive(Debug, Clone)]
pub struct Photograph {
    pub image: DynamicImage,
    pub ruler: [DVec2; 2],
}

/// The photograph of a template whose closed `outlines` (mm, right and up) are filled by the even-odd rule.
pub fn photographed(outlines: &[Vec<DVec2>], camera: &Camera) -> Photograph {
    let all = outlines.iter().flatten();
    let (lo, hi) = all.fold((DVec2::INFINITY, DVec2::NEG_INFINITY), |(lo, hi), p| (lo.min(*p), hi.max(*p)));
    let middle = (lo + hi) / 2.0;
    let turn = DVec2::from_angle(camera.tilt.to_radians());
    let room = (hi - lo) / 2.0 + MARGIN;
    let size = ((room + (room.length() * turn.y.abs()) + dvec2(0.0, 12.0)) * 2.0 * camera.per_mm).ceil();
    let (width, height) = (size.x as usize, size.y as usize);
    let place = |p: DVec2| {
        let turned = turn.rotate(p - middle) * camera.per_mm;
        dvec2(size.x / 2.0 + turned.x, size.y / 2.0 - turned.y)
    };
    let mut shapes: Vec<Vec<DVec2>> =
        outlines.iter().map(|outline| outline.iter().map(|p| place(*p)).collect()).collect();
    let ends = [-RULER / 2.0, RULER / 2.0].map(|x| dvec2(middle.x + x, lo.y - 14.0));
    if camera.ruler {
        let bar = [ends[0], ends[1], ends[1] - dvec2(0.0, 3.0), ends[0] - dvec2(0.0, 3.0)];
        shapes.push(bar.map(place).to_vec());
    }
    let mut random = Random(camera.seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1);
    let mut ink = coverage(&shapes, width, height);
    for _ in 0..camera.speckles {
        let (x, y) = (random.unit() * (width - 3) as f64, random.unit() * (height - 3) as f64);
        for (dx, dy) in [(0, 0), (1, 0), (0, 1), (1, 1)] {
            let pixel = &mut ink[(y as usize + dy) * width + x as usize + dx];
            *pixel = 1.0 - *pixel;
        }
    }
    let ink = blurred(ink, width, height, camera.blur);
    let pixel = |(i, ink): (usize, f64)| {
        let paper = PAPER - camera.shade * (i % width) as f64 / width as f64;
        let noise = camera.noise * (random.unit() + random.unit() - 1.0);
        (paper + (INK - paper) * ink + noise).round().clamp(0.0, 255.0) as u8
    };
    let pixels: Vec<u8> = ink.into_iter().enumerate().map(pixel).collect();
    let image = GrayImage::from_raw(width as u32, height as u32, pixels).expect("as many pixels as it says");
    Photograph { image: image.into(), ruler: ends.map(place) }
}

/// A small generator of numbers (xorshift, Marsaglia 2003), the same on every run.
pub struct Random(pub u64);

impl Random {
    /// From 0 to 1.
    pub fn unit(&mut self) -> f64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 >> 11) as f64 / (1_u64 << 53) as f64
    }
}

/// How much of each pixel lies inside: exact along rows, in [`ROWS`] rows a pixel.
fn coverage(shapes: &[Vec<DVec2>], width: usize, height: usize) -> Vec<f64> {
    const ROWS: usize = 8;
    let mut ink = vec![0.0; width * height];
    let mut crossings = vec![Vec::new(); height * ROWS];
    for shape in shapes {
        for (i, &a) in shape.iter().enumerate() {
            let b = shape[(i + 1) % shape.len()];
            let (top, bottom) = if a.y < b.y { (a, b) } else { (b, a) };
            let row = |y: f64| (y * ROWS as f64 - 0.5).ceil().clamp(0.0, (height * ROWS) as f64) as usize;
            for (k, row) in crossings.iter_mut().enumerate().take(row(bottom.y)).skip(row(top.y)) {
                let y = (k as f64 + 0.5) / ROWS as f64;
                row.push(top.x + (bottom.x - top.x) * (y - top.y) / (bottom.y - top.y));
            }
        }
    }
    for (k, row) in crossings.iter_mut().enumerate() {
        row.sort_by(f64::total_cmp);
        let pixels = &mut ink[k / ROWS * width..(k / ROWS + 1) * width];
        for pair in row.chunks_exact(2) {
            let (from, to) = (pair[0].clamp(0.0, width as f64), pair[1].clamp(0.0, width as f64));
            for (x, pixel) in pixels.iter_mut().enumerate().take(to.ceil() as usize).skip(from as usize) {
                let x = x as f64;
                *pixel += ((to.min(x + 1.0) - from.max(x)).max(0.0)) / ROWS as f64;
            }
        }
    }
    ink
}

/// A Gaussian blur.
pub fn blurred(ink: Vec<f64>, width: usize, height: usize, sigma: f64) -> Vec<f64> {
    if sigma == 0.0 {
        return ink;
    }
    let reach = (3.0 * sigma).ceil() as isize;
    let weights: Vec<f64> = (-reach..=reach).map(|i| (-0.5 * (i as f64 / sigma).powi(2)).exp()).collect();
    let total: f64 = weights.iter().sum();
    let along = |ink: &[f64], step: usize, count: usize, at: usize, place: usize| -> f64 {
        let value = |(k, weight): (usize, &f64)| {
            let to = (place as isize + k as isize - reach).clamp(0, count as isize - 1);
            weight * ink[(at as isize + (to - place as isize) * step as isize) as usize]
        };
        weights.iter().enumerate().map(value).sum::<f64>() / total
    };
    let across: Vec<f64> = (0..ink.len()).map(|i| along(&ink, 1, width, i, i % width)).collect();
    (0..ink.len()).map(|i| along(&across, width, height, i, i / width)).collect()
}
