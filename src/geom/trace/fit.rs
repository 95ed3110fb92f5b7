//! A line of many points → few smooth curves and straight pieces, within a stated error.
//!
//! The line is divided at its corners. What is straight between two becomes one straight piece; anything else is
//! smoothed and fitted with cubics by least squares ([`super::cubics`]). Every piece is then compared with the points
//! that it replaces, and fitted again, closer, until none lies further off than allowed; at worst the points themselves
//! are joined.

use glam::{DVec2, dvec2};
use kurbo::{BezPath, PathEl, Point};

use super::{
    corners::{LineCorner, corners},
    smooth::{Ends, Padding, evenly, point, smoothed},
};
use crate::region::distance_to_segment;

/// A fitted line.
#[derive(Debug, Clone, PartialEq)]
pub struct Fitted {
    /// Lines and cubics.
    pub path: BezPath,
    /// How far the path strays from the points at most.
    pub error: f64,
}

/// How far points may stray from a straight piece, of the allowed error.
const STRAIGHT: f64 = 0.7;

/// Fits a closed line, or an open one from its first to its last point. Points are about `pixel` apart or
/// further; the path stays within `allowed` of them.
pub(super) fn fit(points: &[DVec2], ends: Ends, allowed: f64, pixel: f64) -> Fitted {
    // Half a pixel apart, so that sharp corners are hardly cut.
    let step = pixel / 2.0;
    let even = evenly(points, ends == Ends::Closed, step);
    // How far a corner may be moved, and what part of the error is used: first corners stay closer, then all does.
    let corner = allowed.max(0.75 * pixel);
    for (reach, part) in [(corner, 0.9), (0.4 * allowed, 0.9), (0.0, 0.9), (0.4 * allowed, 0.6), (0.0, 0.3)] {
        let path = fitted(&even, ends, part * allowed, step, reach);
        let error = furthest(&path, &from_start(points, &path, ends), ends == Ends::Closed, allowed);
        if error <= allowed {
            return Fitted { path, error };
        }
    }
    let mut path = BezPath::new();
    path.move_to(to_point(points[0]));
    points[1..].iter().for_each(|p| path.line_to(to_point(*p)));
    if ends == Ends::Closed {
        path.close_path();
    }
    Fitted { path, error: 0.0 }
}

/// Fits an evenly spaced line, aiming at an error.
fn fitted(even: &[DVec2], ends: Ends, aim: f64, step: f64, reach: f64) -> BezPath {
    let closed = ends == Ends::Closed;
    // Wide enough that the steps of pixels are not taken for corners.
    let steps = aim / step;
    let window = (8.0 + 2.0 * steps).min(48.0) as usize;
    let corners = corners(even, ends, window, reach);
    let sigma = (3.0 * steps.sqrt()).clamp(1.4, 16.0);
    let mut path = BezPath::new();
    let start = match (corners.first(), closed) {
        (Some(corner), true) => corner.at,
        _ => even[0],
    };
    path.move_to(to_point(start));
    // Points right beside a corner may be rounded off; the last time none is left out.
    let beside = if reach > 0.0 { 3 } else { 1 };
    for (piece, ends) in pieces(even, ends, &corners, beside) {
        add_piece(&mut path, &piece, ends, aim, sigma);
    }
    if closed {
        path.close_path();
    }
    path
}

/// The points of a closed line, from the one nearest to where the path begins.
fn from_start(points: &[DVec2], path: &BezPath, ends: Ends) -> Vec<DVec2> {
    let mut around = points.to_vec();
    if let (Ends::Closed, Some(PathEl::MoveTo(start))) = (ends, path.elements().first()) {
        let start = dvec2(start.x, start.y);
        let distance = |i: &usize| points[*i].distance_squared(start);
        let nearest = (0..points.len()).min_by(|a, b| distance(a).total_cmp(&distance(b)));
        around.rotate_left(nearest.unwrap_or(0));
    }
    around
}

