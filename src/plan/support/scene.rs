//! What the checks look at.

use std::sync::{Arc, Mutex, PoisonError};

use glam::DVec2;
use rustc_hash::FxHashMap;

use crate::{
    carve::{Body, Bulk, Carving, Edited},
    design::Design,
    stack::{SlabKind, Stack},
};
use cakefile::FieldPath;
use geom::{Region, Tolerance, units::UnitStyle};

use super::{Check, Level, Masses, Volumes, levels::levels};

/// A carved cake as the checks see it: what no change of dowels and materials alters.
pub struct Scene<'a> {
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

impl<'a> Scene<'a> {
    /// Looks at a carved cake.
    pub fn new(design: &Design, stack: &Stack, carving: &'a Carving, bulk: &'a Bulk) -> Self {
        let target: (&Body, &[Edited]) = (&carving.target, &carving.edited);
        let outside = bulk.bodies.first().map_or(target, |(body, edited)| (body, edited.as_slice()));
        let outlines =
            |(body, edited): (&'a Body, &'a [Edited])| Outlines { body, edited, made: Mutex::default() };
        Self {
            carving,
            volumes: Volumes::new(design, stack, carving, bulk),
            style: UnitStyle::new(design.unit),
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

/// A cake to be judged: a scene with a stack, which may be one that is being tried.
pub struct Case<'a> {
    /// What no change alters.
    pub scene: &'a Scene<'a>,
    /// The design, for coverings and settings.
    pub design: &'a Design,
    /// Slabs and dowels.
    pub stack: &'a Stack,
    /// What everything weighs.
    pub masses: Masses,
    /// What carries what, from the presentation board up.
    pub levels: Vec<Level>,
}

impl<'a> Case<'a> {
    /// `stack` in `scene`.
    pub fn new(scene: &'a Scene<'a>, design: &'a Design, stack: &'a Stack) -> Self {
        let masses = Masses::new(&scene.volumes, stack, design);
        let levels = levels(scene, stack, &masses);
        Self { scene, design, stack, masses, levels }
    }

    /// A length in the maker's unit.
    pub fn mm(&self, mm: f64) -> String {
        self.scene.style.length_alone(mm)
    }

    /// A mass in the maker's unit.
    pub fn g(&self, grams: f64) -> String {
        self.scene.style.mass_alone(grams)
    }

    /// What a force of so many newtons feels like, in the maker's unit.
    pub fn push(&self, newtons: f64) -> String {
        self.g(newtons / super::GRAVITY * 1000.0)
    }

    /// A pressure in Pa in the maker's unit.
    pub fn pressure(&self, pascals: f64) -> String {
        self.scene.style.pressure_alone(pascals)
    }

    /// A temperature in °C in the maker's unit.
    pub fn warm(&self, celsius: f64) -> String {
        self.scene.style.temperature_alone(celsius)
    }

    /// Where the board at level `index` stands in the cake file.
    pub fn field_of(&self, index: usize) -> FieldPath {
        let board = self.design.board.as_ref().map(|board| board.field.clone());
        let slab = self.levels[index].slab.map(|slab| self.stack.slabs[slab].field.clone());
        slab.or(board).unwrap_or_else(|| FieldPath::root().key("tier"))
    }

    /// Everything checked.
    pub fn checks(&self) -> Vec<Check> {
        let mut checks = Vec::new();
        super::standing::check(self, &mut checks);
        super::sponge::check(self, &mut checks);
        super::dowels::check(self, &mut checks);
        super::carving::check(self, &mut checks);
        super::soft::check(self, &mut checks);
        super::journey::check(self, &mut checks);
        super::people::check(self, &mut checks);
        checks
    }

    /// The level above the one at `index`, if any.
    pub fn next_level(&self, index: usize) -> Option<&Level> {
        self.levels.get(index + 1)
    }

    /// The slabs that stand on level `index`, without the boards of the next.
    pub fn slabs_on(&self, index: usize) -> std::ops::Range<usize> {
        let from = self.levels[index].slab.map_or(0, |slab| slab + 1);
        let to = self.next_level(index).and_then(|level| level.slab).unwrap_or(self.stack.slabs.len());
        from..to
    }

    /// Heights at which sponge that stands on level `index` is looked at: the underside and the narrowest place
    /// of every layer, with the slab that each belongs to.
    pub fn looked_at(&self, index: usize) -> Vec<(usize, f64)> {
        /// Heights looked at in a layer, and in all layers on a level.
        const STEPS: (u32, usize) = (4, 64);
        let top = self.scene.carved_top();
        let layers: Vec<usize> = self
            .slabs_on(index)
            .filter(|&i| self.stack.slabs[i].kind == SlabKind::Layer && self.stack.slabs[i].bottom < top)
            .collect();
        let every = layers.len().div_ceil(STEPS.1).max(1);
        let steps = if layers.len() * STEPS.0 as usize > STEPS.1 { 1 } else { STEPS.0 };
        layers
            .into_iter()
            .step_by(every)
            .flat_map(|i| {
                let slab = &self.stack.slabs[i];
                let high = slab.top.min(top) - slab.bottom;
                (0..steps).map(move |k| (i, slab.bottom + high * (f64::from(k) + 0.02) / f64::from(steps)))
            })
            .collect()
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
        let (first, sweep) = (a.to_angle(), a.angle_to(b));
        let (low, high) = if sweep < 0.0 { (first + sweep, first) } else { (first, first + sweep) };
        // A corner right at a bearing belongs to both of its edges, lest it fall between them.
        let from = (low / turn - CORNER).ceil() as i64;
        let to = (high / turn + CORNER).floor() as i64;
        for k in from..=to {
            let along = DVec2::from_angle(turn * k as f64);
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
