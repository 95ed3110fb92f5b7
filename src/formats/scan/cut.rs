//! Polygons in space, cut into triangles.

use glam::DVec3;
use manifold_rust::{linalg::Vec2, polygon};

/// The triangles of a polygon that should be flat, by the numbers of its corners. A convex one is cut as a fan;
/// another where it lies flattest, as seen square to it.
pub(super) fn cut(corners: &[DVec3]) -> Vec<[usize; 3]> {
    let fan = || (2..corners.len()).map(|i| [0, i - 1, i]).collect();
    let normal: DVec3 = (0..corners.len())
        .map(|i| (corners[i] - corners[0]).cross(corners[(i + 1) % corners.len()] - corners[0]))
        .sum();
    let Some(normal) = normal.try_normalize() else { return fan() };
    let u = normal.any_orthonormal_vector();
    let v = normal.cross(u);
    let seen = |p: &DVec3| Vec2::new((*p - corners[0]).dot(u), (*p - corners[0]).dot(v));
    let flat: Vec<Vec2> = corners.iter().map(seen).collect();
    let count = flat.len();
    let turns_left = |i: usize| {
        let (a, b, c) = (flat[(i + count - 1) % count], flat[i], flat[(i + 1) % count]);
        (b.x - a.x) * (c.y - b.y) - (b.y - a.y) * (c.x - b.x) >= 0.0
    };
    // A star turns left everywhere as well, but goes round more than once.
    if count < 5 && (0..count).all(turns_left) {
        return fan();
    }
    let triangles = polygon::triangulate(&vec![flat], -1.0, true);
    if triangles.len() + 2 != count {
        return fan();
    }
    triangles.iter().map(|t| [t.x, t.y, t.z].map(|i| i as usize)).collect()
}
