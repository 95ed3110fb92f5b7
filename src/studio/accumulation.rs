//! Averages the samples of one picture in linear light.

use std::sync::LazyLock;

use rayon::prelude::*;

use super::srgb;

/// Pixels that are added at a time by one thread.
const SHARE: usize = 1 << 14;

/// Full brightness of one sample, so that 256 samples fit 32 bits.
const FULL: f64 = 65535.0;

/// Stored value to linear brightness, 0 to [`FULL`].
static LINEAR: LazyLock<[u32; 256]> =
    LazyLock::new(|| std::array::from_fn(|v| (srgb::decode(v as f64 / 255.0) * FULL).round() as u32));

/// The samples so far. Whole numbers, so that the order in which samples come back does not matter.
pub struct Accumulator {
    size: (u32, u32),
    sums: Vec<[u32; 4]>,
    samples: u32,
}

impl Accumulator {
    /// No samples yet, for a picture of this size in pixels.
    pub fn new(size: (u32, u32)) -> Self {
        Self { size, sums: vec![[0; 4]; size.0 as usize * size.1 as usize], samples: 0 }
    }

    /// How many samples were added.
    pub fn samples(&self) -> u32 {
        self.samples
    }

    /// Adds one sample: four bytes a pixel, sRGB, colours premultiplied by opacity.
    pub fn add(&mut self, sample: &[u8]) {
        let linear = &*LINEAR;
        let pixels = sample.as_chunks::<4>().0;
        self.sums.par_chunks_mut(SHARE).zip(pixels.par_chunks(SHARE)).for_each(|(sums, pixels)| {
            for (sum, pixel) in sums.iter_mut().zip(pixels) {
                for channel in 0..3 {
                    sum[channel] += linear[pixel[channel] as usize];
                }
                sum[3] += u32::from(pixel[3]);
            }
        });
        self.samples += 1;
    }

    /// The mean of all samples, colours no longer premultiplied.
    pub fn mean(&self) -> image::RgbaImage {
        let samples = f64::from(self.samples.max(1));
        let mut picture = image::RgbaImage::new(self.size.0, self.size.1);
        for (pixel, sum) in picture.pixels_mut().zip(&self.sums) {
            let opacity = f64::from(sum[3]) / (255.0 * samples);
            if opacity > 0.0 {
                let colour = |channel: usize| {
                    let linear = f64::from(sum[channel]) / (FULL * samples) / opacity;
                    (srgb::encode(linear.min(1.0)) * 255.0).round() as u8
                };
                pixel.0 = [colour(0), colour(1), colour(2), (opacity * 255.0).round() as u8];
            }
        }
        picture
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_mean_of_equal_samples_is_that_sample() {
        let mut sum = Accumulator::new((2, 1));
        for _ in 0..3 {
            sum.add(&[10, 128, 250, 255, 0, 0, 0, 0]);
        }
        assert_eq!(sum.mean().into_raw(), [10, 128, 250, 255, 0, 0, 0, 0]);
    }

    #[test]
    fn black_and_white_average_to_half_the_light_not_half_the_number() {
        let mut sum = Accumulator::new((1, 1));
        sum.add(&[0, 0, 0, 255]);
        sum.add(&[255, 255, 255, 255]);
        // Half of full linear light is stored as 188 (IEC 61966-2-1).
        assert_eq!(sum.mean().into_raw(), [188, 188, 188, 255]);
    }

    #[test]
    fn a_pixel_covered_half_the_time_keeps_its_colour() {
        let mut sum = Accumulator::new((1, 1));
        sum.add(&[200, 100, 50, 255]);
        sum.add(&[0, 0, 0, 0]);
        assert_eq!(sum.mean().into_raw(), [200, 100, 50, 128]);
    }
}
