//! A bounding volume hierarchy (BVH) of triangles: nearest point, rays, winding number, close pairs.

use std::ops::Range;

use glam::{DVec2, DVec3};
use rayon::prelude::*;

use crate::{
    Cancel, Cancelled, TriMesh, uncancelled,
    wide_bvh::{Entry, Inside, WideBvh},
};

/// Most triangles in a leaf.
const LEAF: usize = 4;

/// Subtrees of fewer triangles are built on the same thread.
const PARALLEL: usize = 4096;

#[derive(Debug, Clone, Copy)]
struct Node {
    lo: DVec3,
    hi: DVec3,
    /// Slot of the first triangle of a leaf; of an inner node, the index of its second child. The first child is the
    /// next node.
    at: u32,
    /// How many triangles; 0 for an inner node.
    count: u32,
}

/// The triangles of a surface in nested axis-aligned boxes.
#[derive(Debug, Clone)]
pub struct Bvh {
    nodes: Vec<Node>,
    /// The same boxes for the search for the nearest point.
    wide: WideBvh,
    /// A cylinder round each leaf.
    cylinders: Vec<BoundingCylinder>,
    /// Corners of the triangles in the order of the leaves.
    corners: Vec<[DVec3; 3]>,
    /// The triangle in each slot of that order.
    numbers: Vec<u32>,
    /// The slot of each triangle.
    slots: Vec<u32>,
}

/// The nearest point of a surface.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hit {
    pub triangle: u32,
    pub point: DVec3,
    pub feature: Feature,
}

/// What of a triangle is nearest.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Feature {
    Face,
    /// The side that leaves this corner.
    Edge(u8),
    Vertex(u8),
}

impl Bvh {
    /// The hierarchy of a surface.
    ///
    /// # Panics
    /// When a triangle names a vertex that is not there.
    pub fn new(mesh: &TriMesh) -> Self {
        uncancelled(|cancel| Self::try_new(mesh, cancel))
    }

    /// [`Bvh::new`] that can be stopped.
    ///
    /// # Errors
    /// Once `cancel` asks to stop.
    ///
    /// # Panics
    /// When a triangle names a vertex that is not there.
    pub fn try_new(mesh: &TriMesh, cancel: &Cancel) -> Result<Self, Cancelled> {
        cancel.check()?;
        let corners = |i: u32| mesh.corners(i as usize);
        let mut items: Vec<(u32, DVec3)> =
            (0..mesh.len() as u32).map(|i| (i, corners(i).into_iter().sum::<DVec3>() / 3.0)).collect();
        let empty = Node { lo: DVec3::INFINITY, hi: DVec3::NEG_INFINITY, at: 0, count: 0 };
        let mut nodes = vec![empty; nodes_for(items.len())];
        if !items.is_empty() {
            build(&mut nodes, &mut items, (0, 0), &corners, cancel)?;
        }
        let numbers: Vec<u32> = items.iter().map(|(i, _)| *i).collect();
        let mut slots = vec![0; numbers.len()];
        for (slot, number) in (0u32..).zip(&numbers) {
            slots[*number as usize] = slot;
        }
        let corners: Vec<[DVec3; 3]> = numbers.par_iter().map(|i| corners(*i)).collect();
        // All leaves but the last are full.
        let cylinders = corners.par_chunks(LEAF).map(BoundingCylinder::of).collect();
        cancel.check()?;
        let wide = WideBvh::new(nodes.len(), |at| {
            let node = &nodes[at as usize];
            let inside = match node.count {
                0 => Inside::Two([at + 1, node.at]),
                _ => Inside::Leaf(node.at / LEAF as u32),
            };
            Entry { lo: node.lo, hi: node.hi, inside }
        });
        Ok(Self { nodes, wide, cylinders, corners, numbers, slots })
    }

    /// Whether there are no triangles in it.
    pub fn is_empty(&self) -> bool {
        self.nodes.is_empty()
    }

