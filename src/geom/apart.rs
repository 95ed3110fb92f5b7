//! Whether the triangles of a surface keep clear of each other: quick, and sure when it says so.

use glam::{DVec3, dvec2};
use rayon::prelude::*;

use super::{Tree, TriMesh};

/// What comes closer than this is not surely apart, mm; and two directions that differ by less are one.
const CLOSE: f64 = 1e-9;

impl TriMesh {
    /// Whether no two triangles meet but along the edges and at the corners that they share. `false` says only that
    /// some come too close to tell in floating point.
    pub(super) fn is_surely_apart(&self) -> bool {
        let (tree, spread) = rayon::join(|| Tree::new(self), || self.spread_out());
        tree.all_near(CLOSE, |i, j| self.are_apart(i, j, &spread))
    }

    /// For each vertex whether its triangles, seen along their mean normal, lie round it once, none over another:
    /// then no two of them meet but in what they share. So it is nearly everywhere on a fine surface.
    fn spread_out(&self) -> Vec<bool> {
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
            lie_round_once(around[first[v]..first[v + 1]].iter().map(sides))
        };
        (0..self.positions.len()).into_par_iter().with_min_len(1024).map(of).collect()
    }

    fn are_apart(&self, i: u32, j: u32, spread: &[bool]) -> bool {
        let (one, two) = (self.triangles[i as usize], self.triangles[j as usize]);
        let place = |v: u32| self.positions[v as usize];
        let shared = |v: &u32| two.contains(v);
        if one != two && one.iter().any(|v| spread[*v as usize] && shared(v)) {
            return true;
        }
        match one.iter().filter(|v| shared(v)).count() {
            0 => are_clear(one.map(place), two.map(place)),
            1 => {
                let Some(&apex) = one.iter().find(|v| shared(v)) else { return false };
                let sides = |t: [u32; 3]| {
                    let first = t.iter().position(|v| *v == apex).unwrap_or(0);
                    [1, 2].map(|k| (place(t[(first + k) % 3]) - place(apex)).normalize_or_zero())
                };
                open_apart(sides(one), sides(two))
            }
            2 => {
                let Some(k) = one.iter().position(|v| !shared(v)) else { return false };
                let Some(&tip) = two.iter().find(|v| !one.contains(v)) else { return false };
                let (from, to) = (place(one[(k + 1) % 3]), place(one[(k + 2) % 3]));
                let Some(along) = (to - from).try_normalize() else { return false };
                let across = |p: DVec3| (p - from).reject_from_normalized(along).normalize_or_zero();
                is_other_way(across(place(one[k])), across(place(tip)))
            }
            _ => false,
        }
    }
}

/// Whether triangles with a common corner, given by their two other sides from there counter-clockwise, lie round it
/// once seen along their mean normal.
fn lie_round_once(triangles: impl Iterator<Item = [DVec3; 2]> + Clone) -> bool {
    /// Steeper triangles are seen too narrow to tell: least cosine to the mean normal.
    const SEEN: f64 = 1e-3;
    let normal = |[a, b]: [DVec3; 2]| a.cross(b);
    let Some(along) = triangles.clone().map(normal).sum::<DVec3>().try_normalize() else { return false };
    let (x, y) = along.any_orthonormal_pair();
    let seen = |p: DVec3| dvec2(p.dot(x), p.dot(y));
    let Some(ray) = triangles.clone().next().map(|[a, _]| seen(a)) else { return false };
    let mut over_ray = 0;
    for sides in triangles {
        let normal = normal(sides);
        // So narrow that its directions are round-off, or steep, or facing away.
        if normal.dot(along) <= SEEN * normal.length()
            || normal.length() <= CLOSE * sides[0].length() * sides[1].length()
        {
            return false;
        }
        let [a, b] = sides.map(seen);
        over_ray += u32::from(a.perp_dot(ray) >= 0.0 && ray.perp_dot(b) > 0.0);
    }
    over_ray == 1
}

/// Whether two unit vectors surely point different ways.
fn is_other_way(a: DVec3, b: DVec3) -> bool {
    a != DVec3::ZERO && b != DVec3::ZERO && (a.dot(b) < 0.0 || a.cross(b).length() > CLOSE)
}

