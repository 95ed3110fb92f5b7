//! Whether a surface intersects itself.
//!
//! First by separating planes between triangles that are close: quick, and sure when it finds one for every pair.
//! Where some come too close to tell in floating point, the kernel decides, which is exact and takes ten times as
//! long.

mod resolve;

use glam::{DVec3, dvec2};
use rayon::prelude::*;

use super::{Bvh, Cancel, Cancelled, TriMesh, uncancelled};

pub use resolve::NotResolved;

/// Triangles closer than this may touch, mm; and two directions that differ by less are one.
const CLOSE: f64 = 1e-9;

impl TriMesh {
    /// Whether two triangles of a closed surface cross or overlap.
    pub fn intersects_itself(&self) -> bool {
        uncancelled(|cancel| self.try_intersects_itself(cancel))
    }

    /// [`TriMesh::intersects_itself`] that can be stopped.
    ///
    /// # Errors
    /// Once `cancel` asks to stop.
    pub fn try_intersects_itself(&self, cancel: &Cancel) -> Result<bool, Cancelled> {
        if self.is_surely_embedded(cancel)? {
            return Ok(false);
        }
        Ok(self.surely_crosses_itself(cancel)? || self.intersects_itself_exactly(cancel)?)
    }

    /// Whether an edge of one triangle pierces another that it shares no vertex with, beyond all doubt: a crumpled
    /// surface is told by this in a hundredth of the time that the kernel takes.
    fn surely_crosses_itself(&self, cancel: &Cancel) -> Result<bool, Cancelled> {
        let apart = |i: u32, j: u32| {
            let (one, two) = (self.triangles[i as usize], self.triangles[j as usize]);
            let (p, q) = (self.corners(i as usize), self.corners(j as usize));
            one.iter().any(|v| two.contains(v)) || !(pierces(&p, &q) || pierces(&q, &p))
        };
        let none = Bvh::try_new(self, cancel)?.all_close_pairs(0.0, apart, cancel);
        cancel.check()?;
        Ok(!none)
    }

    /// Whether two triangles of a closed surface that share no vertex cross or touch, as far as floating point can tell.
    pub(crate) fn crosses(&self, i: u32, j: u32) -> bool {
        !are_separated(self.corners(i as usize), self.corners(j as usize))
    }

    /// Whether no two triangles meet but along the edges and at the corners that they share, as far as floating point
    /// can tell: `false` says only that some come too close.
    fn is_surely_embedded(&self, cancel: &Cancel) -> Result<bool, Cancelled> {
        let (bvh, flat) = rayon::join(|| Bvh::try_new(self, cancel), || self.flat_vertices());
        let surely = bvh?.all_close_pairs(CLOSE, |i, j| self.are_disjoint(i, j, &flat), cancel);
        cancel.check()?;
        Ok(surely)
    }

    /// For each vertex whether its triangles, projected along their mean normal, cover its surroundings once, none
    /// over another: then no two of them meet but in what they share. So it is nearly everywhere on a fine surface.
    fn flat_vertices(&self) -> Vec<bool> {
        let mut first = vec![0usize; self.positions.len() + 1];
        for &v in self.triangles.iter().flatten() {
            first[v as usize + 1] += 1;
        }
        for v in 0..self.positions.len() {
            first[v + 1] += first[v];
        }
        let mut next = first.clone();
        let mut around = vec![[0u32; 2]; 3 * self.len()];
        for &[a, b, c] in &self.triangles {
            for (apex, sides) in [(a, [b, c]), (b, [c, a]), (c, [a, b])] {
                around[next[apex as usize]] = sides;
                next[apex as usize] += 1;
            }
        }
        let of = |v: usize| {
            let sides = |ends: &[u32; 2]| ends.map(|end| self.positions[end as usize] - self.positions[v]);
            cover_once(around[first[v]..first[v + 1]].iter().map(sides))
        };
        (0..self.positions.len()).into_par_iter().with_min_len(1024).map(of).collect()
    }

