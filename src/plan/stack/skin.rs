//! How deep a point lies below the skin of the raw stack: the shave depth.
//!
//! The depth of a point is its distance to the nearest place where the raw stack meets the air; the
//! board under the lowest slab is no such place. Points outside the stack have a negative depth, the
//! distance to the nearest slab. It is exact, and found without a mesh: slabs do not overlap in
//! height, so the skin is the side of every slab and those parts of each seam where only one of its
//! two neighbours reaches. The slit round a board that is narrower than the cake on both sides of it is
//! no skin: no knife works from there.

use glam::{DVec3, dvec2};

use super::{Slab, SlabKind, Stack, smaller_neighbour};
use crate::design::Dome;
use geom::real;

/// Slabs whose faces are closer than this lie on each other, mm.
const SEAM: f64 = 1e-6;

/// The slabs as the knife meets them.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Skin {
    /// Every board as wide as the smaller of its neighbours, if it is narrower, and without its hole.
    slabs: Vec<Slab>,
    /// Whether each slab begins and ends no lower than the one before.
    in_order: bool,
    /// Whether the seam over each slab meets the air nowhere: the next lies on it and has the same outline.
    sealed: Vec<bool>,
}

impl Skin {
    pub(super) fn new(slabs: &[Slab]) -> Self {
        let mut skin = slabs.to_vec();
        for i in 1..slabs.len().saturating_sub(1) {
            if slabs[i].kind == SlabKind::Board {
                let between = smaller_neighbour(slabs, i);
                skin[i].hole = 0.0;
                if between.area() > slabs[i].footprint.area() {
                    skin[i].footprint = between;
                }
            }
        }
        let rises = |pair: &[Slab]| pair[0].bottom <= pair[1].bottom && pair[0].top <= pair[1].top;
        let in_order = skin.windows(2).all(rises);
        let seals = |pair: &[Slab]| {
            let upright = pair.iter().all(|slab| slab.dome.is_none());
            upright && is_closed(&pair[0], &pair[1]) && pair[0].footprint == pair[1].footprint
        };
        let sealed = skin.windows(2).map(seals).chain([false]).collect();
        Self { slabs: skin, in_order, sealed }
    }

    /// The least of `distance` over all slabs, which must be no less than how far the slab lies above or
    /// below `z`. The search goes up and down from there and ends where no slab can come nearer.
    fn nearest(&self, z: f64, distance: impl Fn(usize) -> f64) -> f64 {
        let middle = if self.in_order { self.slabs.partition_point(|slab| slab.top < z) } else { 0 };
        let up = (middle..self.slabs.len()).map(|i| (i, self.slabs[i].bottom - z));
        let down = (0..middle).rev().map(|i| (i, z - self.slabs[i].top));
        let least = self.least(up, f64::INFINITY, &distance);
        self.least(down, least, &distance)
    }

    /// The least of `least` and the distances of slabs that come ever further away, each with how far it
    /// lies above or below.
    fn least(
        &self,
        slabs: impl Iterator<Item = (usize, f64)>,
        mut least: f64,
        distance: impl Fn(usize) -> f64,
    ) -> f64 {
        for (i, away) in slabs {
            if self.in_order && away > least {
                break;
            }
            least = least.min(distance(i));
        }
        least
    }

    /// Whether any slab holds `p`.
    fn holds(&self, p: DVec3) -> bool {
        let first = if self.in_order { self.slabs.partition_point(|slab| slab.top < p.z - SEAM) } else { 0 };
        let below = |slab: &&Slab| !self.in_order || slab.bottom <= p.z + SEAM;
        self.slabs[first..].iter().take_while(below).any(|slab| slab.holds(p))
    }

    /// Distance from `p` to the side of slab `i` or to its top and bottom, where they meet the air.
    fn distance_to(&self, i: usize, p: DVec3) -> f64 {
        let side = self.slabs[i].distance_to_side(p);
        self.faces(i).into_iter().flatten().filter_map(|face| face.distance(p)).fold(side, f64::min)
    }

