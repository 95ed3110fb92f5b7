//! Shadow and sky light of a picture against a path tracer: a ball on the ground, seen from above.
//!
//! The tracer knows the ball and the plane by their formulas, follows each path until it leaves, and shares nothing with
//! the program but the strengths and places of the lights, which are set down here again.

use std::f64::consts::{PI, TAU};

use crumbline::{
    model::{Model, Part, PartKind, Rgb},
    viewer::{Lens, PictureOptions, Showing, Stage, Studio, View},
};
use glam::DVec3;

use crate::toadstool::turn;

const RADIUS: f64 = 60.0;
/// The ground lies half a millimetre below everything.
const GROUND: f64 = -0.5;
const LAMP: f64 = 0.68;
const SKY: f64 = 0.48;
/// How much brighter the sky is overhead.
const OVERHEAD: f64 = 0.25;
const HALF_ANGLE: f64 = 9.0;
/// Bearing and elevation of the lamp for an eye on bearing 0, degrees.
const LAMP_PLACE: (f64, f64) = (-38.0, 46.0);
/// Both throw back so much.
const BALL_COLOUR: Rgb = Rgb(200, 200, 200);
const GROUND_COLOUR: Rgb = Rgb(232, 228, 222);
/// The picture keeps so much of the ground's light in full shadow, and so much more near the cake.
const FLOOR: f64 = 0.22;
const POOL: f64 = 0.05;

fn linear(value: u8) -> f64 {
    let v = f64::from(value) / 255.0;
    if v <= 0.04045 { v / 12.92 } else { ((v + 0.055) / 1.055).powf(2.4) }
}

/// A small generator of shares (Vigna, "xorshift64*"), so that every run is the same.
struct Random(u64);

impl Random {
    fn share(&mut self) -> f64 {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        (self.0.wrapping_mul(0x2545_f491_4f6c_dd1d) >> 11) as f64 / (1u64 << 53) as f64
    }

    /// A direction above a surface of this normal, by the cosine.
    fn above(&mut self, normal: DVec3) -> DVec3 {
        let (turn, square) = (TAU * self.share(), self.share());
        let across = normal.any_orthonormal_vector();
        let over = normal.cross(across);
        let reach = square.sqrt();
        (across * (turn.cos() * reach) + over * (turn.sin() * reach) + normal * (1.0 - square).sqrt())
            .normalize()
    }
}

/// Where a ray meets the ball.
fn ball(from: DVec3, direction: DVec3) -> Option<f64> {
    let middle = DVec3::Z * RADIUS - from;
    let along = middle.dot(direction);
    let rest = RADIUS * RADIUS - (middle.length_squared() - along * along);
    let near = along - rest.max(0.0).sqrt();
    (rest > 0.0 && near > 1e-6).then_some(near)
}

struct Lights {
    lamp: DVec3,
    across: DVec3,
    over: DVec3,
}

impl Lights {
    fn new() -> Self {
        let ((sin_b, cos_b), (sin_e, cos_e)) =
            (LAMP_PLACE.0.to_radians().sin_cos(), LAMP_PLACE.1.to_radians().sin_cos());
        let lamp = DVec3::new(sin_b * cos_e, -cos_b * cos_e, sin_e);
        let across = lamp.cross(DVec3::Z).normalize();
        Self { lamp, across, over: across.cross(lamp) }
    }

    /// What one point of the lamp sends to a place, and whether it arrives.
    fn from_lamp(&self, place: DVec3, normal: DVec3, random: &mut Random) -> (f64, bool) {
        let (turn, far) = (TAU * random.share(), random.share().sqrt() * HALF_ANGLE.to_radians().tan());
        let towards = (self.lamp + (self.across * turn.cos() + self.over * turn.sin()) * far).normalize();
        let facing = normal.dot(towards).max(0.0);
        (LAMP * facing, ball(place + normal * 1e-4, towards).is_none())
    }

    /// The light that arrives at a place, of matt white there: one path.
    fn path(&self, mut place: DVec3, mut normal: DVec3, random: &mut Random) -> f64 {
        let (mut light, mut share) = (0.0, 1.0);
        for _ in 0..12 {
            let (sent, arrives) = self.from_lamp(place, normal, random);
            light += share * if arrives { sent } else { 0.0 };
            let direction = random.above(normal);
            let from = place + normal * 1e-4;
            if let Some(distance) = ball(from, direction) {
                place = from + direction * distance;
                normal = (place - DVec3::Z * RADIUS) / RADIUS;
                share *= linear(BALL_COLOUR.0);
            } else if direction.z < 0.0 {
                place = from + direction * ((GROUND - from.z) / direction.z);
                normal = DVec3::Z;
                share *= linear(GROUND_COLOUR.1);
            } else {
                return light + share * SKY * (1.0 + OVERHEAD * (1.5 * direction.z - 1.0));
            }
        }
        light
    }
}