/// Whether a plane lies between two triangles (the theorem of the separating axis).
fn are_clear(one: [DVec3; 3], two: [DVec3; 3]) -> bool {
    let edges = |t: &[DVec3; 3]| [t[1] - t[0], t[2] - t[1], t[0] - t[2]];
    let (e, f) = (edges(&one), edges(&two));
    let (n, m) = (e[0].cross(e[1]), f[0].cross(f[1]));
    let splits = |axis: DVec3| {
        let Some(axis) = axis.try_normalize() else { return false };
        let [a, b] = [&one, &two].map(|t| t.map(|p| (p - one[0]).dot(axis)));
        let least = |t: [f64; 3]| t[0].min(t[1]).min(t[2]);
        let most = |t: [f64; 3]| t[0].max(t[1]).max(t[2]);
        least(b) - most(a) > CLOSE || least(a) - most(b) > CLOSE
    };
    splits(n)
        || splits(m)
        || e.iter().any(|e| f.iter().any(|f| splits(e.cross(*f))))
        // Triangles in one plane.
        || e.iter().any(|e| splits(n.cross(*e)))
        || f.iter().any(|f| splits(m.cross(*f)))
}

/// Whether two triangles that share a corner meet nowhere else. `one` and `two` are the directions of their sides
/// from that corner; a plane through it must lie between them.
fn open_apart(one: [DVec3; 2], two: [DVec3; 2]) -> bool {
    let (n, m) = (one[0].cross(one[1]), two[0].cross(two[1]));
    let splits = |axis: DVec3| {
        let Some(axis) = axis.try_normalize() else { return false };
        let [a, b] = [one, two].map(|sides| sides.map(|side| side.dot(axis)));
        let side = |t: [f64; 2], way: f64| t.iter().all(|d| d * way >= -CLOSE);
        if !(side(a, 1.0) && side(b, -1.0) || side(a, -1.0) && side(b, 1.0)) {
            return false;
        }
        // What lies in the plane itself must not meet either.
        let within =
            |sides: [DVec3; 2], t: [f64; 2]| [0, 1].map(|k| (t[k].abs() <= CLOSE).then_some(sides[k]));
        match (within(one, a), within(two, b)) {
            ([None, None], _) | (_, [None, None]) => true,
            ([Some(a), None] | [None, Some(a)], [Some(b), None] | [None, Some(b)]) => is_other_way(a, b),
            _ => false,
        }
    };
    splits(n)
        || splits(m)
        || one.iter().any(|a| two.iter().any(|b| splits(a.cross(*b))))
        || one.iter().any(|a| splits(n.cross(*a)))
        || two.iter().any(|b| splits(m.cross(*b)))
}

#[cfg(test)]
mod tests {
    use std::f64::consts::TAU;

    use glam::{DVec3, dvec3};
    use proptest::prelude::*;

    use super::super::TriMesh;

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
    fn sound_surfaces_are_surely_apart_round_or_flat() {
        assert!(ball(24, 12, |_| DVec3::ZERO).is_surely_apart());
        let block = block(6);
        block.check().unwrap();
        assert!(block.is_surely_apart());
    }

    #[test]
    fn a_corner_pushed_through_the_other_side_is_not() {
        let through = |k: usize| if k == 40 { dvec3(0.0, 0.0, 120.0) } else { DVec3::ZERO };
        assert!(!ball(24, 12, through).is_surely_apart());
    }

    proptest! {
        /// What is said to be surely apart does not cross for the kernel (manifold-rust) either.
        #[test]
        fn what_is_surely_apart_does_not_cross_for_the_kernel(
            moves in prop::collection::vec([-1.0..1.0f64, -1.0..1.0, -1.0..1.0], 8 * 5 + 2), by in 0.0..25.0f64
        ) {
            let mesh = ball(8, 6, |k| by * DVec3::from(moves[k]));
            if mesh.is_surely_apart() {
                prop_assert!(!mesh.crosses_for_the_kernel());
            } else {
                // Random places are never just too close to tell.
                prop_assert!(mesh.crosses_for_the_kernel());
            }
        }
    }
}
