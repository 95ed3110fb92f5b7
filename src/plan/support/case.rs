//! A load case: a carved cake, what it weighs, and what carries what.

use crate::{
    design::Design,
    stack::{SlabKind, Stack},
};
use cakefile::FieldPath;

use super::{
    carved::CarvedCake,
    gravity::GRAVITY,
    levels::{Level, levels},
    masses::Masses,
};

/// A load case: a carved cake on a stack, which may be one that is being tried.
pub struct Case<'a> {
    /// What no change alters.
    pub cake: &'a CarvedCake<'a>,
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
    /// `cake` on `stack`.
    pub fn new(cake: &'a CarvedCake<'a>, design: &'a Design, stack: &'a Stack) -> Self {
        let masses = Masses::new(&cake.volumes, stack, design);
        let levels = levels(cake, stack, &masses);
        Self { cake, design, stack, masses, levels }
    }

    /// A length in the maker's unit.
    pub fn mm(&self, mm: f64) -> String {
        self.cake.style.length_alone(mm)
    }

    /// A mass in the maker's unit.
    pub fn g(&self, grams: f64) -> String {
        self.cake.style.mass_alone(grams)
    }

    /// What a force of so many newtons feels like, in the maker's unit.
    pub fn push(&self, newtons: f64) -> String {
        self.g(newtons / GRAVITY * 1000.0)
    }

    /// A pressure in Pa in the maker's unit.
    pub fn pressure(&self, pascals: f64) -> String {
        self.cake.style.pressure_alone(pascals)
    }

    /// A temperature in °C in the maker's unit.
    pub fn warm(&self, celsius: f64) -> String {
        self.cake.style.temperature_alone(celsius)
    }

    /// Where the board at level `index` stands in the cake file.
    pub fn field_of(&self, index: usize) -> FieldPath {
        let board = self.design.board.as_ref().map(|board| board.field.clone());
        let slab = self.levels[index].slab.map(|slab| self.stack.slabs[slab].field.clone());
        slab.or(board).unwrap_or_else(|| FieldPath::root().key("tier"))
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
        let top = self.cake.carved_top();
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