    /// The seam over slab `i` unless it is sealed, or its top where nothing lies on it, and its bottom over a gap.
    fn faces(&self, i: usize) -> [Option<Face<'_>>; 2] {
        let slab = &self.slabs[i];
        let above = self.slabs.get(i + 1).filter(|above| is_closed(slab, above));
        let top = (!self.sealed[i]).then_some(Face { height: slab.top, below: Some(slab), above });
        let below = i.checked_sub(1).map(|j| &self.slabs[j]);
        let over_gap = below.is_some_and(|below| !is_closed(below, slab));
        let bottom = over_gap.then_some(Face { height: slab.bottom, below: None, above: Some(slab) });
        [top, bottom]
    }
}

/// Whether one slab lies on the other.
fn is_closed(below: &Slab, above: &Slab) -> bool {
    (above.bottom - below.top).abs() <= SEAM
}

impl Stack {
    /// Distance from `p` to the skin of the raw stack, mm: positive inside, negative outside.
    pub fn depth(&self, p: DVec3) -> f64 {
        if self.skin.holds(p) {
            self.skin.nearest(p.z, |i| self.skin.distance_to(i, p))
        } else {
            -self.skin.nearest(p.z, |i| self.skin.slabs[i].distance_outside(p))
        }
    }
}

/// A level where slabs begin or end.
struct Face<'a> {
    height: f64,
    below: Option<&'a Slab>,
    above: Option<&'a Slab>,
}

impl Face<'_> {
    /// How far straight up or down the face lies, if it meets the air there. Where it does not, its
    /// nearest open part ends at the side of a slab, which counts by itself.
    fn distance(&self, p: DVec3) -> Option<f64> {
        let covers = |slab: Option<&Slab>| slab.is_some_and(|s| s.inside_edge_at(self.height, p) >= 0.0);
        (covers(self.below) != covers(self.above)).then(|| (self.height - p.z).abs())
    }
}

impl Slab {
    /// The middle of a half-ball.
    fn ball_centre(&self) -> DVec3 {
        let z = if self.dome == Some(Dome::Down) { self.top } else { self.bottom };
        self.footprint.centre.extend(z)
    }

    fn ball_radius(&self) -> f64 {
        self.footprint.reach()
    }

    /// How far inside the slab's edge at level `z` point `p` lies, seen from above, mm; negative outside.
    pub fn inside_edge_at(&self, z: f64, p: DVec3) -> f64 {
        let flat = p.truncate();
        match self.dome {
            None => self.footprint.depth(flat),
            Some(_) => {
                let rise = z - self.ball_centre().z;
                let level = (real::powi(self.ball_radius(), 2) - rise * rise).max(0.0).sqrt();
                level - flat.distance(self.footprint.centre)
            }
        }
    }

    fn holds(&self, p: DVec3) -> bool {
        self.bottom - SEAM <= p.z && p.z <= self.top + SEAM && self.inside_edge_at(p.z, p) >= 0.0
    }

    /// Distance to the slab's side: an upright wall, or the dome of a half-ball.
    fn distance_to_side(&self, p: DVec3) -> f64 {
        let up = (self.bottom - p.z).max(p.z - self.top).max(0.0);
        if self.dome.is_none() {
            let level = self.footprint.depth(p.truncate());
            return if up == 0.0 { level.abs() } else { real::hypot(up, level) };
        }
        let centre = self.ball_centre();
        let (radius, from) = (self.ball_radius(), p - centre);
        // The nearest point of the whole sphere lies straight out from the middle; if that is not on
        // the dome, the nearest is on its lower or upper edge.
        let out = from.try_normalize().unwrap_or(DVec3::X) * radius;
        let reached = centre.z + out.z;
        if (self.bottom..=self.top).contains(&reached) {
            return (radius - from.length()).abs();
        }
        let flat = from.truncate().length();
        [self.bottom, self.top]
            .iter()
            .map(|z| {
                let edge = (radius * radius - real::powi(z - centre.z, 2)).max(0.0).sqrt();
                dvec2(flat - edge, p.z - z).length()
            })
            .fold(f64::INFINITY, f64::min)
    }

