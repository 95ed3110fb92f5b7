//! Pairs of triangles of one surface that lie near each other.

use glam::DVec3;
use rayon::prelude::*;

use super::Bvh;
use crate::Cancel;

impl Bvh {
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
}