    /// Whether two triangles meet in no more than the edge or the corner that they share.
    fn are_disjoint(&self, i: u32, j: u32, flat: &[bool]) -> bool {
        let (one, two) = (self.triangles[i as usize], self.triangles[j as usize]);
        let position = |v: u32| self.positions[v as usize];
        let shared = |v: &u32| two.contains(v);
        if one != two && one.iter().any(|v| flat[*v as usize] && shared(v)) {
            return true;
        }
        match one.iter().filter(|v| shared(v)).count() {
            0 => are_separated(one.map(position), two.map(position)),
            1 => {
                let Some(&apex) = one.iter().find(|v| shared(v)) else { return false };
                let sides = |t: [u32; 3]| {
                    let first = t.iter().position(|v| *v == apex).unwrap_or(0);
                    [1, 2].map(|k| (position(t[(first + k) % 3]) - position(apex)).normalize_or_zero())
                };
                are_separated_at_corner(sides(one), sides(two))
            }
            2 => {
                let Some(k) = one.iter().position(|v| !shared(v)) else { return false };
                let Some(&tip) = two.iter().find(|v| !one.contains(v)) else { return false };
                let (from, to) = (position(one[(k + 1) % 3]), position(one[(k + 2) % 3]));
                let Some(along) = (to - from).try_normalize() else { return false };
                let across = |p: DVec3| (p - from).reject_from_normalized(along).normalize_or_zero();
                differ(across(position(one[k])), across(position(tip)))
            }
            _ => false,
        }
    }
}

/// Whether triangles with a common corner, given by their two sides from there counter-clockwise, cover its
/// surroundings once, projected along their mean normal.
fn cover_once(triangles: impl Iterator<Item = [DVec3; 2]> + Clone) -> bool {
    /// The projection of steeper triangles is too narrow to tell: least cosine to the mean normal.
    const STEEPEST: f64 = 1e-3;
    let normal = |[a, b]: [DVec3; 2]| a.cross(b);
    let Some(along) = triangles.clone().map(normal).sum::<DVec3>().try_normalize() else { return false };
    let (x, y) = along.any_orthonormal_pair();
    let projected = |p: DVec3| dvec2(p.dot(x), p.dot(y));
    let Some(ray) = triangles.clone().next().map(|[a, _]| projected(a)) else { return false };
    let mut over_ray = 0;
    for sides in triangles {
        let normal = normal(sides);
        // So narrow that its directions are round-off, or steep, or facing away.
        if normal.dot(along) <= STEEPEST * normal.length()
            || normal.length() <= CLOSE * sides[0].length() * sides[1].length()
        {
            return false;
        }
        let [a, b] = sides.map(projected);
        over_ray += u32::from(a.perp_dot(ray) >= 0.0 && ray.perp_dot(b) > 0.0);
    }
    over_ray == 1
}

/// Whether two unit vectors surely have different directions.
fn differ(a: DVec3, b: DVec3) -> bool {
    a != DVec3::ZERO && b != DVec3::ZERO && (a.dot(b) < 0.0 || a.cross(b).length() > CLOSE)
}

/// Whether an edge of one triangle surely runs through the inside of another.
fn pierces(one: &[DVec3; 3], [a, b, c]: &[DVec3; 3]) -> bool {
    /// So far from its sides, as a share of the triangle, the inside begins.
    const INSIDE: f64 = 1e-6;
    let (ab, ac) = (*b - *a, *c - *a);
    let square = ab.cross(ac);
    let Some(normal) = square.try_normalize() else { return false };
    let height = one.map(|p| (p - *a).dot(normal));
    (0..3).any(|k| {
        let (from, to) = (height[k], height[(k + 1) % 3]);
        if from.abs() <= CLOSE || to.abs() <= CLOSE || (from > 0.0) == (to > 0.0) {
            return false;
        }
        let at = one[k].lerp(one[(k + 1) % 3], from / (from - to)) - *a;
        let along = at.cross(ac).dot(square) / square.length_squared();
        let across = ab.cross(at).dot(square) / square.length_squared();
        along > INSIDE && across > INSIDE && along + across < 1.0 - INSIDE
    })
}

