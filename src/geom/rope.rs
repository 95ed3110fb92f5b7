//! Round bars along lines that may close, and that may bend about an edge more tightly than they are thick.
//!
//! As a bar ([`crate::sweep`]) it is the union of balls along its line. Where the rings that are set square to the line keep
//! clear of each other it is a tube of them, all round if the line closes; where they do not, it is the hulls of
//! neighbouring balls, and these few only.

use std::f64::consts::{FRAC_PI_2, TAU};

use glam::DVec3;

use super::{Solid, Tolerance, TriMesh, sweep::tapered_capsule};
use crate::real;

/// A place on the middle line, with the radius there, mm.
type Station = (DVec3, f64);

/// Solids whose union is the bar through `stations`, which is `closed` if the last is joined to the first. Stations without
/// a radius are left out.
pub fn rope_parts(stations: &[Station], closed: bool, tolerance: Tolerance) -> Vec<Solid> {
    let mut stations: Vec<Station> = stations.iter().copied().filter(|(_, r)| *r > 0.0).collect();
    stations.dedup_by(|b, a| a.0.distance(b.0) < SAME);
    let meets = |a: &Station, b: &Station| a.0.distance(b.0) < SAME;
    if closed && stations.len() > 1 && meets(&stations[0], &stations[stations.len() - 1]) {
        stations.pop();
    }
    let closed = closed && stations.len() > 2;
    if stations.len() < 2 {
        return Vec::new();
    }
    let ways = directions(&stations, closed);
    let n = stations.len();
    let pairs = if closed { n } else { n - 1 };
    let clear: Vec<bool> = (0..pairs)
        .map(|i| are_clear([stations[i], stations[(i + 1) % n]], [ways[i], ways[(i + 1) % n]]))
        .collect();
    if closed
        && clear.iter().all(|clear| *clear)
        && let Ok(ring) = Solid::from_mesh(&tube(&stations, &ways, true, tolerance))
    {
        return vec![ring];
    }
    // A ring is opened where a run of rings ends, if there is such a place.
    let first = if closed { clear.iter().position(|clear| !clear).map_or(0, |tight| tight + 1) } else { 0 };
    let hull = |i: usize| tapered_capsule(stations[i % n], stations[(i + 1) % n], tolerance);
    let mut parts = Vec::new();
    let mut at = first;
    while at < first + pairs {
        let run = (at..first + pairs).take_while(|i| clear[i % pairs]).count();
        if run == 0 {
            parts.push(hull(at));
            at += 1;
            continue;
        }
        let of = |i: usize| (stations[i % n], ways[i % n]);
        let (own, ways): (Vec<Station>, Vec<DVec3>) = (at..=at + run).map(of).unzip();
        match Solid::from_mesh(&tube(&own, &ways, false, tolerance)) {
            Ok(tube) => parts.push(tube),
            Err(_) => parts.extend((at..at + run).map(hull)),
        }
        at += run;
    }
    parts
}

/// Nearer places are one, mm.
const SAME: f64 = 1e-6;

/// The direction of the line at every station: that of the circle through it and its neighbours.
fn directions(stations: &[Station], closed: bool) -> Vec<DVec3> {
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
fn are_clear([(p, r), (q, s)]: [Station; 2], ways: [DVec3; 2]) -> bool {
    let (chord, turn) = (q - p, ways[0].cross(ways[1]).length());
    ways[0].dot(ways[1]) > 0.0 && chord.dot(ways[0]) > s * turn && chord.dot(ways[1]) > r * turn
}

/// Rings square to the line, turned as little as possible from one to the next; with half balls at the ends, or closed.
fn tube(stations: &[Station], ways: &[DVec3], closed: bool, tolerance: Tolerance) -> TriMesh {
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

#[cfg(test)]
mod tests {
    use std::f64::consts::PI;

    use super::*;

    fn ring(radius: f64, thick: f64, n: u32) -> Vec<Station> {
        (0..n)
            .map(|i| (crate::revolve::at_bearing(radius, 20.0, 360.0 * f64::from(i) / f64::from(n)), thick))
            .collect()
    }

    /// A torus holds 2π² R r² (Pappus, any handbook).
    #[test]
    fn a_closed_rope_is_a_torus() {
        let parts = rope_parts(&ring(60.0, 5.0, 240), true, Tolerance::new(1e-3).unwrap());
        assert_eq!(parts.len(), 1);
        let mesh = parts[0].to_mesh();
        mesh.check().unwrap();
        let exact = 2.0 * PI * PI * 60.0 * 25.0;
        assert!((mesh.volume() / exact - 1.0).abs() < 5e-3, "{} {exact}", mesh.volume());
    }

    /// A line that leaves its plane comes back turned: the rings still meet.
    #[test]
    fn a_closed_line_out_of_its_plane_is_one_solid() {
        let line: Vec<Station> = (0..200)
            .map(|i| {
                let t = TAU * f64::from(i) / 200.0;
                (
                    DVec3::new(
                        50.0 * t.cos(),
                        50.0 * t.sin(),
                        12.0 * (2.0 * t).sin() + 5.0 * (3.0 * t).cos(),
                    ),
                    4.0,
                )
            })
            .collect();
        let parts = rope_parts(&line, true, Tolerance::PREVIEW);
        assert_eq!(parts.len(), 1);
        parts[0].to_mesh().check().unwrap();
        let along: f64 = (0..200).map(|i| line[i].0.distance(line[(i + 1) % 200].0)).sum();
        let exact = PI * 16.0 * along;
        assert!((parts[0].volume() / exact - 1.0).abs() < 0.06, "{} {exact}", parts[0].volume());
    }

    /// A square with sharp corners: tubes along the sides, hulls at the corners, together one solid whose volume is that of
    /// four mitred cylinders and what the round corners lack or add.
    #[test]
    fn sharp_corners_are_hulls_between_tubes() {
        let mut line: Vec<Station> = Vec::new();
        let corners = [(0.0, 0.0), (100.0, 0.0), (100.0, 100.0), (0.0, 100.0)];
        for i in 0..4 {
            let ((ax, ay), (bx, by)) = (corners[i], corners[(i + 1) % 4]);
            let at = |k: u32| {
                let s = f64::from(k) / 50.0;
                (DVec3::new(ax + (bx - ax) * s, ay + (by - ay) * s, 0.0), 5.0)
            };
            line.extend((0..50).map(at));
        }
        let parts = rope_parts(&line, true, Tolerance::new(1e-2).unwrap());
        assert!((5..=20).contains(&parts.len()), "{}", parts.len());
        let whole = Solid::union_all(&parts);
        whole.to_mesh().check().unwrap();
        // Four cylinders from corner to corner; at each corner they share a quarter of what two crossed cylinders have in
        // common, 16/3 r³ (any handbook), and outside it there is a quarter of a ball.
        let exact = PI * 25.0 * 400.0 + 4.0 / 3.0 * PI * 125.0 - 16.0 / 3.0 * 125.0;
        assert!((whole.volume() / exact - 1.0).abs() < 0.01, "{} {exact}", whole.volume());
    }

    #[test]
    fn an_open_rope_is_what_a_bar_is() {
        let line: Vec<Station> = ring(40.0, 6.0, 60).into_iter().take(40).collect();
        let rope = Solid::union_all(&rope_parts(&line, false, Tolerance::PREVIEW));
        let bar = crate::sweep::bar(&line, 0.0, Tolerance::PREVIEW);
        assert!((rope.volume() / bar.volume() - 1.0).abs() < 1e-6);
    }
}