    /// Visits leaves, the nearer boxes first. `key` gives the distance of a box, infinite where it does not count;
    /// boxes no nearer than `limit` are left out. `visit` gets the slots of the triangles in each leaf that is left and
    /// returns the limit from there on.
    #[inline]
    fn traverse(
        &self,
        mut limit: f64,
        key: impl Fn(&Node) -> f64,
        mut visit: impl FnMut(Range<usize>) -> f64,
    ) {
        let Some(root) = self.nodes.first() else { return };
        let mut stack = [(0u32, 0.0f64); 64];
        stack[0] = (0, key(root));
        let mut filled = 1;
        while filled > 0 {
            filled -= 1;
            let (index, distance) = stack[filled];
            if distance >= limit {
                continue;
            }
            let node = &self.nodes[index as usize];
            if node.count > 0 {
                limit = visit(node.slots());
                continue;
            }
            let children = [index + 1, node.at];
            let [a, b] = children.map(|child| (child, key(&self.nodes[child as usize])));
            let (near, far) = if a.1 <= b.1 { (a, b) } else { (b, a) };
            for child in [far, near] {
                if child.1 < limit {
                    stack[filled] = child;
                    filled += 1;
                }
            }
        }
    }

    /// The nearest point to `p`. The search is quick if `near` is a triangle that lies near.
    ///
    /// # Panics
    /// When there are no triangles.
    pub fn nearest(&self, p: DVec3, near: Option<u32>) -> Hit {
        self.near_or_nearest(p, 0.0, near)
    }

    /// A point no further than `enough` mm from `p`, or else the nearest. The search is quick if `near` is a triangle that
    /// lies near.
    ///
    /// # Panics
    /// When there are no triangles.
    pub fn near_or_nearest(&self, p: DVec3, enough: f64, near: Option<u32>) -> Hit {
        /// So that round-off never makes the root of what is near enough more than that.
        const LESS: f64 = 1.0 - 1e-12;
        let enough = enough * enough * LESS;
        let first = near.map_or(0, |triangle| self.slots[triangle as usize] as usize);
        let (point, feature) = nearest_on_triangle(p, &self.corners[first]);
        let mut best = (point.distance_squared(p), first, point, feature);
        self.wide.traverse(p, best.0, |leaf| {
            let leaf = leaf as usize;
            if self.cylinders[leaf].distance_squared(p) < best.0 {
                for slot in self.leaf_slots(leaf) {
                    let (point, feature) = nearest_on_triangle(p, &self.corners[slot]);
                    let distance = point.distance_squared(p);
                    if distance < best.0 {
                        best = (distance, slot, point, feature);
                    }
                }
            }
            if best.0 <= enough { 0.0 } else { best.0 }
        });
        Hit { triangle: self.numbers[best.1], point: best.2, feature: best.3 }
    }

    /// Whether something lies nearer to `p` than `limit` mm.
    pub fn is_within(&self, p: DVec3, limit: f64) -> bool {
        let limit = limit * limit;
        let mut found = false;
        self.wide.traverse(p, limit, |leaf| {
            let leaf = leaf as usize;
            let nearer =
                |slot: usize| nearest_on_triangle(p, &self.corners[slot]).0.distance_squared(p) < limit;
            found = self.cylinders[leaf].distance_squared(p) < limit && self.leaf_slots(leaf).any(nearer);
            // One is enough.
            if found { 0.0 } else { limit }
        });
        found
    }

    /// Slots of the triangles in a leaf.
    fn leaf_slots(&self, leaf: usize) -> Range<usize> {
        leaf * LEAF..((leaf + 1) * LEAF).min(self.corners.len())
    }

    /// Distances from points, most of which lie near the one before, to the surface, mm.
    ///
    /// # Panics
    /// When there are no triangles.
    pub fn distances(&self, points: &[DVec3]) -> Vec<f64> {
        /// Points searched on one thread, each starting from the triangle found for the one before.
        const CHUNK: usize = 1024;
        let in_turn = |chunk: &[DVec3]| {
            let mut near = None;
            let distance = |p: &DVec3| {
                let hit = self.nearest(*p, near);
                near = Some(hit.triangle);
                hit.point.distance(*p)
            };
            chunk.iter().map(distance).collect::<Vec<_>>()
        };
        points.par_chunks(CHUNK).flat_map_iter(in_turn).collect()
    }

