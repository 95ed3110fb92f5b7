//! Points spaced evenly along a line, and smoothed so that the steps of pixels disappear.
//!
//! Smoothing is by a Gaussian along the line, done so that curves do not shrink: what one pass removes is smoothed as
//! well and added back ("twicing", Tukey 1977), which leaves curves of radius r where they are to the fourth order of
//! the Gaussian's width over r.

use crate::real;
use glam::{DVec2, dvec2};

/// How a line is padded beyond an end, for smoothing up to the end.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Padding {
    /// By reflection in the end point: the end is a corner and does not move.
    Corner,
    /// By reflection in the axis x = 0, on which the end lies.
    Mirrored,
}

/// A line whose points are to be smoothed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Ends {
    /// It closes on itself; the first point is not repeated.
    Closed,
    /// It has two ends.
    Open(Padding, Padding),
}

/// Points on the line through `points`, all about `step` apart along it; the ends of an open line stay.
pub(super) fn evenly(points: &[DVec2], closed: bool, step: f64) -> Vec<DVec2> {
    let count = if closed { points.len() } else { points.len().saturating_sub(1) };
    let next = |i: usize| points[(i + 1) % points.len()];
    let length: f64 = (0..count).map(|i| points[i].distance(next(i))).sum();
    let pieces = (length / step).round().max(if closed { 3.0 } else { 1.0 });
    let step = length / pieces;
    let mut even = Vec::with_capacity(pieces as usize + 1);
    let mut along = 0.0;
    for (i, &a) in points.iter().enumerate().take(count) {
        let b = next(i);
        let piece = a.distance(b);
        while (even.len() as f64) * step < along + piece && (even.len() as f64) < pieces {
            even.push(a.lerp(b, (even.len() as f64 * step - along) / piece));
        }
        along += piece;
    }
    if !closed {
        even.extend(points.last());
    }
    even
}

/// `points`, evenly spaced, smoothed by a Gaussian with a standard deviation of `sigma` points.
pub(super) fn smoothed(points: &[DVec2], ends: Ends, sigma: f64) -> Vec<DVec2> {
    if points.len() < 3 || sigma < 0.1 {
        return points.to_vec();
    }
    let once = gaussian(points, ends, sigma);
    let lost: Vec<DVec2> = points.iter().zip(&once).map(|(p, q)| *p - *q).collect();
    // What was removed is a difference and no position: mirrored it changes sign, at a corner it is zero.
    let back = gaussian(&lost, ends, sigma);
    let mut smooth: Vec<DVec2> = once.into_iter().zip(back).map(|(p, q)| p + q).collect();
    if let Ends::Open(start, end) = ends {
        let last = points.len() - 1;
        for (at, padding) in [(0, start), (last, end)] {
            match padding {
                Padding::Corner => smooth[at] = points[at],
                Padding::Mirrored => smooth[at].x = 0.0,
            }
        }
    }
    smooth
}

/// Where the Gaussian is cut off, in standard deviations.
const REACH: f64 = 3.0;

fn gaussian(points: &[DVec2], ends: Ends, sigma: f64) -> Vec<DVec2> {
    let reach = (REACH * sigma).ceil() as isize;
    let weights: Vec<f64> = (0..=reach).map(|i| real::exp(-0.5 * real::powi(i as f64 / sigma, 2))).collect();
    let total = weights[0] + 2.0 * weights[1..].iter().sum::<f64>();
    let mean = |at: usize| {
        let sum =
            (-reach..=reach).map(|off| point(points, ends, at as isize + off) * weights[off.unsigned_abs()]);
        sum.sum::<DVec2>() / total
    };
    (0..points.len()).map(mean).collect()
}

/// The point at `index`, which may lie beyond the ends.
pub(super) fn point(points: &[DVec2], ends: Ends, index: isize) -> DVec2 {
    let n = points.len() as isize;
    let at = |i: isize| points[i.clamp(0, n - 1) as usize];
    match ends {
        Ends::Closed => points[index.rem_euclid(n) as usize],
        Ends::Open(start, _) if index < 0 => padded(start, at(0), at(-index)),
        Ends::Open(_, end) if index >= n => padded(end, at(n - 1), at(2 * (n - 1) - index)),
        Ends::Open(..) => at(index),
    }
}

fn padded(how: Padding, end: DVec2, within: DVec2) -> DVec2 {
    match how {
        Padding::Corner => 2.0 * end - within,
        Padding::Mirrored => dvec2(-within.x, within.y),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn points_come_evenly_and_keep_the_ends() {
        let line = [dvec2(0.0, 0.0), dvec2(3.0, 0.0), dvec2(3.0, 4.0)];
        let even = evenly(&line, false, 0.5);
        assert_eq!((even.len(), even[14]), (15, dvec2(3.0, 4.0)));
        assert!(even.windows(2).all(|p| (p[0].distance(p[1]) - 0.5).abs() < 1e-9));
        assert_eq!(evenly(&line, true, 0.5).len(), 24);
    }

    #[test]
    fn a_rough_circle_becomes_round_and_does_not_shrink() {
        let rough: Vec<DVec2> = (0..600)
            .map(|i| {
                let ripple = if i % 2 == 0 { 0.4 } else { -0.4 };
                (95.5 + ripple) * DVec2::from_angle(std::f64::consts::TAU * f64::from(i) / 600.0)
            })
            .collect();
        let smooth = smoothed(&rough, Ends::Closed, 2.0);
        assert!(smooth.iter().all(|p| (p.length() - 95.5).abs() < 0.01));
    }

    #[test]
    fn a_straight_line_stays_and_ends_stay() {
        let line: Vec<DVec2> = (0..20).map(|i| dvec2(f64::from(i), 2.0 * f64::from(i))).collect();
        let smooth = smoothed(&line, Ends::Open(Padding::Corner, Padding::Corner), 1.5);
        assert!(line.iter().zip(smooth).all(|(p, q)| p.distance(q) < 1e-9));
    }
}
