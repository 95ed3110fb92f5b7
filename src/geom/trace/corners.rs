//! Corners of a line of pixels: places where it turns sharply within a few points.

use glam::DVec2;

use super::smooth::{Ends, point};
use crate::real;

/// A corner of a line of pixels.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct LineCorner {
    /// Index of the point of the line.
    pub index: usize,
    /// Its position, to a fraction of a pixel.
    pub at: DVec2,
}

/// A turn of less than this, radians, over the window is no corner: about 37°.
const LEAST_TURN: f64 = 0.65;
/// A turn of more than this is one even where the line turns on beside it: about 75°.
const SURE_TURN: f64 = 1.3;
/// A line that turns by more than this factor over twice the window is a bend and no corner.
const BEND: f64 = 1.5;

/// The corners inside an evenly spaced line, from `window` points on either side. A corner may be moved up to
/// `reach` from its point, to where straight lines through both sides meet.
pub(super) fn corners(points: &[DVec2], ends: Ends, window: usize, reach: f64) -> Vec<LineCorner> {
    let n = points.len();
    let within = |i: usize| match ends {
        Ends::Closed => n > 4 * window,
        Ends::Open(..) => i >= window && i + window < n,
    };
    let turns: Vec<f64> =
        (0..n).map(|i| if within(i) { turn(points, ends, i, window) } else { 0.0 }).collect();
    let greatest_around = |i: usize| {
        let w = window as isize;
        (-w..=w).filter(|off| *off != 0).all(|off| {
            let j = i as isize + off;
            let other = match ends {
                Ends::Closed => j.rem_euclid(n as isize) as usize,
                Ends::Open(..) if (0..n as isize).contains(&j) => j as usize,
                Ends::Open(..) => return true,
            };
            // Of equals the first is the corner.
            turns[other].abs() < turns[i].abs() || (turns[other].abs() == turns[i].abs() && off > 0)
        })
    };
    let is_corner = |i: usize| {
        let here = turns[i].abs();
        here > LEAST_TURN
            && greatest_around(i)
            && (here > SURE_TURN || turn(points, ends, i, 2 * window).abs() < BEND * here)
    };
    (0..n)
        .filter(|&i| is_corner(i))
        .map(|index| LineCorner { index, at: meeting(points, ends, index, window, reach) })
        .collect()
}

/// How far the line turns at a point, from its chord over the window before to that after, radians.
fn turn(points: &[DVec2], ends: Ends, i: usize, window: usize) -> f64 {
    let (i, w) = (i as isize, window as isize);
    let here = point(points, ends, i);
    let (before, after) = (here - point(points, ends, i - w), point(points, ends, i + w) - here);
    real::atan2(before.perp_dot(after), before.dot(after))
}

/// Where straight lines through both sides of a corner meet; the point itself if that is further off than `reach`.
fn meeting(points: &[DVec2], ends: Ends, index: usize, window: usize, reach: f64) -> DVec2 {
    let here = points[index];
    let side = |sign: isize| {
        // The points next to the corner may be rounded off.
        let side: Vec<DVec2> =
            (3..=window as isize + 1).map(|k| point(points, ends, index as isize + sign * k)).collect();
        line_through(&side)
    };
    let (Some((a, u)), Some((b, v))) = (side(-1), side(1)) else { return here };
    let across = u.perp_dot(v);
    if across.abs() < real::sin(LEAST_TURN) / 2.0 {
        return here;
    }
    let met = a + u * ((b - a).perp_dot(v) / across);
    if met.distance(here) <= reach { met } else { here }
}

/// The straight line nearest to points: their mean and its direction.
pub(super) fn line_through(points: &[DVec2]) -> Option<(DVec2, DVec2)> {
    let mean = points.iter().sum::<DVec2>() / points.len() as f64;
    let (mut xx, mut xy, mut yy) = (0.0, 0.0, 0.0);
    for off in points.iter().map(|p| *p - mean) {
        xx += off.x * off.x;
        xy += off.x * off.y;
        yy += off.y * off.y;
    }
    (xx + yy > 0.0).then(|| (mean, real::unit_vector(0.5 * real::atan2(2.0 * xy, xx - yy))))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trace::smooth::evenly;
    use glam::dvec2;

    #[test]
    fn a_square_has_four_corners_where_they_are_and_a_circle_none() {
        let square =
            [dvec2(0.3, 0.0), dvec2(60.0, 0.0), dvec2(60.0, 60.0), dvec2(0.0, 60.0), dvec2(0.0, 0.3)];
        let even = evenly(&square, true, 1.0);
        let found = corners(&even, Ends::Closed, 4, 1.5);
        assert_eq!(found.len(), 4, "{found:?}");
        for corner in [(0.0, 0.0), (60.0, 0.0), (60.0, 60.0), (0.0, 60.0)] {
            assert!(found.iter().any(|c| c.at.distance(dvec2(corner.0, corner.1)) < 0.1), "{found:?}");
        }
        let circle: Vec<DVec2> = (0..300)
            .map(|i| 47.7 * DVec2::from_angle(std::f64::consts::TAU * f64::from(i) / 300.0))
            .collect();
        assert_eq!(corners(&circle, Ends::Closed, 4, 1.5), []);
    }
}
