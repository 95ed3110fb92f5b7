//! How closely figures must agree, and where they are looked at.

// The tests of each member use their part of it.
#![allow(dead_code)]

use geom::{Region, Tolerance};
use glam::{DVec2, dvec2};

/// A tolerance of `mm`.
pub fn tolerance(mm: f64) -> Tolerance {
    Tolerance::new(mm).expect("a length above zero")
}

/// Panics unless `got` lies within `relative` of `expected`.
#[track_caller]
pub fn assert_close(what: &str, got: f64, expected: f64, relative: f64) {
    let off = (got - expected).abs() / expected.abs().max(f64::MIN_POSITIVE);
    assert!(off <= relative, "{what}: {got} is not {expected}: off by {off:e} of it");
}

/// The half section whose corners are `points`.
pub fn section(points: &[(f64, f64)]) -> Region {
    Region::from_simple(points.iter().map(|&(r, z)| dvec2(r, z)).collect())
}

/// `chords` + 1 points on a circle about (0, `middle`), from angle `from` to angle `to`, degrees from the
/// outward direction.
pub fn arc(radius: f64, middle: f64, from: f64, to: f64, chords: u32) -> Vec<(f64, f64)> {
    (0..=chords)
        .map(|i| {
            let (sin, cos) = (from + (to - from) * f64::from(i) / f64::from(chords)).to_radians().sin_cos();
            (on_axis(radius * cos), middle + radius * sin)
        })
        .collect()
}

/// Round-off beside the axis is the axis.
fn on_axis(r: f64) -> f64 {
    if r.abs() < 1e-9 { 0.0 } else { r }
}

/// Numbers between 0 and 1 that fill their range evenly in one, two or three directions (Roberts's
/// additive recurrence), so that samples are the same on every run.
pub fn evenly(count: u32) -> impl Iterator<Item = [f64; 3]> {
    // Powers of 1/g where g⁴ = g + 1.
    const STEPS: [f64; 3] = [0.819_172_513_396_164_4, 0.671_043_606_703_789_2, 0.549_700_477_901_970_3];
    (1..=count).map(|i| STEPS.map(|step| (0.5 + step * f64::from(i)).fract()))
}

/// `p` mapped from the unit square to the box between `lo` and `hi`.
pub fn between(lo: DVec2, hi: DVec2, p: [f64; 3]) -> DVec2 {
    lo + (hi - lo) * dvec2(p[0], p[1])
}
