//! How many a cake serves: by the volume that stays, and by the pieces that a cutting plan gives.
//!
//! By volume every crumb counts. On the table a tier is cut along a grid of the portion's footprint; a piece
//! whose column holds two thirds of a portion is a portion, what holds less is not, and a column much higher than a
//! portion gives two. A tier lower than a portion is cut in pieces that are wider instead. No tier gives more
//! portions than its volume holds, so the two differ by the rim.

use glam::DVec2;
use rayon::prelude::*;
use serde::Serialize;

use geom::{Region, Tolerance, units::MM_PER_INCH};
use plan::{
    Plan,
    carve::{Body, LevelOutlines},
    design::MaterialKind,
    pantry::Pantry,
    stack::SlabKind,
};

/// A portion.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Portion {
    /// What it is called.
    pub name: String,
    /// Width, length and height, mm.
    pub size_mm: [f64; 3],
}

/// How many a cake serves.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Servings {
    /// Cake and filling inside the carved line, mL.
    pub kept_ml: f64,
    /// The maker's own portion first, then the usual ones.
    pub served: Vec<Served>,
}

/// How many portions of one kind there are.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Served {
    /// The portion.
    pub portion: Portion,
    /// By volume.
    pub by_volume: u32,
    /// By the cutting plan.
    pub by_cutting: u32,
    /// Tier by tier.
    pub tiers: Vec<TierPieces>,
    /// Cake in pieces too small to be portions, mL.
    pub rim_ml: f64,
}

/// Pieces of one tier.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TierPieces {
    /// The tier.
    pub tier: String,
    /// Portions.
    pub pieces: u32,
    /// How many cuts lie across and along: what of the grid meets the tier.
    pub grid: [u32; 2],
}

impl Portion {
    /// The usual portions: 1 × 2 × 4 in ("Cake Baking, Cutting & Serving Guide"), 1 1/2 × 2 × 4 in (party
    /// portion, from memory) and 25 × 50 × 100 mm (the first in round metric figures, common practice).
    pub fn usual() -> [Self; 3] {
        let inches = |name: &str, sides: [f64; 3]| Self {
            name: name.into(),
            size_mm: sides.map(|side| side * MM_PER_INCH),
        };
        [
            inches("wedding, 1 × 2 × 4 in", [1.0, 2.0, 4.0]),
            inches("party, 1 1/2 × 2 × 4 in", [1.5, 2.0, 4.0]),
            Self { name: "25 × 50 × 100 mm".into(), size_mm: [25.0, 50.0, 100.0] },
        ]
    }

    /// The portion of a rich fruit cake: 1 × 1 in ("Portion sizes", a British guide) of a cake 3 in high.
    pub fn of_fruit_cake() -> Self {
        Self {
            name: "fruit cake, 1 × 1 × 3 in".into(),
            size_mm: [1.0, 1.0, 3.0].map(|side| side * MM_PER_INCH),
        }
    }

    /// Volume, mm³.
    pub fn volume(&self) -> f64 {
        self.size_mm.iter().product()
    }
}

impl Servings {
    /// How many `plan` serves.
    pub fn new(plan: &Plan) -> Self {
        let portions = portions(&plan.pantry, is_fruit_cake(plan));
        let kept = edible(plan);
        let tiers = tiers(plan);
        let served = portions.into_par_iter().map(|portion| served(portion, kept, &tiers)).collect();
        Self { kept_ml: kept / 1000.0, served }
    }
}

/// How many of the maker's first portion the cutting plan gives of tiers that are cake all through, each as its slices from
/// the bottom up: thickness in mm and outline.
pub fn portions_of(pantry: &Pantry, is_fruit_cake: bool, tiers: Vec<Vec<(f64, Region)>>) -> u32 {
    let Some(portion) = portions(pantry, is_fruit_cake).into_iter().next() else { return 0 };
    let tiers = tiers.into_iter().map(|slices| TierSlices { name: String::new(), slices });
    tiers.map(|tier| pieces(&portion, &tier).0.pieces).sum()
}

/// The same of tiers of `target` between these heights, mm.
pub fn portions_between(pantry: &Pantry, is_fruit_cake: bool, target: &Body, tiers: &[(f64, f64)]) -> u32 {
    let outlines = LevelOutlines::new(target, Tolerance::PREVIEW);
    let (_, top) = target.heights();
    let tiers = tiers.iter().map(|(low, high)| (*low, high.min(top))).filter(|(low, high)| low < high);
    portions_of(pantry, is_fruit_cake, tiers.map(|tier| slices(&outlines, tier)).collect())
}

