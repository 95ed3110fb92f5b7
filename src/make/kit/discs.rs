//! Guide discs: one on top of a layer and one below it; the knife rides on both rims, so that the side comes
//! out straight and upright to the axis all round.
//!
//! Each disc carries the line on beyond the layer, so that the blade touches it all over its rim and not at
//! one edge only. A pair goes with every run of layers along which the carved line is straight enough; its
//! widest straying is said on it.

use std::sync::Arc;

use glam::DVec2;

use cakefile::Severity;
use geom::real;
use geom::{Region, SteppedPlate, stepped_plate::Top};
use plan::stack::SlabKind;

use super::{
    Group, Silhouette,
    draft::{Draft, Drawer},
};

/// Thickness of a disc, mm: a blade rides on it without slipping off (common practice, no source).
const THICKNESS: f64 = 8.0;

/// A stretch of the carved line from one seam to another.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stretch {
    /// Lower and upper height, mm.
    pub heights: (f64, f64),
    /// Radius there, mm.
    pub radii: (f64, f64),
    /// How far the line strays from straight at most, mm.
    pub strays: f64,
}

/// The longest straight stretches from seam to seam, from the bottom up.
pub fn stretches(drawer: &Drawer<'_>) -> Vec<Stretch> {
    let line = drawer.carved();
    let layers: Vec<(f64, f64)> = drawer
        .plan
        .stack
        .slabs
        .iter()
        .filter(|slab| slab.kind == SlabKind::Layer)
        .map(|slab| (slab.bottom, slab.top))
        .filter(|&(_, top)| top < line.top)
        .collect();
    let mut found = Vec::new();
    let mut first = 0;
    while first < layers.len() {
        let run = (first..layers.len())
            .map_while(|last| {
                straight(line, layers[first].0, layers[last].1, drawer.printing.guide_tolerance)
                    .map(|s| (last, s))
            })
            .last();
        match run {
            Some((last, stretch)) => {
                found.push(stretch);
                first = last + 1;
            }
            None => first += 1,
        }
    }
    found
}

/// The stretch between two heights, if it strays from straight by no more than `most`.
fn straight(line: &Silhouette, low: f64, high: f64, most: f64) -> Option<Stretch> {
    /// Heights looked at.
    const LEVELS: u32 = 64;
    /// Just inside the layer.
    const INSIDE: f64 = 1e-3;
    let radius = |z: f64| line.shadow.row(z).last().map_or(0.0, |&(_, r)| r);
    let at = |share: f64| low + INSIDE + (high - low - 2.0 * INSIDE) * share;
    let (r0, r1) = (radius(at(0.0)), radius(at(1.0)));
    let square = (high - low) / real::hypot(high - low, r1 - r0);
    let strays = (0..=LEVELS)
        .map(|i| f64::from(i) / f64::from(LEVELS))
        .map(|share| (radius(at(share)) - (r0 + (r1 - r0) * share)).abs() * square)
        .fold(0.0, f64::max);
    // A blade cannot ride along a line that lies flatter than 45°.
    let steep = (r1 - r0).abs() <= high - low;
    (strays <= most && steep && r0.min(r1) > SMALLEST).then_some(Stretch {
        heights: (low, high),
        radii: (r0, r1),
        strays,
    })
}

/// A smaller disc is none, mm.
const SMALLEST: f64 = 15.0;

/// Two discs for each straight stretch.
pub fn draw(drawer: &Drawer<'_>) -> Vec<Draft> {
    if !drawer.is_round() {
        return drawer.only_for_round(
            Group::GuideDiscs,
            "lay the paper templates of a layer's top and bottom face on it and carve from line to line",
        );
    }
    let found = stretches(drawer);
    let mut drafts: Vec<Draft> =
        found.iter().flat_map(|stretch| [false, true].map(|upper| disc(drawer, stretch, upper))).collect();
    let layers = drawer.plan.stack.slabs.iter().filter(|slab| slab.kind == SlabKind::Layer);
    let without: Vec<String> = layers
        .filter(|slab| !found.iter().any(|s| s.heights.0 <= slab.bottom && slab.top <= s.heights.1))
        .map(|slab| slab.name.clone())
        .collect();
    if !without.is_empty() {
        let message = format!(
            "there is no pair for {}: the carved line strays there from straight by more than {}, or lies flatter than 45°",
            without.join(", "),
            drawer.mm(drawer.printing.guide_tolerance)
        );
        let finding = super::draft::found(
            Severity::Note,
            "not-straight",
            "guide discs",
            message,
            "carve those layers to the scraper, or allow more with printing.guide_tolerance",
        );
        match drafts.first_mut() {
            Some(first) => first.findings.push(finding),
            None => drafts.push(Draft::only_says(Group::GuideDiscs, finding)),
        }
    }
    drafts
}

fn disc(drawer: &Drawer<'_>, stretch: &Stretch, upper: bool) -> Draft {
    let (fine, printing) = (drawer.fine, drawer.printing);
    let lean = (stretch.radii.1 - stretch.radii.0) / (stretch.heights.1 - stretch.heights.0);
    let (rim, height, away) = if upper {
        (stretch.radii.1, stretch.heights.1, lean)
    } else {
        (stretch.radii.0, stretch.heights.0, -lean)
    };
    // The face away from the cake, where the line carried on would be.
    let far = rim + away * THICKNESS;
    let (large, small) = (rim.max(far), rim.min(far));
    let whole = Region::disc(DVec2::ZERO, large, fine);
    let mut plate = SteppedPlate::flat(whole.clone(), THICKNESS);
    if large - small > 0.02 {
        let slope = THICKNESS / (large - small);
        let rim = Top::Bevel { line: Arc::new(whole.clone()), from: 0.0, to: THICKNESS, slope };
        plate.put(&whole.difference(&whole.inset(large - small, fine)), rim);
    }
    let pin = drawer.plan.design.centre_dowel.as_ref().map_or(PIN, |d| d.diameter);
    plate.cut(&Region::disc(DVec2::ZERO, (pin + printing.dowel_clearance) / 2.0, fine));
    let side = if upper { "upper" } else { "lower" };
    let name = format!("guide disc, {side}, height {}", drawer.mm(height));
    let mut draft = Draft::plate(Group::GuideDiscs, name, plate);
    let cake_side_down = rim >= far;
    let facing = if cake_side_down { "far side" } else { "cake side" };
    draft.label = vec![format!("{side} {}", drawer.mm(height)), facing.into()];
    // One of the two faces lies on the cake.
    draft.sunk = true;
    if stretch.strays > 0.05 {
        draft.note(
            Severity::Note,
            "strays",
            format!("the line strays from straight by up to {:.1} mm along this stretch", stretch.strays),
            "check with the comb or the scraper afterwards",
        );
    }
    draft
}

/// Without a centre dowel a skewer keeps the discs in place, mm.
const PIN: f64 = 4.0;