/// The pieces between corners, each from corner to corner, from the point `beside` the one on to that as far before the
/// other; a closed line without corners is one closed piece.
fn pieces(even: &[DVec2], ends: Ends, corners: &[LineCorner], beside: usize) -> Vec<(Vec<DVec2>, Ends)> {
    let n = even.len();
    let both = Ends::Open(Padding::Corner, Padding::Corner);
    let inner_points =
        |from: usize, to: usize| (from + beside..(to + 1).saturating_sub(beside)).map(|i| even[i % n]);
    match ends {
        Ends::Closed if corners.is_empty() => vec![(even.to_vec(), Ends::Closed)],
        Ends::Closed => (0..corners.len())
            .map(|i| {
                let (a, b) = (corners[i], corners[(i + 1) % corners.len()]);
                let to = if b.index > a.index { b.index } else { b.index + n };
                let piece = std::iter::once(a.at).chain(inner_points(a.index, to)).chain([b.at]);
                (piece.collect(), both)
            })
            .collect(),
        Ends::Open(start, end) => {
            let mut nodes = vec![LineCorner { index: 0, at: even[0] }];
            nodes.extend(corners);
            nodes.push(LineCorner { index: n - 1, at: even[n - 1] });
            let last = nodes.len() - 2;
            nodes
                .windows(2)
                .enumerate()
                .map(|(i, pair)| {
                    let inner = inner_points(pair[0].index, pair[1].index);
                    let piece = std::iter::once(pair[0].at).chain(inner).chain([pair[1].at]).collect();
                    let from = if i == 0 { start } else { Padding::Corner };
                    let to = if i == last { end } else { Padding::Corner };
                    (piece, Ends::Open(from, to))
                })
                .collect()
        }
    }
}

/// A piece that no curve follows is divided until it has this many points.
const SHORTEST: usize = 24;

/// Adds one piece to the path, which ends where the piece begins.
fn add_piece(path: &mut BezPath, piece: &[DVec2], ends: Ends, allowed: f64, sigma: f64) {
    let (first, last) = (piece[0], piece[piece.len() - 1]);
    let open = ends != Ends::Closed;
    let level_off = |end: Padding| end == Padding::Mirrored;
    let may_be_straight = match ends {
        // A piece that meets the axis level is not straight unless it is level.
        Ends::Open(from, to) => {
            !(level_off(from) || level_off(to)) || (first.y - last.y).abs() <= STRAIGHT * allowed
        }
        Ends::Closed => false,
    };
    let strays = |p: &DVec2| distance_to_segment(*p, first, last) > STRAIGHT * allowed;
    if may_be_straight && !piece.iter().any(strays) {
        path.line_to(to_point(last));
        return;
    }
    for (width, part) in [(1.0, 0.3), (0.6, 0.3), (0.3, 0.25), (0.0, 0.2)] {
        let smooth = smoothed(piece, ends, sigma * width);
        let fitted = cubics_along(&smooth, ends, part * allowed);
        let mut closed_path: BezPath = fitted.elements().to_vec().into_iter().collect();
        if !open {
            closed_path.close_path();
        }
        if closed_path.elements().len() > 1 && furthest(&closed_path, piece, !open, allowed) <= allowed {
            // A closed piece begins where smoothing has moved its first point to.
            if !open
                && let (Some(PathEl::MoveTo(_)), Some(PathEl::MoveTo(start))) =
                    (path.elements().first(), fitted.elements().first())
                && path.elements().len() == 1
            {
                *path = BezPath::new();
                path.move_to(*start);
            }
            path.extend(fitted.elements().iter().skip(1).copied());
            return;
        }
    }
    let mut line = piece.to_vec();
    if !open {
        line.push(first);
    }
    if line.len() <= SHORTEST {
        line[1..].iter().for_each(|p| path.line_to(to_point(*p)));
        return;
    }
    // A speck on the edge, or the like, spoils no more than its surroundings.
    let middle = line.len() / 2;
    let (from, to) = match ends {
        Ends::Open(from, to) => (from, to),
        Ends::Closed => (Padding::Corner, Padding::Corner),
    };
    add_piece(path, &line[..=middle], Ends::Open(from, Padding::Corner), allowed, sigma);
    add_piece(path, &line[middle..], Ends::Open(Padding::Corner, to), allowed, sigma);
}

