//! The fitted outline of something that stands on a base: the base is exactly straight and level, and the rest is fitted
//! between its ends.

use glam::DVec2;
use kurbo::BezPath;

use super::{
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
    let mut all = Fitted { path: BezPath::new(), error: 0.0 };
    for (i, &(from, to)) in runs.iter().enumerate() {
        let next = runs[(i + 1) % runs.len()].0;
        if i == 0 {
            all.path.move_to((points[from].x, 0.0));
        }
        all.path.line_to((points[to].x, 0.0));
        let count = (next + n - to - 1) % n + 1;
        let line: Vec<DVec2> = (0..=count).map(|k| points[(to + k) % n]).collect();
        let fitted = fit(&line, Ends::Open(Padding::Corner, Padding::Corner), allowed, pixel);
        all.error = all.error.max(fitted.error);
        all.path.extend(fitted.path.elements().iter().skip(1).copied());
    }
    all.path.close_path();
    all
}

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
    use glam::dvec2;
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
        assert_eq!(on_board, [40.0, 40.0]);
        assert!(fitted.error <= 0.2);
        assert!(fitted.path.elements().iter().any(|e| matches!(e, PathEl::CurveTo(..))));
    }
}
