//! How much room the finished cake takes: what a box for it must hold.

use glam::{DVec2, DVec3};

use geom::{Hull, TriMesh};

/// The room that something takes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Extent {
    /// Its lowest corner: left, front, bottom, mm.
    pub low: DVec3,
    /// Its highest corner: right, back, top, mm.
    pub high: DVec3,
    /// The greatest distance between two of its points as seen from above, mm.
    pub across: f64,
}

impl Extent {
    /// The extent of `points`; `None` if there are none.
    pub fn of(points: &[DVec3]) -> Option<Self> {
        let (low, high) = points.iter().fold(None, |bounds: Option<(DVec3, DVec3)>, &p| {
            Some(bounds.map_or((p, p), |(low, high)| (low.min(p), high.max(p))))
        })?;
        Some(Self { low, high, across: diameter(&hull(points)) })
    }

    /// Width, depth and height, mm.
    pub fn size(&self) -> DVec3 {
        self.high - self.low
    }
}

/// Points that span a mesh as it is seen from above, with its heights.
pub(crate) fn spanning(mesh: &TriMesh) -> Vec<DVec3> {
    let Some((low, high)) = mesh.bounds() else { return Vec::new() };
    let corners = hull(&mesh.positions);
    corners.corners().iter().flat_map(|p| [p.extend(low.z), p.extend(high.z)]).collect()
}

/// The convex hull of points as seen from above.
fn hull(points: &[DVec3]) -> Hull {
    /// Directions in which the furthest points are looked for first.
    const DIRECTIONS: u32 = 16;
    /// Fewer points are not worth the search.
    const FEW: usize = 1000;
    let flat = || points.iter().map(|p| p.truncate());
    if points.len() < FEW {
        return Hull::of(flat());
    }
    // What lies inside the polygon of some furthest points is no corner.
    let along =
        |k: u32| geom::real::unit_vector(std::f64::consts::TAU * f64::from(k) / f64::from(DIRECTIONS));
    let furthest = (0..DIRECTIONS).filter_map(|k| {
        let along = along(k);
        flat().max_by(|a, b| a.dot(along).total_cmp(&b.dot(along)))
    });
    let inner = Hull::of(furthest);
    let edges: Vec<(DVec2, DVec2)> = inner.edges().collect();
    let outside = |p: &DVec2| edges.iter().any(|(a, b)| (*b - *a).perp_dot(*p - *a) <= 0.0);
    Hull::of(flat().filter(|p| edges.is_empty() || outside(p)))
}

/// The greatest distance between two corners of a hull, by rotating calipers.
fn diameter(hull: &Hull) -> f64 {
    let corners = hull.corners();
    let n = corners.len();
    if n < 3 {
        return if n == 2 { corners[0].distance(corners[1]) } else { 0.0 };
    }
    let mut most = 0.0_f64;
    let mut j = 1;
    for i in 0..n {
        let (a, b) = (corners[i], corners[(i + 1) % n]);
        let height = |k: usize| (b - a).perp_dot(corners[k % n] - a);
        // The corner furthest from an edge moves on as the edge does.
        while height(j + 1) > height(j) {
            j = (j + 1) % n;
        }
        most = most.max(a.distance(corners[j])).max(b.distance(corners[j]));
        most = most.max(a.distance(corners[(j + 1) % n])).max(b.distance(corners[(j + 1) % n]));
    }
    most
}

#[cfg(test)]
mod tests {
    use glam::dvec3;
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn of_a_bar_that_lies_aslant() {
        let points = [dvec3(0.0, 0.0, 1.0), dvec3(30.0, 40.0, 1.0), dvec3(10.0, 15.0, 9.0)];
        let extent = Extent::of(&points).unwrap();
        assert_eq!(extent.size(), dvec3(30.0, 40.0, 8.0));
        assert!((extent.across - 50.0).abs() < 1e-12);
        assert_eq!(Extent::of(&[]), None);
    }

    proptest! {
        /// Every pair of points is the reference.
        #[test]
        fn the_greatest_distance_of_any_two(
            at in prop::collection::vec((-50.0..50.0_f64, -50.0..50.0_f64, 0.0..9.0_f64), 1..1500)
        ) {
            let points: Vec<DVec3> = at.into_iter().map(|(x, y, z)| dvec3(x, y, z)).collect();
            let flat: Vec<DVec2> = points.iter().map(|p| p.truncate()).collect();
            let pairs = flat.iter().flat_map(|a| flat.iter().map(move |b| a.distance(*b)));
            let expected = pairs.fold(0.0, f64::max);
            let got = Extent::of(&points).unwrap().across;
            prop_assert!((got - expected).abs() < 1e-9, "{got} {expected}");
        }
    }
}