    /// Distance from `p` to one triangle.
    pub fn distance_to(&self, p: DVec3, triangle: u32) -> f64 {
        nearest_on_triangle(p, &self.corners[self.slots[triangle as usize] as usize]).0.distance(p)
    }

    /// The nearest point of one triangle.
    pub fn nearest_of(&self, p: DVec3, triangle: u32) -> Hit {
        let (point, feature) = nearest_on_triangle(p, &self.corners[self.slots[triangle as usize] as usize]);
        Hit { triangle, point, feature }
    }

    /// Whether a ray meets any of the triangles with numbers below `end`.
    pub fn is_hit(&self, from: DVec3, direction: DVec3, end: u32) -> bool {
        let inverse = direction.recip();
        let mut hit = false;
        self.traverse(
            f64::INFINITY,
            |node| if node.is_hit(from, inverse) { 0.0 } else { f64::INFINITY },
            |mut slots| {
                hit = slots
                    .any(|slot| self.numbers[slot] < end && is_hit(from, direction, &self.corners[slot]));
                // One is enough.
                if hit { 0.0 } else { f64::INFINITY }
            },
        );
        hit
    }

    /// Calls `visit` with all triangles whose boxes lie within `near` mm of the straight line from one point to
    /// another, and with some more, until it says `false`.
    pub fn each_along(&self, from: DVec3, to: DVec3, near: f64, mut visit: impl FnMut(u32) -> bool) {
        let inverse = (to - from).recip();
        self.traverse(
            f64::INFINITY,
            |node| if node.meets_line(from, inverse, near) { 0.0 } else { f64::INFINITY },
            |slots| match slots.map(|slot| self.numbers[slot]).all(&mut visit) {
                true => f64::INFINITY,
                false => 0.0,
            },
        );
    }

    /// The first pair of triangles that `is_one`, lowest first, among those whose boxes meet.
    pub(crate) fn first_close_pair(&self, is_one: impl Fn(u32, u32) -> bool) -> Option<(u32, u32)> {
        (0..self.corners.len() as u32).find_map(|one| {
            let [a, b, c] = self.corners[self.slots[one as usize] as usize];
            let (lo, hi) = (a.min(b).min(c), a.max(b).max(c));
            let mut first: Option<u32> = None;
            self.traverse(
                f64::INFINITY,
                |node| {
                    if node.lo.cmple(hi).all() && lo.cmple(node.hi).all() { 0.0 } else { f64::INFINITY }
                },
                |slots| {
                    let others = slots.map(|slot| self.numbers[slot]);
                    let nearer = |other: &u32| *other > one && first.is_none_or(|first| *other < first);
                    first = others.filter(nearer).find(|other| is_one(one, *other)).or(first);
                    f64::INFINITY
                },
            );
            first.map(|other| (one, other))
        })
    }

    /// Whether `holds` is true of every two triangles whose boxes lie no further apart than `near`, in mm; of no meaning
    /// once `cancel` asks to stop.
    pub fn all_close_pairs(
        &self,
        near: f64,
        holds: impl Fn(u32, u32) -> bool + Sync,
        cancel: &Cancel,
    ) -> bool {
        let meet = |a: (DVec3, DVec3), b: (DVec3, DVec3)| a.0.cmple(b.1).all() && a.1.cmpge(b.0).all();
        let box_of = |slot: usize| {
            let [a, b, c] = self.corners[slot];
            (a.min(b).min(c), a.max(b).max(c))
        };
        // Leaf by leaf against itself and all that come after it.
        self.nodes.par_iter().filter(|node| node.count > 0).all(|leaf| {
            let widened = (leaf.lo - near, leaf.hi + near);
            let mut all = !cancel.is_cancelled();
            if !all {
                return false;
            }
            self.traverse(
                f64::INFINITY,
                |node| if meet(widened, (node.lo, node.hi)) { 0.0 } else { f64::INFINITY },
                |others| {
                    for other in others.filter(|other| *other > leaf.at as usize) {
                        let (lo, hi) = box_of(other);
                        let around = (lo - near, hi + near);
                        let mut pairs = leaf.slots().filter(|one| *one < other && meet(box_of(*one), around));
                        all = all && pairs.all(|one| holds(self.numbers[one], self.numbers[other]));
                    }
                    if all { f64::INFINITY } else { 0.0 }
                },
            );
            all
        })
    }

