//! Photographs of a plane by a pinhole camera: central projection, without lens distortion.

// The tests of each member use their part of it.
#![allow(dead_code)]

use glam::{DVec2, DVec3, dvec2, dvec3};
use image::{DynamicImage, GrayImage};

use crate::photographs::{Random, blurred};

/// A camera over the plane z = 0.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pinhole {
    /// Pixels from left to right and from top to bottom.
    pub size: (usize, usize),
    /// The focal length, pixels.
    pub focal: f64,
    place: DVec3,
    right: DVec3,
    down: DVec3,
    forward: DVec3,
}

/// What spoils a photograph.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Spoiling {
    /// Standard deviation of the blur, pixels.
    pub blur: f64,
    /// Greatest noise of a pixel, grey levels of 255.
    pub noise: f64,
    /// How much darker the picture is at the right edge than at the left one, part.
    pub shade: f64,
    /// Where the noise begins.
    pub seed: u64,
}

impl Pinhole {
    /// A camera `distance` mm from the point `at` of the plane, on which it is centred, tilted by `tilt` degrees from
    /// upright above it in the `direction` (degrees from x), and turned about its own axis by `roll` degrees.
    pub fn new(
        size: (usize, usize),
        focal: f64,
        at: DVec2,
        distance: f64,
        [tilt, direction, roll]: [f64; 3],
    ) -> Self {
        let (sin, cos) = tilt.to_radians().sin_cos();
        let aside = DVec2::from_angle(direction.to_radians()) * sin;
        let back = dvec3(aside.x, aside.y, cos);
        let right = DVec3::Y.cross(back).normalize();
        let down = -back.cross(right);
        let turn = DVec2::from_angle(roll.to_radians());
        Self {
            size,
            focal,
            place: at.extend(0.0) + back * distance,
            right: right * turn.x + down * turn.y,
            down: down * turn.x - right * turn.y,
            forward: -back,
        }
    }

    /// Where a point of the plane is seen, [right, down] in pixels.
    pub fn seen(&self, p: DVec2) -> DVec2 {
        let to = p.extend(0.0) - self.place;
        let middle = dvec2(self.size.0 as f64, self.size.1 as f64) / 2.0;
        middle + dvec2(to.dot(self.right), to.dot(self.down)) * (self.focal / to.dot(self.forward))
    }

    /// The point of the plane that is seen at a pixel.
    pub fn point_at(&self, pixel: DVec2) -> DVec2 {
        let off = (pixel - dvec2(self.size.0 as f64, self.size.1 as f64) / 2.0) / self.focal;
        let ray = self.forward + self.right * off.x + self.down * off.y;
        (self.place - ray * (self.place.z / ray.z)).truncate()
    }

    /// The photograph of a plane that has the brightness `shown` at each point, from 0 to 1.
    pub fn photograph(&self, shown: impl Fn(DVec2) -> f64, spoiling: &Spoiling) -> DynamicImage {
        /// Samples along each side of a pixel.
        const SAMPLES: usize = 3;
        let (width, height) = self.size;
        let sample = |i: usize| (i as f64 + 0.5) / SAMPLES as f64;
        let pixel = |i: usize| {
            let corner = dvec2((i % width) as f64, (i / width) as f64);
            let all = (0..SAMPLES * SAMPLES)
                .map(|k| shown(self.point_at(corner + dvec2(sample(k % SAMPLES), sample(k / SAMPLES)))));
            all.sum::<f64>() / (SAMPLES * SAMPLES) as f64
        };
        let sharp: Vec<f64> = (0..width * height).map(pixel).collect();
        let soft = blurred(sharp, width, height, spoiling.blur);
        let mut random = Random(spoiling.seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1);
        let grey = |(i, light): (usize, f64)| {
            let light = light * (1.0 - spoiling.shade * (i % width) as f64 / width as f64);
            let noise = spoiling.noise * (random.unit() + random.unit() - 1.0);
            (light * 255.0 + noise).round().clamp(0.0, 255.0) as u8
        };
        let pixels: Vec<u8> = soft.into_iter().enumerate().map(grey).collect();
        GrayImage::from_raw(width as u32, height as u32, pixels).expect("as many pixels as it says").into()
    }
}
