//! Outlines to cut each layer to before it is stacked, so that little is left to shave.

use glam::{DVec2, dvec2};

use super::{
    figure::{Figure, Key},
    view::plain_body,
};
use crate::language::{Language, filled, filled_with};
use formats::{
    drawing::{Dash, Drawing, Lettering, Pen, on_paper},
    export::slug,
};
use geom::Region;
use plan::{
    Plan,
    carve::Body,
    design::FootprintShape,
    stack::{Slab, SlabKind, laid_pieces},
};

const LOWER: Pen = Pen::black(0.7);
const UPPER: Pen = Pen::black(0.45).dashed(Dash::Dashed);
const OUTERMOST: Pen = Pen::black(0.45).dashed(Dash::Middle);
const PAN: Pen = Pen::grey(0.25).dashed(Dash::Dotted);
const CROSS: Pen = Pen::grey(0.15).dashed(Dash::Middle);

/// What the lines stand for.
pub fn key(language: &Language) -> Key {
    let words = &language.template;
    [
        (LOWER, &words.key_bottom),
        (UPPER, &words.key_top),
        (OUTERMOST, &words.key_outermost),
        (PAN, &words.key_baked),
    ]
    .map(|(pen, meaning)| (pen, meaning.clone()))
    .into()
}

/// One figure a layer, from the bottom up.
pub fn figures(plan: &Plan, language: &Language) -> Vec<Figure> {
    let target = plain_body(plan, plan.lines.all().len() - 1);
    let layers = plan.stack.slabs.iter().filter(|slab| slab.kind == SlabKind::Layer);
    layers.filter_map(|slab| figure(plan, language, &target, slab)).collect()
}

/// A top face smaller than this is where the shape closes, mm.
const POINT: f64 = 5.0;

/// Faces are cut just inside, so that a level face of the shape does not hide what is above or below, mm.
const INSIDE: f64 = 0.01;

fn figure(plan: &Plan, language: &Language, target: &Body, slab: &Slab) -> Option<Figure> {
    let (style, words) = (language.style(plan.design.style), &language.template);
    let mm = |mm: f64| style.length_alone(mm);
    let top = slab.top.min(target.heights().1);
    let pan = slab.footprint.region(plan.design.tool);
    let face = |z: f64| target.outline_at(z, plan.design.tool).intersection(&pan);
    let lower = face(slab.bottom + INSIDE);
    let upper = face(top - INSIDE);
    if lower.is_empty() && upper.is_empty() {
        return None;
    }
    if !plan.lines.is_turned() {
        return Some(free_figure(plan, language, target, slab, (lower, upper)));
    }
    let outermost = outermost(target, slab.bottom + INSIDE, top - INSIDE);
    let mut drawing = Drawing::new();
    let across = |region: &Region| region.bounds().map_or(0.0, |(lo, hi)| hi.x - lo.x);
    if !(slab.is_coaxial() && matches!(slab.footprint.shape, FootprintShape::Round { .. })) {
        drawing.region(&pan, DVec2::ZERO, None, Some(PAN));
    }
    drawing.region(&lower, DVec2::ZERO, None, Some(LOWER));
    drawing.region(&upper, DVec2::ZERO, None, Some(UPPER));
    let faces = if across(&upper) < POINT {
        filled(&words.closes, &[("height", &mm(top))])
    } else {
        filled(&words.top_across, &[("size", &mm(across(&upper)))])
    };
    let mut notes = vec![filled(
        &words.layer_round,
        &[("from", &mm(slab.bottom)), ("to", &mm(slab.top)), ("size", &mm(across(&lower))), ("top", &faces)],
    )];
    match outermost {
        _ if target.is_edited_between(slab.bottom, top) => notes.push(words.reached.clone()),
        Some((radius, z)) => {
            let ring = Region::disc(DVec2::ZERO, radius, plan.design.tool).intersection(&pan);
            drawing.region(&ring, DVec2::ZERO, None, Some(OUTERMOST));
            notes.push(filled(&words.bulges, &[("height", &mm(z))]));
        }
        None if (across(&lower) - across(&upper)).abs() < 1.0 => {
            notes.push(words.straight.clone());
        }
        None => notes.push(words.line_to_line.clone()),
    }
    if slab.is_coaxial()
        && let FootprintShape::Round { diameter } = slab.footprint.shape
    {
        let widest = outermost.map_or(across(&lower).max(across(&upper)), |(radius, _)| 2.0 * radius);
        let spare = (diameter - widest) / 2.0;
        notes.push(if spare >= 0.0 {
            filled(&words.middle_of_round, &[("size", &mm(diameter)), ("spare", &mm(spare))])
        } else {
            filled(&words.round_too_small, &[("size", &mm(diameter)), ("missing", &mm(-spare))])
        });
    }
    cross(&mut drawing, slab, language);
    Some(Figure {
        slug: format!("layer-{}", slug(&slab.name)),
        title: filled(&words.layer, &[("layer", &slab.name)]),
        notes,
        drawing,
    })
}

