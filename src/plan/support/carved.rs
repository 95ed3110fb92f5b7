//! A carved cake as the checks see it.

use std::sync::{Arc, Mutex, PoisonError};

use glam::DVec2;
use rustc_hash::FxHashMap;

use crate::{
    carve::{Body, Bulk, Carving, Edited},
    design::Design,
    stack::Stack,
};
use geom::real;
use geom::{Region, Tolerance, units::UnitStyle};

use super::masses::Volumes;

/// A carved cake: what no change of dowels, boards and materials alters.
pub struct CarvedCake<'a> {
    /// The carve.
    pub carving: &'a Carving,
    /// Volumes of all parts.
    pub volumes: Volumes,
    /// How figures are written.
    pub style: UnitStyle,
    finished: Outlines<'a>,
    carved: Outlines<'a>,
}

/// Level outlines of a body. Each is made once, for many stacks are tried.
struct Outlines<'a> {
    body: &'a Body,
    edited: &'a [Edited],
    made: Mutex<FxHashMap<u64, Arc<Region>>>,
}

impl Outlines<'_> {
    fn at(&self, z: f64) -> Arc<Region> {
        let key = z.to_bits();
        let known = |made: &Mutex<FxHashMap<u64, Arc<Region>>>| {
            made.lock().unwrap_or_else(PoisonError::into_inner).get(&key).cloned()
        };
        known(&self.made).unwrap_or_else(|| {
            let outline = Arc::new(self.make(z));
            self.made.lock().unwrap_or_else(PoisonError::into_inner).insert(key, outline.clone());
            outline
        })
    }

    fn make(&self, z: f64) -> Region {
        self.body.outline_among(z, Tolerance::PREVIEW, self.edited)
    }
}

impl<'a> CarvedCake<'a> {
    /// The cake that `carving` leaves of `stack`, with what `bulk` puts on it.
    pub fn new(design: &Design, stack: &Stack, carving: &'a Carving, bulk: &'a Bulk) -> Self {
        let target: (&Body, &[Edited]) = (&carving.target, &carving.edited);
        let outside = bulk.bodies.first().map_or(target, |(body, edited)| (body, edited.as_slice()));
        let outlines =
            |(body, edited): (&'a Body, &'a [Edited])| Outlines { body, edited, made: Mutex::default() };
        Self {
            carving,
            volumes: Volumes::new(design, stack, carving, bulk),
            style: design.style,
            finished: outlines(outside),
            carved: outlines(target),
        }
    }

    /// The finished cake at a height.
    pub fn finished_at(&self, z: f64) -> Arc<Region> {
        self.finished.at(z)
    }

    /// The carved cake at a height.
    pub fn carved_at(&self, z: f64) -> Arc<Region> {
        self.carved.at(z)
    }

    /// Height of the top of the carved cake, mm.
    pub fn carved_top(&self) -> f64 {
        self.carved.body.heights().1
    }
}

/// How far a region reaches from `from` at each of `count` bearings, mm; 0 where it does not.
pub fn reaches(region: &Region, from: DVec2, count: u32) -> Vec<f64> {
    /// Round-off of an angle, in steps between bearings.
    const CORNER: f64 = 1e-9;
    let mut reach = vec![0.0_f64; count as usize];
    let turn = std::f64::consts::TAU / f64::from(count);
    for (a, b) in region.edges() {
        let (a, b) = (a - from, b - from);
        // The bearings that the edge spans, from its first to its last.
        let (first, sweep) = (real::direction_angle(a), real::angle_from_to(a, b));
        let (low, high) = if sweep < 0.0 { (first + sweep, first) } else { (first, first + sweep) };
        // A corner right at a bearing belongs to both of its edges, lest it fall between them.
        let from = (low / turn - CORNER).ceil() as i64;
        let to = (high / turn + CORNER).floor() as i64;
        for k in from..=to {
            let along = real::unit_vector(turn * k as f64);
            let across = (b - a).perp_dot(along);
            if across.abs() > 1e-12 {
                let at = a.perp_dot(b - a) / along.perp_dot(b - a);
                let slot = k.rem_euclid(i64::from(count)) as usize;
                reach[slot] = reach[slot].max(at);
            }
        }
    }
    reach
}

#[cfg(test)]
mod tests {
    use glam::dvec2;

    use super::*;

    #[test]
    fn a_square_reaches_its_sides_and_corners() {
        let square = Region::rectangle(dvec2(-10.0, -10.0), dvec2(10.0, 10.0));
        let reach = reaches(&square, DVec2::ZERO, 8);
        for (k, got) in reach.iter().enumerate() {
            let expected = if k % 2 == 0 { 10.0 } else { 200.0_f64.sqrt() };
            assert!((got - expected).abs() < 1e-9, "{reach:?}");
        }
    }
}
