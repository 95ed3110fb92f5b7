//! A grey level for each pixel, and the threshold that separates the outline from its background.

use glam::{DVec2, dvec2};
use image::{DynamicImage, GenericImageView};

use super::TraceError;

/// What separates the outline from its background.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SeparateBy {
    /// Dark on light or light on dark.
    Brightness,
    /// Opaque on transparent.
    Transparency,
    /// Distance of colour from that of the border.
    Colour,
}

/// How bright the background is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Background {
    /// The outline is darker.
    Light,
    /// The outline is lighter; also where it is separated by opacity or colour.
    Dark,
}

/// A grey level for each pixel, row by row from the top.
pub(super) struct GreyLevels {
    pub width: usize,
    pub height: usize,
    pub values: Vec<u16>,
    pub separated_by: SeparateBy,
}

/// The largest value.
pub(super) const WHITE: f64 = u16::MAX as f64;
/// Means of outline and background that differ by less are refused, of black to white.
const LEAST_CONTRAST: f64 = 0.04;

impl GreyLevels {
    /// The values of `image`; by opacity where nothing is asked for and its border is transparent.
    pub fn of(image: &DynamicImage, by: Option<SeparateBy>) -> Result<Self, TraceError> {
        let (width, height) = (image.width() as usize, image.height() as usize);
        let opacity = if image.color().has_alpha() && by.is_none_or(|by| by == SeparateBy::Transparency) {
            Some(opacity(image)).filter(|values| by.is_some() || is_cut_out(values, width))
        } else {
            None
        };
        let (values, separated_by) = match (by, opacity) {
            (None | Some(SeparateBy::Transparency), Some(opacity)) => (opacity, SeparateBy::Transparency),
            (Some(SeparateBy::Transparency), None) => return Err(TraceError::NotTransparent),
            (Some(SeparateBy::Colour), _) => (colour_distance(image), SeparateBy::Colour),
            (None | Some(SeparateBy::Brightness), _) => (brightness(image), SeparateBy::Brightness),
        };
        Ok(Self { width, height, values, separated_by })
    }

    /// Halfway between the means of the two classes that Otsu's method divides the values into ("A threshold
    /// selection method from gray-level histograms", IEEE Trans. Systems, Man and Cybernetics 9, 1979): those
    /// whose means lie furthest apart for their sizes. Of a soft edge between two even shades that is the
    /// middle, where the edge itself is. From 0 to [`WHITE`], and never a value that a pixel has.
    pub fn otsu(&self) -> Result<f64, TraceError> {
        Self::otsu_of(self.values.iter().copied())
    }

    /// The same of some values only.
    pub fn otsu_of(values: impl Iterator<Item = u16>) -> Result<f64, TraceError> {
        let mut histogram = vec![0_u32; usize::from(u16::MAX) + 1];
        let (mut count, mut first) = (0_u64, None);
        for value in values {
            histogram[usize::from(value)] += 1;
            count += 1;
            first.get_or_insert(value);
        }
        let total = count as f64;
        let sum: f64 = histogram.iter().enumerate().map(|(value, &n)| value as f64 * f64::from(n)).sum();
        let (mut below, mut sum_below) = (0.0, 0.0);
        let mut best = (0.0, 0.0, 0.0);
        for (value, &n) in histogram.iter().enumerate().filter(|(_, n)| **n > 0) {
            // Between the value before and this one.
            let above = total - below;
            if below > 0.0 {
                let difference = (sum - sum_below) / above - sum_below / below;
                let between = below * above * difference * difference;
                if between > best.0 {
                    best = (between, sum_below / below + difference / 2.0, difference);
                }
            }
            below += f64::from(n);
            sum_below += value as f64 * f64::from(n);
        }
        let (_, threshold, difference) = best;
        if difference == 0.0 {
            let colour = match first.map_or(0.0, |value| f64::from(value) / WHITE) {
                value if value < 0.1 => "black",
                value if value > 0.9 => "white",
                _ => "one colour",
            };
            return Err(TraceError::Blank { colour });
        }
        if difference < LEAST_CONTRAST * WHITE {
            return Err(TraceError::TooEven { percent: difference / WHITE * 100.0 });
        }
        Ok(threshold.floor() + 0.5)
    }