/// The portions that are counted, the maker's own first.
fn portions(pantry: &Pantry, is_fruit_cake: bool) -> Vec<Portion> {
    let mut portions: Vec<Portion> = Portion::usual().into();
    let same =
        |portion: &Portion| portion.size_mm.iter().zip(&pantry.portion).all(|(a, b)| (a - b).abs() < 0.05);
    match portions.iter().position(same) {
        Some(known) => portions[..=known].rotate_right(1),
        None => {
            portions.insert(0, Portion { name: "your own".into(), size_mm: pantry.portion });
        }
    }
    if is_fruit_cake {
        // A maker who has a portion of their own keeps it in front.
        let own = pantry.portion != Pantry::usual().portion;
        portions.insert(usize::from(own), Portion::of_fruit_cake());
    }
    portions
}

/// Whether every layer that is eaten is fruit cake.
fn is_fruit_cake(plan: &Plan) -> bool {
    let mut sponges = plan
        .stack
        .slabs
        .iter()
        .filter(|slab| slab.kind == SlabKind::Layer && slab.material.kind == MaterialKind::Sponge);
    sponges.clone().next().is_some() && sponges.all(|slab| slab.material.like == "fruit cake")
}

/// Cake and filling that stay, mm³.
fn edible(plan: &Plan) -> f64 {
    let slabs = plan.stack.slabs.iter().zip(&plan.carving.slabs);
    slabs
        .filter(|(slab, _)| {
            slab.kind == SlabKind::Filling
                || (slab.kind == SlabKind::Layer && slab.material.kind == MaterialKind::Sponge)
        })
        .map(|(_, carved)| carved.volumes.kept)
        .sum()
}

/// Outlines of one tier, each for a slice of it.
struct TierSlices {
    name: String,
    slices: Vec<(f64, Region)>,
}

impl TierSlices {
    /// Volume, mm³.
    fn volume(&self) -> f64 {
        self.slices.iter().map(|(thick, outline)| thick * outline.area()).sum()
    }

    /// Its height where it is highest, and that of a straight tier of the same volume on its widest outline, mm.
    fn heights(&self) -> [f64; 2] {
        let widest = self.slices.iter().map(|(_, outline)| outline.area()).fold(1e-9, f64::max);
        [self.slices.iter().map(|(thick, _)| thick).sum(), self.volume() / widest]
    }
}

/// Height of a slice, mm.
const SLICE: f64 = 6.0;

fn tiers(plan: &Plan) -> Vec<TierSlices> {
    let target = &plan.carving.target;
    let outlines = LevelOutlines::new(target, Tolerance::PREVIEW);
    let (_, top) = target.heights();
    let tiers = plan.design.tiers.iter().enumerate().filter_map(|(index, tier)| {
        let eaten = plan.stack.slabs.iter().filter(|slab| {
            slab.tier == index && slab.kind == SlabKind::Layer && slab.material.kind == MaterialKind::Sponge
        });
        let (low, high) = eaten
            .fold((f64::INFINITY, 0.0_f64), |(low, high), slab| (low.min(slab.bottom), high.max(slab.top)));
        let high = high.min(top);
        if low >= high {
            return None;
        }
        Some(TierSlices { name: tier.name.clone(), slices: slices(&outlines, (low, high)) })
    });
    tiers.collect()
}

/// A tier between two heights in slices from the bottom up, each with its thickness in mm.
fn slices(outlines: &LevelOutlines<'_>, (low, high): (f64, f64)) -> Vec<(f64, Region)> {
    let count = ((high - low) / SLICE).ceil().max(1.0) as u32;
    let thick = (high - low) / f64::from(count);
    let slice = |i: u32| {
        let z = low + (f64::from(i) + 0.5) * thick;
        (thick, outlines.at(z))
    };
    (0..count).into_par_iter().map(slice).collect()
}

fn served(portion: Portion, kept: f64, tiers: &[TierSlices]) -> Served {
    let cut: Vec<(TierPieces, f64)> = tiers.iter().map(|tier| pieces(&portion, tier)).collect();
    Served {
        by_volume: whole_portions(kept, &portion),
        by_cutting: cut.iter().map(|(tier, _)| tier.pieces).sum(),
        rim_ml: cut.iter().map(|(_, rim)| rim / 1000.0).sum(),
        tiers: cut.into_iter().map(|(tier, _)| tier).collect(),
        portion,
    }
}

