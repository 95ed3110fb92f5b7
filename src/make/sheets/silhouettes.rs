//! Front and side silhouettes: the lines one inside the other, the seams between layers with their heights.

use glam::{DVec2, dvec2};
use rayon::prelude::*;

use super::{
    figure::{Figure, Key},
    view::{Seen, View, added, has_added, outline_of, plain_body},
};
use crate::language::{Language, filled};
use formats::{
    drawing::{Dash, Drawing, Lettering, PALE, Pen},
    model::Rgb,
};
use geom::{Region, units::UnitStyle};
use plan::{
    Plan,
    design::{Detail, Operation},
    stack::SlabKind,
};

/// The finished line.
pub const FINISHED: Pen = Pen::black(0.3);
/// The coated line.
pub const COATED: Pen = Pen::black(0.35).dashed(Dash::Dashed);
/// The carved line.
pub const CARVED: Pen = Pen::black(0.8);
const UNDER: Pen = Pen::grey(0.25).dashed(Dash::Dashed);
const ADDED: Pen = Pen::grey(0.3).dashed(Dash::Dotted);
/// Dark enough to be told from a filling, light enough for text.
const BOARD: Rgb = Rgb(196, 196, 196);
const SEAM: Pen = Pen::grey(0.25);
const MIDDLE: Pen = Pen::grey(0.15).dashed(Dash::Middle);

/// What the lines stand for.
pub fn key(plan: &Plan, language: &Language) -> Key {
    let words = &language.template;
    let mut key = vec![(FINISHED, words.key_finished.clone())];
    if plan.lines.all().len() > 2 {
        key.push((COATED, words.key_coated.clone()));
    }
    key.push((CARVED, words.key_carved.clone()));
    if has_added(plan) {
        key.push((ADDED, words.key_added.clone()));
    }
    key
}

/// Sentences stand so far from the middle, mm: two sheets may be joined there.
const CLEAR: f64 = 9.0;

/// Both silhouettes, or one where they are the same.
pub fn figures(plan: &Plan, language: &Language) -> Vec<Figure> {
    let words = &language.template;
    let figure = |view, named, outlines: &[Region], beyond: &Region| {
        figure(plan, language, view, named, outlines, beyond)
    };
    let levels = 0..plan.lines.all().len();
    let (seen, added) = rayon::join(
        || -> Vec<Seen> {
            levels.into_par_iter().map(|level| Seen::new(plan, &plain_body(plan, level))).collect()
        },
        || added(plan),
    );
    let lines = |view| -> Vec<Region> { seen.par_iter().map(|line| line.from(view)).collect() };
    let (front, side) = (lines(View::Front), lines(View::Side));
    let beyond = |view, lines: &[Region]| outline_of(&added, view).difference(&lines[0]);
    let (on_front, on_side) = (beyond(View::Front, &front), beyond(View::Side, &side));
    if front == side && on_front == on_side {
        let slug = "front-and-side-silhouette";
        return vec![figure(View::Front, (slug, &words.front_and_side), &front, &on_front)];
    }
    [
        figure(View::Front, ("front-silhouette", &words.front_silhouette), &front, &on_front),
        figure(View::Side, ("side-silhouette", &words.side_silhouette), &side, &on_side),
    ]
    .into_iter()
    .chain((!plan.lines.is_turned()).then(|| from_above(plan, language, &lines(View::Above))))
    .collect()
}

/// What stands on the board, seen from above: where the shape that is not round reaches furthest.
fn from_above(plan: &Plan, language: &Language, outlines: &[Region]) -> Figure {
    let (style, words) = (language.style(plan.design.style), &language.template);
    let mut drawing = Drawing::new();
    for (level, outline) in outlines.iter().enumerate() {
        drawing.region(outline, DVec2::ZERO, None, Some(pen(level, outlines.len())));
    }
    let (lo, hi) = outlines[0].bounds().unwrap_or_default();
    drawing.line(dvec2(lo.x - 6.0, 0.0), dvec2(hi.x + 6.0, 0.0), MIDDLE);
    drawing.line(dvec2(0.0, -hi.y - 6.0), dvec2(0.0, -lo.y + 6.0), MIDDLE);
    drawing.text(Lettering::new(&words.front, dvec2(CLEAR, -lo.y + 4.0), 3.4));
    let notes = vec![filled(
        &words.from_above_size,
        &[("width", &style.length(hi.x - lo.x)), ("depth", &style.length(hi.y - lo.y))],
    )];
    Figure { slug: "outline-from-above".into(), title: words.from_above.clone(), notes, drawing }
}

/// The pen of a line, from the outside in.
fn pen(level: usize, count: usize) -> Pen {
    match level {
        _ if level + 1 == count => CARVED,
        0 => FINISHED,
        1 => COATED,
        _ => UNDER,
    }
}