    /// The value at a point, [right, down] in pixels, between the middles of the four pixels round it. `None` where
    /// one of them is outside the picture.
    pub fn sample(&self, p: DVec2) -> Option<f64> {
        let q = p - 0.5;
        let corner = q.floor();
        let most = dvec2(self.width as f64, self.height as f64) - 2.0;
        if !(corner.cmpge(DVec2::ZERO).all() && corner.cmple(most).all()) {
            return None;
        }
        let (at, share) = (corner.y as usize * self.width + corner.x as usize, q - corner);
        let value = |at: usize| f64::from(self.values[at]);
        let row = |at: usize| value(at) + (value(at + 1) - value(at)) * share.x;
        let (upper, lower) = (row(at), row(at + self.width));
        Some(upper + (lower - upper) * share.y)
    }

    /// Whether edges are hard, from one pixel to the next, as where a picture has two colours only: most pairs of
    /// neighbours across the threshold differ by nearly all that the two sides differ by on the mean.
    pub fn has_hard_edges(&self, threshold: f64) -> bool {
        /// Part of the difference of the means, and part of the pairs.
        const NEARLY_ALL: f64 = 0.9;
        const MOST: f64 = 0.8;
        let (mut sums, mut counts) = ([0.0; 2], [0_u64; 2]);
        for &value in &self.values {
            let side = usize::from(f64::from(value) > threshold);
            sums[side] += f64::from(value);
            counts[side] += 1;
        }
        if counts.contains(&0) {
            return false;
        }
        let contrast = sums[1] / counts[1] as f64 - sums[0] / counts[0] as f64;
        let (mut pairs, mut hard) = (0_u64, 0_u64);
        for row in self.values.chunks_exact(self.width) {
            for pair in row.windows(2) {
                let [a, b] = [pair[0], pair[1]].map(f64::from);
                if (a > threshold) != (b > threshold) {
                    pairs += 1;
                    hard += u64::from((a - b).abs() >= NEARLY_ALL * contrast);
                }
            }
        }
        pairs > 0 && hard as f64 >= MOST * pairs as f64
    }

    /// What the background is, by the larger part of the border.
    pub fn background(&self, threshold: f64) -> Result<Background, TraceError> {
        /// The smaller part of the border may be up to this much of it.
        const CLEAR: f64 = 0.4;
        if self.separated_by != SeparateBy::Brightness {
            return Ok(Background::Dark);
        }
        let light = border(&self.values, self.width).filter(|value| f64::from(*value) > threshold).count();
        let all = border(&self.values, self.width).count();
        match light as f64 / all as f64 {
            part if part <= CLEAR => Ok(Background::Dark),
            part if part >= 1.0 - CLEAR => Ok(Background::Light),
            _ => Err(TraceError::BackgroundUnclear),
        }
    }
}

fn opacity(image: &DynamicImage) -> Vec<u16> {
    match image {
        DynamicImage::ImageRgba8(image) => image.pixels().map(|p| wide(p.0[3])).collect(),
        DynamicImage::ImageLumaA8(image) => image.pixels().map(|p| wide(p.0[1])).collect(),
        other => other.to_luma_alpha16().pixels().map(|p| p.0[1]).collect(),
    }
}

/// Whether most of the border is transparent and something inside is not.
fn is_cut_out(opacity: &[u16], width: usize) -> bool {
    const HALF: u16 = u16::MAX / 2;
    let clear = border(opacity, width).filter(|value| *value < HALF).count();
    2 * clear > border(opacity, width).count() && opacity.iter().any(|&value| value > HALF)
}

