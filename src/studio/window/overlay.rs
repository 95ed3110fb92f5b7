//! What is written over the picture: the legend, what is under the pointer, and problems.

use bevy_egui::egui::{self, Align2, Color32, CornerRadius, FontId, Pos2, Rect, RichText, Stroke, Vec2};

use super::{
    hover::Hovered,
    problems::{Problem, problems},
    state::{ViewSettings, WindowState},
};
use crate::{Pose, scale, timeline};
use formats::model::Rgb;
use glam::DVec3;

/// Draws everything that floats over the picture.
pub fn show(
    ctx: &egui::Context,
    area: Rect,
    state: &WindowState,
    view_settings: &ViewSettings,
    hovered: Option<&Hovered>,
) {
    let problems = problems(state);
    show_problems(ctx, area, &problems);
    let painter = ctx.layer_painter(egui::LayerId::background()).with_clip_rect(area);
    legend(&painter, area, state, view_settings);
    if let Some(hovered) = hovered {
        readout(&painter, area, view_settings, &hovered.describe(state.style()));
    }
    if state.cake.is_none() && problems.is_empty() {
        let ink = view_settings.theme.ink();
        painter.text(
            area.center(),
            Align2::CENTER_CENTER,
            "Reading the cake …",
            FontId::proportional(18.0),
            ink,
        );
    }
}

/// That a picture of what was asked for is on its way.
pub fn drawing(ctx: &egui::Context, area: Rect) {
    let at = Pos2::new(area.right() - 16.0, area.bottom() - 16.0);
    let told =
        egui::Area::new("drawing".into()).fixed_pos(at).pivot(Align2::RIGHT_BOTTOM).interactable(false);
    told.show(ctx, |ui| {
        egui::Frame::popup(ui.style()).show(ui, |ui| ui.label("Drawing …"));
    });
}

/// A ring round a place on the cake, mm, seen from `pose`.
pub fn mark(ctx: &egui::Context, area: Rect, pose: &Pose, place: DVec3) {
    let painter = ctx.layer_painter(egui::LayerId::background()).with_clip_rect(area);
    let size = (area.width().max(1.0) as u32, area.height().max(1.0) as u32);
    let at = pose.project(place, size);
    let at = Pos2::new(area.left() + at.x as f32, area.top() + at.y as f32);
    for (width, colour) in [(5.0, Color32::from_white_alpha(210)), (2.4, Color32::from_rgb(200, 30, 60))] {
        painter.circle_stroke(at, 17.0, Stroke::new(width, colour));
        painter.circle_filled(at, width, colour);
    }
}

/// What is to be done in the picture, above it.
pub fn ask(ctx: &egui::Context, area: Rect, text: &str) {
    let at = Pos2::new(area.center().x, area.top() + 24.0);
    let told = egui::Area::new("asked".into()).fixed_pos(at).pivot(Align2::CENTER_CENTER).interactable(false);
    told.show(ctx, |ui| {
        egui::Frame::popup(ui.style()).show(ui, |ui| ui.strong(text));
    });
}

/// Why the picture is not the newest one, over the picture.
fn show_problems(ctx: &egui::Context, area: Rect, problems: &[Problem]) {
    if problems.is_empty() {
        return;
    }
    egui::Window::new("problems")
        .title_bar(false)
        .resizable(false)
        .anchor(Align2::LEFT_TOP, Vec2::new(area.left() + 16.0, area.top() + 16.0))
        .default_width((area.width() - 64.0).min(620.0))
        .show(ctx, |ui| {
            egui::ScrollArea::vertical().max_height(300.0).show(ui, |ui| {
                for Problem { title, text } in problems {
                    let title =
                        RichText::new(title).strong().color(Color32::from_rgb(200, 50, 50)).size(15.0);
                    ui.label(title);
                    ui.label(RichText::new(text).monospace());
                }
            });
        });
}