    /// The winding number about `p` of the triangles with numbers below `end`, by what lies straight above it: 1
    /// inside, 0 outside.
    pub fn winding_above(&self, p: DVec3, end: u32) -> i32 {
        let mut winding = 0;
        self.traverse(
            f64::INFINITY,
            |node| if node.lies_above(p) { 0.0 } else { f64::INFINITY },
            |slots| {
                for slot in slots.filter(|slot| self.numbers[*slot] < end) {
                    winding += crossing_above(p, &self.corners[slot]);
                }
                f64::INFINITY
            },
        );
        winding
    }
}

/// How many nodes hold `count` triangles.
fn nodes_for(count: usize) -> usize {
    (2 * count.div_ceil(LEAF)).saturating_sub(1)
}

/// Fills `nodes` with the subtree of `items`, which are put into the order of the leaves. `at` is the index of the
/// first of `nodes`, and `first` the slot of the first of `items`.
fn build(
    nodes: &mut [Node],
    items: &mut [(u32, DVec3)],
    (at, first): (u32, u32),
    corners: &(impl Fn(u32) -> [DVec3; 3] + Sync),
    cancel: &Cancel,
) -> Result<(), Cancelled> {
    if items.len() <= LEAF {
        let all = items.iter().flat_map(|(i, _)| corners(*i));
        let (lo, hi) = all.fold((DVec3::INFINITY, DVec3::NEG_INFINITY), |(lo, hi), p| (lo.min(p), hi.max(p)));
        nodes[0] = Node { lo, hi, at: first, count: items.len() as u32 };
        return Ok(());
    }
    let (lo, hi) = items
        .iter()
        .fold((DVec3::INFINITY, DVec3::NEG_INFINITY), |(lo, hi), (_, p)| (lo.min(*p), hi.max(*p)));
    let axis = (hi - lo).max_position();
    let half = items.len().div_ceil(LEAF) / 2 * LEAF;
    items.select_nth_unstable_by(half, |a, b| a.1[axis].total_cmp(&b.1[axis]).then(a.0.cmp(&b.0)));
    let (left, right) = items.split_at_mut(half);
    let (node, rest) = nodes.split_first_mut().expect("a node for every part");
    let (left_nodes, right_nodes) = rest.split_at_mut(nodes_for(half));
    let second = at + 1 + left_nodes.len() as u32;
    let parallel = left.len() + right.len() > PARALLEL;
    if parallel {
        cancel.check()?;
    }
    let mut one = || build(left_nodes, left, (at + 1, first), corners, cancel);
    let mut two = || build(right_nodes, right, (second, first + half as u32), corners, cancel);
    let (one, two) = if parallel { rayon::join(one, two) } else { (one(), two()) };
    one.and(two)?;
    let (a, b) = (&left_nodes[0], &right_nodes[0]);
    *node = Node { lo: a.lo.min(b.lo), hi: a.hi.max(b.hi), at: second, count: 0 };
    Ok(())
}

/// A cylinder round the triangles of a leaf. Those of a fine surface fit in a flat one: most points that are near the
/// box of such a leaf, but not near its triangles, are told so by the cylinder's distance alone.
#[derive(Debug, Clone, Copy)]
struct BoundingCylinder {
    middle: DVec3,
    /// Direction of its axis.
    axis: DVec3,
    radius: f64,
    /// Half its height.
    half: f64,
}

