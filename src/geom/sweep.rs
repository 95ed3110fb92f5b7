//! Round bars along a path.
//!
//! A bar is the union of balls along its path, so that its ends are round and growing it by d mm
//! means growing every ball. Its mesh is a tube of rings set square to the path, turned as little as
//! possible from one to the next, with hemispheres at the ends.

use std::f64::consts::{FRAC_PI_2, TAU};

use glam::DVec3;

use super::{Solid, Tolerance, TriMesh};
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
    let directions = directions(&stations);
    if rings_are_disjoint(&stations, &directions)
        && let Ok(tube) = Solid::from_mesh(&tube(&stations, &directions, tolerance))
    {
        return vec![tube];
    }
    // A bar that bends more tightly than it is thick: the hulls of neighbouring balls.
    let pairs = stations.windows(2).filter(|w| wanted(w[0], w[1]));
    pairs.map(|w| tapered_capsule(w[0], w[1], tolerance)).collect()
}

/// The direction of the path at every station: that of the circle through it and its neighbours, which leans towards
/// the nearer of them, so that stations close together have nearly the same.
fn directions(stations: &[(DVec3, f64)]) -> Vec<DVec3> {
    let chords: Vec<DVec3> = stations.windows(2).map(|w| w[1].0 - w[0].0).collect();
    let at = |i: usize| match (i.checked_sub(1).map(|before| chords[before]), chords.get(i)) {
        (Some(before), Some(&after)) => {
            // Chords of a circle turn by half the arcs that they span.
            let (a, b) = (before.length_squared(), after.length_squared());
            (before * b + after * a).normalize_or(after.normalize_or_zero())
        }
        (Some(only), None) | (None, Some(&only)) => only.normalize_or_zero(),
        (None, None) => DVec3::Z,
    };
    (0..stations.len()).map(at).collect()
}

/// Whether no ring cuts the next: all of each lies on its own side of the plane of the other.
fn rings_are_disjoint(stations: &[(DVec3, f64)], directions: &[DVec3]) -> bool {
    stations.windows(2).zip(directions.windows(2)).all(|(stations, directions)| {
        let [(p, r), (q, s)] = [stations[0], stations[1]];
        let chord = q - p;
        let turn = directions[0].cross(directions[1]).length();
        let ahead = directions[0].dot(directions[1]) > 0.0;
        ahead && chord.dot(directions[0]) > s * turn && chord.dot(directions[1]) > r * turn
    })
}

fn tube(stations: &[(DVec3, f64)], directions: &[DVec3], tolerance: Tolerance) -> TriMesh {
    let widest = stations.iter().map(|s| s.1).fold(0.0, f64::max);
    let around = tolerance.segments(widest).min(64);
    let cap_rings = (around / 4).max(2);
    let n = stations.len();
    let (start, onward) = (directions[0], directions[n - 1]);
    let mut side = start.any_orthonormal_vector();
    let mut mesh = TriMesh::default();
    let (first, last) = (stations[0], stations[n - 1]);
    mesh.positions.push(first.0 - start * first.1);
    let mut ring = |centre: DVec3, along: DVec3, radius: f64| {
        side = (side - along * side.dot(along)).normalize();
        let up = along.cross(side);
        let angles = (0..around).map(|k| TAU * f64::from(k) / f64::from(around));
        mesh.positions.extend(angles.map(|a| centre + (side * real::cos(a) + up * real::sin(a)) * radius));
    };
    for k in 1..cap_rings {
        let a = FRAC_PI_2 * f64::from(k) / f64::from(cap_rings);
        ring(first.0 - start * first.1 * real::cos(a), start, first.1 * real::sin(a));
    }
    for (&(p, r), along) in stations.iter().zip(directions) {
        ring(p, *along, r);
    }
    for k in (1..cap_rings).rev() {
        let a = FRAC_PI_2 * f64::from(k) / f64::from(cap_rings);
        ring(last.0 + onward * last.1 * real::cos(a), onward, last.1 * real::sin(a));
    }
    mesh.positions.push(last.0 + onward * last.1);
    let rings = n as u32 + 2 * (cap_rings - 1);
    let end = mesh.positions.len() as u32 - 1;
    let vertex = |ring: u32, k: u32| 1 + ring * around + k % around;
    for k in 0..around {
        mesh.triangles.push([0, vertex(0, k + 1), vertex(0, k)]);
        for i in 0..rings - 1 {
            let [a, b] = [vertex(i, k), vertex(i, k + 1)];
            let [c, d] = [vertex(i + 1, k + 1), vertex(i + 1, k)];
            mesh.triangles.push([a, b, c]);
            mesh.triangles.push([a, c, d]);
        }
        mesh.triangles.push([vertex(rings - 1, k), vertex(rings - 1, k + 1), end]);
    }
    mesh
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
        let directions = directions(&stations);
        assert!(rings_are_disjoint(&stations, &directions));
        let mesh = tube(&stations, &directions, Tolerance::PREVIEW);
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
