//! Jigs for boards and dowels: where to drill, and guides that keep dowels upright.

use glam::{DVec2, dvec2};

use geom::real;
use geom::{Region, SteppedPlate, stepped_plate::Top};
use plan::{
    design::Footprint,
    stack::{Dowel, SlabKind},
};

use super::{
    Group,
    draft::{Draft, Drawer},
};

/// Width of rims and spokes, mm.
const BAR: f64 = 12.0;

/// A board with what is to be marked or drilled in it.
struct Drilled<'a> {
    name: String,
    footprint: Footprint,
    /// Diameter of the hole in the middle; 0 for none.
    hole: f64,
    dowels: Vec<&'a Dowel>,
}

/// A drilling template for each board that a dowel goes through or stands on.
pub fn board_templates(drawer: &Drawer<'_>) -> Vec<Draft> {
    let plan = drawer.plan;
    let of_tier = |tier: usize| plan.stack.dowels.iter().filter(move |d| d.tier == Some(tier)).collect();
    let centre = plan.design.centre_dowel.as_ref().map_or(0.0, |d| d.diameter);
    let mut boards = Vec::new();
    if let Some(board) = &plan.design.board {
        let own_board = plan.design.tiers.first().is_some_and(|tier| tier.board.is_some());
        boards.push(Drilled {
            name: "presentation board".into(),
            footprint: board.footprint.clone(),
            hole: centre.max(board.hole),
            dowels: if own_board { Vec::new() } else { of_tier(0) },
        });
    }
    boards.extend(plan.stack.slabs.iter().filter(|slab| slab.kind == SlabKind::Board).map(|slab| Drilled {
        name: slab.name.clone(),
        footprint: slab.footprint.clone(),
        hole: slab.hole,
        dowels: of_tier(slab.tier),
    }));
    boards
        .iter()
        .filter(|board| board.hole > 0.0 || !board.dowels.is_empty())
        .map(|board| board_template(drawer, board))
        .collect()
}

/// A rim that drops over the board, a hub with the middle hole and a spot for each dowel. It is printed with
/// the side up that lies on the board, so it is drawn as seen from below.
fn board_template(drawer: &Drawer<'_>, board: &Drilled<'_>) -> Draft {
    /// The lip that drops over the edge of the board: its wall and depth.
    const LIP: f64 = 2.4;
    const LIP_DEPTH: f64 = 3.0;
    /// Play between lip and board: boards are cut less well than plastic is printed.
    const PLAY: f64 = 0.5;
    let fine = drawer.fine;
    let edge = board.footprint.region(fine);
    let outside = edge.outset(PLAY + LIP, fine);
    let reach = board.footprint.reach() + board.footprint.centre.length() + 10.0;
    let hub = board.hole / 2.0 + 15.0;
    let mut region = outside.difference(&edge.inset(BAR, fine));
    let mut keep = vec![around(DVec2::ZERO, hub)];
    region = region.union(&Region::disc(DVec2::ZERO, hub, fine));
    // One that is cut along both axes has its spokes between them.
    let (lo, hi) = outside.bounds().unwrap_or_default();
    let eighth = if super::bed::fits(hi - lo, drawer.printing) { 0.0 } else { std::f64::consts::FRAC_PI_4 };
    for turn in 0..4 {
        let angle = std::f64::consts::FRAC_PI_2 * f64::from(turn) + eighth;
        region = region.union(&bar(DVec2::ZERO, real::unit_vector(angle) * reach, BAR));
    }
    for dowel in &board.dowels {
        let pad = dowel.diameter / 2.0 + 6.0;
        region = region.union(&bar(DVec2::ZERO, dowel.at, BAR)).union(&Region::disc(dowel.at, pad, fine));
        keep.push(around(dowel.at, pad));
    }
    let mut plate = SteppedPlate::flat(region.intersection(&outside), drawer.printing.thickness);
    plate
        .put(&outside.difference(&edge.outset(PLAY, fine)), Top::Flat(drawer.printing.thickness + LIP_DEPTH));
    if board.hole > 0.0 {
        plate.cut(&Region::disc(DVec2::ZERO, board.hole / 2.0, fine));
    }
    for dowel in &board.dowels {
        plate.cut(&Region::disc(dowel.at, PENCIL / 2.0, fine));
    }
    let name = format!("drilling template, {}", board.name);
    let mut draft = Draft::plate(Group::BoardTemplates, name, plate.mirrored());
    draft.keep = keep.into_iter().map(|(a, b)| (dvec2(-b.x, a.y), dvec2(-a.x, b.y))).collect();
    draft.label = vec![board.name.clone()];
    // This face lies on the board.
    draft.sunk = true;
    draft
}

