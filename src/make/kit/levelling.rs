//! Levelling rings: a wall round a layer as high as the layer is to be; the knife rides on its rim.

use glam::{DVec2, dvec2};

use geom::{Region, SteppedPlate, stepped_plate::Top};
use plan::design::{Footprint, FootprintShape};

use super::{
    Group, bed,
    draft::{Draft, Drawer},
    jigs,
};

/// Wall of a ring, mm: carries a knife without bending (common practice, no source).
const WALL: f64 = 3.2;
/// Play round the layer, mm: a layer swells and shrinks (common practice, no source).
const PLAY: f64 = 1.5;

/// A ring for each pan and height.
pub fn draw(drawer: &Drawer<'_>) -> Vec<Draft> {
    let layers = drawer.plan.design.tiers.iter().flat_map(|tier| &tier.layers);
    let mut wanted: Vec<(FootprintShape, f64)> = Vec::new();
    for layer in layers.filter(|layer| layer.dome.is_none()) {
        // Pieces are levelled before they are cut.
        let shape = match &layer.footprint.shape {
            FootprintShape::Pieces(pieces) => {
                let [width, depth] = pieces.pan();
                FootprintShape::Rectangle { width, depth }
            }
            whole => whole.clone(),
        };
        let known =
            |(other, height): &(FootprintShape, f64)| *other == shape && (height - layer.height).abs() < 0.05;
        if !wanted.iter().any(known) {
            wanted.push((shape, layer.height));
        }
    }
    wanted.iter().map(|(shape, height)| ring(drawer, shape, *height)).collect()
}

fn ring(drawer: &Drawer<'_>, shape: &FootprintShape, height: f64) -> Draft {
    /// A tab at the foot, to hold it down by and to carry the name.
    const TAB: DVec2 = dvec2(64.0, 26.0);
    const TAB_HEIGHT: f64 = 3.0;
    /// What thickens the wall where it is cut, along it and across.
    const PAD: DVec2 = dvec2(26.0, 16.0);
    let fine = drawer.fine;
    let layer = Footprint { shape: shape.clone(), centre: DVec2::ZERO, turn: 0.0 }.region(fine);
    let inside = layer.outset(PLAY, fine);
    let outside = layer.outset(PLAY + WALL, fine);
    let mut wall = outside.difference(&inside);
    let (lo, hi) = outside.bounds().unwrap_or_default();
    let too_large = !bed::fits(hi - lo + dvec2(0.0, TAB.y), drawer.printing);
    let [width, depth] = shape.size();
    let (tab_at, turn) = match shape {
        FootprintShape::Round { .. } => (dvec2(0.0, -depth / 2.0 - PLAY - WALL), 45.0f64),
        FootprintShape::Rectangle { .. } | FootprintShape::Pieces(_) => {
            (dvec2(width / 4.0, -depth / 2.0 - PLAY - WALL), 0.0)
        }
    };
    let tab = Region::rectangle(tab_at - dvec2(TAB.x / 2.0, TAB.y), tab_at + dvec2(TAB.x / 2.0, WALL));
    let tab = tab
        .inset(5.0, fine)
        .outset(5.0, fine)
        .placed(if too_large { turn.to_radians() } else { 0.0 }, DVec2::ZERO);
    if too_large {
        for (x, y) in [(0.0, lo.y), (0.0, hi.y), (lo.x, 0.0), (hi.x, 0.0)] {
            let outwards = dvec2(x, y).normalize_or_zero();
            let from = dvec2(x, y) - outwards * WALL;
            wall = wall.union(&jigs::bar(from, from + outwards * PAD.y, PAD.x)).difference(&inside);
        }
    }
    let mut plate = SteppedPlate::flat(tab.difference(&inside), TAB_HEIGHT);
    plate.put(&wall, Top::Flat(height));
    let size = match shape {
        FootprintShape::Round { .. } => format!("round {}", drawer.mm(width)),
        FootprintShape::Rectangle { .. } | FootprintShape::Pieces(_) if width == depth => {
            format!("square {}", drawer.mm(width))
        }
        FootprintShape::Rectangle { .. } | FootprintShape::Pieces(_) => {
            format!("{} × {}", drawer.mm(width), drawer.mm(depth))
        }
    };
    let name = format!("levelling ring, {size}, height {}", drawer.mm(height));
    let mut draft = Draft::plate(Group::LevellingRings, name, plate);
    draft.seams = [vec![1e-4], vec![1e-4]];
    draft.label = vec![size, format!("height {}", drawer.mm(height))];
    draft
}