fn figure(
    plan: &Plan,
    language: &Language,
    view: View,
    (slug, title): (&str, &str),
    outlines: &[Region],
    beyond: &Region,
) -> Figure {
    let (style, words) = (language.style(plan.design.style), &language.template);
    let count = outlines.len();
    let mut drawing = Drawing::new();
    let carved = &outlines[count - 1];
    for slab in plan.stack.slabs.iter().filter(|slab| slab.kind != SlabKind::Layer) {
        let reach = slab.footprint.reach();
        let middle = if view == View::Front { slab.footprint.centre.x } else { slab.footprint.centre.y };
        let held = Region::rectangle(dvec2(middle - reach, slab.bottom), dvec2(middle + reach, slab.top));
        let fill = if slab.kind == SlabKind::Board { BOARD } else { PALE };
        drawing.region(&carved.intersection(&held), DVec2::ZERO, Some(fill), None);
    }
    for (level, outline) in outlines.iter().enumerate() {
        drawing.region(outline, DVec2::ZERO, None, Some(pen(level, count)));
    }
    drawing.region(beyond, DVec2::ZERO, None, Some(ADDED));
    seams(&mut drawing, plan, (&outlines[0], carved), style);
    let height = plan.design.shape.height();
    drawing.line(dvec2(0.0, 6.0), dvec2(0.0, -height - 6.0), MIDDLE);
    let (lo, hi) = outlines[0].bounds().unwrap_or_default();
    let cut = |detail: &Detail| detail.operation == Operation::Cut;
    let heights =
        if plan.design.details.iter().any(cut) { &words.heights_and_details } else { &words.heights };
    let notes = vec![
        filled(&words.score, &[("height", &style.length(height)), ("width", &style.length(hi.x - lo.x))]),
        heights.clone(),
    ];
    Figure { slug: slug.into(), title: title.into(), notes, drawing }
}

/// Where layers begin and end, with their names and heights.
fn seams(drawing: &mut Drawing, plan: &Plan, (finished, carved): (&Region, &Region), style: UnitStyle) {
    const SIZE: f64 = 3.2;
    let top = carved.bounds().map_or(0.0, |(_, hi)| hi.y);
    let mut heights: Vec<f64> =
        plan.stack.slabs.iter().flat_map(|slab| [slab.bottom, slab.top]).filter(|&z| z < top).collect();
    heights.sort_by(f64::total_cmp);
    heights.dedup_by(|a, b| (*a - *b).abs() < 1e-6);
    // Heights that lie close above each other are written side by side.
    let mut columns: Vec<f64> = Vec::new();
    for (i, &z) in heights.iter().enumerate() {
        let along = stretches(carved, z);
        for &(from, to) in &along {
            drawing.line(dvec2(from, -z), dvec2(to, -z), SEAM);
        }
        let text = Lettering::new(style.in_own(z), DVec2::ZERO, SIZE);
        // Above the seam, or below it where the next is too near.
        let below = z > 0.0 && heights.get(i + 1).is_some_and(|next| next - z < SIZE * 1.3);
        let foot = if below { z - SIZE } else { z + 0.8 };
        let wide = text.width() + 3.0;
        let free = columns.iter().position(|&last| foot - last > SIZE * 1.05);
        let column = free.unwrap_or_else(|| {
            columns.push(f64::NEG_INFINITY);
            columns.len() - 1
        });
        columns[column] = foot;
        // Right of the middle where the shape is there, else from the left end of its widest stretch.
        let Some((from, to)) = widest(&along) else { continue };
        let start = if from < CLEAR && to > 0.0 { CLEAR } else { from + 2.0 };
        let mut x = start + column as f64 * wide;
        if x + wide > to {
            // No room inside: beside the finished line.
            let beside = stretches(finished, z);
            x = beside.iter().find(|(_, end)| *end >= to).map_or(to, |&(_, end)| end) + 2.0;
        }
        drawing.text(Lettering { at: dvec2(x, -foot), ..text });
    }
    for slab in &plan.stack.slabs {
        let middle = f64::midpoint(slab.bottom, slab.top.min(top));
        if slab.kind != SlabKind::Layer || slab.bottom >= top {
            continue;
        }
        let Some((from, to)) = widest(&carved.row(middle)) else { continue };
        // Left of the middle where the shape is there, else in the middle of its widest stretch.
        let at_middle = from < -CLEAR && to > 0.0;
        let at = if at_middle { -CLEAR } else { f64::midpoint(from, to) };
        let name = Lettering::new(&slab.name, dvec2(at, -middle + SIZE * 0.36), SIZE + 0.6).bold();
        let room = if at_middle { -CLEAR - 2.0 - from } else { to - from - 4.0 };
        if name.width() < room {
            drawing.text(if at_middle { name.ending() } else { name.centred() });
        }
    }
}

/// What of a silhouette a seam at height `z` runs through, the wider of just below and just above.
fn stretches(carved: &Region, z: f64) -> Vec<(f64, f64)> {
    let wide = |row: &[(f64, f64)]| row.iter().map(|(a, b)| b - a).sum::<f64>();
    let (below, above) = (carved.row(z - 0.01), carved.row(z + 0.01));
    if wide(&below) > wide(&above) { below } else { above }
}

/// The widest of some stretches.
fn widest(stretches: &[(f64, f64)]) -> Option<(f64, f64)> {
    stretches.iter().copied().max_by(|a, b| (a.1 - a.0).total_cmp(&(b.1 - b.0)))
}
