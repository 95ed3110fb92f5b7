//! The drawing of the stack: what is kept in the colour of the cake, what is carved off hatched, every board and dowel
//! to scale; heights and places are changed by dragging.

use cakefile::{
    FieldPath, Step,
    edit::{Edit, EditValue, LengthForm},
};
use egui::{Align2, Color32, CursorIcon, FontId, Pos2, Rect, Sense, Shape, Stroke, Ui, pos2, vec2};
use plan::stack::{Slab, SlabKind};

use crate::{
    asked::Asked,
    elevation::{Level, Profile, Seen, dowel_reach, reach},
    form::FormView,
    planned::Planned,
};

/// Height of the drawing, points.
const HEIGHT: f32 = 300.0;
/// Room round it for figures, points.
const MARGIN: f32 = 26.0;
/// How near to the top of a layer it is taken hold of, points.
const GRIP: f32 = 5.0;
/// Steps of a dragged length, mm: finer than anybody bakes.
const STEP: f64 = 1.0;

/// What is carved off: flat and warm, with a hatch that is seen without colour too.
const OFFCUT: Color32 = Color32::from_rgb(247, 196, 150);
const HATCH: Color32 = Color32::from_rgb(206, 116, 58);
const BOARD: Color32 = Color32::from_rgb(126, 116, 104);
const DOWEL: Color32 = Color32::from_rgb(150, 118, 78);

/// Millimetres to points.
#[derive(Clone, Copy)]
struct Frame {
    rect: Rect,
    scale: f32,
    middle: f32,
}

impl Frame {
    fn new(rect: Rect, half_width: f64, top: f64) -> Self {
        let room = rect.shrink(MARGIN);
        let scale =
            (room.width() / (2.0 * half_width).max(1.0) as f32).min(room.height() / top.max(1.0) as f32);
        Self { rect, scale, middle: rect.center().x }
    }

    fn at(&self, x: f64, z: f64) -> Pos2 {
        pos2(self.middle + x as f32 * self.scale, self.rect.bottom() - MARGIN - z as f32 * self.scale)
    }

    fn rect(&self, (from, to): (f64, f64), (bottom, top): (f64, f64)) -> Rect {
        Rect::from_two_pos(self.at(from, bottom), self.at(to, top))
    }

    fn height(&self, y: f32) -> f64 {
        f64::from((self.rect.bottom() - MARGIN - y) / self.scale)
    }
}

pub(super) fn show(ui: &mut Ui, view: FormView<'_>, planned: &Planned, seen: Seen, asked: &mut Vec<Asked>) {
    let (rect, background) = ui.allocate_exact_size(vec2(ui.available_width(), HEIGHT), Sense::click());
    background.widget_info(|| {
        egui::WidgetInfo::labeled(egui::WidgetType::Image, true, "The stack, drawn to scale")
    });
    let stack = &planned.plan.stack;
    let lines = planned.elevation.seen(seen);
    let reaches = || {
        let slabs = stack.slabs.iter().map(|slab| reach(slab, seen));
        slabs.chain(lines.iter().flat_map(|line| &line.levels).flat_map(|level| level.spans.iter().copied()))
    };
    let half = reaches().fold(1.0, |half: f64, (from, to)| half.max(-from).max(to));
    let line_top = lines.iter().filter_map(|line| line.levels.last()).map(|level| level.height);
    let top = stack.slabs.iter().map(|slab| slab.top).chain(line_top).fold(1.0, f64::max);
    let frame = Frame::new(rect, half, top);
    let painter = ui.painter_at(rect);
    let ink = ui.visuals().text_color();
    painter.line_segment([frame.at(-half * 1.05, 0.0), frame.at(half * 1.05, 0.0)], Stroke::new(2.0, ink));
    let carved = lines.last();
    for slab in &stack.slabs {
        draw_slab(&painter, &frame, slab, seen, carved);
    }
    for dowel in &stack.dowels {
        let outline = frame.rect(dowel_reach(dowel, seen), (dowel.bottom, dowel.top));
        painter.rect_filled(outline, 0.0, DOWEL.gamma_multiply(0.55));
    }
    for (number, line) in lines.iter().enumerate() {
        let width = if number + 1 == lines.len() { 2.0 } else { 1.0 };
        draw_line(&painter, &frame, line, Stroke::new(width, ink));
    }
    for (number, slab) in stack.slabs.iter().enumerate() {
        handles(ui, view, &frame, planned, (number, slab), seen, asked);
    }
    if background.clicked() {
        asked.push(Asked::Select(None));
    }
}

