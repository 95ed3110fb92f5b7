//! Heights of layers of pieces, and the outlines that each must hold.

use std::sync::Arc;

use glam::DVec2;

use super::sides;
use crate::arrange::{cover::Lattice, setup::Setup};
use geom::{Cancel, Cancelled, Region, Tolerance};

/// Heights of layers that are all as high.
#[derive(Debug, Clone)]
pub(super) struct Heights {
    pub height: f64,
    pub bottoms: Vec<f64>,
}

/// `count` layers from where sponge begins up to `top`, in whole steps or, at the last, marks; `None` where they would be
/// too thin or no bake is so high.
pub(super) fn heights(setup: &Setup, top: f64, count: usize) -> Option<Heights> {
    let rules = &setup.rules;
    let each = (top - rules.from - rules.filling * (count - 1) as f64) / count as f64;
    let step = rules.mark.max(rules.step / 5.0);
    /// What the top of the shape may lie higher than its height says, for rounding, mm.
    const SLACK: f64 = 0.02;
    let height = ((each - SLACK) / step).ceil() * step;
    let highest =
        setup.pans.iter().filter(|pan| sides(pan).is_some()).map(|pan| pan.level).fold(0.0, f64::max);
    if height < rules.thinnest - 1e-6 || height > highest + 1e-6 {
        return None;
    }
    let bottoms: Vec<f64> = (0..count).map(|i| rules.from + (height + rules.filling) * i as f64).collect();
    // What is kept above lies where it lay: the uppermost layer ends there, and must not be too thin.
    let last = rules.to.map_or(height, |to| to - bottoms[count - 1]);
    (last >= rules.thinnest - 1e-6).then_some(Heights { height, bottoms })
}

/// What each layer must hold, seen through its lattice.
#[derive(Default)]
pub(super) struct Looked {
    /// One for each layer; layers that must hold the same share one.
    pub lattices: Vec<Arc<Lattice>>,
    /// Area of all outlines together, mm².
    pub area: f64,
}

/// What each layer must hold; no lattices where the outlines take more than `most` g of cake.
pub(super) fn outlines(
    setup: &Setup,
    heights: &Heights,
    turn: f64,
    most: f64,
    cancel: &Cancel,
) -> Result<Looked, Cancelled> {
    /// Outlines that differ by a smaller share of their area are covered as one.
    const ALIKE: f64 = 0.01;
    let rules = &setup.rules;
    // The shadows that are not alike, and which of them each layer has.
    let mut shadows: Vec<Region> = Vec::new();
    let mut of: Vec<usize> = Vec::new();
    for bottom in &heights.bottoms {
        cancel.check()?;
        let looked = setup.needs.outlines(*bottom, bottom + heights.height);
        let shadow = looked.iter().fold(Region::default(), |all, outline| all.union(outline));
        let known = shadows.iter().position(|other| {
            let off = other.difference(&shadow).area() + shadow.difference(other).area();
            off <= ALIKE * other.area()
        });
        of.push(known.unwrap_or(shadows.len()));
        if known.is_none() {
            shadows.push(shadow);
        }
    }
    let outlines: Vec<Region> = shadows
        .iter()
        .map(|shadow| shadow.outset(rules.shave, Tolerance::PREVIEW).placed(-turn.to_radians(), DVec2::ZERO))
        .collect();
    let area: f64 = of.iter().map(|i| outlines[*i].area()).sum();
    if area * heights.height / 1000.0 * setup.density > most {
        return Ok(Looked::default());
    }
    let mut made = Vec::new();
    for outline in &outlines {
        let Some(lattice) = Lattice::new(outline, rules.mark, cancel)? else { return Ok(Looked::default()) };
        made.push(Arc::new(lattice));
    }
    Ok(Looked { lattices: of.iter().map(|i| Arc::clone(&made[*i])).collect(), area })
}