/// Whether a plane lies between two triangles (separating axis theorem).
fn are_separated(one: [DVec3; 3], two: [DVec3; 3]) -> bool {
    let edges = |t: &[DVec3; 3]| [t[1] - t[0], t[2] - t[1], t[0] - t[2]];
    let (e, f) = (edges(&one), edges(&two));
    let (n, m) = (e[0].cross(e[1]), f[0].cross(f[1]));
    let separates = |axis: DVec3| {
        let Some(axis) = axis.try_normalize() else { return false };
        let [a, b] = [&one, &two].map(|t| t.map(|p| (p - one[0]).dot(axis)));
        let least = |t: [f64; 3]| t[0].min(t[1]).min(t[2]);
        let most = |t: [f64; 3]| t[0].max(t[1]).max(t[2]);
        least(b) - most(a) > CLOSE || least(a) - most(b) > CLOSE
    };
    separates(n)
        || separates(m)
        || e.iter().any(|e| f.iter().any(|f| separates(e.cross(*f))))
        // Triangles in one plane.
        || e.iter().any(|e| separates(n.cross(*e)))
        || f.iter().any(|f| separates(m.cross(*f)))
}

/// Whether two triangles that share a corner meet nowhere else. `one` and `two` are the directions of their sides
/// from that corner; a plane through it must lie between them.
fn are_separated_at_corner(one: [DVec3; 2], two: [DVec3; 2]) -> bool {
    let (n, m) = (one[0].cross(one[1]), two[0].cross(two[1]));
    let separates = |axis: DVec3| {
        let Some(axis) = axis.try_normalize() else { return false };
        let [a, b] = [one, two].map(|sides| sides.map(|side| side.dot(axis)));
        let on_side = |t: [f64; 2], sign: f64| t.iter().all(|d| d * sign >= -CLOSE);
        if !(on_side(a, 1.0) && on_side(b, -1.0) || on_side(a, -1.0) && on_side(b, 1.0)) {
            return false;
        }
        // What lies in the plane itself must not meet either.
        let within =
            |sides: [DVec3; 2], t: [f64; 2]| [0, 1].map(|k| (t[k].abs() <= CLOSE).then_some(sides[k]));
        match (within(one, a), within(two, b)) {
            ([None, None], _) | (_, [None, None]) => true,
            ([Some(a), None] | [None, Some(a)], [Some(b), None] | [None, Some(b)]) => differ(a, b),
            _ => false,
        }
    };
    separates(n)
        || separates(m)
        || one.iter().any(|a| two.iter().any(|b| separates(a.cross(*b))))
        || one.iter().any(|a| separates(n.cross(*a)))
        || two.iter().any(|b| separates(m.cross(*b)))
}

#[cfg(test)]
mod tests {
    use std::f64::consts::TAU;

    use glam::{DVec3, dvec3};
    use proptest::prelude::*;

    use crate::{Cancel, TriMesh, test_cancelling::assert_stops, uncancelled};

    /// A ball of `2 · around · (up − 1)` triangles, whose corners are moved by `shake`.
    fn ball(around: u32, up: u32, shake: impl Fn(usize) -> DVec3) -> TriMesh {
        let mut positions = vec![dvec3(0.0, 0.0, -50.0), dvec3(0.0, 0.0, 50.0)];
        for j in 1..up {
            let (sin, cos) = (TAU / 2.0 * f64::from(j) / f64::from(up)).sin_cos();
            positions.extend((0..around).map(|i| {
                let (y, x) = (TAU * f64::from(i) / f64::from(around)).sin_cos();
                50.0 * dvec3(sin * x, sin * y, -cos)
            }));
        }
        let at = |i: u32, j: u32| 2 + (j - 1) * around + i % around;
        let mut triangles = Vec::new();
        for i in 0..around {
            triangles.push([0, at(i + 1, 1), at(i, 1)]);
            triangles.push([1, at(i, up - 1), at(i + 1, up - 1)]);
            for j in 1..up - 1 {
                triangles.push([at(i, j), at(i + 1, j), at(i + 1, j + 1)]);
                triangles.push([at(i, j), at(i + 1, j + 1), at(i, j + 1)]);
            }
        }
        for (k, p) in positions.iter_mut().enumerate() {
            *p += shake(k);
        }
        TriMesh { positions, triangles }
    }

