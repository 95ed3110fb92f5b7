//! Necks, thin places and tapers of the carved shape: where a maker must go gently.

use geom::Region;
use plan::{
    Plan,
    carve::Body,
    stack::{Dowel, SlabKind},
};

/// A thin place.
#[derive(Debug, Clone, PartialEq)]
pub struct Thin {
    /// What is thin.
    pub what: ThinKind,
    /// How thin, mm.
    pub thickness: f64,
    /// At which height, mm.
    pub height: f64,
}

/// What is thin.
#[derive(Debug, Clone, PartialEq)]
pub enum ThinKind {
    /// The cake across.
    Neck,
    /// The wall round a hollow.
    Wall,
    /// The cake over a dowel of this name.
    OverDowel(String),
}

/// A tier that is better carved upside down.
#[derive(Debug, Clone, PartialEq)]
pub struct UpsideDown {
    /// The tier.
    pub tier: String,
    /// How much it tapers downward, radius, mm.
    pub taper: f64,
    /// Up to this height, mm.
    pub to: f64,
}

/// Where a run of figures turns by more than [`SEEN`]: its highest and lowest places between the ends.
pub fn turns(values: &[f64]) -> Vec<usize> {
    let mut turns = Vec::new();
    let (mut high, mut low) = (0, 0);
    let mut rising: Option<bool> = None;
    for (i, &value) in values.iter().enumerate() {
        if value >= values[high] {
            high = i;
        }
        if value <= values[low] {
            low = i;
        }
        if rising != Some(false) && value < values[high] - SEEN {
            if rising.is_some() {
                turns.push(high);
            }
            (rising, low) = (Some(false), i);
        } else if rising != Some(true) && value > values[low] + SEEN {
            if rising.is_some() {
                turns.push(low);
            }
            (rising, high) = (Some(true), i);
        }
    }
    turns
}

/// Less is no neck and no belly, mm.
const SEEN: f64 = 3.0;

/// Heights looked at, mm apart.
const LOOK: f64 = 1.0;

/// Half of how wide the body is at a height where it is narrower: its radius where it is round.
fn half_width(target: &Body, z: f64) -> f64 {
    let Some(mesh) = &target.free else {
        return target.section.row(z).last().map_or(0.0, |&(_, r)| r);
    };
    let narrower = |piece: &Region| {
        let (lo, hi) = piece.bounds().unwrap_or_default();
        (hi - lo).min_element() / 2.0
    };
    let pieces = mesh.section(z).pieces();
    let largest = pieces.iter().max_by(|a, b| a.area().total_cmp(&b.area()));
    largest.map_or(0.0, narrower)
}

/// How much cake lies round a dowel at a height, mm; below zero where it comes out, infinitely where there is none.
fn over_dowel(target: &Body, dowel: &Dowel, z: f64) -> f64 {
    let inside = match &target.free {
        Some(mesh) => mesh.section(z).depth(dowel.at),
        None => half_width(target, z) - dowel.at.length(),
    };
    inside - dowel.diameter / 2.0
}

fn sampled_heights(target: &Body) -> Vec<f64> {
    let (low, high) = target.heights();
    let count = ((high - low) / LOOK).floor() as u32;
    (0..=count).map(|i| (low + f64::from(i) * LOOK + 1e-3).min(high - 1e-3)).collect()
}

pub fn thin(plan: &Plan, target: &Body) -> Vec<Thin> {
    let heights = sampled_heights(target);
    let outer = |z: f64| half_width(target, z);
    let radii: Vec<f64> = heights.iter().map(|&z| outer(z)).collect();
    let mut thin: Vec<Thin> = turns(&radii)
        .into_iter()
        .filter(|&i| radii[i] < radii[0].max(radii.iter().copied().fold(0.0, f64::max)) && is_low(&radii, i))
        .map(|i| Thin { what: ThinKind::Neck, thickness: 2.0 * radii[i], height: heights[i] })
        .collect();
    let wall = heights.iter().filter(|_| target.free.is_none()).flat_map(|&z| {
        target.section.row(z).into_iter().filter(|(inner, _)| *inner > 0.0).map(move |(a, b)| (b - a, z))
    });
    if let Some((thickness, height)) = wall.min_by(|a, b| a.0.total_cmp(&b.0)) {
        thin.push(Thin { what: ThinKind::Wall, thickness, height });
    }
    let mut over: Vec<Thin> = plan
        .stack
        .dowels
        .iter()
        .filter(|dowel| dowel.tier.is_some())
        .filter_map(|dowel| {
            let over = |z: f64| over_dowel(target, dowel, z);
            let along = heights.iter().filter(|&&z| dowel.bottom < z && z < dowel.top).map(|&z| (over(z), z));
            let (thickness, height) = along.min_by(|a, b| a.0.total_cmp(&b.0))?;
            Some(Thin { what: ThinKind::OverDowel(dowel.name.clone()), thickness, height })
        })
        .collect();
    over.sort_by(|a, b| a.thickness.total_cmp(&b.thickness));
    thin.extend(over.into_iter().take(1));
    thin
}

/// Whether a turn is a lowest place rather than a highest.
fn is_low(values: &[f64], i: usize) -> bool {
    let around = |j: Option<usize>| j.and_then(|j| values.get(j)).copied().unwrap_or(values[i]);
    let wide = 4;
    around(i.checked_sub(wide)) >= values[i] && around(i.checked_add(wide)) >= values[i]
}

pub fn upside_down(plan: &Plan, target: &Body) -> Vec<UpsideDown> {
    /// A smaller taper is carved as easily from above, mm (common practice, no source).
    const WORTH: f64 = 15.0;
    let outer = |z: f64| half_width(target, z);
    let heights = sampled_heights(target);
    let mut found = Vec::new();
    for (index, tier) in plan.design.tiers.iter().enumerate() {
        // Only what stands on a board of its own can be turned over.
        if tier.board.is_none() {
            continue;
        }
        let layers = plan.stack.slabs.iter().filter(|s| s.tier == index && s.kind == SlabKind::Layer);
        let (bottom, top) =
            layers.fold((f64::INFINITY, 0.0_f64), |(low, high), s| (low.min(s.bottom), high.max(s.top)));
        // Up to the first belly: what lies above it is worked from above anyway.
        let mut widest = bottom + 1e-3;
        for z in heights.iter().copied().filter(|&z| bottom < z && z < top) {
            if outer(z) < outer(widest) - SEEN {
                break;
            }
            if outer(z) > outer(widest) {
                widest = z;
            }
        }
        let taper = outer(widest) - outer(bottom + 1e-3);
        if taper > WORTH && widest - bottom > WORTH {
            found.push(UpsideDown { tier: tier.name.clone(), taper, to: widest });
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn turns_are_bellies_and_necks() {
        let run = [60.0, 50.0, 40.0, 41.0, 55.0, 70.0, 69.0, 60.0, 61.0, 20.0];
        assert_eq!(turns(&run), [2, 5]);
        assert!(turns(&[10.0, 9.0, 8.0, 4.0]).is_empty());
    }
}
