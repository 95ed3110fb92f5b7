//! The convex hull of points in the plane, and how far a point lies inside it.

use crate::real;
use glam::DVec2;

/// The convex hull of some points: corners counter-clockwise, none on a straight line between its neighbours.
///
/// Fewer than three corners are a point or a line; nothing lies inside them.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Hull {
    corners: Vec<DVec2>,
}

impl Hull {
    /// The hull of `points` (Andrew's monotone chain).
    pub fn of(points: impl IntoIterator<Item = DVec2>) -> Self {
        let mut points: Vec<DVec2> = points.into_iter().filter(|p| p.is_finite()).collect();
        points.sort_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
        points.dedup();
        if points.len() < 3 {
            return Self { corners: points };
        }
        let mut corners = half(points.iter().copied());
        corners.pop();
        corners.extend(half(points.iter().rev().copied()));
        corners.pop();
        Self { corners }
    }

    /// Its corners, counter-clockwise.
    pub fn corners(&self) -> &[DVec2] {
        &self.corners
    }

    /// Its edges, counter-clockwise; none of a point or a line.
    pub fn edges(&self) -> impl Iterator<Item = (DVec2, DVec2)> + '_ {
        let n = if self.corners.len() < 3 { 0 } else { self.corners.len() };
        (0..n).map(move |i| (self.corners[i], self.corners[(i + 1) % n]))
    }

    /// Distance from `p` to the nearest edge line, mm: negative outside. The second is the nearest point of that
    /// line: a body whose centre of mass is above `p` tips over it first. `None` for a point or a line.
    pub fn nearest_edge(&self, p: DVec2) -> Option<(f64, DVec2)> {
        self.edges()
            .filter_map(|(a, b)| {
                let inwards = (b - a).perp().try_normalize()?;
                let depth = (p - a).dot(inwards);
                Some((depth, p - depth * inwards))
            })
            .min_by(|a, b| a.0.total_cmp(&b.0))
    }

    /// How far one can go from `p` in direction `along` before leaving the hull, mm; below zero where `p` is
    /// outside already on that side.
    pub fn reach(&self, p: DVec2, along: DVec2) -> f64 {
        let to_edge = |(a, b): (DVec2, DVec2)| {
            let inwards = (b - a).perp().normalize_or_zero();
            let towards = -along.dot(inwards);
            (towards > 1e-12).then(|| (p - a).dot(inwards) / towards)
        };
        self.edges().filter_map(to_edge).fold(f64::INFINITY, f64::min)
    }
}

/// One half of the chain: points that turn left.
fn half(points: impl Iterator<Item = DVec2>) -> Vec<DVec2> {
    let mut chain: Vec<DVec2> = Vec::new();
    for p in points {
        while let [.., a, b] = chain[..]
            && (b - a).perp_dot(p - b) <= 0.0
        {
            chain.pop();
        }
        chain.push(p);
    }
    chain
}

/// By how many degrees something must be tilted for its centre of mass, `height` above its foot, to stand
/// plumb over an edge `inside` mm away: tan θ = inside / height. Below zero if it lies outside already.
pub fn tipping_angle(inside: f64, height: f64) -> f64 {
    real::atan2(inside, height).to_degrees()
}

#[cfg(test)]
mod tests {
    use glam::dvec2;

    use super::*;

    #[test]
    fn of_a_square_with_points_inside_and_on_its_sides() {
        let points = [(0.0, 0.0), (2.0, 0.0), (2.0, 2.0), (0.0, 2.0), (1.0, 1.0), (1.0, 0.0), (2.0, 1.5)];
        let hull = Hull::of(points.map(|(x, y)| dvec2(x, y)));
        assert_eq!(hull.corners(), [dvec2(0.0, 0.0), dvec2(2.0, 0.0), dvec2(2.0, 2.0), dvec2(0.0, 2.0)]);
        let (depth, foot) = hull.nearest_edge(dvec2(0.5, 1.2)).unwrap();
        assert!((depth - 0.5).abs() < 1e-12 && foot.distance(dvec2(0.0, 1.2)) < 1e-12);
        assert!((hull.reach(dvec2(0.5, 1.0), DVec2::X) - 1.5).abs() < 1e-12);
        assert!(hull.nearest_edge(dvec2(3.0, 1.0)).unwrap().0 < 0.0);
        assert!(hull.reach(dvec2(3.0, 1.0), DVec2::X) < 0.0);
    }

    #[test]
    fn nothing_lies_inside_a_point_or_a_line() {
        for points in
            [vec![], vec![dvec2(1.0, 1.0); 4], vec![dvec2(0.0, 0.0), dvec2(1.0, 1.0), dvec2(2.0, 2.0)]]
        {
            assert_eq!(Hull::of(points).nearest_edge(dvec2(1.0, 1.0)), None);
        }
    }
}
