//! Boards with their holes, and where the dowels stand.

use glam::{DVec2, dvec2};

use super::{
    figure::{Figure, Key},
    view::plain_body,
};
use crate::language::{Language, filled, filled_with};
use formats::{
    drawing::{Dash, Drawing, Lettering, Pen},
    export::slug,
};
use geom::{Region, units::UnitStyle};
use plan::{
    Plan,
    design::{Board, FootprintShape},
    stack::{Dowel, SlabKind},
};

const EDGE: Pen = Pen::black(0.6);
const HOLE: Pen = Pen::black(0.5);
const DOWEL: Pen = Pen::black(0.35);
const DOWEL_UNDER: Pen = Pen::black(0.35).dashed(Dash::Dotted);
const CAKE: Pen = Pen::grey(0.3).dashed(Dash::Dashed);
const CROSS: Pen = Pen::grey(0.15).dashed(Dash::Middle);

/// What the lines stand for.
pub fn key(language: &Language) -> Key {
    let words = &language.template;
    [
        (EDGE, &words.key_board),
        (DOWEL, &words.key_dowel_on),
        (DOWEL_UNDER, &words.key_dowel_under),
        (CAKE, &words.key_cake),
    ]
    .map(|(pen, meaning)| (pen, meaning.clone()))
    .into()
}

/// The middle of the presentation board, then each board in the cake from the bottom up.
pub fn figures(plan: &Plan, language: &Language) -> Vec<Figure> {
    let boards = plan.stack.slabs.iter().enumerate().filter(|(_, slab)| slab.kind == SlabKind::Board);
    let mut figures: Vec<Figure> =
        plan.design.board.iter().map(|board| foot(plan, language, board)).collect();
    figures.extend(boards.map(|(number, _)| figure(plan, language, number)));
    figures
}

fn foot(plan: &Plan, language: &Language, board: &Board) -> Figure {
    let (style, words) = (language.style(plan.design.style), &language.template);
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
    cross(&mut drawing, &words.front_of_cake);
    let (_, hi) = finished.bounds().unwrap_or_default();
    let reach = board.footprint.shape.size()[0] / 2.0;
    let edge = board.footprint.centre.x + reach - hi.x;
    let mut notes = vec![filled(
        &words.board_middle,
        &[
            ("outline", &outline(&board.footprint.shape, style, language)),
            ("thick", &style.length_alone(board.thickness)),
            ("edge", &style.length_alone(edge)),
        ],
    )];
    notes.extend(counted(&standing, style, language, [&words.dowel_on, &words.dowels_on]));
    Figure { slug: "board-presentation".into(), title: words.presentation.clone(), notes, drawing }
}

fn figure(plan: &Plan, language: &Language, number: usize) -> Figure {
    let (style, words) = (language.style(plan.design.style), &language.template);
    let slab = &plan.stack.slabs[number];
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
    cross(&mut drawing, &words.front);
    let mut notes = vec![filled(
        &words.board,
        &[
            ("outline", &outline(&slab.footprint.shape, style, language)),
            ("thick", &style.length_alone(slab.height())),
            ("material", language.name(&slab.material.name)),
            ("height", &style.length_alone(slab.bottom)),
        ],
    )];
    if slab.hole > 0.0 {
        notes.push(filled(&words.hole, &[("size", &style.length_alone(slab.hole))]));
    } else if !centre.is_empty() {
        notes.push(words.hole_missing.clone());
    }
    notes.extend(counted(&under, style, language, [&words.dowel_under, &words.dowels_under]));
    notes.extend(counted(&on, style, language, [&words.dowel_on, &words.dowels_on]));
    Figure { slug: slug(&slab.name), title: language.slab(plan, number), notes, drawing }
}

fn outline(shape: &FootprintShape, style: UnitStyle, language: &Language) -> String {
    let [width, depth] = shape.size();
    match shape {
        FootprintShape::Round { .. } => {
            filled(&language.thing.round, &[("size", &style.length_alone(width))])
        }
        FootprintShape::Rectangle { .. } | FootprintShape::Pieces(_) if width == depth => {
            filled(&language.thing.square, &[("size", &style.length_alone(width))])
        }
        FootprintShape::Rectangle { .. } | FootprintShape::Pieces(_) => {
            format!("{} × {}", style.length_alone(width), style.length_alone(depth))
        }
    }
}

/// How many dowels there are and of which thickness, by the words for one and for several.
fn counted(dowels: &[&Dowel], style: UnitStyle, language: &Language, words: [&str; 2]) -> Option<String> {
    let mut thick: Vec<f64> = dowels.iter().map(|dowel| dowel.diameter).collect();
    thick.sort_by(f64::total_cmp);
    thick.dedup();
    let thick: Vec<String> = thick.into_iter().map(|mm| style.length_alone(mm)).collect();
    let form = words[usize::from(dowels.len() != 1)];
    let said = [("count", dowels.len().to_string()), ("thick", language.joined(&thick))];
    (!dowels.is_empty()).then(|| filled_with(form, &said))
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
