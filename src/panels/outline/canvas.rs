//! The canvas: lines to scale on squared paper, and points that are dragged on it.

use cakefile::FieldPath;
use egui::{Color32, CursorIcon, FontId, Pos2, Rect, Sense, Shape, Stroke, Ui, pos2, vec2};
use geom::region::distance_to_segment;
use glam::{DVec2, dvec2};

use super::{
    handles::{Handle, Role},
    under::Under,
};

/// What is drawn.
pub(super) struct Drawn<'a> {
    /// The outline.
    pub lines: &'a [Vec<DVec2>],
    /// Lines inside it.
    pub coats: &'a [Vec<DVec2>],
    /// Points that can be dragged.
    pub handles: &'a [Handle],
    /// Whether the other half is drawn too, mirrored in x = 0.
    pub is_half: bool,
    /// The picture that the outline was traced from.
    pub under: Option<&'a Under>,
}

/// What was done.
pub(super) enum Did {
    /// A point was dragged to here, mm.
    Drag(FieldPath, DVec2),
    /// A point was clicked, or none.
    Select(Option<FieldPath>),
    /// A corner is to be put in before the corner of this number, here.
    Add(usize, DVec2),
}

/// Height of the canvas, points.
const HEIGHT: f32 = 330.0;
const MARGIN: f32 = 24.0;
/// How near a point is taken hold of, points.
const NEAR: f32 = 8.0;

/// Millimetres to points.
#[derive(Clone, Copy, PartialEq)]
struct Frame {
    rect: Rect,
    scale: f32,
    middle: DVec2,
}

impl Frame {
    fn fitting(rect: Rect, drawn: &Drawn<'_>) -> Self {
        let points =
            drawn.lines.iter().flatten().copied().chain(drawn.handles.iter().map(|handle| handle.at));
        let (mut low, mut high) = (dvec2(-10.0, 0.0), dvec2(10.0, 10.0));
        for p in points {
            low = low.min(p);
            high = high.max(p);
            if drawn.is_half {
                low.x = low.x.min(-p.x);
            }
        }
        let size = high - low;
        let room = rect.size() - vec2(2.0 * MARGIN, 2.0 * MARGIN);
        let scale = (room.x / size.x as f32).min(room.y / size.y as f32);
        Self { rect, scale, middle: (low + high) / 2.0 }
    }

    fn at(&self, p: DVec2) -> Pos2 {
        let off = (p - self.middle) * f64::from(self.scale);
        self.rect.center() + vec2(off.x as f32, -off.y as f32)
    }

    fn mm(&self, p: Pos2) -> DVec2 {
        let off = (p - self.rect.center()) / self.scale;
        self.middle + dvec2(f64::from(off.x), -f64::from(off.y))
    }
}

pub(super) fn show(ui: &mut Ui, drawn: &Drawn<'_>, selected: Option<&FieldPath>, step: f64) -> Option<Did> {
    let (rect, response) = ui.allocate_exact_size(vec2(ui.available_width(), HEIGHT), Sense::click());
    response.widget_info(|| {
        egui::WidgetInfo::labeled(egui::WidgetType::Image, true, "The outline, drawn to scale")
    });
    let id = ui.id().with("outline frame");
    // While a point is dragged the frame stays: it would run away from the pointer.
    let dragging = ui.ctx().dragged_id().is_some() && ui.data(|data| data.get_temp::<Frame>(id)).is_some();
    let kept = ui.data(|data| data.get_temp::<Frame>(id)).filter(|frame| dragging && frame.rect == rect);
    let frame = kept.unwrap_or_else(|| Frame::fitting(rect, drawn));
    ui.data_mut(|data| data.insert_temp(id, frame));
    let painter = ui.painter_at(rect);
    if let Some(under) = drawn.under {
        under.paint(ui, &painter, |p| frame.at(p));
    }
    paper(&painter, &frame, ui.visuals().weak_text_color());
    let ink = ui.visuals().text_color();
    let line = |points: &[DVec2], mirrored: bool, stroke: Stroke| {
        let at = |p: &DVec2| frame.at(if mirrored { dvec2(-p.x, p.y) } else { *p });
        painter.add(Shape::line(points.iter().map(at).collect(), stroke));
    };
    for points in drawn.coats {
        for mirrored in [false, true] {
            line(points, mirrored, Stroke::new(1.0, Color32::from_rgb(196, 112, 60)));
        }
    }
    for points in drawn.lines {
        if drawn.is_half {
            line(points, true, Stroke::new(1.2, ink.gamma_multiply(0.45)));
        }
        line(points, false, Stroke::new(2.2, ink));
        if !drawn.is_half
            && let (Some(first), Some(last)) = (points.first(), points.last())
        {
            line(&[*last, *first], false, Stroke::new(2.2, ink));
        }
    }
    pulls(&painter, &frame, drawn.handles, ink);
    let mut did = None;
    for (number, handle) in drawn.handles.iter().enumerate() {
        if let Some(done) = point(ui, &frame, (number, handle), selected, step) {
            did = Some(done);
        }
    }
    if did.is_none() && response.double_clicked() {
        did = response.interact_pointer_pos().and_then(|at| nearest_piece(drawn, &frame, at, step));
    } else if did.is_none() && response.clicked() {
        did = Some(Did::Select(None));
    }
    did
}

