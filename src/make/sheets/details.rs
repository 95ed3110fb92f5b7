//! Outlines of details that are pressed in, cut out or put on, at true size.

use glam::{DVec2, dvec2};

use super::figure::{Figure, Key};
use crate::{
    language::{Language, filled},
    shared_name::shared_name_of,
};
use formats::{
    drawing::{Dash, Drawing, Lettering, Pen},
    export::slug,
};
use geom::units::UnitStyle;
use plan::{
    Plan,
    design::{Depth, Detail, Drawn, Operation, Relief, Side, Tool},
};

const OUTLINE: Pen = Pen::black(0.5);
const UNDER: Pen = Pen::black(0.35).dashed(Dash::Dashed);
const CROSS: Pen = Pen::grey(0.2);

/// What the lines stand for.
pub fn key(language: &Language) -> Key {
    vec![(OUTLINE, language.template.key_seen.clone()), (UNDER, language.template.key_cut.clone())]
}

/// One figure for each outline; the same outline in several places is drawn once.
pub fn figures(plan: &Plan, language: &Language) -> Vec<Figure> {
    let mut groups: Vec<Vec<(&Detail, &Relief)>> = Vec::new();
    for detail in &plan.design.details {
        let Tool::Relief(relief) = &detail.tool else { continue };
        let same = |group: &&mut Vec<(&Detail, &Relief)>| {
            group.first().is_some_and(|(first, outline)| {
                outline.outline == relief.outline
                    && outline.depth == relief.depth
                    && first.operation == detail.operation
                    && first.depth == detail.depth
                    && first.material == detail.material
            })
        };
        match groups.iter_mut().find(same) {
            Some(group) => group.push((detail, relief)),
            None => groups.push(vec![(detail, relief)]),
        }
    }
    groups
        .iter()
        .filter_map(|group| {
            group.first().map(|(detail, relief)| figure(plan, language, detail, relief, group))
        })
        .collect()
}

fn figure(
    plan: &Plan,
    language: &Language,
    detail: &Detail,
    relief: &Relief,
    all: &[(&Detail, &Relief)],
) -> Figure {
    let (style, words) = (language.style(plan.design.style), &language.template);
    let mut drawing = Drawing::new();
    drawing.region(&relief.outline, DVec2::ZERO, None, Some(OUTLINE));
    let covered = covered(plan, detail.depth);
    let mut notes = Vec::new();
    let depth = style.length_alone(relief.depth);
    let form = match (detail.operation, detail.depth, &detail.material) {
        (Operation::Cut, Depth::Icing, _) => &words.press,
        (Operation::Cut, Depth::Sponge, _) => &words.cut_cake,
        (Operation::Cut, Depth::Coating, _) => &words.cut_coating,
        (Operation::Add, _, Some(_)) => &words.cut_out_of,
        (Operation::Add, _, None) => &words.cut_out,
    };
    let material = detail.material.as_ref().map_or("", |material| language.name(&material.name));
    notes.push(filled(form, &[("depth", &depth), ("material", material)]));
    if let Some(letters) = &relief.letters {
        let said = letters.words.split_whitespace().collect::<Vec<_>>().join(" ");
        let height = style.length_alone(letters.capital);
        notes.push(filled(&words.letters, &[("words", &said), ("height", &height)]));
    }
    if let Some(width) = relief.line {
        notes.push(filled(&words.line_wide, &[("width", &style.length_alone(width))]));
    }
    if covered > 0.0 {
        let grown = match detail.operation {
            Operation::Cut => relief.outline.outset(covered, plan.design.tool),
            Operation::Add => relief.outline.inset(covered, plan.design.tool),
        };
        drawing.region(&grown, DVec2::ZERO, None, Some(UNDER));
    }
    for copies in all.chunk_by(|(a, _), (b, _)| a.is_copy_of(b)) {
        notes.extend(places(plan, language, copies));
    }
    let reach = 4.0;
    drawing.line(dvec2(-reach, 0.0), dvec2(reach, 0.0), CROSS);
    drawing.line(dvec2(0.0, -reach), dvec2(0.0, reach), CROSS);
    arrow_up(&mut drawing, &words.up);
    Figure {
        slug: format!("detail-{}", slug(detail.written_name())),
        title: title(all, language),
        notes,
        drawing,
    }
}

/// How much lies over a detail that begins in `depth`, mm.
fn covered(plan: &Plan, depth: Depth) -> f64 {
    let lines = plan.lines.all();
    match depth {
        Depth::Sponge => plan.lines.carved().depth,
        Depth::Coating => lines.get(1).map_or(0.0, |line| line.depth),
        Depth::Icing => 0.0,
    }
}

