//! Cubics along points: least squares between two given directions, divided where they stray.
//!
//! P. J. Schneider, An algorithm for automatically fitting digitized curves, in Graphics Gems (1990); then the area is
//! corrected. Not kurbo's own fitter: on some inputs it tries cubics of unbounded size, and does not end.

use glam::DVec2;
use kurbo::{BezPath, Point};

/// How often the parameters of points on a cubic are improved before it is divided.
const ROUNDS: usize = 8;
/// A cubic that strays further than this many times what is allowed is divided at once.
const TOO_FAR: f64 = 30.0;

/// Adds cubics to `path`, which ends at the first of `points`: they leave in the direction `from` and arrive from the
/// direction `to` (both of length 1, or 0 if unknown), and lie within `error` of the points.
pub(super) fn add(path: &mut BezPath, points: &[DVec2], from: DVec2, to: DVec2, error: f64) {
    let (first, last) = (points[0], points[points.len() - 1]);
    let chord = last - first;
    let known = |direction: DVec2, chord: DVec2| {
        if direction == DVec2::ZERO { chord.normalize_or_zero() } else { direction }
    };
    let (from, to) = (known(from, chord), known(to, -chord));
    if points.len() < 3 {
        let reach = chord.length() / 3.0;
        push(path, [first, first + from * reach, last + to * reach, last]);
        return;
    }
    let mut at = chord_parameters(points);
    let mut cubic = least_squares(points, &at, from, to);
    let (mut worst, mut split) = furthest(points, &at, &cubic);
    for _ in 0..ROUNDS {
        if worst <= error || worst > TOO_FAR * error {
            break;
        }
        reparametrise(points, &mut at, &cubic);
        cubic = least_squares(points, &at, from, to);
        (worst, split) = furthest(points, &at, &cubic);
    }
    if worst <= error {
        let kept = of_same_area(points, &cubic).filter(|kept| {
            reparametrise(points, &mut at, kept);
            furthest(points, &at, kept).0 <= error
        });
        push(path, kept.unwrap_or(cubic));
        return;
    }
    // Never near an end, so that dividing ends soon.
    let eighth = (points.len() / 8).max(1);
    let split = split.clamp(eighth, points.len() - 1 - eighth);
    let middle = (points[split + 1] - points[split - 1]).normalize_or_zero();
    add(path, &points[..=split], from, -middle, error);
    add(path, &points[split..], middle, to, error);
}

fn push(path: &mut BezPath, [_, a, b, end]: [DVec2; 4]) {
    let point = |p: DVec2| Point::new(p.x, p.y);
    path.curve_to(point(a), point(b), point(end));
}

/// Parameters of points by chord length, from 0 to 1.
fn chord_parameters(points: &[DVec2]) -> Vec<f64> {
    let mut length = 0.0;
    let mut parameters = vec![0.0];
    for pair in points.windows(2) {
        length += pair[0].distance(pair[1]);
        parameters.push(length);
    }
    if length > 0.0 {
        parameters.iter_mut().for_each(|t| *t /= length);
    }
    parameters
}

/// The Bernstein polynomials of degree three: the weights of a cubic's control points.
fn weights(t: f64) -> [f64; 4] {
    let s = 1.0 - t;
    [s * s * s, 3.0 * s * s * t, 3.0 * s * t * t, t * t * t]
}

/// The cubic with these ends and directions that is nearest to the points at their parameters, by least squares.
fn least_squares(points: &[DVec2], at: &[f64], from: DVec2, to: DVec2) -> [DVec2; 4] {
    /// Handles are no shorter than this part of the length along the points, and no longer than this many times it:
    /// anything else is no curve through them.
    const HANDLES: (f64, f64) = (1e-3, 1.5);
    let (first, last) = (points[0], points[points.len() - 1]);
    let (mut aa, mut ab, mut bb, mut a, mut b) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for (p, t) in points.iter().zip(at) {
        let [w0, w1, w2, w3] = weights(*t);
        let (u, v) = (from * w1, to * w2);
        let rest = *p - first * (w0 + w1) - last * (w2 + w3);
        aa += u.length_squared();
        ab += u.dot(v);
        bb += v.length_squared();
        a += u.dot(rest);
        b += v.dot(rest);
    }
    let size = aa * bb - ab * ab;
    let chord = first.distance(last);
    let length: f64 = points.windows(2).map(|pair| pair[0].distance(pair[1])).sum();
    let good = |reach: f64| reach > HANDLES.0 * length && reach < HANDLES.1 * length;
    let (one, two) = ((a * bb - b * ab) / size, (b * aa - a * ab) / size);
    let (one, two) = if good(one) && good(two) { (one, two) } else { (chord / 3.0, chord / 3.0) };
    [first, first + from * one, last + to * two, last]
}