impl BoundingCylinder {
    fn of(triangles: &[[DVec3; 3]]) -> Self {
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

    /// Nothing in it is nearer to `p`.
    fn distance_squared(&self, p: DVec3) -> f64 {
        /// So that round-off never makes it more.
        const LESS: f64 = 1.0 - 1e-12;
        let from = p - self.middle;
        let along = from.dot(self.axis);
        let beside = (from - self.axis * along).length();
        let (over, out) = ((along.abs() - self.half).max(0.0), (beside - self.radius).max(0.0));
        (over * over + out * out) * LESS
    }
}

impl Node {
    /// Slots of the triangles of a leaf.
    fn slots(&self) -> Range<usize> {
        self.at as usize..(self.at + self.count) as usize
    }

    /// Whether a ray meets the box, `inverse` being one over its direction.
    fn is_hit(&self, from: DVec3, inverse: DVec3) -> bool {
        let (a, b) = ((self.lo - from) * inverse, (self.hi - from) * inverse);
        // Along an axis that the ray does not move on, 0 · ∞ is no number, which `min` and `max` leave out.
        let (enters, leaves) = (a.min(b).max_element(), a.max(b).min_element());
        enters <= leaves && leaves >= 0.0
    }

    /// Whether the box, `near` mm wider on all sides, meets a straight line; `inverse` is one over the way from its
    /// start to its end.
    fn meets_line(&self, from: DVec3, inverse: DVec3, near: f64) -> bool {
        let (a, b) = ((self.lo - near - from) * inverse, (self.hi + near - from) * inverse);
        // As for a ray.
        let (enters, leaves) = (a.min(b).max_element(), a.max(b).min_element());
        enters <= leaves && leaves >= 0.0 && enters <= 1.0
    }

    /// Whether something of the box lies straight above `p`, or at it.
    fn lies_above(&self, p: DVec3) -> bool {
        let (lo, hi) = (self.lo, self.hi);
        hi.z >= p.z && lo.x <= p.x && p.x <= hi.x && lo.y <= p.y && p.y <= hi.y
    }
}

/// The nearest point of a triangle (C. Ericson, Real-Time Collision Detection, 5.1.5).
fn nearest_on_triangle(p: DVec3, [a, b, c]: &[DVec3; 3]) -> (DVec3, Feature) {
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
fn is_hit(from: DVec3, direction: DVec3, [a, b, c]: &[DVec3; 3]) -> bool {
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
fn crossing_above(p: DVec3, corners: &[DVec3; 3]) -> i32 {
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

    #[test]
    fn a_search_finds_what_looking_at_every_triangle_finds() {
        // A bumpy sheet of 800 triangles, looked at from points in and around it.
        let height = |i: u32, j: u32| f64::from((i * 7 + j * 13) % 11);
        let positions =
            (0..441).map(|k| DVec3::new(f64::from(k % 21), f64::from(k / 21), height(k % 21, k / 21)));
        let cells = (0..400).map(|k| k % 20 + 21 * (k / 20));
        let sheet = TriMesh {
            positions: positions.collect(),
            triangles: cells.flat_map(|k| [[k, k + 1, k + 22], [k, k + 22, k + 21]]).collect(),
        };
        // Far from the origin single precision is coarse.
        let away = DVec3::new(9000.0, -4000.0, 700.0);
        let far = sheet.clone().translated(away);
        let (near_bvh, far_bvh) = (Bvh::new(&sheet), Bvh::new(&far));
        for k in 0..1000 {
            let (sheet, bvh, from) =
                if k % 2 == 0 { (&sheet, &near_bvh, DVec3::ZERO) } else { (&far, &far_bvh, away) };
            let p = from
                + DVec3::new(
                    f64::from(k * 17 % 31) - 5.0,
                    f64::from(k * 23 % 29) - 4.0,
                    f64::from(k * 5 % 23) - 6.0,
                );
            let all = (0..sheet.len()).map(|t| p.distance(nearest_on_triangle(p, &sheet.corners(t)).0));
            let least = all.fold(f64::INFINITY, f64::min);
            assert!((bvh.distances(&[p])[0] - least).abs() < 1e-11, "{p}");
            assert!(bvh.is_within(p, least * (1.0 + 1e-9) + 1e-9) && !bvh.is_within(p, least * (1.0 - 1e-9)));
        }
        assert!(Bvh::new(&TriMesh::default()).is_empty());
    }
}