/// Squared paper: a square each centimetre, and figures at each fifth.
fn paper(painter: &egui::Painter, frame: &Frame, ink: Color32) {
    let (a, b) = (frame.mm(frame.rect.left_bottom()), frame.mm(frame.rect.right_top()));
    let square = if frame.scale < 0.35 { 50.0 } else { 10.0 };
    let from = |low: f64| (low / square).ceil() as i32;
    let to = |high: f64| (high / square).floor() as i32;
    let line = |number: i32, ends: [DVec2; 2]| {
        let alpha = match number {
            0 => 0.9,
            number if number % 5 == 0 => 0.35,
            _ => 0.14,
        };
        painter.line_segment(ends.map(|p| frame.at(p)), Stroke::new(0.7, ink.gamma_multiply(alpha)));
    };
    for i in from(a.x)..=to(b.x) {
        let x = f64::from(i) * square;
        line(i, [dvec2(x, a.y), dvec2(x, b.y)]);
    }
    for i in from(a.y)..=to(b.y) {
        let y = f64::from(i) * square;
        line(i, [dvec2(a.x, y), dvec2(b.x, y)]);
        if i % 5 == 0 {
            let at = pos2(frame.rect.left() + 3.0, frame.at(dvec2(0.0, y)).y);
            painter.text(at, egui::Align2::LEFT_BOTTOM, format!("{y:.0}"), FontId::proportional(9.5), ink);
        }
    }
}

/// Lines from the handles of a curve to the corners that they belong to.
fn pulls(painter: &egui::Painter, frame: &Frame, handles: &[Handle], ink: Color32) {
    let corner = |piece: usize| handles.iter().find(|h| h.role == Role::Corner && h.piece == piece);
    let mut second = false;
    for handle in handles.iter().filter(|handle| handle.role == Role::Handle) {
        let owner = if second { corner(handle.piece) } else { handle.piece.checked_sub(1).and_then(corner) };
        second = !second;
        if let Some(owner) = owner {
            let stroke = Stroke::new(0.8, ink.gamma_multiply(0.6));
            painter.line_segment([frame.at(handle.at), frame.at(owner.at)], stroke);
        }
    }
}

fn point(
    ui: &mut Ui,
    frame: &Frame,
    (number, handle): (usize, &Handle),
    selected: Option<&FieldPath>,
    step: f64,
) -> Option<Did> {
    let at = frame.at(handle.at);
    let area = Rect::from_center_size(at, vec2(2.0 * NEAR, 2.0 * NEAR));
    let response = ui.interact(area, ui.id().with(("point", number)), Sense::click_and_drag());
    let response = response.on_hover_cursor(CursorIcon::Grab);
    let name = match handle.role {
        Role::Corner => format!("Corner {}", handle.piece + 1),
        Role::OnArc => format!("Point on the arc to corner {}", handle.piece + 1),
        Role::Handle => format!("Handle of the curve to corner {}", handle.piece + 1),
    };
    response.widget_info(|| egui::WidgetInfo::labeled(egui::WidgetType::Button, true, name.clone()));
    let is_selected = selected == Some(&handle.path);
    let painter = ui.painter_at(frame.rect);
    let ink = ui.visuals().text_color();
    let fill = if is_selected || response.hovered() {
        ui.visuals().selection.bg_fill
    } else {
        ui.visuals().panel_fill
    };
    match handle.role {
        Role::Corner => {
            let square = Rect::from_center_size(at, vec2(8.0, 8.0));
            painter.rect(square, 1.0, fill, Stroke::new(1.4, ink), egui::StrokeKind::Middle);
        }
        Role::OnArc | Role::Handle => {
            painter.circle(at, 4.0, fill, Stroke::new(1.2, ink));
        }
    }
    if response.dragged()
        && let Some(pointer) = response.interact_pointer_pos()
    {
        let to = snapped(frame.mm(pointer), step);
        return (to != handle.at).then(|| Did::Drag(handle.path.clone(), to));
    }
    if response.has_focus() {
        // A point is moved by the arrow keys too.
        let keys = ui.input(|input| {
            let pressed = |key| f64::from(input.num_presses(key) as u32);
            dvec2(
                pressed(egui::Key::ArrowRight) - pressed(egui::Key::ArrowLeft),
                pressed(egui::Key::ArrowUp) - pressed(egui::Key::ArrowDown),
            )
        });
        ui.memory_mut(|memory| {
            let filter =
                egui::EventFilter { horizontal_arrows: true, vertical_arrows: true, ..Default::default() };
            memory.set_focus_lock_filter(response.id, filter);
        });
        if keys != DVec2::ZERO {
            return Some(Did::Drag(handle.path.clone(), snapped(handle.at + keys * step, step)));
        }
    }
    (response.clicked() || (response.gained_focus() && !is_selected))
        .then(|| Did::Select(Some(handle.path.clone())))
}

/// The corner before which a point at `at` is put in: that of the nearest piece between two corners.
fn nearest_piece(drawn: &Drawn<'_>, frame: &Frame, at: Pos2, step: f64) -> Option<Did> {
    let p = frame.mm(at);
    let corners: Vec<&Handle> = drawn.handles.iter().filter(|handle| handle.role == Role::Corner).collect();
    let pieces =
        corners.windows(2).map(|ends| (ends[1].piece, distance_to_segment(p, ends[0].at, ends[1].at)));
    let (piece, _) = pieces.min_by(|a, b| a.1.total_cmp(&b.1))?;
    Some(Did::Add(piece, snapped(p, step)))
}

fn snapped(p: DVec2, step: f64) -> DVec2 {
    // To the digits of the step, so that 0.1 stays 0.1.
    let to = |x: f64| (x / step).round() / (1.0 / step);
    dvec2(to(p.x), to(p.y))
}
