//! Where pans and boards fit in a shape, found once for every search over it.

use std::{
    hash::Hash,
    sync::{Arc, Mutex, PoisonError},
};

use rustc_hash::FxHashMap;

use plan::{design::Footprint, pantry::PanShape};

/// Places that were found before. They hold for all problems of one shape whose slabs have the same shave and whose
/// boards are of the same kind and cover; limits on height, overhang and oven loads do not change them, nor do weights.
#[derive(Debug, Clone, Default)]
pub struct Places(Arc<Maps>);

#[derive(Debug, Default)]
struct Maps {
    /// Slabs that hold the cells from one to another, by the size of the pan.
    slabs: Mutex<FxHashMap<(usize, usize, Size), Option<Footprint>>>,
    /// The largest board from a height up, micrometres.
    boards: Mutex<FxHashMap<i32, Option<Footprint>>>,
}

/// A size of pan as a key.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
struct Size(u8, u64, u64);

impl From<PanShape> for Size {
    fn from(shape: PanShape) -> Self {
        match shape {
            PanShape::Round(d) => Self(0, d.to_bits(), 0),
            PanShape::Rectangle(w, d) => Self(1, w.to_bits(), d.to_bits()),
            PanShape::HalfBall(d) => Self(2, d.to_bits(), 0),
        }
    }
}

impl Places {
    /// Where a slab out of a pan of this shape holds `cells`, or else what `find` finds.
    pub fn slab(
        &self,
        cells: (usize, usize),
        pan: PanShape,
        find: impl FnOnce() -> Option<Footprint>,
    ) -> Option<Footprint> {
        known_or(&self.0.slabs, (cells.0, cells.1, pan.into()), find)
    }

    /// The largest board from height `low` up, micrometres, or else what `find` finds.
    pub fn board(&self, low: i32, find: impl FnOnce() -> Option<Footprint>) -> Option<Footprint> {
        known_or(&self.0.boards, low, find)
    }
}

fn known_or<K: Eq + Hash>(
    map: &Mutex<FxHashMap<K, Option<Footprint>>>,
    key: K,
    find: impl FnOnce() -> Option<Footprint>,
) -> Option<Footprint> {
    // A panic elsewhere leaves the map whole: it only ever gains finished entries.
    let map = || map.lock().unwrap_or_else(PoisonError::into_inner);
    if let Some(known) = map().get(&key) {
        return known.clone();
    }
    let found = find();
    map().insert(key, found.clone());
    found
}