    /// A block whose faces are grids, each in one plane.
    fn block(n: u32) -> TriMesh {
        let mut mesh = TriMesh::default();
        for axis in 0..3 {
            for side in [0.0, 1.0] {
                let base = mesh.positions.len() as u32;
                for k in 0..(n + 1) * (n + 1) {
                    let (u, v) =
                        (f64::from(k % (n + 1)) / f64::from(n), f64::from(k / (n + 1)) / f64::from(n));
                    let mut p = [0.0; 3];
                    p[axis] = side * 30.0;
                    p[(axis + 1) % 3] = u * 30.0;
                    p[(axis + 2) % 3] = v * 30.0;
                    mesh.positions.push(p.into());
                }
                for k in 0..n * n {
                    let a = base + k % n + (k / n) * (n + 1);
                    let (b, c, d) = (a + 1, a + n + 2, a + n + 1);
                    let two = [[a, b, c], [a, c, d]];
                    mesh.triangles.extend(if side == 0.0 { two.map(|[a, b, c]| [a, c, b]) } else { two });
                }
            }
        }
        mesh.welded()
    }

    #[test]
    fn round_and_flat_surfaces_are_surely_embedded() {
        assert!(ball(24, 12, |_| DVec3::ZERO).is_surely_embedded(&Cancel::new()).unwrap());
        let block = block(6);
        block.check().unwrap();
        assert!(block.is_surely_embedded(&Cancel::new()).unwrap());
    }

    #[test]
    fn a_corner_pushed_through_the_other_side_is_not() {
        let through = |k: usize| if k == 40 { dvec3(0.0, 0.0, 120.0) } else { DVec3::ZERO };
        assert!(!ball(24, 12, through).is_surely_embedded(&Cancel::new()).unwrap());
    }

    #[test]
    fn the_tests_are_stopped() {
        let sound = ball(700, 350, |_| DVec3::ZERO);
        assert_stops(|cancel| sound.try_intersects_itself(cancel), |intersects| assert!(!intersects));
        let crossed = ball(120, 60, |k| if k == 3000 { dvec3(0.0, 0.0, 120.0) } else { DVec3::ZERO });
        assert_stops(
            |cancel| crossed.try_without_self_intersections(cancel),
            |resolved| {
                assert_eq!(*resolved, crossed.without_self_intersections().unwrap());
            },
        );
        assert!(crossed.intersects_itself() && !uncancelled(|cancel| sound.try_intersects_itself(cancel)));
    }

    proptest! {
        /// The quick test and the kernel (manifold-rust) agree.
        #[test]
        fn what_is_surely_embedded_does_not_intersect_itself_exactly(
            moves in prop::collection::vec([-1.0..1.0f64, -1.0..1.0, -1.0..1.0], 8 * 5 + 2), by in 0.0..25.0f64
        ) {
            let mesh = ball(8, 6, |k| by * DVec3::from(moves[k]));
            if mesh.is_surely_embedded(&Cancel::new()).unwrap() {
                prop_assert!(!mesh.intersects_itself_exactly(&Cancel::new()).unwrap());
            } else {
                // Random places are never just too close to tell.
                prop_assert!(mesh.intersects_itself_exactly(&Cancel::new()).unwrap());
            }
        }
    }
}