/// Where a dowel stands is marked through a hole this wide, mm.
const PENCIL: f64 = 3.0;

/// A guide for the dowels of each tier, to lie on its top layer while they are pushed in.
pub fn dowel_guides(drawer: &Drawer<'_>) -> Vec<Draft> {
    let tiers = drawer.plan.design.tiers.iter().enumerate();
    tiers
        .filter_map(|(index, tier)| {
            let dowels: Vec<&Dowel> =
                drawer.plan.stack.dowels.iter().filter(|d| d.tier == Some(index)).collect();
            let top = tier.layers.last()?;
            (!dowels.is_empty()).then(|| dowel_guide(drawer, &tier.name, &dowels, &top.footprint))
        })
        .collect()
}

fn dowel_guide(drawer: &Drawer<'_>, tier: &str, dowels: &[&Dowel], layer: &Footprint) -> Draft {
    /// Wall and height of a tube, height of the spokes.
    const WALL: f64 = 3.0;
    const TUBE: f64 = 25.0;
    const SPOKE: f64 = 5.0;
    let (fine, printing) = (drawer.fine, drawer.printing);
    let centre = drawer.plan.design.centre_dowel.as_ref();
    let bore = |diameter: f64| (diameter + printing.dowel_clearance) / 2.0;
    let mut tubes: Vec<(DVec2, f64)> = dowels.iter().map(|d| (d.at, bore(d.diameter))).collect();
    tubes.extend(centre.map(|d| (DVec2::ZERO, bore(d.diameter))));
    let mut sole = Region::disc(DVec2::ZERO, centre.map_or(10.0, |d| bore(d.diameter) + WALL), fine);
    for &(at, bore) in &tubes {
        sole = sole.union(&bar(DVec2::ZERO, at, BAR)).union(&Region::disc(at, bore + WALL, fine));
    }
    if centre.is_none() {
        // Without a dowel in the middle, arms to the edge of the layer bring it there.
        let reach = layer.reach() + layer.centre.length();
        for turn in 0..4 {
            let end = real::unit_vector(std::f64::consts::FRAC_PI_2 * f64::from(turn)) * reach;
            let arm = bar(layer.centre, layer.centre + end, BAR).intersection(&layer.region(fine));
            sole = sole.union(&arm);
        }
    }
    // A pointed nose to the front, to tell how it lies.
    let front = sole.row_reach();
    let nose = vec![dvec2(-6.0, -front + 1.0), dvec2(0.0, -front - 9.0), dvec2(6.0, -front + 1.0)];
    let neck = bar(DVec2::ZERO, dvec2(0.0, -front), BAR);
    let mut plate = SteppedPlate::flat(sole.union(&neck).union(&Region::from_simple(nose)), SPOKE);
    for &(at, bore) in &tubes {
        plate.put(&Region::disc(at, bore + WALL, fine), Top::Flat(TUBE));
    }
    for &(at, bore) in &tubes {
        plate.cut(&Region::disc(at, bore, fine));
    }
    let mut draft = Draft::plate(Group::DowelGuides, format!("dowel guide, {tier}"), plate);
    draft.keep = tubes.iter().map(|&(at, bore)| around(at, bore + WALL)).collect();
    draft.label = vec![tier.to_owned()];
    draft.quiet = true;
    draft
}

/// A bar from `a` to `b`, `width` mm wide.
pub fn bar(a: DVec2, b: DVec2, width: f64) -> Region {
    let along = (b - a).normalize_or_zero();
    if along == DVec2::ZERO {
        return Region::default();
    }
    let side = along.perp() * width / 2.0;
    Region::from_simple(vec![a - side, b - side, b + side, a + side])
}

/// The box about a round thing.
pub fn around(at: DVec2, radius: f64) -> (DVec2, DVec2) {
    (at - radius, at + radius)
}

trait RowReach {
    /// How far it reaches to the front (−y), mm.
    fn row_reach(&self) -> f64;
}

impl RowReach for Region {
    fn row_reach(&self) -> f64 {
        self.bounds().map_or(0.0, |(lo, _)| -lo.y)
    }
}