fn draw_slab(painter: &egui::Painter, frame: &Frame, slab: &Slab, seen: Seen, carved: Option<&Profile>) {
    let outline = frame.rect(reach(slab, seen), (slab.bottom, slab.top));
    let colour = match slab.kind {
        SlabKind::Board => BOARD,
        SlabKind::Layer | SlabKind::Filling => {
            let rgb = slab.material.colour;
            Color32::from_rgb(rgb.0, rgb.1, rgb.2)
        }
    };
    if slab.kind == SlabKind::Board {
        painter.rect_filled(outline, 0.0, colour);
        return;
    }
    if slab.kind == SlabKind::Layer {
        painter.rect_filled(outline, 0.0, OFFCUT);
        hatch(painter, outline);
    }
    let (from, to) = reach(slab, seen);
    for level in carved.map_or(&[][..], |line| &line.levels) {
        let half = carved.map_or(0.0, |line| line.step) / 2.0;
        let (low, high) = ((level.height - half).max(slab.bottom), (level.height + half).min(slab.top));
        if low >= high {
            continue;
        }
        for span in &level.spans {
            let kept = (span.0.max(from), span.1.min(to));
            if kept.0 < kept.1 {
                // Half a point more, so that no seam shows between strips.
                painter.rect_filled(frame.rect(kept, (low, high)).expand2(vec2(0.0, 0.3)), 0.0, colour);
            }
        }
    }
    if slab.kind == SlabKind::Layer {
        painter.rect_stroke(
            outline,
            0.0,
            Stroke::new(0.8, Color32::from_gray(110)),
            egui::StrokeKind::Middle,
        );
    }
}

/// Lines from the lower left to the upper right, a few points apart.
fn hatch(painter: &egui::Painter, rect: Rect) {
    const APART: f32 = 6.0;
    let painter = painter.with_clip_rect(rect.intersect(painter.clip_rect()));
    let count = ((rect.width() + rect.height()) / APART).ceil() as u32;
    let stroke = Stroke::new(0.8, HATCH);
    painter.extend((0..=count).map(|i| {
        let x = rect.left() + i as f32 * APART;
        Shape::line_segment([pos2(x - rect.height(), rect.bottom()), pos2(x, rect.top())], stroke)
    }));
}

fn draw_line(painter: &egui::Painter, frame: &Frame, line: &Profile, stroke: Stroke) {
    let side = |end: &dyn Fn(&Level) -> Option<f64>| {
        let points = line.levels.iter().filter_map(|level| Some(frame.at(end(level)?, level.height)));
        painter.add(Shape::line(points.collect(), stroke));
    };
    side(&|level| Some(level.spans.first()?.0));
    side(&|level| Some(level.spans.last()?.1));
    if let Some(top) = line.levels.last()
        && let (Some(first), Some(last)) = (top.spans.first(), top.spans.last())
    {
        painter.line_segment([frame.at(first.0, top.height), frame.at(last.1, top.height)], stroke);
    }
}

/// What is dragged: told by the widget, so that it lasts from frame to frame.
fn handles(
    ui: &mut Ui,
    view: FormView<'_>,
    frame: &Frame,
    planned: &Planned,
    (number, slab): (usize, &Slab),
    seen: Seen,
    asked: &mut Vec<Asked>,
) {
    if slab.kind == SlabKind::Filling {
        return;
    }
    let outline = frame.rect(reach(slab, seen), (slab.bottom, slab.top));
    let style = planned.plan.design.style;
    let is_layer = slab.kind == SlabKind::Layer;
    let sense = if is_layer { Sense::click_and_drag() } else { Sense::click() };
    let body = ui.interact(
        outline.shrink2(vec2(0.0, GRIP.min(outline.height() / 4.0))),
        ui.id().with(("slab", number)),
        sense,
    );
    body.widget_info(|| egui::WidgetInfo::labeled(egui::WidgetType::Button, true, slab.name.clone()));
    if body.clicked() {
        asked.push(Asked::Select(Some(slab.field.clone())));
    }
    let selected = view.selected.is_some_and(|path| path.starts_with(&slab.field));
    if selected || body.hovered() {
        let width = if selected { 2.5 } else { 1.2 };
        let stroke = Stroke::new(width, ui.visuals().selection.stroke.color);
        ui.painter().rect_stroke(outline, 1.0, stroke, egui::StrokeKind::Middle);
    }
    if is_layer {
        let figures = planned.plan.carving.slabs.get(number).map(|carving| {
            let volumes = &carving.volumes;
            let share = if volumes.raw > 0.0 { 100.0 * volumes.offcut / volumes.raw } else { 0.0 };
            format!("{}: {} high, {share:.0} % carved off", slab.name, style.length(slab.top - slab.bottom))
        });
        let body = body.on_hover_text(figures.unwrap_or_else(|| slab.name.clone()));
        drag_aside(ui, view, &body, frame, slab, seen, asked);
        drag_height(ui, view, frame, outline, (number, slab), planned, asked);
        ui.painter().text(
            pos2(outline.right() + 4.0, outline.center().y),
            Align2::LEFT_CENTER,
            style.length_alone(slab.top - slab.bottom),
            FontId::proportional(10.5),
            ui.visuals().weak_text_color(),
        );
    } else {
        body.on_hover_text(&slab.name);
    }
}