/// How many whole portions this volume holds.
fn whole_portions(volume: f64, portion: &Portion) -> u32 {
    (volume / portion.volume() + 1e-6).floor() as u32
}

/// Pieces of a tier by the grid that gives the most of them, and the volume of what is no piece.
fn pieces(portion: &Portion, tier: &TierSlices) -> (TierPieces, f64) {
    let [w, l, h] = portion.size_mm;
    let mut wider: Vec<f64> = tier.heights().into_iter().map(|high| h / high.max(1.0)).collect();
    wider.retain(|share| *share > 1.0);
    let sizes = std::iter::once(w).chain(wider.into_iter().map(|share| w * share));
    let none = || (TierPieces { tier: tier.name.clone(), pieces: 0, grid: [0, 0] }, 0.0);
    let bounds = tier.slices.iter().filter_map(|(_, outline)| outline.bounds());
    let Some(bounds) = bounds.reduce(|a, b| (a.0.min(b.0), a.1.max(b.1))) else { return none() };
    /// Shares of a piece by which a grid is shifted.
    const SHIFTS: [f64; 2] = [0.0, 0.5];
    let rows = sizes
        .flat_map(|w| [(w, l), (l, w)])
        .flat_map(|(x, y)| SHIFTS.map(|shift| (x, Rows::new(tier, bounds, y, shift))));
    let cut = rows.flat_map(|(x, rows)| SHIFTS.map(|shift| grid(portion, tier, &rows, bounds, (x, shift))));
    cut.max_by_key(|(pieces, _)| pieces.pieces).unwrap_or_else(none)
}

/// Rows of pieces across a tier, whatever columns they are cut in.
struct Rows {
    /// How many.
    count: usize,
    /// From line to line, mm.
    apart: f64,
    /// For each slice of the tier and each line through each row what of the line lies inside.
    inside: Vec<Vec<(f64, f64)>>,
}

/// Lines through each row of pieces.
const LINES: usize = 4;

/// How many pieces of a size, shifted by a share of one, meet what lies between two ends, and the number of the first.
fn met(low: f64, high: f64, size: f64, shift: f64) -> (i32, usize) {
    let first = ((low / size - shift) + 1e-9).floor() as i32;
    let end = ((high / size - shift) - 1e-9).ceil() as i32;
    (first, (end - first).max(0) as usize)
}

impl Rows {
    /// Rows `deep` mm deep across `tier`, which lies within `bounds`, shifted by a share of that.
    fn new(tier: &TierSlices, (lo, hi): (DVec2, DVec2), deep: f64, shift: f64) -> Self {
        let (first, count) = met(lo.y, hi.y, deep, shift);
        let line = |k: usize| {
            let along = ((k % LINES) as f64 + 0.5) / LINES as f64;
            (f64::from(first) + (k / LINES) as f64 + along + shift) * deep
        };
        let lines = |outline| (0..count * LINES).map(move |k| Region::row(outline, line(k)));
        let inside = tier.slices.iter().flat_map(|(_, outline)| lines(outline)).collect();
        Self { count, apart: deep / LINES as f64, inside }
    }
}

/// Pieces of a tier in `rows` and in columns of a width, shifted by a share of that, and the volume of what is no piece.
fn grid(
    portion: &Portion,
    tier: &TierSlices,
    rows: &Rows,
    (lo, hi): (DVec2, DVec2),
    (wide, shift): (f64, f64),
) -> (TierPieces, f64) {
    let (first, columns) = met(lo.x, hi.x, wide, shift);
    let mut volumes = vec![0.0; columns * rows.count];
    let slices = rows.inside.chunks((rows.count * LINES).max(1));
    for ((thick, _), lines) in tier.slices.iter().zip(slices) {
        let slab = thick * rows.apart;
        for (j, line) in lines.iter().enumerate() {
            for (from, to) in line {
                for i in 0..columns {
                    let left = (f64::from(first) + i as f64 + shift) * wide;
                    let inside = (to.min(left + wide) - from.max(left)).max(0.0);
                    volumes[j / LINES * columns + i] += inside * slab;
                }
            }
        }
    }
    let whole = portion.volume();
    let count = |volume: &f64| (volume / whole + 1.0 / 3.0 + 1e-9).floor() as u32;
    let rim: f64 = volumes.iter().filter(|volume| count(volume) == 0).sum();
    let pieces = volumes.iter().map(count).sum::<u32>().min(whole_portions(tier.volume(), portion));
    (TierPieces { tier: tier.name.clone(), pieces, grid: [columns as u32, rows.count as u32] }, rim)
}
