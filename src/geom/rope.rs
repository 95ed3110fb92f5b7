//! Round bars along lines that may close, and that may bend about an edge more tightly than they are thick.
//!
//! As a bar ([`crate::sweep`]) it is the union of balls along its line. Where the rings that are set square to the line keep
//! clear of each other it is a tube of them, all round if the line closes; where they do not, it is the hulls of
//! neighbouring balls, and these few only.

use glam::DVec3;

use super::{
    Solid, Tolerance,
    sweep::tapered_capsule,
    tube::{Station, are_clear, directions, tube},
};

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

#[cfg(test)]
mod tests {
    use std::f64::consts::{PI, TAU};

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