/// Few cubics along `points`, none of which lies further than `error` from them; where two meet their tangents agree.
fn cubics_along(points: &[DVec2], ends: Ends, error: f64) -> BezPath {
    let closed = ends == Ends::Closed;
    let mut line = points.to_vec();
    if closed {
        line.push(points[0]);
    }
    // The tangent of the curve at a point, by its neighbours.
    let tangent = |i: isize| (point(points, ends, i + 1) - point(points, ends, i - 1)).normalize_or_zero();
    let last = if closed { 0 } else { points.len() as isize - 1 };
    let mut path = BezPath::new();
    path.move_to(to_point(line[0]));
    super::cubics::add(&mut path, &line, tangent(0), -tangent(last), error);
    path
}

/// Greatest distance between a path and the points along it, in the same order. Stops early where that is much more
/// than `allowed`.
pub(super) fn furthest(path: &BezPath, points: &[DVec2], closed: bool, allowed: f64) -> f64 {
    /// The path is flattened within this part of the allowed error to be compared with points.
    const FINE: f64 = 0.02;
    let mut line: Vec<DVec2> = Vec::new();
    let mut start = DVec2::ZERO;
    kurbo::flatten(path, FINE * allowed, |piece| match piece {
        PathEl::MoveTo(p) => {
            start = dvec2(p.x, p.y);
            line.push(start);
        }
        PathEl::LineTo(p) => line.push(dvec2(p.x, p.y)),
        PathEl::ClosePath => line.push(start),
        PathEl::QuadTo(..) | PathEl::CurveTo(..) => {}
    });
    if line.len() < 2 || points.len() < 2 || !line.iter().all(|p| p.is_finite()) {
        return f64::INFINITY;
    }
    let there = off_line(&line, points.iter().copied(), allowed);
    if there > allowed {
        return there;
    }
    // And back: a curve may stray between points.
    let mut joined = points.to_vec();
    if closed {
        joined.push(points[0]);
    }
    let step = points[0].distance(points[1]).max(allowed / 4.0);
    let back = off_line(&joined, evenly(&line, false, step).into_iter(), allowed);
    there.max(back) * (1.0 + FINE)
}

/// Distance of the furthest of `points` from a line along them.
fn off_line(line: &[DVec2], points: impl Iterator<Item = DVec2>, allowed: f64) -> f64 {
    /// How many straight pieces ahead are searched for a nearer one.
    const AHEAD: usize = 24;
    let distance = |p: DVec2, i: usize| distance_to_segment(p, line[i], line[i + 1]);
    let last = line.len() - 2;
    let (mut at, mut worst) = (0, 0.0_f64);
    for p in points {
        let mut best = distance(p, at);
        for i in at + 1..=(at + AHEAD).min(last) {
            let next = distance(p, i);
            if next < best {
                (best, at) = (next, i);
            }
        }
        // The last piece of a closed line meets its beginning.
        if best > allowed {
            best = best.min(distance(p, 0)).min(distance(p, last));
        }
        worst = worst.max(best);
        if worst > 100.0 * allowed {
            break;
        }
    }
    worst
}

fn to_point(p: DVec2) -> Point {
    Point::new(p.x, p.y)
}

#[cfg(test)]
mod tests {
    use super::*;
    use kurbo::Shape;

    #[test]
    fn a_circle_of_pixels_becomes_few_curves_of_its_area() {
        let circle: Vec<DVec2> = (0..1000)
            .map(|i| 100.0 * DVec2::from_angle(std::f64::consts::TAU * f64::from(i) / 1000.0))
            .collect();
        let fitted = fit(&circle, Ends::Closed, 0.3, 0.6);
        let area = std::f64::consts::PI * 1e4;
        assert!((fitted.path.area() / area - 1.0).abs() < 1e-4, "{}", fitted.path.area());
        assert!(fitted.error < 0.3 && fitted.path.elements().len() < 20, "{fitted:?}");
    }

    #[test]
    fn a_square_stays_a_square() {
        let square = [(0.0, 0.0), (50.0, 0.0), (50.0, 50.0), (0.0, 50.0)].map(|(x, y)| dvec2(x, y));
        let fitted = fit(&square, Ends::Closed, 0.2, 0.4);
        assert!((fitted.path.area() - 2500.0).abs() < 1.0);
        let lines = fitted.path.elements().iter().filter(|e| matches!(e, PathEl::LineTo(_))).count();
        assert_eq!(lines, 4, "{:?}", fitted.path);
    }
}
