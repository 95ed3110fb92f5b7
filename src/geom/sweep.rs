//! Round bars along a path.
//!
//! A bar is the union of balls along its path, so that its ends are round and growing it by d mm
//! means growing every ball. Its mesh is a tube (`geom::tube`) where its rings keep clear of each other.

use std::f64::consts::TAU;

use glam::DVec3;

use super::{
    Solid, Tolerance,
    tube::{Station, are_clear, directions, tube},
};
use crate::real;

/// The radii of a bar along its path.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bar {
    /// Radius of the full bar, mm.
    pub radius: f64,
    /// How far from each end it begins to thin down, mm.
    pub taper: f64,
    /// Radius at the very ends of a tapered bar, mm.
    pub end_radius: f64,
}

impl Bar {
    /// The points of `line` with the bar's radius at each; tapers get points of their own where the
    /// line has too few to show them.
    pub fn stations(&self, line: &[DVec3]) -> Vec<(DVec3, f64)> {
        /// Pieces that a taper is drawn with.
        const TAPER_PIECES: u32 = 8;
        let lengths: Vec<f64> = line.windows(2).map(|w| w[0].distance(w[1])).collect();
        let total: f64 = lengths.iter().sum();
        let taper = self.taper.min(total / 2.0);
        let mut marks: Vec<f64> = lengths
            .iter()
            .scan(0.0, |along, length| {
                *along += length;
                Some(*along)
            })
            .collect();
        marks.insert(0, 0.0);
        if taper > 0.0 {
            let steps = (0..=TAPER_PIECES).map(|i| taper * f64::from(i) / f64::from(TAPER_PIECES));
            marks.extend(steps.flat_map(|s| [s, total - s]));
        }
        marks.sort_by(f64::total_cmp);
        marks.dedup_by(|a, b| (*a - *b).abs() < 1e-6);
        marks.into_iter().map(|s| (point_along(line, s), self.radius_at(s.min(total - s), taper))).collect()
    }

    /// Radius at a distance from the nearer end, where it thins down over `taper` mm: a quarter ellipse from the end radius
    /// to the full one.
    pub fn radius_at(&self, from_end: f64, taper: f64) -> f64 {
        if from_end >= taper {
            return self.radius;
        }
        let t = 1.0 - from_end.max(0.0) / taper;
        self.end_radius + (self.radius - self.end_radius) * (1.0 - t * t).max(0.0).sqrt()
    }
}

fn point_along(line: &[DVec3], mut distance: f64) -> DVec3 {
    for w in line.windows(2) {
        let length = w[0].distance(w[1]);
        if distance <= length && length > 0.0 {
            return w[0].lerp(w[1], distance / length);
        }
        distance -= length;
    }
    line.last().copied().unwrap_or_default()
}

/// A smooth line through `points`: cubic pieces whose directions are those of the neighbours' chords
/// (centripetal, so that it neither loops nor overshoots), as straight pieces within `tolerance`.
pub fn smooth(points: &[DVec3], tolerance: Tolerance) -> Vec<DVec3> {
    let n = points.len();
    if n < 3 {
        return points.to_vec();
    }
    // Mirrored points before the first and after the last one.
    let at = |i: isize| match i {
        -1 => points[0] * 2.0 - points[1],
        i if i as usize >= n => points[n - 1] * 2.0 - points[n - 2],
        i => points[i as usize],
    };
    let mut line = vec![points[0]];
    for i in 0..n as isize - 1 {
        let p = [at(i - 1), at(i), at(i + 1), at(i + 2)];
        let chord = p[1].distance(p[2]);
        // The sagitta of a piece shrinks with the square of how often it is split.
        let bulge = (p[0] - p[1] * 2.0 + p[2]).length().max((p[1] - p[2] * 2.0 + p[3]).length()) / 8.0;
        let pieces = (bulge / tolerance.chord_mm()).sqrt().ceil().clamp(1.0, (chord * 4.0).max(1.0)) as u32;
        line.extend((1..=pieces).map(|k| centripetal(&p, f64::from(k) / f64::from(pieces))));
    }
    line
}

/// Point at `t` (0 to 1) between `p[1]` and `p[2]` on the centripetal Catmull–Rom curve through `p`
/// (Barry and Goldman's pyramid).
fn centripetal(p: &[DVec3; 4], t: f64) -> DVec3 {
    let mut knots = [0.0; 4];
    for i in 1..4 {
        knots[i] = knots[i - 1] + p[i].distance(p[i - 1]).sqrt().max(1e-9);
    }
    let t = knots[1] + (knots[2] - knots[1]) * t;
    let mix = |a: DVec3, b: DVec3, from: f64, to: f64| a.lerp(b, (t - from) / (to - from));
    let a = [0, 1, 2].map(|i| mix(p[i], p[i + 1], knots[i], knots[i + 1]));
    let b = [0, 1].map(|i| mix(a[i], a[i + 1], knots[i], knots[i + 2]));
    mix(b[0], b[1], knots[1], knots[2])
}

/// The bar through `stations` (point and radius), grown by `grow` mm (shrunk if negative); empty where
/// nothing is left of it.
pub fn bar(stations: &[(DVec3, f64)], grow: f64, tolerance: Tolerance) -> Solid {
    let grown: Vec<(DVec3, f64)> = stations.iter().map(|&(p, r)| (p, r + grow)).collect();
    Solid::union_all(&bar_parts(&grown, tolerance, |_, _| true))
}

