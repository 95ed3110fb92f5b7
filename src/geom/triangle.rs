//! One triangle: its point nearest to another, whether a ray meets it, whether it lies above a point.

use glam::{DVec2, DVec3};

/// What of a triangle is nearest.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Feature {
    Face,
    /// The side that leaves this corner.
    Edge(u8),
    Vertex(u8),
}

/// The nearest point of a triangle (C. Ericson, Real-Time Collision Detection, 5.1.5).
pub fn nearest_on_triangle(p: DVec3, [a, b, c]: &[DVec3; 3]) -> (DVec3, Feature) {
    let (ab, ac, ap) = (*b - *a, *c - *a, p - *a);
    let (d1, d2) = (ab.dot(ap), ac.dot(ap));
    if d1 <= 0.0 && d2 <= 0.0 {
        return (*a, Feature::Vertex(0));
    }
    let bp = p - *b;
    let (d3, d4) = (ab.dot(bp), ac.dot(bp));
    if d3 >= 0.0 && d4 <= d3 {
        return (*b, Feature::Vertex(1));
    }
    let vc = d1 * d4 - d3 * d2;
    if vc <= 0.0 && d1 >= 0.0 && d3 <= 0.0 {
        return (*a + ab * share(d1, d1 - d3), Feature::Edge(0));
    }
    let cp = p - *c;
    let (d5, d6) = (ab.dot(cp), ac.dot(cp));
    if d6 >= 0.0 && d5 <= d6 {
        return (*c, Feature::Vertex(2));
    }
    let vb = d5 * d2 - d1 * d6;
    if vb <= 0.0 && d2 >= 0.0 && d6 <= 0.0 {
        return (*a + ac * share(d2, d2 - d6), Feature::Edge(2));
    }
    let va = d3 * d6 - d5 * d4;
    if va <= 0.0 && d4 >= d3 && d5 >= d6 {
        return (*b + (*c - *b) * share(d4 - d3, (d4 - d3) + (d5 - d6)), Feature::Edge(1));
    }
    let sum = va + vb + vc;
    (*a + ab * share(vb, sum) + ac * share(vc, sum), Feature::Face)
}

/// Whether a ray meets a triangle (T. Möller and B. Trumbore, Fast, minimum storage ray/triangle intersection,
/// 1997), either side of it.
pub fn is_hit(from: DVec3, direction: DVec3, [a, b, c]: &[DVec3; 3]) -> bool {
    let (ab, ac) = (*b - *a, *c - *a);
    let p = direction.cross(ac);
    let scale = ab.dot(p);
    if scale == 0.0 {
        return false;
    }
    let t = from - *a;
    let u = t.dot(p) / scale;
    let q = t.cross(ab);
    let v = direction.dot(q) / scale;
    u >= 0.0 && v >= 0.0 && u + v <= 1.0 && ac.dot(q) / scale > 0.0
}

/// `part` / `sum`, 0 where both vanish.
fn share(part: f64, sum: f64) -> f64 {
    if sum > 0.0 { part / sum } else { 0.0 }
}

/// 1 where a triangle that faces up lies straight above `p`, −1 where one that faces down does. Of two triangles
/// that share a side just one lies above a point below that side.
pub fn crossing_above(p: DVec3, corners: &[DVec3; 3]) -> i32 {
    let [a, b, c] = corners.map(|q| q.truncate());
    let at = p.truncate();
    let winding = straddled(at, a, b) + straddled(at, b, c) + straddled(at, c, a);
    if winding == 0 {
        return 0;
    }
    let [a, b, c] = *corners;
    let normal = (b - a).cross(c - a);
    // The plane's height above p has the sign of this over the normal's z.
    let above = normal.dot(a - p) * f64::from(winding) >= 0.0;
    if above { winding } else { 0 }
}

/// 1 where the side from `a` to `b` runs up past `p` on its right, −1 where it runs down there. Both directions
/// of a side give opposite answers to the last bit.
fn straddled(p: DVec2, a: DVec2, b: DVec2) -> i32 {
    if (a.y > p.y) == (b.y > p.y) {
        return 0;
    }
    let (low, high, up) = if a.y < b.y { (a, b, 1) } else { (b, a, -1) };
    let left = (high - low).perp_dot(p - low);
    if left > 0.0 { up } else { 0 }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_closest_point_is_a_face_an_edge_or_a_corner() {
        let triangle = [DVec3::ZERO, DVec3::X * 4.0, DVec3::Y * 4.0];
        for (p, expected) in [
            (DVec3::new(1.0, 1.0, 7.0), DVec3::new(1.0, 1.0, 0.0)),
            (DVec3::new(2.0, -3.0, 1.0), DVec3::new(2.0, 0.0, 0.0)),
            (DVec3::new(4.0, 4.0, -1.0), DVec3::new(2.0, 2.0, 0.0)),
            (DVec3::new(-1.0, -1.0, 2.0), DVec3::ZERO),
            (DVec3::new(9.0, -1.0, 0.0), DVec3::X * 4.0),
        ] {
            assert!(nearest_on_triangle(p, &triangle).0.distance(expected) < 1e-12, "{p}");
        }
    }
}