/// The figure of a layer of a shape that is not round.
fn free_figure(
    plan: &Plan,
    language: &Language,
    target: &Body,
    slab: &Slab,
    (lower, upper): (Region, Region),
) -> Figure {
    let (style, words) = (language.style(plan.design.style), &language.template);
    let mm = |mm: f64| style.length_alone(mm);
    let top = slab.top.min(target.heights().1);
    let pan = slab.footprint.region(plan.design.tool);
    let reached = target.shadow_between(slab.bottom, top, plan.design.tool);
    let furthest = reached.intersection(&pan);
    let mut drawing = Drawing::new();
    drawing.region(&pan, DVec2::ZERO, None, Some(PAN));
    pieces(&mut drawing, plan, slab);
    drawing.region(&furthest, DVec2::ZERO, None, Some(OUTERMOST));
    drawing.region(&lower, DVec2::ZERO, None, Some(LOWER));
    drawing.region(&upper, DVec2::ZERO, None, Some(UPPER));
    let size = |region: &Region| {
        let (lo, hi) = region.bounds().unwrap_or_default();
        format!("{} × {}", style.length_alone(hi.x - lo.x), style.length_alone(hi.y - lo.y))
    };
    let form = match (lower.is_empty(), upper.is_empty()) {
        (false, false) => &words.layer_both,
        (false, true) => &words.layer_closes,
        _ => &words.layer_top,
    };
    let faces = [
        ("from", mm(slab.bottom)),
        ("to", mm(slab.top)),
        ("bottom", size(&lower)),
        ("top", size(&upper)),
        ("height", mm(top)),
    ];
    let faces = filled_with(form, &faces);
    let is_laid = slab.footprint.shape.pieces().is_some();
    let mut notes = vec![faces, words.outermost_only.clone()];
    if is_laid {
        notes.push(words.of_pieces.clone());
    }
    let spare =
        reached.contours().iter().flatten().map(|p| slab.footprint.depth(*p)).fold(f64::INFINITY, f64::min);
    notes.push(if spare >= 0.0 {
        filled(&words.middle_cross, &[("spare", &mm(spare))])
    } else {
        filled(&words.too_small, &[("missing", &mm(-spare))])
    });
    cross(&mut drawing, slab, language);
    Figure {
        slug: format!("layer-{}", slug(&slab.name)),
        title: filled(&words.layer, &[("layer", &slab.name)]),
        notes,
        drawing,
    }
}

/// The pieces that a layer is laid of, with their letters.
fn pieces(drawing: &mut Drawing, plan: &Plan, slab: &Slab) {
    let laid = laid_pieces(&plan.stack);
    for piece in laid.iter().filter(|piece| plan.stack.slabs[piece.slab].name == slab.name) {
        let corners = piece.laid.corners().map(|p| on_paper(slab.footprint.placed(p)));
        drawing.closed(vec![corners.to_vec()], None, Some(PAN));
        let middle = on_paper(slab.footprint.placed(piece.laid.at));
        drawing.text(Lettering::new(piece.letter(), middle + dvec2(6.0, 12.0), 6.0).bold());
    }
}

/// The middle of the cake, with the way to the front.
fn cross(drawing: &mut Drawing, slab: &Slab, language: &Language) {
    let (lo, hi) = drawing.bounds().unwrap_or_default();
    drawing.line(dvec2(lo.x, 0.0), dvec2(hi.x, 0.0), CROSS);
    drawing.line(dvec2(0.0, lo.y), dvec2(0.0, hi.y), CROSS);
    // Beside the middle, where two sheets may be joined.
    drawing.text(Lettering::new(&slab.name, dvec2(-9.0, -9.0), 4.0).bold().ending());
    drawing.text(Lettering::new(&language.template.front, dvec2(9.0, hi.y + 4.0), 3.4));
}

/// Radius and height where the side stands out furthest beyond a straight cut from face to face; `None`
/// where such a cut does no harm.
fn outermost(target: &Body, bottom: f64, top: f64) -> Option<(f64, f64)> {
    /// Less than this is shaved off by a straight cut and missed by no one, mm.
    const HARM: f64 = 0.5;
    const LEVELS: u32 = 64;
    let reach = |z: f64| target.section.row(z).last().map_or(0.0, |&(_, r)| r);
    let (low, high) = (reach(bottom), reach(top));
    let share = |i: u32| f64::from(i) / f64::from(LEVELS);
    let levels = (0..=LEVELS).map(|i| (share(i), bottom + (top - bottom) * share(i)));
    let harmed = levels.clone().any(|(share, z)| reach(z) - (low + (high - low) * share) > HARM);
    harmed.then(|| levels.map(|(_, z)| (reach(z), z)).max_by(|a, b| a.0.total_cmp(&b.0))).flatten()
}
