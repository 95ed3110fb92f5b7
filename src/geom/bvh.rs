//! A bounding volume hierarchy (BVH) of triangles: nearest point, rays, winding number, close pairs.

mod close_pairs;

use std::ops::Range;

use glam::DVec3;
use rayon::prelude::*;

pub use crate::triangle::Feature;
use crate::{
    Cancel, Cancelled, TriMesh,
    bounding_cylinder::BoundingCylinder,
    triangle::{crossing_above, is_hit, nearest_on_triangle},
    uncancelled,
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

#[cfg(test)]
mod tests {
    use super::*;

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