fn drag_height(
    ui: &mut Ui,
    view: FormView<'_>,
    frame: &Frame,
    outline: Rect,
    (number, slab): (usize, &Slab),
    planned: &Planned,
    asked: &mut Vec<Asked>,
) {
    let edge =
        Rect::from_center_size(pos2(outline.center().x, outline.top()), vec2(outline.width(), 2.0 * GRIP));
    let top = ui.interact(edge, ui.id().with(("top", number)), Sense::drag());
    let top = top.on_hover_cursor(CursorIcon::ResizeVertical);
    if !top.dragged() {
        return;
    }
    let Some(pointer) = top.interact_pointer_pos() else { return };
    let height = snapped(frame.height(pointer.y) - slab.bottom).max(STEP);
    let line = [pos2(outline.left() - 10.0, pointer.y), pos2(outline.right() + 10.0, pointer.y)];
    ui.painter().line_segment(line, Stroke::new(1.5, ui.visuals().selection.stroke.color));
    ui.painter().text(
        pos2(outline.left() - 12.0, pointer.y),
        Align2::RIGHT_CENTER,
        planned.plan.design.style.length_alone(height),
        FontId::proportional(12.0),
        ui.visuals().text_color(),
    );
    set_length(view, &slab.field.key("height"), height, &format!("height of {}", slab.name), asked);
}

fn drag_aside(
    ui: &Ui,
    view: FormView<'_>,
    body: &egui::Response,
    frame: &Frame,
    slab: &Slab,
    seen: Seen,
    asked: &mut Vec<Asked>,
) {
    let id = body.id.with("from");
    if body.drag_started() {
        ui.data_mut(|data| data.insert_temp(id, slab.footprint.centre));
    }
    if !body.dragged() {
        return;
    }
    let Some(from) = ui.data(|data| data.get_temp::<glam::DVec2>(id)) else { return };
    let moved = f64::from(body.total_drag_delta().unwrap_or_default().x / frame.scale);
    let mut to = from;
    match seen {
        Seen::Front => to.x = snapped(from.x + moved),
        Seen::Side => to.y = snapped(from.y + moved),
    }
    // Places are given by a layer alone; where the field leads to something else nothing is moved.
    if !matches!(slab.field.0.last(), Some(Step::Index(_))) {
        return;
    }
    let path = slab.field.key("offset");
    let form = |index: usize| {
        let at = path.index(index);
        if view.document.value(&at).is_some() { view.document.length_form(&at) } else { usual_form(view) }
    };
    let written = |index: usize, mm: f64| form(index).write(mm).unwrap_or(EditValue::Integer(0));
    let value = EditValue::Array(vec![written(0, to.x), written(1, to.y)]);
    asked.push(Asked::gesture(format!("place of {}", slab.name), Edit::Set { path, value }));
}

fn usual_form(view: FormView<'_>) -> LengthForm {
    LengthForm::bare(view.document.unit())
}

/// A length in the form that it is written in.
fn set_length(view: FormView<'_>, path: &FieldPath, mm: f64, label: &str, asked: &mut Vec<Asked>) {
    let Ok(value) = view.document.length_form(path).write(mm) else { return };
    asked.push(Asked::gesture(label, Edit::Set { path: path.clone(), value }));
}

fn snapped(mm: f64) -> f64 {
    (mm / STEP).round() * STEP
}
