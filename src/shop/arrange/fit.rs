//! Where a pan has to stand so that its slab holds what is carved from it.

use glam::{DVec2, dvec2};

use super::needs::{DIRECTIONS, Needs, Shadow, corners, direction};
use plan::{
    design::{Footprint, FootprintShape},
    pantry::PanShape,
};

/// Degrees from one direction to the next.
const STEP: f64 = 360.0 / DIRECTIONS as f64;

/// Where a slab out of a pan of `shape` stands to hold `shadow` with `shave` to spare; `None` if it cannot. On the
/// axis and not turned where that will do, else measured to whole `mark`s where those will do. All in mm.
pub fn place(shape: PanShape, shadow: &Shadow, shave: f64, mark: f64) -> Option<Footprint> {
    match (shape, shadow) {
        (PanShape::Round(d), Shadow::Disc(r)) => (r + shave <= d / 2.0 + 1e-9).then(|| round(d, DVec2::ZERO)),
        (PanShape::Rectangle(w, d), Shadow::Disc(r)) => {
            (2.0 * (r + shave) <= w.min(d) + 1e-9).then(|| rectangle(w, d, DVec2::ZERO, 0.0))
        }
        (PanShape::Round(d), Shadow::Any(reach)) => round_about(d, &corners(reach), d / 2.0 - shave, mark),
        (PanShape::Rectangle(w, d), Shadow::Any(reach)) => box_about(w, d, reach, shave, mark),
        (PanShape::HalfBall(_), _) => None,
    }
}

/// Where a half-ball with its dome up stands at height `bottom`: on the axis, or not at all.
pub fn place_dome(
    diameter: f64,
    needs: &Needs,
    (from, to): (usize, usize),
    bottom: f64,
    shave: f64,
) -> Option<Footprint> {
    let radius = diameter / 2.0;
    let holds = |i: usize| {
        let up = needs.heights(i).1 - bottom;
        let inside = (radius * radius - up * up).max(0.0).sqrt();
        needs.reach(i) + shave <= inside + 1e-9
    };
    (from..to).all(holds).then(|| round(diameter, DVec2::ZERO))
}

fn round(diameter: f64, centre: DVec2) -> Footprint {
    Footprint { shape: FootprintShape::Round { diameter }, centre, turn: 0.0 }
}

fn rectangle(width: f64, depth: f64, centre: DVec2, turn: f64) -> Footprint {
    Footprint { shape: FootprintShape::Rectangle { width, depth }, centre, turn }
}

/// The place that a maker can measure next to `p`, in whole `mark`s or else in tenths, of those that `holds`
/// the one nearest to the axis; `p` itself where there is none.
fn measured(p: DVec2, mark: f64, holds: impl Fn(DVec2) -> bool) -> DVec2 {
    let around = |unit: f64| {
        let (lo, hi) = ((p / unit).floor() * unit, (p / unit).ceil() * unit);
        let corners =
            [lo, dvec2(lo.x, hi.y), dvec2(hi.x, lo.y), hi].into_iter().filter(|corner| holds(*corner));
        corners.min_by(|a, b| a.length().total_cmp(&b.length()))
    };
    around(mark).or_else(|| around(mark / 10.0)).map_or(p, |tidy| tidy + 0.0)
}

fn round_about(diameter: f64, points: &[DVec2], radius: f64, mark: f64) -> Option<Footprint> {
    let holds = |c: DVec2| points.iter().all(|p| p.distance(c) <= radius + 1e-9);
    if holds(DVec2::ZERO) {
        return Some(round(diameter, DVec2::ZERO));
    }
    let (centre, least) = smallest_circle(points);
    if least > radius {
        return None;
    }
    // As near to the axis as will do.
    let (mut near, mut far) = (0.0, 1.0);
    for _ in 0..24 {
        let half = (near + far) / 2.0;
        if holds(centre * half) { far = half } else { near = half }
    }
    Some(round(diameter, measured(centre * far, mark, holds)))
}

fn box_about(w: f64, d: f64, reach: &[f64; DIRECTIONS], shave: f64, mark: f64) -> Option<Footprint> {
    let half = DIRECTIONS / 2;
    let quarter = DIRECTIONS / 4;
    // Straight first, then crosswise, then ever further turned either way.
    let turned = (1..quarter).flat_map(|k| [k, half - k]);
    [0, quarter].into_iter().chain(turned).find_map(|k| {
        let span = |i: usize| (-reach[(i + half) % DIRECTIONS], reach[i % DIRECTIONS]);
        let (x, y) = (span(k), span(k + quarter));
        let room = dvec2(w - 2.0 * shave - (x.1 - x.0), d - 2.0 * shave - (y.1 - y.0)) / 2.0;
        if room.min_element() < -1e-9 {
            return None;
        }
        let middle = dvec2(x.0 + x.1, y.0 + y.1) / 2.0;
        let room = room.max(DVec2::ZERO);
        let centre = DVec2::ZERO.clamp(middle - room, middle + room);
        let turn = k as f64 * STEP;
        let turn = if turn > 90.0 { turn - 180.0 } else { turn };
        let axis = direction(k);
        let holds = |p: DVec2| {
            let off = dvec2(p.dot(axis), p.dot(axis.perp())) - middle;
            off.abs().cmple(room + 1e-9).all()
        };
        Some(rectangle(w, d, measured(axis.rotate(centre), mark, holds), turn))
    })
}

/// The smallest circle round `points` (Welzl's algorithm, moving to the front).
pub fn smallest_circle(points: &[DVec2]) -> (DVec2, f64) {
    let outside = |p: DVec2, (c, r): (DVec2, f64)| p.distance(c) > r + 1e-9;
    let through2 = |a: DVec2, b: DVec2| ((a + b) / 2.0, a.distance(b) / 2.0);
    let mut circle = (points.first().copied().unwrap_or_default(), 0.0);
    for i in 1..points.len() {
        if !outside(points[i], circle) {
            continue;
        }
        circle = (points[i], 0.0);
        for j in 0..i {
            if !outside(points[j], circle) {
                continue;
            }
            circle = through2(points[i], points[j]);
            for k in 0..j {
                if outside(points[k], circle) {
                    circle = through3(points[i], points[j], points[k]).unwrap_or(circle);
                }
            }
        }
    }
    circle
}

fn through3(a: DVec2, b: DVec2, c: DVec2) -> Option<(DVec2, f64)> {
    let (b, c) = (b - a, c - a);
    let twice = 2.0 * b.perp_dot(c);
    if twice.abs() < 1e-12 {
        return None;
    }
    let (bb, cc) = (b.length_squared(), c.length_squared());
    let centre = dvec2(c.y * bb - b.y * cc, b.x * cc - c.x * bb) / twice;
    Some((a + centre, centre.length()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_circle_holds_an_off_centre_square() {
        let square = [dvec2(10.0, 10.0), dvec2(30.0, 10.0), dvec2(30.0, 30.0), dvec2(10.0, 30.0)];
        let (c, r) = smallest_circle(&square);
        assert!(c.distance(dvec2(20.0, 20.0)) < 1e-9 && (r - 200f64.sqrt()).abs() < 1e-9);
        // 60 mm holds it only off the axis, and no further off than needed.
        let placed = round_about(60.0, &square, 30.0, 1.0).unwrap();
        assert!(square.iter().all(|p| p.distance(placed.centre) <= 30.0 + 1e-9));
        assert!(placed.centre.length() < c.length());
        assert_eq!(placed.centre, placed.centre.round());
    }
}
