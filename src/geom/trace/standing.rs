//! The fitted outline of something that stands on a base: the base is exactly straight and level, and the rest is fitted
//! between its ends.

use glam::{DVec2, dvec2};
use kurbo::BezPath;

use super::{
    corners::line_through,
    fit::{Fitted, fit},
    smooth::{Ends, Padding},
};

/// Shorter stretches on y = 0 are no base, pixels.
const LEAST_RUN: f64 = 3.0;

/// Fits a closed line of pixels. Where it `stands`, its stretches along y = 0 become straight lines there.
pub(super) fn fit_standing(points: &[DVec2], stands: bool, allowed: f64, pixel: f64) -> Fitted {
    let runs = if stands { base_runs(points, pixel) } else { Vec::new() };
    if runs.is_empty() {
        return fit(points, Ends::Closed, allowed, pixel);
    }
    let n = points.len();
    // How far the wall's first points may be rounded off, and how far an end may be moved to where the wall meets y = 0.
    let reach = allowed.max(0.75 * pixel);
    let end = |at: usize, forwards: bool| wall_foot(points, at, forwards, reach);
    let ends: Vec<[WallFoot; 2]> = runs.iter().map(|&(from, to)| [end(from, false), end(to, true)]).collect();
    let mut all = Fitted { path: BezPath::new(), error: 0.0 };
    for (i, &(_, to)) in runs.iter().enumerate() {
        let (leave, arrive) = (&ends[i][1], &ends[(i + 1) % runs.len()][0]);
        if i == 0 {
            all.path.move_to((ends[0][0].x, 0.0));
        }
        all.path.line_to((leave.x, 0.0));
        let next = runs[(i + 1) % runs.len()].0;
        let count = (next + n - to - 1) % n + 1;
        let mut line = vec![dvec2(leave.x, 0.0)];
        // Of a short wall nothing may be skipped.
        let skipped = if leave.skipped + arrive.skipped + 2 < count {
            [leave, arrive].map(|f| f.skipped)
        } else {
            [0; 2]
        };
        line.extend((1 + skipped[0]..count - skipped[1]).map(|k| points[(to + k) % n]));
        line.push(dvec2(arrive.x, 0.0));
        let fitted = fit(&line, Ends::Open(Padding::Corner, Padding::Corner), allowed, pixel);
        all.error = all.error.max(fitted.error);
        all.path.extend(fitted.path.elements().iter().skip(1).copied());
    }
    all.path.close_path();
    all
}

/// Where a wall meets the base.
struct WallFoot {
    x: f64,
    /// How many points of the wall beside it are rounded off.
    skipped: usize,
}

/// The foot of the wall that begins at the end `at` of a run: where a straight line through its next points meets
/// y = 0, if that is no further than `reach`; the end itself otherwise.
fn wall_foot(points: &[DVec2], at: usize, forwards: bool, reach: f64) -> WallFoot {
    /// The points of the wall that are looked at.
    const FROM: usize = 2;
    const TO: usize = 16;
    let n = points.len();
    let wall = |k: usize| points[if forwards { at + k } else { at + n - k } % n];
    let none = WallFoot { x: points[at].x, skipped: 0 };
    if n < 4 * TO || (1..=TO).any(|k| wall(k).y == 0.0) {
        return none;
    }
    let side: Vec<DVec2> = (FROM..=TO).map(wall).collect();
    match line_through(&side) {
        Some((p, along)) if along.y.abs() > LEAST_SINE => {
            let x = p.x - along.x * p.y / along.y;
            if (x - points[at].x).abs() <= reach { WallFoot { x, skipped: FROM - 1 } } else { none }
        }
        _ => none,
    }
}

/// A wall that leaves the base at a smaller angle than this has no foot to find (sine of about 20°).
const LEAST_SINE: f64 = 0.34;

/// The stretches of a closed line along y = 0, each as the indices of its first and its last point.
fn base_runs(points: &[DVec2], pixel: f64) -> Vec<(usize, usize)> {
    let n = points.len();
    let on_base = |i: usize| points[i % n].y == 0.0;
    let Some(off) = (0..n).find(|i| !on_base(*i)) else { return Vec::new() };
    let mut runs = Vec::new();
    let mut from = None;
    for k in off..=off + n {
        match (from, on_base(k)) {
            (None, true) => from = Some(k),
            (Some(first), false) => {
                runs.push((first % n, (k - 1) % n));
                from = None;
            }
            _ => {}
        }
    }
    let long = |run: &(usize, usize)| points[run.0].distance(points[run.1]) >= LEAST_RUN * pixel;
    runs.retain(long);
    runs
}

#[cfg(test)]
mod tests {
    use super::*;
    use kurbo::PathEl;

    /// Two feet with round corners: both stretches on the board are exactly level, whatever is fitted between them.
    #[test]
    fn every_foot_is_exactly_level() {
        let mut points: Vec<DVec2> = (0..=40).map(|i| dvec2(f64::from(i), 0.0)).collect();
        points.extend((1..40).map(|i| {
            let x = 40.0 + f64::from(i) / 2.0;
            dvec2(x, 10.0 * (std::f64::consts::PI * f64::from(i) / 40.0).sin())
        }));
        points.extend((0..=40).map(|i| dvec2(60.0 + f64::from(i), 0.0)));
        points.extend((1..200).map(|i| {
            let angle = std::f64::consts::PI * f64::from(i) / 200.0;
            dvec2(50.0 + 50.0 * angle.cos(), 50.0 * angle.sin())
        }));
        let fitted = fit_standing(&points, true, 0.2, 0.5);
        let on_board: Vec<f64> = fitted
            .path
            .segments()
            .filter(|s| matches!(s, kurbo::PathSeg::Line(l) if l.p0.y == 0.0 && l.p1.y == 0.0))
            .map(|s| kurbo::Shape::bounding_box(&s).width())
            .collect();
        assert_eq!(on_board.len(), 2);
        assert!(on_board.iter().all(|run| (run - 40.0).abs() < 0.05), "{on_board:?}");
        assert!(fitted.error <= 0.2);
        assert!(fitted.path.elements().iter().any(|e| matches!(e, PathEl::CurveTo(..))));
    }
}
