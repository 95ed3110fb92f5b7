//! Rays against everything that stands in the way of light.

use std::{f32::consts::TAU, time::Duration};

use glam::{DVec3, Vec3};
use glam_of_obvhs::Vec3A;
use obvhs::{
    BvhBuildParams,
    cwbvh::{CwBvh, builder::build_cwbvh_from_tris},
    ray::{Ray, RayHit},
    triangle::Triangle,
};

use super::{Body, Room};

/// A ray starts this far off the surface, mm.
const OFF: f64 = 0.1;

/// What a ray meets nearer than this, mm, is the surface itself in other triangles, or what is inlaid flush with it.
const NEAREST: f32 = 0.38;

/// A place from which more of the rays than this meet surfaces from behind lies inside something.
const INSIDE: f32 = 0.25;

/// All triangles that cast shadows, in the order of the hierarchy.
pub(super) struct Casters {
    bvh: Option<CwBvh>,
    triangles: Vec<Triangle>,
    /// For each triangle the share of light that it throws back.
    albedo: Vec<Vec3>,
}

impl Casters {
    pub fn of(bodies: &[Body<'_>]) -> Self {
        let (mut triangles, mut albedo) = (Vec::new(), Vec::new());
        for body in bodies.iter().filter(|body| body.casts) {
            for t in body.triangles {
                let [v0, v1, v2] = t.map(|v| other(body.vertices[v as usize].position.as_vec3()));
                triangles.push(Triangle { v0, v1, v2 });
                albedo.push(body.albedo);
            }
        }
        if triangles.is_empty() {
            return Self { bvh: None, triangles, albedo };
        }
        let bvh = build_cwbvh_from_tris(&triangles, BvhBuildParams::fast_build(), &mut Duration::default());
        let order = bvh.primitive_indices.iter().map(|i| *i as usize);
        let (triangles, albedo) = order.map(|i| (triangles[i], albedo[i])).unzip();
        Self { bvh: Some(bvh), triangles, albedo }
    }

    /// The light that arrives at a place with this normal; `None` inside something. `number` tells apart the patterns
    /// of rays of places beside each other.
    pub fn gather(&self, place: DVec3, normal: DVec3, room: &Room, rays: u32, number: u32) -> Option<Vec3> {
        let from = (place + normal * OFF).as_vec3();
        let up = normal.as_vec3();
        let across = up.any_orthonormal_vector();
        let over = up.cross(across);
        let turn = [hashed(number), hashed(number ^ 0x5bd1_e995)];
        let (mut sum, mut from_behind) = (Vec3::ZERO, 0u32);
        for i in 0..rays {
            // Even over the hemisphere by the cosine: an even disc, lifted (Malley's method). The points are the additive
            // recurrence of the plastic number (Roberts, "The Unreasonable Effectiveness of Quasirandom Sequences", 2018).
            let share = (f64::from(i) * 0.754_877_666_246_693).fract() as f32;
            let angle = TAU * ((f64::from(i) * 0.569_840_290_998_053).fract() as f32 + turn[0]);
            let square = (share + turn[1]).fract();
            let (sin, cos) = angle.sin_cos();
            let reach = square.sqrt();
            let direction =
                (across * (reach * cos) + over * (reach * sin) + up * (1.0 - square).max(0.0).sqrt())
                    .normalize();
            let start = from + direction * NEAREST;
            match self.first_hit(start, direction) {
                Some((distance, hit)) => {
                    let facing = normal_of(&self.triangles[hit]);
                    if facing.dot(direction) >= 0.0 {
                        from_behind += 1;
                        continue;
                    }
                    let met = start + direction * distance;
                    sum += self.albedo[hit] * self.straight(met, facing, room);
                }
                None => sum += self.beyond(start, direction, room),
            }
        }
        (from_behind as f32 <= INSIDE * rays as f32).then(|| sum / rays as f32)
    }

    /// What comes from the open: the sky, or the ground.
    fn beyond(&self, from: Vec3, direction: Vec3, room: &Room) -> Vec3 {
        match room.ground {
            Some((height, albedo)) if direction.z < 0.0 => {
                let distance = ((height as f32 - from.z) / direction.z).max(0.0);
                albedo * self.straight(from + direction * distance, Vec3::Z, room)
            }
            _ if direction.z < 0.0 => Vec3::ZERO,
            _ => room.sky(direction),
        }
    }

    /// What falls on a place straight: the lamp, where nothing is between, and sky and ground as if they were open.
    fn straight(&self, place: Vec3, normal: Vec3, room: &Room) -> Vec3 {
        let below = match room.ground {
            Some((_, albedo)) if normal.z < 1.0 => {
                albedo * (room.sky_light + room.lamp_light * room.lamp.z.max(0.0) as f32)
            }
            _ => Vec3::ZERO,
        };
        let sky = room.sky_light * (0.5 + 0.5 * normal.z) + below * (0.5 - 0.5 * normal.z);
        let lamp = room.lamp.as_vec3();
        let facing = normal.dot(lamp);
        if facing <= 0.0 || room.lamp_light == Vec3::ZERO || self.is_hidden(place + normal * OFF as f32, lamp)
        {
            return sky;
        }
        sky + room.lamp_light * facing
    }

    fn first_hit(&self, from: Vec3, direction: Vec3) -> Option<(f32, usize)> {
        let ray = Ray::new_inf(other(from), other(direction));
        let mut hit = RayHit::none();
        let met = self.bvh.as_ref()?.ray_traverse(ray, &mut hit, |ray, id| self.triangles[id].intersect(ray));
        met.then_some((hit.t, hit.primitive_id as usize))
    }

    fn is_hidden(&self, from: Vec3, direction: Vec3) -> bool {
        self.first_hit(from, direction).is_some()
    }
}

/// The outward side of a triangle.
fn normal_of(triangle: &Triangle) -> Vec3 {
    let [a, b, c] = [triangle.v0, triangle.v1, triangle.v2].map(|p| Vec3::from_array(p.to_array()));
    (b - a).cross(c - a).normalize_or_zero()
}

/// The hierarchy has vectors of its own.
fn other(v: Vec3) -> Vec3A {
    Vec3A::from_array(v.to_array())
}

/// A share from 0 to 1 for each number (a hash of whole numbers: Jarzynski and Olano, "Hash Functions for GPU
/// Rendering", 2020, `pcg`).
fn hashed(number: u32) -> f32 {
    let state = number.wrapping_mul(747_796_405).wrapping_add(2_891_336_453);
    let word = ((state >> ((state >> 28) + 4)) ^ state).wrapping_mul(277_803_737);
    (((word >> 22) ^ word) & 0xff_ffff) as f32 / 16_777_216.0
}