fn legend(painter: &egui::Painter, area: Rect, state: &WindowState, view_settings: &ViewSettings) {
    let ink = view_settings.theme.ink();
    // Its background, which must be drawn first, is filled in once the height is known.
    let back = painter.add(egui::Shape::Noop);
    let corner = Pos2::new(area.right() - 172.0, area.top() + 20.0);
    let mut y = corner.y;
    let font = FontId::proportional(13.0);
    let write = |x: f32, y: f32, text: &str| {
        painter.text(Pos2::new(x, y), Align2::LEFT_CENTER, text, font.clone(), ink);
    };
    let legend = &state.legend;
    if legend.scale.is_some() {
        write(corner.x, y, if legend.carving { "Carved off so far" } else { "Carving depth" });
        y += 24.0;
        for (band, words) in legend.bands() {
            let square = Rect::from_min_size(Pos2::new(corner.x, y - 9.0), Vec2::new(24.0, 18.0));
            painter.rect_filled(square, CornerRadius::ZERO, colour(band));
            write(corner.x + 32.0, y, &words);
            y += 20.0;
        }
        y += 8.0;
    }
    if legend.offcut {
        let square = Rect::from_min_size(Pos2::new(corner.x, y - 8.0), Vec2::splat(16.0));
        hatched(painter, square, timeline::OFF, Color32::from_rgb(197, 141, 102));
        write(corner.x + 24.0, y, "goes: offcut");
        y += 24.0;
    }
    if legend.shortfall {
        let square = Rect::from_min_size(Pos2::new(corner.x, y - 8.0), Vec2::splat(16.0));
        hatched(painter, square, scale::SHORTFALL, Color32::from_gray(245));
        write(corner.x + 24.0, y, "shortfall: no cake");
        y += 24.0;
    }
    if legend.ghost {
        let square = Rect::from_min_size(Pos2::new(corner.x, y - 8.0), Vec2::splat(16.0));
        let stroke = Stroke::new(1.2, Color32::from_rgb(130, 104, 84));
        painter.rect_stroke(square, CornerRadius::ZERO, stroke, egui::StrokeKind::Inside);
        write(corner.x + 24.0, y, "offcut");
        y += 24.0;
    }
    for (swatch, words) in &legend.swatches {
        let square = Rect::from_min_size(Pos2::new(corner.x, y - 8.0), Vec2::splat(16.0));
        painter.rect_filled(square, CornerRadius::ZERO, colour(*swatch));
        write(corner.x + 24.0, y, words);
        y += 22.0;
    }
    if y > corner.y {
        let under =
            Rect::from_min_max(corner - Vec2::new(12.0, 14.0), Pos2::new(area.right() - 8.0, y - 4.0));
        painter.set(
            back,
            egui::Shape::rect_filled(under, CornerRadius::same(5), view_settings.theme.text_background()),
        );
    }
}

fn hatched(painter: &egui::Painter, square: Rect, ground: Rgb, stripes: Color32) {
    painter.rect_filled(square, CornerRadius::ZERO, colour(ground));
    let clipped = painter.with_clip_rect(square);
    for i in -2..4 {
        let x = square.left() + 6.0 * i as f32;
        let line = [Pos2::new(x, square.bottom()), Pos2::new(x + 16.0, square.top())];
        clipped.line_segment(line, Stroke::new(2.2, stripes));
    }
}

/// What is under the pointer, at the bottom left.
fn readout(painter: &egui::Painter, area: Rect, view_settings: &ViewSettings, text: &str) {
    let galley =
        painter.layout_no_wrap(text.to_owned(), FontId::proportional(14.0), view_settings.theme.ink());
    let corner = Pos2::new(area.left() + 16.0, area.bottom() - 16.0 - galley.size().y);
    let back = Rect::from_min_size(corner, galley.size()).expand2(Vec2::new(9.0, 6.0));
    painter.rect_filled(back, CornerRadius::same(5), view_settings.theme.text_background());
    painter.galley(corner, galley, view_settings.theme.ink());
}

fn colour(Rgb(r, g, b): Rgb) -> Color32 {
    Color32::from_rgb(r, g, b)
}
