//! A cylinder round a few triangles of a surface.

use glam::DVec3;

/// A cylinder round the triangles of a leaf. Those of a fine surface fit in a flat one: most points that are near the
/// box of such a leaf, but not near its triangles, are told so by the cylinder's distance alone.
#[derive(Debug, Clone, Copy)]
pub struct BoundingCylinder {
    middle: DVec3,
    /// Direction of its axis.
    axis: DVec3,
    radius: f64,
    /// Half its height.
    half: f64,
}

impl BoundingCylinder {
    /// That of these triangles.
    pub fn of(triangles: &[[DVec3; 3]]) -> Self {
        let corners = || triangles.iter().flatten();
        let middle = corners().sum::<DVec3>() / (3 * triangles.len()) as f64;
        let normals = triangles.iter().map(|[a, b, c]| (*b - *a).cross(*c - *a));
        let axis = normals.sum::<DVec3>().try_normalize().unwrap_or(DVec3::Z);
        let (mut radius, mut half) = (0.0f64, 0.0f64);
        for p in corners().map(|p| *p - middle) {
            let along = p.dot(axis);
            half = half.max(along.abs());
            radius = radius.max((p - axis * along).length_squared());
        }
        Self { middle, axis, radius: radius.sqrt(), half }
    }

    /// Nothing in it is nearer to `p`, squared, mm².
    pub fn distance_squared(&self, p: DVec3) -> f64 {
        /// So that round-off never makes it more.
        const LESS: f64 = 1.0 - 1e-12;
        let from = p - self.middle;
        let along = from.dot(self.axis);
        let beside = (from - self.axis * along).length();
        let (over, out) = ((along.abs() - self.half).max(0.0), (beside - self.radius).max(0.0));
        (over * over + out * out) * LESS
    }
}