/// Solids whose union is the bar through `stations` (point and radius): one of rings where it can be that, else one
/// for each two neighbours that are `wanted`. Stations without a radius are left out.
pub fn bar_parts(
    stations: &[(DVec3, f64)],
    tolerance: Tolerance,
    wanted: impl Fn((DVec3, f64), (DVec3, f64)) -> bool,
) -> Vec<Solid> {
    let stations: Vec<(DVec3, f64)> = stations.iter().copied().filter(|(_, r)| *r > 0.0).collect();
    if stations.len() < 2 {
        return Vec::new();
    }
    let ways = directions(&stations, false);
    if all_clear(&stations, &ways)
        && let Ok(tube) = Solid::from_mesh(&tube(&stations, &ways, false, tolerance))
    {
        return vec![tube];
    }
    // A bar that bends more tightly than it is thick: the hulls of neighbouring balls.
    let pairs = stations.windows(2).filter(|w| wanted(w[0], w[1]));
    pairs.map(|w| tapered_capsule(w[0], w[1], tolerance)).collect()
}

fn all_clear(stations: &[Station], ways: &[DVec3]) -> bool {
    let pairs = stations.windows(2).zip(ways.windows(2));
    pairs.into_iter().all(|(stations, ways)| are_clear([stations[0], stations[1]], [ways[0], ways[1]]))
}

/// The convex hull of two balls.
pub(crate) fn tapered_capsule(a: (DVec3, f64), b: (DVec3, f64), tolerance: Tolerance) -> Solid {
    let points: Vec<DVec3> = [a, b]
        .into_iter()
        .flat_map(|(centre, radius)| ball_points(radius, tolerance).into_iter().map(move |p| centre + p))
        .collect();
    Solid::hull(&points)
}

/// Points evenly over a sphere about the origin, on parallels and meridians.
pub fn ball_points(radius: f64, tolerance: Tolerance) -> Vec<DVec3> {
    let around = tolerance.segments(radius).min(128);
    let rows = around / 2;
    let mut points = vec![DVec3::Z * radius, DVec3::NEG_Z * radius];
    for i in 1..rows {
        let (sin, cos) = real::sin_cos(TAU * f64::from(i) / f64::from(around));
        points.extend((0..around).map(|k| {
            let (s, c) = real::sin_cos(TAU * f64::from(k) / f64::from(around));
            DVec3::new(sin * c, sin * s, cos) * radius
        }));
    }
    points
}

#[cfg(test)]
mod tests {
    use std::f64::consts::PI;

    use super::*;

    #[test]
    fn a_straight_bar_is_a_cylinder_with_round_ends() {
        let fine = Tolerance::new(1e-2).unwrap();
        let bar_solid = bar(&[(DVec3::ZERO, 5.0), (DVec3::new(30.0, 40.0, 0.0), 5.0)], 1.0, fine);
        // Capsule: π r² L + 4/3 π r³, any handbook.
        let exact = PI * 36.0 * 50.0 + 4.0 / 3.0 * PI * 216.0;
        assert!((bar_solid.volume() / exact - 1.0).abs() < 5e-3, "{}", bar_solid.volume() / exact);
        bar_solid.to_mesh().check().unwrap();
    }

    #[test]
    fn a_bent_bar_holds_its_path_times_its_section() {
        // A smooth half circle of radius 40: Pappus, π r² · π R, plus the two end domes.
        let points: Vec<DVec3> = (0..=12)
            .map(|i| {
                let a = PI * f64::from(i) / 12.0;
                DVec3::new(40.0 * a.cos(), 0.0, 40.0 * a.sin())
            })
            .collect();
        let line = smooth(&points, Tolerance::TOOL);
        let stations: Vec<(DVec3, f64)> = line.iter().map(|&p| (p, 6.0)).collect();
        let solid = bar(&stations, 0.0, Tolerance::TOOL);
        let exact = PI * 36.0 * PI * 40.0 + 4.0 / 3.0 * PI * 216.0;
        assert!((solid.volume() / exact - 1.0).abs() < 0.02, "{}", solid.volume() / exact);
        solid.to_mesh().check().unwrap();
    }

    /// A taper puts a station close beside a bend; it bends no more tightly for that, and stays a tube of rings.
    #[test]
    fn stations_close_together_are_no_tight_bend() {
        let at = |degrees: f64| {
            let (sin, cos) = degrees.to_radians().sin_cos();
            (DVec3::new(40.0 * cos, 0.0, 40.0 * sin), 15.0)
        };
        let mut stations: Vec<(DVec3, f64)> = (0..=20).map(|i| at(6.0 * f64::from(i))).collect();
        let close = stations[9].0.lerp(stations[10].0, 0.98);
        stations.insert(10, (close, 15.0));
        let ways = directions(&stations, false);
        assert!(all_clear(&stations, &ways));
        let mesh = tube(&stations, &ways, false, Tolerance::PREVIEW);
        mesh.check().unwrap();
        let whole = Solid::union_all(
            &stations.windows(2).map(|w| tapered_capsule(w[0], w[1], Tolerance::PREVIEW)).collect::<Vec<_>>(),
        );
        assert!((mesh.volume() / whole.volume() - 1.0).abs() < 0.02, "{} {}", mesh.volume(), whole.volume());
    }

    #[test]
    fn a_sharp_bend_is_still_one_solid() {
        let stations = [(DVec3::ZERO, 5.0), (DVec3::X * 30.0, 5.0), (DVec3::X * 2.0 + DVec3::Y, 5.0)];
        bar(&stations, 0.0, Tolerance::PREVIEW).to_mesh().check().unwrap();
    }
}
