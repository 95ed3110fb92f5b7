//! Tubes: rings set square to a line, turned as little as possible from one to the next, with half balls at the ends or
//! closed to a ring.

use std::f64::consts::{FRAC_PI_2, TAU};

use glam::DVec3;

use super::{Tolerance, TriMesh};
use crate::real;

/// A place on the middle line, with the radius there, mm.
pub(crate) type Station = (DVec3, f64);

/// The direction of the line at every station: that of the circle through it and its neighbours, which leans towards the
/// nearer of them, so that stations close together have nearly the same.
pub(crate) fn directions(stations: &[Station], closed: bool) -> Vec<DVec3> {
    let n = stations.len();
    let chord = |i: usize| stations[(i + 1) % n].0 - stations[i % n].0;
    let at = |i: usize| {
        let before = (closed || i > 0).then(|| chord(i + n - 1));
        let after = (closed || i + 1 < n).then(|| chord(i));
        match (before, after) {
            (Some(before), Some(after)) => {
                // Chords of a circle turn by half the arcs that they span.
                let (a, b) = (before.length_squared(), after.length_squared());
                (before * b + after * a).normalize_or(after.normalize_or_zero())
            }
            (Some(only), None) | (None, Some(only)) => only.normalize_or_zero(),
            (None, None) => DVec3::Z,
        }
    };
    (0..n).map(at).collect()
}

/// Whether the rings at two neighbouring stations keep clear of each other: all of each lies on its own side of the plane of
/// the other.
pub(crate) fn are_clear([(p, r), (q, s)]: [Station; 2], ways: [DVec3; 2]) -> bool {
    let (chord, turn) = (q - p, ways[0].cross(ways[1]).length());
    ways[0].dot(ways[1]) > 0.0 && chord.dot(ways[0]) > s * turn && chord.dot(ways[1]) > r * turn
}

/// Rings square to the line, turned as little as possible from one to the next; with half balls at the ends, or closed.
pub(crate) fn tube(stations: &[Station], ways: &[DVec3], closed: bool, tolerance: Tolerance) -> TriMesh {
    let widest = stations.iter().map(|s| s.1).fold(0.0, f64::max);
    let around = tolerance.segments(widest).clamp(6, 64);
    let n = stations.len();
    let mut sides = vec![ways[0].any_orthonormal_vector()];
    for way in &ways[1..] {
        let before = sides[sides.len() - 1];
        sides.push((before - *way * before.dot(*way)).normalize_or(way.any_orthonormal_vector()));
    }
    // Once round, the sides have turned about the line: the turn is given back evenly.
    let twist = if closed {
        let last = sides[n - 1];
        let back = (last - ways[0] * last.dot(ways[0])).normalize_or(sides[0]);
        real::atan2(back.cross(sides[0]).dot(ways[0]), back.dot(sides[0]))
    } else {
        0.0
    };
    let mut mesh = TriMesh::default();
    let mut ring = |centre: DVec3, (way, side): (DVec3, DVec3), radius: f64, turned: f64| {
        let up = way.cross(side);
        let angles = (0..around).map(|k| TAU * f64::from(k) / f64::from(around) + turned);
        mesh.positions.extend(angles.map(|a| centre + (side * real::cos(a) + up * real::sin(a)) * radius));
    };
    let caps = if closed { 0 } else { (around / 4).max(2) };
    let share = |k: u32| FRAC_PI_2 * f64::from(k) / f64::from(caps);
    let ((first, start), (last, end)) = ((stations[0], 0), (stations[n - 1], n - 1));
    for k in 1..caps {
        let (sin, cos) = real::sin_cos(share(k));
        ring(first.0 - ways[start] * first.1 * cos, (ways[start], sides[start]), first.1 * sin, 0.0);
    }
    for (i, &(p, r)) in stations.iter().enumerate() {
        ring(p, (ways[i], sides[i]), r, twist * i as f64 / n as f64);
    }
    for k in (1..caps).rev() {
        let (sin, cos) = real::sin_cos(share(k));
        ring(last.0 + ways[end] * last.1 * cos, (ways[end], sides[end]), last.1 * sin, 0.0);
    }
    let rings = mesh.positions.len() as u32 / around;
    let vertex = |ring: u32, k: u32| (ring % rings) * around + k % around;
    for i in 0..if closed { rings } else { rings - 1 } {
        for k in 0..around {
            let [a, b, c, d] = [vertex(i, k), vertex(i, k + 1), vertex(i + 1, k + 1), vertex(i + 1, k)];
            mesh.triangles.extend([[a, b, c], [a, c, d]]);
        }
    }
    if !closed {
        let tip = mesh.positions.len() as u32;
        mesh.positions.extend([first.0 - ways[start] * first.1, last.0 + ways[end] * last.1]);
        for k in 0..around {
            mesh.triangles.push([tip, vertex(0, k + 1), vertex(0, k)]);
            mesh.triangles.push([vertex(rings - 1, k), vertex(rings - 1, k + 1), tip + 1]);
        }
    }
    mesh
}
