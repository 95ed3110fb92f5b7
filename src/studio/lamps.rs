//! The light: one large soft lamp at the front left, a bright ceiling, and light reflected by the ground.
//!
//! A picture is the mean of several samples, each with the lamps moved a little, so that the shadows
//! are as soft as the lamps are large and corners darken as they do in a room. The window draws one
//! sample, with the ceiling as an even light. Reflections on smooth surfaces are in `shaders/light.wgsl`.

use std::f64::consts::{PI, TAU};

use bevy::{camera::Exposure, prelude::*};
use glam::DVec3;

/// Brightness of matt white square to the lamp, as a share of full white.
pub const LAMP: f64 = 0.68;
/// Brightness of the ceiling.
pub const CEILING: f64 = 0.48;
/// Brightness of the light from below.
pub const BOUNCE: f64 = 0.20;
/// Half angle under which the lamp is seen, degrees.
const LAMP_HALF_ANGLE: f64 = 9.0;
/// Where the lamp stands, seen along the line of sight: bearing to the left, and elevation, degrees.
const LAMP_PLACE: (f64, f64) = (-38.0, 46.0);

/// The exposure at which a lamp of illuminance π shows matt white as full white.
pub fn exposure() -> Exposure {
    Exposure { ev100: -(1.2f32.log2()) }
}

/// Directions (to the light, z up, unit length) of one sample.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LightSample {
    /// Towards the lamp.
    pub lamp: DVec3,
    /// Towards one point of the ceiling.
    pub ceiling: DVec3,
    /// Two shares from 0 to 1 that spread evenly over the samples, for the shader to scatter with.
    pub shares: (f64, f64),
    /// How far the grid of pixels is moved, pixels from −½ to ½.
    pub shift: (f64, f64),
}

/// The samples of a picture, for an eye on this bearing (degrees): spread evenly, the same every time.
pub fn samples(count: u32, eye_bearing: f64) -> Vec<LightSample> {
    let lamp = lamp_direction(eye_bearing);
    let across = lamp.cross(DVec3::Z).normalize();
    let over = across.cross(lamp);
    (0..count)
        .map(|i| {
            let alone = count == 1;
            // Golden-angle spirals cover a disc and a hemisphere evenly for any count.
            let even = (f64::from(i) + 0.5) / f64::from(count);
            let turn = f64::from(i) * TAU * 0.618_033_988_749_895;
            // Another irrational step, so that the lamp's points and the ceiling's are not correlated.
            let far = (0.5 + f64::from(i) * 0.754_877_666_247).fract().sqrt();
            let radius = if alone { 0.0 } else { far * LAMP_HALF_ANGLE.to_radians().tan() };
            let (sin, cos) = turn.sin_cos();
            let point = lamp + (across * cos + over * sin) * radius;
            // Even in height is even over a hemisphere; a low ceiling would only graze.
            let height = if alone { 1.0 } else { 0.12 + 0.88 * even };
            let level = (1.0 - height * height).max(0.0).sqrt();
            LightSample {
                lamp: point.normalize(),
                ceiling: DVec3::new(cos * level, sin * level, height),
                shares: (f64::from(i) * 0.618_033_988_749_895 % 1.0, f64::from(i) * 0.569_840_290_998 % 1.0),
                shift: if alone { (0.0, 0.0) } else { (halton(i + 1, 2) - 0.5, halton(i + 1, 3) - 0.5) },
            }
        })
        .collect()
}

/// Towards the middle of the lamp for an eye on this bearing, degrees.
pub fn lamp_direction(eye_bearing: f64) -> DVec3 {
    let (bearing, elevation) = (eye_bearing + LAMP_PLACE.0, LAMP_PLACE.1);
    let (sin_b, cos_b) = bearing.to_radians().sin_cos();
    let (sin_e, cos_e) = elevation.to_radians().sin_cos();
    DVec3::new(sin_b * cos_e, -cos_b * cos_e, sin_e)
}

/// The lamp.
pub fn lamp() -> DirectionalLight {
    DirectionalLight { illuminance: (PI * LAMP) as f32, shadow_maps_enabled: true, ..default() }
}

/// A lamp's colour: green is its brightness, red and blue carry the sample's shares to the shader, and
/// the ceiling has no opacity, which tells it from the lamp.
pub fn colour(sample: &LightSample, is_ceiling: bool) -> Color {
    let (red, blue) = (sample.shares.0 as f32, sample.shares.1 as f32);
    Color::linear_rgba(red, 1.0, blue, if is_ceiling { 0.0 } else { 1.0 })
}

/// The light from one point of the ceiling, as bright as the whole of it; see [`colour`].
pub fn ceiling() -> DirectionalLight {
    DirectionalLight {
        color: Color::linear_rgba(1.0, 1.0, 1.0, 0.0),
        illuminance: (TAU * CEILING) as f32,
        shadow_maps_enabled: true,
        ..default()
    }
}

/// The van der Corput sequence in this base, 0 to 1.
fn halton(mut index: u32, base: u32) -> f64 {
    let (mut share, mut value) = (1.0, 0.0);
    while index > 0 {
        share /= f64::from(base);
        value += share * f64::from(index % base);
        index /= base;
    }
    value
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_samples_average_to_the_lamp_and_the_straight_up() {
        let samples = samples(64, 20.0);
        let lamp: DVec3 = samples.iter().map(|t| t.lamp).sum::<DVec3>() / 64.0;
        assert!(lamp.normalize().dot(lamp_direction(20.0)) > 0.9999);
        let ceiling: DVec3 = samples.iter().map(|t| t.ceiling).sum::<DVec3>() / 64.0;
        assert!(ceiling.x.abs() < 0.03 && ceiling.y.abs() < 0.03, "{ceiling}");
        assert!(samples.iter().all(|t| t.ceiling.z > 0.0 && (t.ceiling.length() - 1.0).abs() < 1e-12));
        assert!(samples.iter().all(|t| t.shift.0.abs() <= 0.5 && t.shift.1.abs() <= 0.5));
    }

    #[test]
    fn the_lamp_stands_left_of_the_line_of_sight_and_above() {
        let lamp = lamp_direction(0.0);
        assert!(lamp.x < -0.3 && lamp.y < 0.0 && lamp.z > 0.5, "{lamp}");
    }
}
