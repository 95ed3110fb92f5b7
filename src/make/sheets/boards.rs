//! Boards with their holes, and where the dowels stand.

use glam::{DVec2, dvec2};

use super::{
    figure::{Figure, Key},
    view::plain_body,
};
use formats::{
    drawing::{Dash, Drawing, Lettering, Pen},
    export::slug,
};
use geom::{Region, units::UnitStyle};
use plan::{
    Plan,
    design::{Board, FootprintShape},
    stack::{Dowel, Slab, SlabKind},
};

const EDGE: Pen = Pen::black(0.6);
const HOLE: Pen = Pen::black(0.5);
const DOWEL: Pen = Pen::black(0.35);
const DOWEL_UNDER: Pen = Pen::black(0.35).dashed(Dash::Dotted);
const CAKE: Pen = Pen::grey(0.3).dashed(Dash::Dashed);
const CROSS: Pen = Pen::grey(0.15).dashed(Dash::Middle);

/// What the lines stand for.
pub fn key() -> Key {
    [
        (EDGE, "board, hole"),
        (DOWEL, "dowel on it"),
        (DOWEL_UNDER, "dowel under it"),
        (CAKE, "cake on it: carved, finished"),
    ]
    .map(|(pen, meaning)| (pen, meaning.to_owned()))
    .into()
}

/// The middle of the presentation board, then each board in the cake from the bottom up.
pub fn figures(plan: &Plan) -> Vec<Figure> {
    let boards = plan.stack.slabs.iter().filter(|slab| slab.kind == SlabKind::Board);
    let mut figures: Vec<Figure> = plan.design.board.iter().map(|board| foot(plan, board)).collect();
    figures.extend(boards.map(|slab| figure(plan, slab)));
    figures
}

fn foot(plan: &Plan, board: &Board) -> Figure {
    let style = plan.design.style;
    let mut drawing = Drawing::new();
    let last = plan.lines.all().len() - 1;
    let finished = plain_body(plan, 0).outline_at(0.0, plan.design.tool);
    for outline in [&finished, &plain_body(plan, last).outline_at(0.0, plan.design.tool)] {
        drawing.region(outline, DVec2::ZERO, None, Some(CAKE));
    }
    hole(&mut drawing, plan, board.hole, board.footprint.centre);
    let standing: Vec<&Dowel> =
        plan.stack.dowels.iter().filter(|dowel| dowel.tier.unwrap_or(0) == 0).collect();
    standing.iter().for_each(|dowel| circle(&mut drawing, plan, dowel, DOWEL));
    cross(&mut drawing, "front of the cake");
    let (_, hi) = finished.bounds().unwrap_or_default();
    let reach = board.footprint.shape.size()[0] / 2.0;
    let mut notes = vec![format!(
        "The middle of the {} board, {} thick. Lay the cross on the middle of the board: its edge comes {} outside the \
         finished cake at the right.",
        outline(&board.footprint.shape, style),
        style.length_alone(board.thickness),
        style.length_alone(board.footprint.centre.x + reach - hi.x)
    )];
    notes.extend(counted(&standing, style, "on it"));
    Figure { slug: "board-presentation".into(), title: "Presentation board".into(), notes, drawing }
}