/// The cubic with both handles made longer or shorter alike, so that it and its chord enclose as much as the points and
/// the chord do; `None` where no small change does that.
///
/// Least squares between fixed ends leaves a curved line slightly outside or inside the points all along, which adds up
/// to an error of the area. Twice the area of a cubic over its chord d, with handles a and b: 3/10 (2 a × d + a × b + 2 b × d).
fn of_same_area(points: &[DVec2], cubic: &[DVec2; 4]) -> Option<[DVec2; 4]> {
    /// More would change the line's form.
    const MOST: f64 = 0.25;
    let [first, a, b, last] = *cubic;
    let (chord, one, two) = (last - first, a - first, b - last);
    let wanted: f64 = points.windows(2).map(|pair| (pair[0] - first).perp_dot(pair[1] - first)).sum();
    // 3/10 (square s² + linear s) = wanted, and s = 1 + more.
    let (square, linear) = (one.perp_dot(two), 2.0 * (one + two).perp_dot(chord));
    let (short, slope) = (wanted / 0.3 - square - linear, 2.0 * square + linear);
    let root = (slope * slope + 4.0 * square * short).sqrt();
    // The root near zero, in the form that loses no digits.
    let more = 2.0 * short / (slope + root.copysign(slope));
    (more.abs() <= MOST).then(|| [first, first + one * (1.0 + more), last + two * (1.0 + more), last])
}

fn eval(cubic: &[DVec2; 4], t: f64) -> DVec2 {
    weights(t).into_iter().zip(cubic).map(|(w, p)| *p * w).sum()
}

/// Distance of the furthest of the points from the cubic at its parameter, and its index; never the first or the last.
fn furthest(points: &[DVec2], at: &[f64], cubic: &[DVec2; 4]) -> (f64, usize) {
    let inner = 1..points.len() - 1;
    let off = inner.map(|i| (points[i].distance(eval(cubic, at[i])), i));
    off.max_by(|a, b| a.0.total_cmp(&b.0)).unwrap_or((0.0, 1))
}

/// Moves each parameter towards where the cubic is nearest to its point (one step of Newton's method).
fn reparametrise(points: &[DVec2], at: &mut [f64], cubic: &[DVec2; 4]) {
    let [p0, p1, p2, p3] = *cubic;
    for (p, t) in points.iter().zip(at) {
        let s = 1.0 - *t;
        let off = eval(cubic, *t) - *p;
        let first = ((p1 - p0) * s * s + (p2 - p1) * 2.0 * s * *t + (p3 - p2) * *t * *t) * 3.0;
        let second = ((p2 - p1 * 2.0 + p0) * s + (p3 - p2 * 2.0 + p1) * *t) * 6.0;
        let slope = first.length_squared() + off.dot(second);
        if slope > 0.0 {
            *t = (*t - off.dot(first) / slope).clamp(0.0, 1.0);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A cubic follows a quarter of a circle to within 2.8e-4 of its radius (any text on Bézier curves).
    #[test]
    fn a_quarter_circle_is_one_cubic() {
        let points: Vec<DVec2> = (0..=60)
            .map(|i| 100.0 * DVec2::from_angle(std::f64::consts::FRAC_PI_2 * f64::from(i) / 60.0))
            .collect();
        let mut path = BezPath::new();
        path.move_to((100.0, 0.0));
        add(&mut path, &points, DVec2::Y, DVec2::X, 0.05);
        assert_eq!(path.elements().len(), 2);
    }

    #[test]
    fn degenerate_points_end_all_the_same() {
        for points in [
            vec![DVec2::ZERO; 40],
            vec![DVec2::ZERO, DVec2::X, DVec2::ZERO, DVec2::X, DVec2::ZERO],
            (0..200).map(|i| DVec2::new(f64::from(i % 2) * 1e9, f64::from(i) * 1e-9)).collect(),
        ] {
            let mut path = BezPath::new();
            path.move_to((points[0].x, points[0].y));
            add(&mut path, &points, DVec2::ZERO, DVec2::ZERO, 1e-6);
            assert!(path.is_finite());
        }
    }
}
