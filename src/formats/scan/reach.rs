//! Undercuts that no knife reaches: surface from which no straight line leads out.

use std::f64::consts::{PI, TAU};

use glam::DVec3;
use rayon::prelude::*;

use geom::real;
use geom::{DistanceField, TriMesh};

/// Surface that no straight line from outside reaches.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Undercut {
    /// Its share of the surface above the board, 0 to 1.
    pub share: f64,
    /// A place with the most of it around, mm.
    pub at: DVec3,
}

/// How many places are looked at.
const PLACES: usize = 6000;

/// How many directions are tried from each, over the whole ball.
const DIRECTIONS: usize = 160;

/// A blade lies at least so steeply on the surface: sine of 6°, common practice, no source.
const FLATTEST: f64 = 0.1;

/// Lines start so far off the surface, mm.
const OFF: f64 = 1e-3;

/// Places within this of each other are one undercut, mm.
const NEIGHBOURHOOD: f64 = 20.0;

/// Less than this share is left to a pointed knife and is not told.
const NOTICED: f64 = 0.002;

/// The undercuts of a solid on the board that no knife reaches from outside, in a straight line and above the
/// board. Places are spread evenly over the surface, one for each six-thousandth of it; what is smaller may be
/// missed.
pub fn undercuts(mesh: &TriMesh, depths: &DistanceField) -> Option<Undercut> {
    let directions: Vec<DVec3> = (0..DIRECTIONS).map(on_ball).collect();
    let is_hidden = |(p, normal): &(DVec3, DVec3)| {
        let from = *p + *normal * OFF;
        !directions.iter().any(|d| d.dot(*normal) > FLATTEST && depths.is_free(from, *d))
    };
    let hidden: Vec<DVec3> = places(mesh).into_par_iter().filter(is_hidden).map(|(p, _)| p).collect();
    let share = hidden.len() as f64 / PLACES as f64;
    if share < NOTICED {
        return None;
    }
    let around = |p: &DVec3| hidden.iter().filter(|q| p.distance(**q) < NEIGHBOURHOOD).count();
    let at = hidden.iter().copied().max_by_key(around)?;
    Some(Undercut { share, at })
}

/// Places spread over the walls in proportion to their area, each with the direction outwards.
fn places(mesh: &TriMesh) -> Vec<(DVec3, DVec3)> {
    let areas: Vec<f64> = (0..mesh.len())
        .map(|t| {
            let [a, b, c] = mesh.corners(t);
            if a.z <= 0.0 && b.z <= 0.0 && c.z <= 0.0 { 0.0 } else { (b - a).cross(c - a).length() }
        })
        .collect();
    let step = areas.iter().sum::<f64>() / PLACES as f64;
    let (mut passed, mut places) = (step / 2.0, Vec::with_capacity(PLACES));
    for (t, area) in areas.iter().enumerate() {
        passed += area;
        while passed >= step && places.len() < PLACES {
            passed -= step;
            let [a, b, c] = mesh.corners(t);
            // Evenly over the triangle, by the numbers of places so far (Roberts's additive recurrence).
            let n = places.len() as f64;
            let (u, v) =
                ((0.5 + 0.754_877_666_246_692_8 * n).fract(), (0.5 + 0.569_840_290_998_053_2 * n).fract());
            let (u, v) = if u + v > 1.0 { (1.0 - u, 1.0 - v) } else { (u, v) };
            places.push((a + (b - a) * u + (c - a) * v, (b - a).cross(c - a).normalize_or_zero()));
        }
    }
    places
}

/// Directions spread evenly over a ball, by the golden angle.
fn on_ball(i: usize) -> DVec3 {
    let z = 1.0 - (2.0 * i as f64 + 1.0) / DIRECTIONS as f64;
    let around = i as f64 * (3.0 - 5f64.sqrt()) * PI % TAU;
    let r = (1.0 - z * z).sqrt();
    DVec3::new(r * real::cos(around), r * real::sin(around), z)
}
