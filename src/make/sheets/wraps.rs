//! Strips that lie round the side and show where wrapped outlines come.

use glam::{DVec2, dvec2};

use super::figure::{Figure, Key};
use crate::language::{Language, filled};
use formats::{
    drawing::{Dash, Drawing, Lettering, Pen, on_paper},
    export::slug,
};
use geom::real;
use plan::{
    Plan,
    design::{Detail, Lies, Relief, Tool},
};

const OUTLINE: Pen = Pen::black(0.5);
const FRONT: Pen = Pen::black(0.3).dashed(Dash::Middle);
const LEVEL: Pen = Pen::grey(0.2);
const EDGE: Pen = Pen::black(0.35);

/// What the lines stand for.
pub fn key(language: &Language) -> Key {
    let words = &language.template;
    vec![
        (OUTLINE, words.key_outline.clone()),
        (FRONT, words.key_front.clone()),
        (EDGE, words.key_edge.clone()),
    ]
}

/// One strip for all wrapped outlines at one height.
pub fn figures(plan: &Plan, language: &Language) -> Vec<Figure> {
    let mut heights: Vec<(f64, Vec<(&Detail, &Relief)>)> = Vec::new();
    for detail in &plan.design.details {
        let Tool::Relief(relief) = &detail.tool else { continue };
        if relief.lies != Lies::Wrapped {
            continue;
        }
        match heights.iter_mut().find(|(height, _)| *height == relief.height) {
            Some((_, all)) => all.push((detail, relief)),
            None => heights.push((relief.height, vec![(detail, relief)])),
        }
    }
    heights.iter().filter_map(|(height, all)| figure(plan, language, *height, all)).collect()
}

fn figure(plan: &Plan, language: &Language, height: f64, all: &[(&Detail, &Relief)]) -> Option<Figure> {
    /// Paper left round the outlines, mm.
    const ROUND: f64 = 12.0;
    let (style, words) = (language.style(plan.design.style), &language.template);
    let radius = plan.lines.radius_at(height.max(1e-6), all.first()?.1.bearing)?;
    let mut drawing = Drawing::new();
    let (mut lo, mut hi) = (DVec2::ZERO, DVec2::ZERO);
    let form = if plan.lines.is_turned() { &words.lay_strip } else { &words.lay_strip_free };
    let once_round = style.length_alone(std::f64::consts::TAU * radius);
    let at = style.length_alone(height);
    let mut notes = vec![filled(form, &[("height", &at), ("length", &once_round)])];
    for (detail, relief) in all {
        let bearing = (relief.bearing + 180.0).rem_euclid(360.0) - 180.0;
        let at = dvec2(radius * bearing.to_radians(), 0.0);
        let outline = relief.lying().placed(0.0, at);
        drawing.region(&outline, DVec2::ZERO, None, Some(OUTLINE));
        let name = Lettering::new(&detail.name, on_paper(at) + dvec2(0.0, -1.5), 3.2);
        // Beside the front line, not on it.
        let on_front = at.x.abs() < name.width() / 2.0 + 1.0;
        let beside = Lettering { at: dvec2(1.5, name.at.y), ..name.clone() };
        drawing.text(if on_front { beside } else { name.centred() });
        if let Some((a, b)) = outline.bounds() {
            (lo, hi) = (lo.min(a), hi.max(b));
        }
    }
    let slope = if plan.lines.is_turned() { slope(plan, radius, height) } else { 0.0 };
    if slope > 3.0 {
        notes.push(filled(&words.leans, &[("angle", &language.number(slope, 0))]));
    }
    let (lo, hi) = (on_paper(dvec2(lo.x, hi.y)) - ROUND, on_paper(dvec2(hi.x, lo.y)) + ROUND);
    drawing.rectangle(lo, hi, None, Some(EDGE));
    drawing.line(dvec2(lo.x, 0.0), dvec2(hi.x, 0.0), LEVEL);
    drawing.line(dvec2(0.0, lo.y), dvec2(0.0, hi.y), FRONT);
    drawing.text(Lettering::new(style.in_own(height), dvec2(lo.x + 1.0, -0.8), 3.0));
    drawing.text(Lettering::new(&words.front, dvec2(1.0, lo.y + 4.0), 3.2));
    Some(Figure {
        slug: format!("wrap-{}", slug(all.first()?.0.written_name())),
        title: filled(&words.strip, &[("names", &super::details::title(all, language))]),
        notes,
        drawing,
    })
}

/// How far the finished side leans from the upright at a place, degrees.
fn slope(plan: &Plan, radius: f64, height: f64) -> f64 {
    let at = dvec2(radius, height);
    let distance = |(a, b): &(DVec2, DVec2)| geom::region::distance_to_segment(at, *a, *b);
    let section = &plan.lines.finished().section;
    let nearest = section.edges().min_by(|e, f| distance(e).total_cmp(&distance(f)));
    nearest.map_or(0.0, |(a, b)| real::atan2(b.x - a.x, (b.y - a.y).abs()).to_degrees().abs())
}
