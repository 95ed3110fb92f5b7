//! The line that an outline stands on.
//!
//! A body at rest stands on the edge of its convex hull that lies below its centre of mass. Where the outline runs
//! along that edge for [`LEAST_RUN`] of its width there is a base, and its tilt is the tilt of the picture; where it
//! only touches it, as a ball does, there is none.

use glam::{DVec2, dvec2};

use super::regions::bounds;
use crate::real;
use crate::{Hull, region::signed_area};

/// The base of an outline.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Base {
    /// How far it rises to the right, radians.
    pub tilt: f64,
    /// A point on it.
    pub at: DVec2,
}

/// The outline must run along its base for this part of its width at least.
const LEAST_RUN: f64 = 0.15;
/// From end to end the base must reach over this part of the width.
const LEAST_REACH: f64 = 0.25;
/// Pieces of the outline that lie this near to the base, in parts of the outline's height, belong to it; nearer
/// each time that the line is found again.
const BANDS: [f64; 3] = [0.01, 0.005, 0.0025];
/// But no nearer than a pixel, unless a pixel is more than this part of the height: small discs have no base.
const LEAST_BAND: f64 = 1.0;
const MOST_BAND: f64 = 0.02;

/// The base of the regions that `contours` bound, in pixels, right and up.
pub(super) fn base(contours: &[Vec<DVec2>]) -> Option<Base> {
    let (lo, hi) = bounds(contours.iter().flatten());
    let middle = centre(contours)?;
    let hull = Hull::of(contours.iter().flatten().copied());
    // Counter-clockwise only the edges below run to the right.
    let (from, to) = hull.edges().find(|(from, to)| from.x <= middle.x && middle.x <= to.x)?;
    let (mut at, mut along) = (from, (to - from).try_normalize()?);
    for band in BANDS {
        let height = hi.y - lo.y;
        let band = (band * height).max(LEAST_BAND.min(MOST_BAND * height));
        (at, along) = run_along(contours, at, along, band, hi.x - lo.x)?;
    }
    Some(Base { tilt: real::atan2(along.y, along.x), at })
}

/// The straight line through the pieces of the outline that lie within `band` of the line through `at`, by
/// least squares weighted with their lengths. `None` where they are too few for the width of the outline.
fn run_along(
    contours: &[Vec<DVec2>],
    at: DVec2,
    along: DVec2,
    band: f64,
    width: f64,
) -> Option<(DVec2, DVec2)> {
    /// Pieces at a greater angle to the line do not lie along it (cosine of 45°).
    const LEAST_COSINE: f64 = 0.7;
    let (mut weight, mut sum) = (0.0, DVec2::ZERO);
    let (mut from, mut to) = (f64::INFINITY, f64::NEG_INFINITY);
    let mut pieces: Vec<(DVec2, DVec2)> = Vec::new();
    for contour in contours {
        for (i, &a) in contour.iter().enumerate() {
            let b = contour[(i + 1) % contour.len()];
            let (length, middle) = (a.distance(b), (a + b) / 2.0);
            if along.perp_dot(middle - at).abs() <= band && (b - a).dot(along).abs() > LEAST_COSINE * length {
                weight += length;
                sum += middle * length;
                for place in [a, b].map(|end| (end - at).dot(along)) {
                    (from, to) = (from.min(place), to.max(place));
                }
                pieces.push((a, b));
            }
        }
    }
    if weight < LEAST_RUN * width || to - from < LEAST_REACH * width {
        return None;
    }
    let mean = sum / weight;
    let (mut xx, mut xy) = (0.0, 0.0);
    for (a, b) in pieces {
        // Second moments of a straight piece: of its middle and about its middle.
        let (off, run) = ((a + b) / 2.0 - mean, b - a);
        let (x, y) = (off.dot(along), along.perp_dot(off));
        let (dx, dy) = (run.dot(along), along.perp_dot(run));
        xx += run.length() * (x * x + dx * dx / 12.0);
        xy += run.length() * (x * y + dx * dy / 12.0);
    }
    let turned = along + along.perp() * (xy / xx);
    Some((mean, turned.normalize()))
}

/// Centre of the area.
fn centre(contours: &[Vec<DVec2>]) -> Option<DVec2> {
    let (mut area, mut moment) = (0.0, DVec2::ZERO);
    for contour in contours {
        let origin = *contour.first()?;
        for (i, &a) in contour.iter().enumerate() {
            let b = contour[(i + 1) % contour.len()];
            let cross = (a - origin).perp_dot(b - origin);
            moment += (a + b + origin) * (cross / 6.0);
        }
        area += signed_area(contour);
    }
    (area > 0.0).then(|| moment / area)
}

/// `p` turned clockwise by `tilt`, so that the base is level and at height 0.
pub(super) fn levelled(p: DVec2, base: Base) -> DVec2 {
    dvec2(real::cos(base.tilt), -real::sin(base.tilt)).rotate(p - base.at) + dvec2(base.at.x, 0.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn turned(points: &[(f64, f64)], degrees: f64) -> Vec<Vec<DVec2>> {
        let turn = DVec2::from_angle(degrees.to_radians());
        vec![points.iter().map(|&(x, y)| turn.rotate(dvec2(x, y)) + dvec2(300.0, 200.0)).collect()]
    }

    #[test]
    fn the_tilt_of_a_base_is_found_in_either_direction() {
        let house = [(0.0, 0.0), (200.0, 0.0), (200.0, 150.0), (100.0, 250.0), (0.0, 150.0)];
        for degrees in [-7.0, -0.4, 0.0, 2.5, 9.0] {
            let contours = turned(&house, degrees);
            let base = base(&contours).unwrap();
            assert!((base.tilt.to_degrees() - degrees).abs() < 1e-9, "{degrees}: {base:?}");
            let lowest = contours[0].iter().map(|p| levelled(*p, base).y).fold(f64::INFINITY, f64::min);
            assert!(lowest.abs() < 1e-9);
        }
    }

    #[test]
    fn feet_are_a_base_and_a_ball_has_none() {
        let feet = [
            (0.0, 0.0),
            (40.0, 0.0),
            (40.0, 30.0),
            (160.0, 30.0),
            (160.0, 0.0),
            (200.0, 0.0),
            (200.0, 90.0),
            (0.0, 90.0),
        ];
        assert!((base(&turned(&feet, 3.0)).unwrap().tilt.to_degrees() - 3.0).abs() < 1e-9);
        let ball: Vec<(f64, f64)> = (0..720)
            .map(|i| f64::from(i).to_radians() / 2.0)
            .map(|a| (90.0 * a.cos(), 90.0 * a.sin()))
            .collect();
        assert_eq!(base(&turned(&ball, 0.0)), None);
    }
}
