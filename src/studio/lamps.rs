//! The light: one large soft lamp at the front left, a bright sky, and light thrown back by what stands around.
//!
//! A picture is the mean of several samples, each with the lamp moved a little, so that shadows are as soft as the lamp
//! is large; sky and surroundings are worked out beforehand (`soft_light`). The window draws one sample, with an even
//! sky. Reflections on smooth surfaces are in `shaders/light.wgsl`.

use std::f64::consts::{PI, TAU};

use bevy::{camera::Exposure, prelude::*};
use glam::DVec3;

/// Brightness of matt white square to the lamp, as a share of full white.
pub const LAMP: f64 = 0.68;
/// Brightness of the sky: of matt white that lies level under all of it.
pub const CEILING: f64 = 0.48;
/// Brightness of the light from below, where it is not worked out.
pub const BOUNCE: f64 = 0.20;
/// How far aside shadows are looked up in a picture of one sample, mm.
const SCATTER: f64 = 20.0;
/// The most that the shader scatters, mm.
const WIDEST_SCATTER: f64 = 20.0;
/// Colour of the lamp, as bright as white.
pub const WARM: Vec3 = Vec3::new(1.05, 0.995, 0.92);
/// Colour of the sky, as bright as white.
pub const SKY: Vec3 = Vec3::new(0.955, 1.0, 1.06);
/// Half angle under which the lamp is seen, degrees.
const LAMP_HALF_ANGLE: f64 = 9.0;
/// Where the lamp stands, seen along the line of sight: bearing to the left, and elevation, degrees.
const LAMP_PLACE: (f64, f64) = (-38.0, 46.0);

/// The exposure at which a lamp of illuminance π shows matt white as full white.
pub fn exposure() -> Exposure {
    Exposure { ev100: -(1.2f32.log2()) }
}

/// What differs between the samples of one picture.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LightSample {
    /// Towards one point of the lamp, z up, unit length.
    pub lamp: DVec3,
    /// How far aside shadows are looked up, mm: the fewer samples, the further.
    pub scatter: f64,
    /// Two shares from 0 to 1 that spread evenly over the samples, for the shader to scatter with.
    pub shares: (f64, f64),
    /// How far the grid of pixels is moved, pixels from −½ to ½.
    pub shift: (f64, f64),
    /// Where in its opening the eye is: a point of the unit disc.
    pub eye: (f64, f64),
}

/// The samples of a picture, for an eye on this bearing (degrees): spread evenly, the same every time.
pub fn samples(count: u32, eye_bearing: f64) -> Vec<LightSample> {
    let lamp = lamp_direction(eye_bearing);
    let across = lamp.cross(DVec3::Z).normalize();
    let over = across.cross(lamp);
    (0..count)
        .map(|i| {
            let alone = count == 1;
            // A golden-angle spiral covers a disc evenly for any count.
            let turn = f64::from(i) * TAU * 0.618_033_988_749_895;
            let far = if alone { 0.0 } else { ((f64::from(i) + 0.5) / f64::from(count)).sqrt() };
            let radius = far * LAMP_HALF_ANGLE.to_radians().tan();
            let (sin, cos) = turn.sin_cos();
            let point = lamp + (across * cos + over * sin) * radius;
            // In another order, so that what moves the eye and what moves the lamp are not the same.
            let eye = (halton(i + 1, 5).sqrt(), TAU * halton(i + 1, 7));
            let eye = if alone { (0.0, 0.0) } else { (eye.0 * eye.1.cos(), eye.0 * eye.1.sin()) };
            LightSample {
                lamp: point.normalize(),
                scatter: SCATTER / f64::from(count).sqrt(),
                shares: (f64::from(i) * 0.618_033_988_749_895 % 1.0, f64::from(i) * 0.569_840_290_998 % 1.0),
                shift: if alone { (0.0, 0.0) } else { (halton(i + 1, 2) - 0.5, halton(i + 1, 3) - 0.5) },
                eye,
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

/// The lamp's colour in one sample: green is its brightness, red and blue carry the sample's shares to the shader, and
/// the opacity how far to scatter, as a share of [`WIDEST_SCATTER`]; it is less than ¾, which tells it from the window's
/// lamp.
pub fn colour(sample: &LightSample) -> Color {
    let scatter = (sample.scatter / WIDEST_SCATTER).min(0.7);
    Color::linear_rgba(sample.shares.0 as f32, 1.0, sample.shares.1 as f32, scatter as f32)
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
    fn the_samples_average_to_the_lamp_and_the_eye() {
        let samples = samples(64, 20.0);
        let lamp: DVec3 = samples.iter().map(|t| t.lamp).sum::<DVec3>() / 64.0;
        assert!(lamp.normalize().dot(lamp_direction(20.0)) > 0.9999);
        let eye = samples.iter().map(|t| glam::DVec2::from(t.eye)).sum::<glam::DVec2>() / 64.0;
        assert!(eye.length() < 0.05 && samples.iter().all(|t| t.eye.0.hypot(t.eye.1) <= 1.0), "{eye}");
        assert!(samples.iter().all(|t| t.shift.0.abs() <= 0.5 && t.shift.1.abs() <= 0.5));
    }

    #[test]
    fn the_lamp_stands_left_of_the_line_of_sight_and_above() {
        let lamp = lamp_direction(0.0);
        assert!(lamp.x < -0.3 && lamp.y < 0.0 && lamp.z > 0.5, "{lamp}");
    }
}