/// The values along the border; corners twice.
fn border(values: &[u16], width: usize) -> impl Iterator<Item = u16> {
    let last = values.len() - width;
    let level = values[..width].iter().chain(&values[last..]);
    let sides = values.chunks_exact(width).flat_map(move |row| [&row[0], &row[width - 1]]);
    level.chain(sides).copied()
}

/// Brightness as ITU-R BT.709 weighs red, green and blue. What is transparent counts as white paper.
fn brightness(image: &DynamicImage) -> Vec<u16> {
    match image {
        DynamicImage::ImageLuma8(image) => image.pixels().map(|p| wide(p.0[0])).collect(),
        DynamicImage::ImageLuma16(image) => image.pixels().map(|p| p.0[0]).collect(),
        DynamicImage::ImageRgb8(image) => image.pixels().map(|p| luma(p.0.map(u32::from)) as u16).collect(),
        other if other.color().has_alpha() => other
            .to_luma_alpha16()
            .pixels()
            .map(|p| {
                let [luma, alpha] = p.0.map(u32::from);
                let white = u32::from(u16::MAX);
                ((luma * alpha + white * (white - alpha)) / white) as u16
            })
            .collect(),
        other => other.to_luma16().pixels().map(|p| p.0[0]).collect(),
    }
}

/// Weights in 16 bits that add up to 257 × 255, so that white is white.
fn luma([red, green, blue]: [u32; 3]) -> u32 {
    const WEIGHTS: [u32; 3] = [13_933, 46_871, 4_731];
    (red * WEIGHTS[0] + green * WEIGHTS[1] + blue * WEIGHTS[2]) / 255
}

fn wide(value: u8) -> u16 {
    u16::from(value) * 257
}

/// How far each pixel's colour lies from the middle colour of the border, of the furthest one.
fn colour_distance(image: &DynamicImage) -> Vec<u16> {
    let (width, height) = image.dimensions();
    let image = image.to_rgb8();
    let border = image
        .enumerate_pixels()
        .filter(|(x, y, _)| *x == 0 || *y == 0 || *x == width - 1 || *y == height - 1);
    let mut channels: [Vec<u8>; 3] = Default::default();
    for (_, _, pixel) in border {
        channels.iter_mut().zip(pixel.0).for_each(|(channel, value)| channel.push(value));
    }
    let middle = channels.map(|mut values| {
        let at = values.len() / 2;
        *values.select_nth_unstable(at).1
    });
    let distance = |pixel: &image::Rgb<u8>| {
        let off = [0, 1, 2].map(|i| f32::from(pixel.0[i]) - f32::from(middle[i]));
        off.iter().map(|x| x * x).sum::<f32>().sqrt()
    };
    let furthest = image.pixels().map(distance).fold(0.0, f32::max).max(f32::MIN_POSITIVE);
    image.pixels().map(|p| (distance(p) / furthest * WHITE as f32) as u16).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn levels(values: Vec<u16>) -> GreyLevels {
        GreyLevels { width: values.len(), height: 1, values, separated_by: SeparateBy::Brightness }
    }

    #[test]
    fn the_threshold_lies_between_two_classes() {
        let values = [vec![1000; 30], vec![1200; 30], vec![50_000; 10]].concat();
        assert_eq!(levels(values).otsu(), Ok(25_550.5));
    }

    #[test]
    fn pictures_without_two_classes_are_refused() {
        assert_eq!(levels(vec![0; 9]).otsu(), Err(TraceError::Blank { colour: "black" }));
        assert_eq!(levels(vec![u16::MAX; 9]).otsu(), Err(TraceError::Blank { colour: "white" }));
        assert!(matches!(levels(vec![30_000, 30_500]).otsu(), Err(TraceError::TooEven { .. })));
    }

    #[test]
    fn white_is_white_and_black_is_black() {
        assert_eq!(luma([255; 3]), 65_535);
        assert_eq!(luma([0; 3]), 0);
    }
}
