//! Adds up the takes of one picture in linear light.

use std::sync::LazyLock;

use super::light_curve;

/// Full brightness of one take, so that 256 takes fit 32 bits.
const FULL: f64 = 65535.0;

/// Stored value to linear brightness, 0 to [`FULL`].
static LINEAR: LazyLock<[u32; 256]> =
    LazyLock::new(|| std::array::from_fn(|v| (light_curve::decode(v as f64 / 255.0) * FULL).round() as u32));

/// The takes so far. Whole numbers, so that the order in which takes come back does not matter.
pub struct Exposure {
    size: (u32, u32),
    sums: Vec<[u32; 4]>,
    takes: u32,
}

impl Exposure {
    /// Nothing exposed yet, for a picture of this size in pixels.
    pub fn new(size: (u32, u32)) -> Self {
        Self { size, sums: vec![[0; 4]; size.0 as usize * size.1 as usize], takes: 0 }
    }

    /// How many takes were added.
    pub fn takes(&self) -> u32 {
        self.takes
    }

    /// Adds one take: four bytes a pixel, sRGB, colours premultiplied by opacity.
    pub fn add(&mut self, take: &[u8]) {
        for (sum, pixel) in self.sums.iter_mut().zip(take.as_chunks::<4>().0) {
            for channel in 0..3 {
                sum[channel] += LINEAR[pixel[channel] as usize];
            }
            sum[3] += u32::from(pixel[3]);
        }
        self.takes += 1;
    }

    /// The mean of all takes, colours no longer premultiplied.
    pub fn develop(&self) -> image::RgbaImage {
        let takes = f64::from(self.takes.max(1));
        let mut picture = image::RgbaImage::new(self.size.0, self.size.1);
        for (pixel, sum) in picture.pixels_mut().zip(&self.sums) {
            let opacity = f64::from(sum[3]) / (255.0 * takes);
            if opacity > 0.0 {
                let colour = |channel: usize| {
                    let linear = f64::from(sum[channel]) / (FULL * takes) / opacity;
                    (light_curve::encode(linear.min(1.0)) * 255.0).round() as u8
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
    fn equal_takes_develop_to_themselves() {
        let mut sum = Exposure::new((2, 1));
        for _ in 0..3 {
            sum.add(&[10, 128, 250, 255, 0, 0, 0, 0]);
        }
        assert_eq!(sum.develop().into_raw(), [10, 128, 250, 255, 0, 0, 0, 0]);
    }

    #[test]
    fn black_and_white_average_to_half_the_light_not_half_the_number() {
        let mut sum = Exposure::new((1, 1));
        sum.add(&[0, 0, 0, 255]);
        sum.add(&[255, 255, 255, 255]);
        // Half of full linear light is stored as 188 (IEC 61966-2-1).
        assert_eq!(sum.develop().into_raw(), [188, 188, 188, 255]);
    }

    #[test]
    fn a_pixel_covered_half_the_time_keeps_its_colour() {
        let mut sum = Exposure::new((1, 1));
        sum.add(&[200, 100, 50, 255]);
        sum.add(&[0, 0, 0, 0]);
        assert_eq!(sum.develop().into_raw(), [200, 100, 50, 128]);
    }
}