fn figure(plan: &Plan, slab: &Slab) -> Figure {
    let style = plan.design.style;
    let mut drawing = Drawing::new();
    drawing.region(&slab.footprint.region(plan.design.tool), DVec2::ZERO, None, Some(EDGE));
    let target = plain_body(plan, plan.lines.all().len() - 1);
    let cake = target.outline_at(slab.top, plan.design.tool);
    drawing.region(&cake, DVec2::ZERO, None, Some(CAKE));
    hole(&mut drawing, plan, slab.hole, slab.footprint.centre);
    let of_tier = |tier: Option<usize>| {
        plan.stack.dowels.iter().filter(move |dowel| dowel.tier == tier).collect::<Vec<_>>()
    };
    let under = slab.tier.checked_sub(1).map_or_else(Vec::new, |below| of_tier(Some(below)));
    let on = of_tier(Some(slab.tier));
    under.iter().for_each(|dowel| circle(&mut drawing, plan, dowel, DOWEL_UNDER));
    on.iter().for_each(|dowel| circle(&mut drawing, plan, dowel, DOWEL));
    let centre: Vec<&Dowel> =
        of_tier(None).into_iter().filter(|d| d.bottom < slab.bottom && d.top > slab.top).collect();
    centre.iter().for_each(|dowel| circle(&mut drawing, plan, dowel, DOWEL));
    cross(&mut drawing, "front");
    let mut notes = vec![format!(
        "{}, {} thick, of {}; it lies at height {}.",
        outline(&slab.footprint.shape, style),
        style.length_alone(slab.height()),
        slab.material.name,
        style.length_alone(slab.bottom)
    )];
    if slab.hole > 0.0 {
        notes.push(format!("Hole {} wide.", style.length_alone(slab.hole)));
    } else if !centre.is_empty() {
        notes.push("It needs a hole for the centre dowel, which goes through it: the plan has none.".into());
    }
    notes.extend(counted(&under, style, "under it, carrying it"));
    notes.extend(counted(&on, style, "on it"));
    Figure { slug: slug(&slab.name), title: slab.name.clone(), notes, drawing }
}

fn outline(shape: &FootprintShape, style: UnitStyle) -> String {
    let [width, depth] = shape.size();
    match shape {
        FootprintShape::Round { .. } => format!("round {}", style.length_alone(width)),
        FootprintShape::Rectangle { .. } | FootprintShape::Pieces(_) if width == depth => {
            format!("square {}", style.length_alone(width))
        }
        FootprintShape::Rectangle { .. } | FootprintShape::Pieces(_) => {
            format!("{} × {}", style.length_alone(width), style.length_alone(depth))
        }
    }
}

/// How many dowels there are, of which thickness, and what they do.
fn counted(dowels: &[&Dowel], style: UnitStyle, what: &str) -> Option<String> {
    let mut thick: Vec<f64> = dowels.iter().map(|dowel| dowel.diameter).collect();
    thick.sort_by(f64::total_cmp);
    thick.dedup();
    let thick: Vec<String> = thick.into_iter().map(|mm| style.length_alone(mm)).collect();
    let word = if dowels.len() == 1 { "Dowel" } else { "Dowels" };
    (!dowels.is_empty()).then(|| format!("{word} {what}: {}, {} thick.", dowels.len(), thick.join(" and ")))
}

fn hole(drawing: &mut Drawing, plan: &Plan, diameter: f64, at: DVec2) {
    if diameter > 0.0 {
        drawing.region(&Region::disc(at, diameter / 2.0, plan.design.tool), DVec2::ZERO, None, Some(HOLE));
    }
}

fn circle(drawing: &mut Drawing, plan: &Plan, dowel: &Dowel, pen: Pen) {
    drawing.region(
        &Region::disc(dowel.at, dowel.diameter / 2.0, plan.design.tool),
        DVec2::ZERO,
        None,
        Some(pen),
    );
    let at = formats::drawing::on_paper(dowel.at);
    let reach = dowel.diameter / 2.0 + 2.0;
    drawing.line(at - dvec2(reach, 0.0), at + dvec2(reach, 0.0), Pen::grey(0.15));
    drawing.line(at - dvec2(0.0, reach), at + dvec2(0.0, reach), Pen::grey(0.15));
}

fn cross(drawing: &mut Drawing, front: &str) {
    let (lo, hi) = drawing.bounds().unwrap_or_default();
    drawing.line(dvec2(lo.x, 0.0), dvec2(hi.x, 0.0), CROSS);
    drawing.line(dvec2(0.0, lo.y), dvec2(0.0, hi.y), CROSS);
    // Beside the middle, where two sheets may be joined.
    drawing.text(Lettering::new(front, dvec2(9.0, hi.y + 4.0), 3.4));
}
