//! Where a straight line meets a mesh.

use glam::DVec3;

use super::TriMesh;

impl TriMesh {
    /// Where the straight line from `from` to `to` first meets the surface, and the outward normal there (T. Möller
    /// and B. Trumbore, Fast, minimum storage ray/triangle intersection, 1997).
    pub fn first_hit(&self, from: DVec3, to: DVec3) -> Option<(DVec3, DVec3)> {
        let ray = to - from;
        let mut first: Option<(f64, usize)> = None;
        for index in 0..self.len() {
            let [a, b, c] = self.corners(index);
            // Both barycentric coordinates in the triangle, then how far along.
            let (e, f) = (b - a, c - a);
            let across = ray.cross(f);
            let size = e.dot(across);
            if size.abs() < f64::MIN_POSITIVE {
                continue;
            }
            let from_a = from - a;
            let u = from_a.dot(across) / size;
            let over = from_a.cross(e);
            let v = ray.dot(over) / size;
            let along = f.dot(over) / size;
            let nearer = first.is_none_or(|(t, _)| along < t);
            if u >= 0.0 && v >= 0.0 && u + v <= 1.0 && (0.0..=1.0).contains(&along) && nearer {
                first = Some((along, index));
            }
        }
        let (along, index) = first?;
        let [a, b, c] = self.corners(index);
        Some((from + ray * along, (b - a).cross(c - a).normalize()))
    }
}

#[cfg(test)]
mod tests {
    use glam::dvec2;

    use super::*;
    use crate::{Region, revolve::revolve};

    #[test]
    fn a_ring_is_hit_on_its_outside() {
        let mesh = revolve(&Region::rectangle(dvec2(40.0, 0.0), dvec2(100.0, 80.0)), 128);
        let (at, normal) = mesh.first_hit(DVec3::new(0.0, -300.0, 20.0), DVec3::new(0.0, 0.0, 20.0)).unwrap();
        assert!((at.y + 100.0).abs() < 0.1 && normal.y < -0.99, "{at} {normal}");
    }
}