/// The share of its light that is left at a place on the ground, and the share of the lamp that it sees.
fn traced(lights: &Lights, place: DVec3, paths: u32, random: &mut Random) -> (f64, f64) {
    let open = SKY + LAMP * lights.lamp.z;
    let sum: f64 = (0..paths).map(|_| lights.path(place, DVec3::Z, random)).sum();
    let seen = (0..paths).filter(|_| lights.from_lamp(place, DVec3::Z, random).1).count();
    (sum / f64::from(paths) / open, seen as f64 / f64::from(paths))
}

#[test]
fn shadow_and_contact_of_a_ball_are_those_of_a_path_tracer() {
    let outline: Vec<[f64; 2]> = (0..=180)
        .map(|i| {
            let (sin, cos) = (PI * f64::from(i) / 180.0).sin_cos();
            [RADIUS * sin, RADIUS * (1.0 - cos)]
        })
        .collect();
    let part = Part {
        name: "ball".into(),
        kind: PartKind::Finished,
        index: 0,
        material: "icing".into(),
        colour: BALL_COLOUR,
        tints: Vec::new(),
        shave_depth: Vec::new(),
        mesh: turn(&outline),
    };
    let model = Model { name: "ball".into(), parts: vec![part], ..Model::default() };
    let size = (800, 600);
    let options = PictureOptions {
        view: View::From { bearing: 0.0, elevation: 62.0 },
        lens: Lens::Orthographic,
        size,
        showing: Showing { stage: Stage::Finished, ..Showing::default() },
        legend: false,
        dimensions: false,
        samples: 64,
        ..PictureOptions::default()
    };
    // Room for the shadow.
    let around = [DVec3::new(-150.0, -100.0, 0.0), DVec3::new(220.0, 220.0, 0.0)];
    let picture = Studio::open().unwrap().picture_around(&model, &options, &around).unwrap();
    let (lights, mut random) = (Lights::new(), Random(0x9e37_79b9_7f4a_7c15));
    // A diagonal of a cube round the ball, and a tenth: how far shadows reach.
    let reach = 1.1 * 2.0 * RADIUS * 3f64.sqrt();
    let (mut penumbra, mut contact, mut open) = (Vec::new(), Vec::new(), Vec::new());
    for i in 0..34 {
        for j in 0..34 {
            let place = DVec3::new(-140.0 + 10.0 * f64::from(i), -90.0 + 9.0 * f64::from(j), GROUND);
            let away = place.truncate().length() / reach;
            let at = picture.pose.project(place, size);
            let towards_eye = (picture.pose.eye - picture.pose.target).normalize();
            let is_inside = (2.0..798.0).contains(&at.x) && (2.0..598.0).contains(&at.y);
            if away > 0.68 || !is_inside || ball(place, towards_eye).is_some() {
                continue;
            }
            let pool = {
                let t = ((away - 0.5) / 2.5).clamp(0.0, 1.0);
                1.0 + POOL * (1.0 - t * t * (3.0 - 2.0 * t))
            };
            // Green: the lights' colours are as bright as white there.
            let green = f64::from(picture.image.get_pixel(at.x as u32, at.y as u32).0[1]);
            let seen = linear(green as u8) / (linear(GROUND_COLOUR.1) * pool);
            // Where more than all light arrives, thrown back by the ball, the colour ends at white.
            let left = (seen - FLOOR) / (1.0 - FLOOR);
            let (expected, lamp) = traced(&lights, place, 900, &mut random);
            let error = (left - expected).abs();
            match lamp {
                _ if place.truncate().length() < 0.75 * RADIUS => contact.push(error),
                _ if (0.02..0.98).contains(&lamp) => penumbra.push(error),
                _ if lamp > 0.98 => open.push(error),
                _ => {}
            }
        }
    }
    let mean = |errors: &[f64]| errors.iter().sum::<f64>() / errors.len() as f64;
    println!(
        "mean error: penumbra {:.4} of {} places, contact {:.4} of {}, open {:.4} of {}",
        mean(&penumbra),
        penumbra.len(),
        mean(&contact),
        contact.len(),
        mean(&open),
        open.len()
    );
    assert!(penumbra.len() > 40 && contact.len() > 5 && open.len() > 100);
    assert!(mean(&penumbra) < 0.03 && mean(&contact) < 0.04 && mean(&open) < 0.02);
}