    /// Distance from a point outside to the slab, mm.
    fn distance_outside(&self, p: DVec3) -> f64 {
        let up = (self.bottom - p.z).max(p.z - self.top).max(0.0);
        let level = p.z.clamp(self.bottom, self.top);
        if self.dome.is_some() && self.inside_edge_at(level, p) < 0.0 {
            return self.distance_to_side(p);
        }
        real::hypot(up, (-self.inside_edge_at(level, p)).max(0.0))
    }
}

#[cfg(test)]
mod tests {
    use glam::{DVec2, dvec3};

    use super::super::SlabKind;
    use super::*;
    use crate::design::{Footprint, FootprintShape, material};
    use cakefile::FieldPath;

    fn slab(shape: FootprintShape, dome: Option<Dome>, bottom: f64, top: f64) -> Slab {
        Slab {
            kind: SlabKind::Layer,
            name: String::new(),
            tier: 0,
            material: material::built_in("sponge").unwrap(),
            footprint: Footprint { shape, centre: DVec2::ZERO, turn: 0.0 },
            dome,
            hole: 0.0,
            bottom,
            top,
            field: FieldPath::root(),
        }
    }

    fn round(diameter: f64) -> FootprintShape {
        FootprintShape::Round { diameter }
    }

    #[test]
    fn the_nearest_skin_may_be_a_side_a_step_or_the_top() {
        let slabs = vec![slab(round(200.0), None, 0.0, 50.0), slab(round(100.0), None, 50.0, 100.0)];
        let stack = Stack::of(slabs, vec![]);
        assert_eq!(stack.depth(dvec3(90.0, 0.0, 25.0)), 10.0);
        assert_eq!(stack.depth(dvec3(70.0, 0.0, 45.0)), 5.0); // below the step
        assert_eq!(stack.depth(dvec3(0.0, 0.0, 96.0)), 4.0); // below the top
        assert!((stack.depth(dvec3(47.0, 0.0, 46.0)) - 5.0).abs() < 1e-12); // the inner corner, 3-4-5
        // The board is no skin: from the middle of the foot the nearest is the inner corner.
        assert_eq!(stack.depth(dvec3(0.0, 0.0, 0.0)), 50f64.hypot(50.0));
        assert_eq!(stack.depth(dvec3(60.0, 0.0, 75.0)), -10.0);
        assert_eq!(stack.depth(dvec3(103.0, 0.0, 46.0)), -3.0);
    }

    #[test]
    fn the_slit_round_a_board_is_no_skin() {
        let board = Slab { kind: SlabKind::Board, ..slab(round(80.0), None, 50.0, 54.0) };
        let slabs = vec![slab(round(140.0), None, 0.0, 50.0), board, slab(round(140.0), None, 54.0, 100.0)];
        assert_eq!(Stack::of(slabs, vec![]).depth(dvec3(50.0, 0.0, 49.0)), 20.0);
    }

    #[test]
    fn a_half_ball_is_measured_to_its_dome() {
        let stack = Stack::of(vec![slab(round(100.0), Some(Dome::Up), 0.0, 50.0)], vec![]);
        assert!((stack.depth(dvec3(0.0, 30.0, 30.0)) - (50.0 - 1800f64.sqrt())).abs() < 1e-12);
        assert!((stack.depth(dvec3(40.0, 40.0, 20.0)) - (50.0 - 60.0)).abs() < 1e-12);
    }

    #[test]
    fn a_turned_square_is_measured_to_its_sides() {
        let mut square = slab(FootprintShape::Rectangle { width: 100.0, depth: 100.0 }, None, 0.0, 40.0);
        square.footprint.turn = 45.0;
        let stack = Stack::of(vec![square], vec![]);
        let expected = 50.0 - 30.0 / 2f64.sqrt();
        assert!((stack.depth(dvec3(30.0, 0.0, 20.0)) - expected.min(20.0)).abs() < 1e-12);
    }
}
