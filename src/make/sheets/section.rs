//! The cake cut open, small: raw layers, fillings, boards and dowels, and the lines in them.

use glam::{DVec2, dvec2};

use super::{
    order::CuttingOrder,
    view::{Seen, View, plain_body},
};
use formats::{
    drawing::{Dash, Drawing, GREY, Lettering, PALE, Pen, WHITE, on_paper},
    model::Rgb,
};
use geom::Region;
use plan::{Plan, stack::SlabKind};

const SPONGE: Rgb = Rgb(250, 232, 196);

/// The lines of the cake as seen from the front.
pub struct Outlines {
    finished: Region,
    carved: Region,
}

impl Outlines {
    /// The lines of `plan`.
    pub fn new(plan: &Plan) -> Self {
        let seen = |level| Seen::new(plan, &plain_body(plan, level)).from(View::Front);
        Self { finished: seen(0), carved: seen(plan.lines.all().len() - 1) }
    }
}

/// A picture no larger than `most`, its upper left corner at the origin, heights beside it.
pub fn section(
    plan: &Plan,
    order: &CuttingOrder,
    Outlines { finished, carved }: &Outlines,
    most: DVec2,
    text_size: f64,
) -> Drawing {
    let style = order.language.style(plan.design.style);
    let (mut lo, mut hi) = finished.bounds().unwrap_or_default();
    for slab in &plan.stack.slabs {
        let (left, right) = (-slab.footprint.support(DVec2::NEG_X), slab.footprint.support(DVec2::X));
        lo = lo.min(dvec2(left, slab.bottom));
        hi = hi.max(dvec2(right, slab.top));
    }
    let beside = text_size * 4.6;
    let scale = ((most.x - beside) / (hi.x - lo.x)).min(most.y / (hi.y - lo.y));
    let place = |p: DVec2| on_paper((p - dvec2(lo.x, hi.y)) * scale);
    let mut drawing = Drawing::new();
    for slab in &plan.stack.slabs {
        let (left, right) = (-slab.footprint.support(DVec2::NEG_X), slab.footprint.support(DVec2::X));
        let fill = match slab.kind {
            SlabKind::Layer => SPONGE,
            SlabKind::Filling => WHITE,
            SlabKind::Board => GREY,
        };
        let (a, b) = (dvec2(left, slab.bottom), dvec2(right, slab.top));
        drawing.rectangle(place(a), place(b), Some(fill), Some(Pen::grey(0.15)));
    }
    for dowel in &plan.stack.dowels {
        let half = dowel.diameter / 2.0;
        let (a, b) = (dvec2(dowel.at.x - half, dowel.bottom), dvec2(dowel.at.x + half, dowel.top));
        drawing.rectangle(place(a), place(b), Some(PALE), Some(Pen::black(0.12)));
    }
    for (outline, pen) in [(finished, Pen::black(0.2).dashed(Dash::Dotted)), (carved, Pen::black(0.6))] {
        let contours = outline.contours().iter().map(|c| c.iter().map(|&p| place(p)).collect()).collect();
        drawing.closed(contours, None, Some(pen));
    }
    let mut last = f64::INFINITY;
    for slab in order.stack.iter().filter(|slab| slab.kind == SlabKind::Layer) {
        for z in [slab.bottom, slab.top] {
            let at = place(dvec2(hi.x, z));
            if last - at.y < text_size * 1.05 {
                continue;
            }
            last = at.y;
            drawing.line(at, at + dvec2(1.2, 0.0), Pen::grey(0.2));
            drawing.text(Lettering::new(style.in_own(z), at + dvec2(1.8, text_size * 0.36), text_size));
        }
        let middle = place(dvec2(
            plan.stack.slabs[slab.slab].footprint.centre.x,
            f64::midpoint(slab.bottom, slab.top),
        ));
        let name =
            Lettering::new(&slab.name, middle + dvec2(0.0, text_size * 0.36), text_size).bold().centred();
        if slab.top - slab.bottom > text_size / scale {
            let (a, b) = name.bounds();
            drawing.rectangle(a - 0.4, b + 0.2, Some(SPONGE), None);
            drawing.text(name);
        }
    }
    drawing
}
