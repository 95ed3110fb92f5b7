//! Newell's teapot.

// The tests of each member use their part of it.
#![allow(dead_code)]

/// Newell's teapot, the four cubics of its bowl from the rim down, as (radius, height) in the data's own
/// unit (three.js 0.187.0, TeapotGeometry.js); volumes found with scipy.
pub const BOWL: [[(f64, f64); 4]; 4] = [
    [(1.4, 2.4), (1.3375, 2.53125), (1.4375, 2.53125), (1.5, 2.4)],
    [(1.5, 2.4), (1.75, 1.875), (2.0, 1.35), (2.0, 0.9)],
    [(2.0, 0.9), (2.0, 0.45), (1.5, 0.225), (1.5, 0.15)],
    [(1.5, 0.15), (1.5, 0.075), (1.425, 0.0), (0.0, 0.0)],
];

/// The point of one of its cubics at `t`.
pub fn cubic(p: &[(f64, f64); 4], t: f64) -> (f64, f64) {
    let s = 1.0 - t;
    let weights = [s * s * s, 3.0 * s * s * t, 3.0 * s * t * t, t * t * t];
    (0..4).fold((0.0, 0.0), |(r, z), i| (r + weights[i] * p[i].0, z + weights[i] * p[i].1))
}
