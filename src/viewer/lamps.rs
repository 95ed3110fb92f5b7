//! The light: one large soft lamp at the front left, a bright ceiling, and what the ground throws back.
//!
//! A picture is taken several times with the lamps moved a little and averaged, so that the shadows
//! are as soft as the lamps are large and corners darken as they do in a room. The window shows one
//! take, with the ceiling as an even environment.

use std::f64::consts::{PI, TAU};

use bevy::{
    asset::RenderAssetUsages,
    camera::Exposure,
    image::Image,
    math::Vec3,
    render::render_resource::{
        Extent3d, TextureDimension, TextureFormat, TextureViewDescriptor, TextureViewDimension,
    },
};
use glam::DVec3;

/// Brightness of matt white square to the lamp, as a share of full white.
pub const LAMP: f64 = 0.62;
/// Brightness of the ceiling.
pub const CEILING: f64 = 0.44;
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

/// Directions (to the light, z up, unit length) of one take.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Take {
    /// Towards the lamp.
    pub lamp: DVec3,
    /// Towards one spot of the ceiling.
    pub ceiling: DVec3,
    /// How far the grid of pixels is moved, pixels from −½ to ½.
    pub shift: (f64, f64),
}

/// The takes of a picture, for an eye on this bearing (degrees): spread evenly, the same every time.
pub fn takes(count: u32, eye_bearing: f64) -> Vec<Take> {
    let lamp = lamp_direction(eye_bearing);
    let across = lamp.cross(DVec3::Z).normalize();
    let over = across.cross(lamp);
    (0..count)
        .map(|i| {
            let even = (f64::from(i) + 0.5) / f64::from(count);
            // Golden-angle spirals cover a disc and a hemisphere evenly for any count.
            let turn = f64::from(i) * TAU * 0.618_033_988_749_895;
            let radius = if count == 1 { 0.0 } else { even.sqrt() * LAMP_HALF_ANGLE.to_radians().tan() };
            let (sin, cos) = turn.sin_cos();
            let spot = lamp + (across * cos + over * sin) * radius;
            // Even in height is even over a hemisphere; a low ceiling would only graze.
            let height = if count == 1 { 1.0 } else { 0.12 + 0.88 * even };
            let level = (1.0 - height * height).max(0.0).sqrt();
            let (sin, cos) = (turn * 1.5 + 0.7).sin_cos();
            Take {
                lamp: spot.normalize(),
                ceiling: DVec3::new(cos * level, sin * level, height),
                shift: if count == 1 { (0.0, 0.0) } else { (halton(i + 1, 2) - 0.5, halton(i + 1, 3) - 0.5) },
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

/// Illuminance of the lamp.
pub fn lamp_illuminance() -> f32 {
    (PI * LAMP) as f32
}

/// Illuminance of one spot that stands for the whole ceiling.
pub fn ceiling_illuminance() -> f32 {
    (TAU * CEILING) as f32
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

/// A soft-edged patch of light in the reflections: towards it, how narrow, how bright.
const PATCHES: [(DVec3, f64, f64); 3] = [
    (DVec3::new(-0.55, 0.62, 0.56), 14.0, 2.4),
    (DVec3::new(0.86, 0.35, 0.36), 26.0, 0.9),
    (DVec3::new(0.0, 1.0, 0.0), 2.5, 0.75),
];

/// Side of the sharpest face of the reflections, texels.
const FACE: u32 = 64;

/// What is reflected, from sharp to blurred. The patches are spherical Gaussians, so each blur has a
/// closed form: blurring one by a lobe of sharpness `s` gives another of sharpness `ks/(k+s)`.
pub fn reflections() -> Image {
    let levels = FACE.ilog2() + 1;
    let mut bytes = Vec::new();
    for face in 0..6 {
        for level in 0..levels {
            let side = FACE >> level;
            // The renderer reads level = roughness × last level.
            let roughness = f64::from(level) / f64::from(levels - 1);
            let spread = (roughness * roughness).max(0.02);
            let lobe = 2.0 / (spread * spread);
            push_face(&mut bytes, face, side, |direction| reflected(direction, lobe));
        }
    }
    cube(bytes, FACE, levels)
}

/// Even light on matt surfaces: the ceiling (if it is not a lamp of its own) and the bounce.
pub fn even_light(with_ceiling: bool) -> Image {
    let ceiling = if with_ceiling { CEILING } else { 0.0 };
    let mut bytes = Vec::new();
    for face in 0..6 {
        push_face(&mut bytes, face, 16, |d| {
            let up = f64::from(d.y);
            ceiling * (1.0 + up) / 2.0 + BOUNCE * (1.0 - up) / 2.0
        });
    }
    cube(bytes, 16, 1)
}

/// Brightness seen in `direction` (y up) through a lobe of this sharpness.
fn reflected(direction: Vec3, lobe: f64) -> f64 {
    let d = direction.as_dvec3();
    let patches = PATCHES.iter().map(|(towards, sharp, bright)| {
        let blurred = sharp * lobe / (sharp + lobe);
        bright * blurred / sharp * (blurred * (d.dot(towards.normalize()) - 1.0)).exp()
    });
    0.10 + patches.sum::<f64>()
}

/// Appends one face of a cube, row by row, as half floats.
fn push_face(bytes: &mut Vec<u8>, face: u32, side: u32, brightness: impl Fn(Vec3) -> f64) {
    for row in 0..side {
        for column in 0..side {
            let u = (column as f32 + 0.5) / side as f32 * 2.0 - 1.0;
            let v = (row as f32 + 0.5) / side as f32 * 2.0 - 1.0;
            // Cube maps are left-handed; the renderer turns z round when it looks up.
            let texel = match face {
                0 => Vec3::new(1.0, -v, -u),
                1 => Vec3::new(-1.0, -v, u),
                2 => Vec3::new(u, 1.0, v),
                3 => Vec3::new(u, -1.0, -v),
                4 => Vec3::new(u, -v, 1.0),
                _ => Vec3::new(-u, -v, -1.0),
            };
            let direction = Vec3::new(texel.x, texel.y, -texel.z).normalize();
            let value = half_bits(brightness(direction) as f32).to_le_bytes();
            let one = half_bits(1.0).to_le_bytes();
            bytes.extend([value, value, value, one].concat());
        }
    }
}

/// A float from 0 to 65504 as a half float, cut off, not rounded.
fn half_bits(value: f32) -> u16 {
    let bits = value.clamp(0.0, 65504.0).to_bits();
    let exponent = (bits >> 23) as i32 - 127 + 15;
    if exponent <= 0 { 0 } else { ((exponent as u16) << 10) | ((bits >> 13) & 0x3ff) as u16 }
}

fn cube(bytes: Vec<u8>, side: u32, levels: u32) -> Image {
    let mut image = Image::new_uninit(
        Extent3d { width: side, height: side, depth_or_array_layers: 6 },
        TextureDimension::D2,
        TextureFormat::Rgba16Float,
        RenderAssetUsages::RENDER_WORLD,
    );
    image.data = Some(bytes);
    image.texture_descriptor.mip_level_count = levels;
    image.texture_view_descriptor = Some(TextureViewDescriptor {
        dimension: Some(TextureViewDimension::Cube),
        ..TextureViewDescriptor::default()
    });
    image
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_takes_average_to_the_lamp_and_the_straight_up() {
        let takes = takes(64, 20.0);
        let lamp: DVec3 = takes.iter().map(|t| t.lamp).sum::<DVec3>() / 64.0;
        assert!(lamp.normalize().dot(lamp_direction(20.0)) > 0.9999);
        let ceiling: DVec3 = takes.iter().map(|t| t.ceiling).sum::<DVec3>() / 64.0;
        assert!(ceiling.x.abs() < 0.03 && ceiling.y.abs() < 0.03, "{ceiling}");
        assert!(takes.iter().all(|t| t.ceiling.z > 0.0 && (t.ceiling.length() - 1.0).abs() < 1e-12));
        assert!(takes.iter().all(|t| t.shift.0.abs() <= 0.5 && t.shift.1.abs() <= 0.5));
    }

    #[test]
    fn the_lamp_stands_left_of_the_line_of_sight_and_above() {
        let lamp = lamp_direction(0.0);
        assert!(lamp.x < -0.3 && lamp.y < 0.0 && lamp.z > 0.5, "{lamp}");
    }

    /// IEEE 754 half floats: 1.0 is 0x3c00, 0.5 is 0x3800, 65504 is 0x7bff.
    #[test]
    fn half_floats_follow_the_standard() {
        assert_eq!([1.0, 0.5, 65504.0, 0.0].map(half_bits), [0x3c00, 0x3800, 0x7bff, 0]);
    }
}