/// The names of details of one outline; what stands in several places is named once, with how many they are.
pub(super) fn title(all: &[(&Detail, &Relief)], language: &Language) -> String {
    let each = all.chunk_by(|(a, _), (b, _)| a.is_copy_of(b)).map(|copies| {
        let copies: Vec<&Detail> = copies.iter().map(|(detail, _)| *detail).collect();
        shared_name_of(&copies, language)
    });
    each.collect::<Vec<_>>().join(", ")
}

/// Where the places of one detail come: those at even steps round the cake in one sentence.
fn places(plan: &Plan, language: &Language, copies: &[(&Detail, &Relief)]) -> Vec<String> {
    let each = || copies.iter().map(|(detail, relief)| place(plan, language, detail, relief)).collect();
    let turned: Option<Vec<f64>> = copies.iter().map(|(detail, _)| detail.copy?.turned).collect();
    let Some((turned, [(detail, relief), _, _, ..])) = turned.zip(Some(copies)) else { return each() };
    let step = turned[1] - turned[0];
    if turned.windows(2).any(|pair| (pair[1] - pair[0] - step).abs() > 1e-6) {
        return each();
    }
    let first = place(plan, language, detail, relief);
    let said = [
        ("first", first.as_str()),
        ("count", &copies.len().to_string()),
        ("angle", &language.number(step, usize::from(step.fract().abs() > 1e-6))),
    ];
    vec![filled(&language.template.every, &said)]
}

/// Where its middle comes.
fn place(plan: &Plan, language: &Language, detail: &Detail, relief: &Relief) -> String {
    let (style, words) = (language.style(plan.design.style), &language.template);
    if let Some(drawn) = relief.drawn() {
        return drawn_place(language, detail, relief, drawn, style);
    }
    if let Some(at) = relief.on_top() {
        let place = language.place(style, at.x, at.y);
        return filled(&words.top_place, &[("name", &detail.name), ("place", &place)]);
    }
    let radius = plan.lines.radius_at(relief.height.max(1e-6), relief.bearing).unwrap_or(0.0);
    let bearing = (relief.bearing + 180.0).rem_euclid(360.0) - 180.0;
    let round = radius * bearing.to_radians();
    let way = match round {
        _ if bearing.abs() < 1e-9 => words.front_middle.clone(),
        _ if (bearing.abs() - 180.0).abs() < 1e-9 => words.back_middle.clone(),
        _ if !plan.lines.is_turned() => {
            let form = if bearing > 0.0 { &words.turned_right } else { &words.turned_left };
            let angle = language.number(bearing.abs(), 0);
            filled(form, &[("side", &language.bearing(bearing)), ("angle", &angle)])
        }
        r => {
            let form = if r > 0.0 { &words.round_right } else { &words.round_left };
            let length = style.length_alone(r.abs());
            filled(form, &[("side", &language.bearing(bearing)), ("length", &length)])
        }
    };
    let height = style.length_alone(relief.height);
    filled(&words.place, &[("name", &detail.name), ("height", &height), ("way", &way)])
}

/// Where the middle of an outline comes that goes straight in from a side.
fn drawn_place(
    language: &Language,
    detail: &Detail,
    relief: &Relief,
    drawn: Drawn,
    style: UnitStyle,
) -> String {
    let words = &language.template;
    let (right, left) = (&words.right_of_middle, &words.left_of_middle);
    // Behind the cake, and on its left, right and left change places.
    let (side, [more, less]) = match drawn.side {
        Side::Front => (&words.seen_front, [right, left]),
        Side::Back => (&words.seen_back, [left, right]),
        Side::Right => (&words.seen_right, [right, left]),
        Side::Left => (&words.seen_left, [left, right]),
    };
    let off = match drawn.across.abs() {
        a if a < 0.05 => words.on_middle.clone(),
        a => filled(if drawn.across > 0.0 { more } else { less }, &[("length", &style.length_alone(a))]),
    };
    let height = style.length_alone(relief.height);
    filled(&words.seen, &[("name", &detail.name), ("height", &height), ("off", &off), ("side", side)])
}

/// Which way is up, beside the outline.
fn arrow_up(drawing: &mut Drawing, up: &str) {
    let (lo, hi) = drawing.bounds().unwrap_or_default();
    let (x, middle) = (hi.x + 4.0, f64::midpoint(lo.y, hi.y));
    let pen = Pen::grey(0.3);
    drawing.line(dvec2(x, middle + 5.0), dvec2(x, middle - 5.0), pen);
    drawing.polyline(
        vec![dvec2(x - 1.5, middle - 2.5), dvec2(x, middle - 5.0), dvec2(x + 1.5, middle - 2.5)],
        pen,
    );
    drawing.text(Lettering::new(up, dvec2(x + 1.5, middle + 1.0), 3.0));
}
