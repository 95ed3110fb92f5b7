//! Outlines of details that are pressed in, cut out or put on, at true size.

use glam::{DVec2, dvec2};

use super::figure::{Figure, Key};
use crate::language::Language;
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
pub fn key() -> Key {
    vec![
        (OUTLINE, "as the client sees it".into()),
        (UNDER, "to cut in the cake or the coating, so that it is right once covered".into()),
    ]
}

/// One figure for each outline; the same outline in several places is drawn once.
pub fn figures(plan: &Plan) -> Vec<Figure> {
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
        .filter_map(|group| group.first().map(|(detail, relief)| figure(plan, detail, relief, group)))
        .collect()
}

fn figure(plan: &Plan, detail: &Detail, relief: &Relief, all: &[(&Detail, &Relief)]) -> Figure {
    let style = plan.design.style;
    let names: Vec<&str> = all.iter().map(|(detail, _)| detail.name.as_str()).collect();
    let mut drawing = Drawing::new();
    drawing.region(&relief.outline, DVec2::ZERO, None, Some(OUTLINE));
    let covered = covered(plan, detail.depth);
    let mut notes = Vec::new();
    let depth = style.length_alone(relief.depth);
    match (detail.operation, detail.depth) {
        (Operation::Cut, Depth::Icing) => notes.push(format!("Press it {depth} into the icing.")),
        (Operation::Cut, place) => {
            let place = if place == Depth::Sponge { "cake" } else { "coating" };
            notes.push(format!("Cut it {depth} into the {place}, last of all the carving."));
        }
        (Operation::Add, _) => {
            let of = detail.material.as_ref().map_or(String::new(), |m| format!(" of {}", m.name));
            notes.push(format!("Cut it out{of}, {depth} thick."));
        }
    }
    if covered > 0.0 {
        let grown = match detail.operation {
            Operation::Cut => relief.outline.outset(covered, plan.design.tool),
            Operation::Add => relief.outline.inset(covered, plan.design.tool),
        };
        drawing.region(&grown, DVec2::ZERO, None, Some(UNDER));
    }
    notes.extend(all.iter().map(|(detail, relief)| place(plan, detail, relief, style)));
    let reach = 4.0;
    drawing.line(dvec2(-reach, 0.0), dvec2(reach, 0.0), CROSS);
    drawing.line(dvec2(0.0, -reach), dvec2(0.0, reach), CROSS);
    arrow_up(&mut drawing);
    Figure { slug: format!("detail-{}", slug(names[0])), title: names.join(", "), notes, drawing }
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

/// Where its middle comes.
fn place(plan: &Plan, detail: &Detail, relief: &Relief, style: UnitStyle) -> String {
    if let Some(drawn) = relief.drawn {
        return drawn_place(detail, relief, drawn, style);
    }
    let radius = plan.lines.radius_at(relief.height.max(1e-6), relief.bearing).unwrap_or(0.0);
    let bearing = (relief.bearing + 180.0).rem_euclid(360.0) - 180.0;
    let round = radius * bearing.to_radians();
    let way = match round {
        _ if bearing.abs() < 1e-9 => "in the middle of the front".to_owned(),
        _ if (bearing.abs() - 180.0).abs() < 1e-9 => "in the middle of the back".to_owned(),
        _ if !plan.lines.is_turned() => {
            let side = if bearing > 0.0 { "right" } else { "left" };
            format!(
                "{} (turned by {:.0}° to the {side} of the front)",
                Language::english().bearing(bearing),
                bearing.abs()
            )
        }
        r => {
            let side = if r > 0.0 { "right" } else { "left" };
            format!(
                "{}: {} round to the {side} of the front",
                Language::english().bearing(bearing),
                style.length_alone(r.abs())
            )
        }
    };
    format!("{}: its middle at height {}, {way}.", detail.name, style.length_alone(relief.height))
}

/// Where the middle of an outline comes that goes straight in from a side.
fn drawn_place(detail: &Detail, relief: &Relief, drawn: Drawn, style: UnitStyle) -> String {
    let (side, toward) = match (drawn.side, drawn.across > 0.0) {
        (Side::Front, true) => ("front", "right"),
        (Side::Front, false) => ("front", "left"),
        // Behind the cake right and left change places.
        (Side::Back, true) => ("back", "left"),
        (Side::Back, false) => ("back", "right"),
        (Side::Right, true) => ("right-hand side", "right"),
        (Side::Right, false) => ("right-hand side", "left"),
        (Side::Left, true) => ("left-hand side", "left"),
        (Side::Left, false) => ("left-hand side", "right"),
    };
    let off = match drawn.across.abs() {
        a if a < 0.05 => "on the middle".to_owned(),
        a => format!("{} {toward} of the middle", style.length_alone(a)),
    };
    format!(
        "{}: its middle at height {}, {off}, seen from the {side}.",
        detail.name,
        style.length_alone(relief.height)
    )
}

/// Which way is up, beside the outline.
fn arrow_up(drawing: &mut Drawing) {
    let (lo, hi) = drawing.bounds().unwrap_or_default();
    let (x, middle) = (hi.x + 4.0, f64::midpoint(lo.y, hi.y));
    let pen = Pen::grey(0.3);
    drawing.line(dvec2(x, middle + 5.0), dvec2(x, middle - 5.0), pen);
    drawing.polyline(
        vec![dvec2(x - 1.5, middle - 2.5), dvec2(x, middle - 5.0), dvec2(x + 1.5, middle - 2.5)],
        pen,
    );
    drawing.text(Lettering::new("up", dvec2(x + 1.5, middle + 1.0), 3.0));
}
