//! What is written over the picture: the legend, what is under the pointer, and problems.

use bevy_egui::egui::{self, Align2, Color32, CornerRadius, FontId, Pos2, Rect, RichText, Stroke, Vec2};

use super::{
    hover::Hovered,
    problems::{Problem, problems},
    state::{ViewSettings, WindowState},
};
use crate::{
    compose::Legend,
    scale::{self, DepthScale},
    timeline,
};
use formats::model::Rgb;

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
    let corner = Pos2::new(area.right() - 148.0, area.top() + 20.0);
    let mut y = corner.y;
    let font = FontId::proportional(13.0);
    let write = |x: f32, y: f32, text: &str| {
        painter.text(Pos2::new(x, y), Align2::LEFT_CENTER, text, font.clone(), ink);
    };
    let legend = &state.legend;
    if let Some(scale) = legend.scale {
        write(corner.x, y, if legend.carving { "Carved off so far," } else { "Carving depth," });
        write(corner.x, y + 16.0, "by depth");
        let height = (area.height() * 0.42).clamp(120.0, 300.0);
        let bar = Rect::from_min_size(Pos2::new(corner.x, y + 32.0), Vec2::new(24.0, height));
        depth_bar(painter, bar, scale, legend, ink);
        y = bar.bottom() + 24.0;
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
    if y > corner.y {
        let under =
            Rect::from_min_max(corner - Vec2::new(12.0, 14.0), Pos2::new(area.right() - 8.0, y - 8.0));
        painter.set(
            back,
            egui::Shape::rect_filled(under, CornerRadius::same(5), view_settings.theme.text_background()),
        );
    }
}

fn depth_bar(painter: &egui::Painter, bar: Rect, scale: DepthScale, legend: &Legend, ink: Color32) {
    // One mesh, so that no soft edges between the rows dull the colours.
    let mut rows = egui::Mesh::default();
    let count = bar.height().round() as usize;
    for row in 0..count {
        let depth = (row as f64 + 0.5) / count as f64 * scale.deepest;
        let corner = Pos2::new(bar.left(), bar.top() + row as f32);
        let strip = Rect::from_min_size(corner, Vec2::new(bar.width(), 1.0));
        rows.add_colored_rect(strip, colour(scale.colour(depth)));
    }
    painter.add(egui::Shape::mesh(rows));
    for (depth, bold) in scale.lines() {
        let y = bar.top() + (depth / scale.deepest) as f32 * bar.height();
        let width = if bold { 1.4 } else { 0.6 };
        let stroke = Stroke::new(width, Color32::from_rgba_unmultiplied(90, 60, 60, 190));
        painter.line_segment([Pos2::new(bar.left(), y), Pos2::new(bar.right(), y)], stroke);
    }
    for (depth, text) in legend.depth_labels() {
        let y = bar.top() + (depth / scale.deepest) as f32 * bar.height();
        painter.line_segment(
            [Pos2::new(bar.right(), y), Pos2::new(bar.right() + 5.0, y)],
            Stroke::new(1.0, ink),
        );
        painter.text(
            Pos2::new(bar.right() + 9.0, y),
            Align2::LEFT_CENTER,
            text,
            FontId::proportional(12.0),
            ink,
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
