//! The panel at the left: how far, what is shown, the figures, the findings.

use bevy::prelude::*;
use bevy_egui::egui::{self, Align, Layout, RichText};

use super::{
    desk::{Desk, Viewport, Wishes},
    orbit::Eye,
    source::{Finding, LayerFigures},
    theme::{Theme, bold},
};
use crate::{
    cakefile::Severity,
    viewer::{Lens, Section, Stage, View},
};

/// Width of the panel, points: narrow enough for a screen of 1366 by 768.
const WIDTH: f32 = 330.0;

/// Cubic millimetres in a millilitre.
const MM3_PER_ML: f64 = 1000.0;

/// Draws the panel and returns its width, points.
pub fn show(
    root: &mut egui::Ui,
    desk: &Desk,
    wishes: &mut Wishes,
    eye: &mut Eye,
    viewport: &Viewport,
) -> f32 {
    egui::Panel::left("panel")
        .resizable(false)
        .exact_size(WIDTH)
        .show(root, |ui| {
            egui::ScrollArea::vertical().auto_shrink([false, false]).show(ui, |ui| {
                ui.add_space(4.0);
                title(ui, desk, wishes);
                stage(ui, wishes);
                views(ui, desk, eye, viewport);
                showing(ui, desk, wishes);
                section(ui, desk, wishes);
                layers(ui, desk, wishes);
                findings(ui, desk, wishes, eye);
            });
        })
        .response
        .rect
        .width()
}

fn title(ui: &mut egui::Ui, desk: &Desk, wishes: &mut Wishes) {
    ui.horizontal(|ui| {
        let name = desk.cake.as_ref().map_or("…", |cake| cake.model.name.as_str());
        ui.label(RichText::new(name).size(18.0).family(bold()));
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            let other = match wishes.theme {
                Theme::Light => "Dark",
                Theme::Dark => "Light",
            };
            if ui.button(other).on_hover_text("Light or dark window (D)").clicked() {
                wishes.theme = wishes.theme.other();
            }
        });
    });
}

fn heading(ui: &mut egui::Ui, text: &str) {
    ui.add_space(8.0);
    ui.label(RichText::new(text).family(bold()));
}

fn stage(ui: &mut egui::Ui, wishes: &mut Wishes) {
    heading(ui, "How far");
    let now = wishes.showing.stage.fraction();
    ui.horizontal(|ui| {
        let stages = [
            ("Raw", Stage::Raw),
            ("Carved", Stage::Carved),
            ("Coated", Stage::Coated),
            ("Finished", Stage::Finished),
        ];
        for (name, stage) in stages {
            let here = (now - stage.fraction()).abs() < 1e-9;
            if ui.selectable_label(here, name).clicked() {
                wishes.showing.stage = stage;
            }
        }
    });
    let mut way = now;
    ui.spacing_mut().slider_width = ui.available_width() - 8.0;
    let slider = egui::Slider::new(&mut way, 0.0..=1.0).show_value(false);
    let slider =
        ui.add(slider).on_hover_text("The knife goes from the top down, the coats from the board up");
    if slider.changed() {
        wishes.showing.stage = snap(way);
    }
}

/// Snaps to a named stage when close to it.
fn snap(way: f64) -> Stage {
    let named = [Stage::Raw, Stage::Carved, Stage::Coated, Stage::Finished];
    named.into_iter().find(|stage| (stage.fraction() - way).abs() < 0.012).unwrap_or(Stage::Way(way))
}

fn views(ui: &mut egui::Ui, desk: &Desk, eye: &mut Eye, viewport: &Viewport) {
    heading(ui, "Look from");
    ui.horizontal(|ui| {
        let views = [
            ("Front", "F", View::Front),
            ("Side", "S", View::Side),
            ("Back", "B", View::Back),
            ("Top", "T", View::Top),
            ("Three-quarter", "Q", View::ThreeQuarter),
        ];
        for (name, key, view) in views {
            if ui.button(name).on_hover_text(format!("Key {key}")).clicked() {
                eye.jump_to_view(view, &desk.points, viewport.aspect());
            }
        }
    });
    let mut flat = eye.lens == Lens::Orthographic;
    let text = "True to scale (no perspective)";
    if ui.checkbox(&mut flat, text).on_hover_text("Key O").changed() {
        eye.lens = if flat { Lens::Orthographic } else { Lens::Perspective };
    }
}

fn showing(ui: &mut egui::Ui, desk: &Desk, wishes: &mut Wishes) {
    heading(ui, "Show");
    let showing = &mut wishes.showing;
    ui.checkbox(&mut showing.depth_colour, "Colour by how deep it was shaved");
    ui.checkbox(&mut showing.ghost, "Ghost of the raw stack").on_hover_text("Key G");
    ui.horizontal(|ui| {
        ui.label("Pull apart");
        ui.spacing_mut().slider_width = 150.0;
        ui.add(
            egui::Slider::new(&mut showing.pull_apart, 0.0..=desk.radius.max(10.0) * 0.6)
                .suffix(" mm")
                .max_decimals(0),
        );
    });
}

fn section(ui: &mut egui::Ui, desk: &Desk, wishes: &mut Wishes) {
    heading(ui, "Cut open");
    let now = wishes.showing.section;
    ui.horizontal(|ui| {
        let middle = desk.middle.z;
        let kinds = [
            ("Whole", None),
            ("Upright", Some(Section::Bearing(0.0))),
            ("Across", Some(Section::Across(0.0))),
            ("Level", Some(Section::Height(middle))),
        ];
        for (name, kind) in kinds {
            let same = match (now, kind) {
                (Some(a), Some(b)) => std::mem::discriminant(&a) == std::mem::discriminant(&b),
                (a, b) => a.is_none() && b.is_none(),
            };
            if ui.selectable_label(same, name).clicked() && !same {
                wishes.showing.section = kind;
            }
        }
    });
    let reach = desk.radius;
    let slider = |ui: &mut egui::Ui, value: &mut f64, range, unit: &str| {
        ui.spacing_mut().slider_width = 200.0;
        ui.add(egui::Slider::new(value, range).suffix(unit).max_decimals(0));
    };
    match &mut wishes.showing.section {
        Some(Section::Height(height)) => slider(ui, height, 0.0..=desk.top(), " mm"),
        Some(Section::Bearing(bearing)) => slider(ui, bearing, -180.0..=180.0, "°"),
        Some(Section::Across(behind)) => slider(ui, behind, -reach..=reach, " mm"),
        None => {}
    }
}

fn layers(ui: &mut egui::Ui, desk: &Desk, wishes: &mut Wishes) {
    let Some(cake) = &desk.cake else { return };
    heading(ui, "Layers, mL");
    let columns = ["", "raw", "kept", "offcut", "missing"];
    egui::Grid::new("layers").num_columns(5).spacing([10.0, 3.0]).striped(true).show(ui, |ui| {
        for column in columns {
            ui.with_layout(Layout::right_to_left(Align::Center), |ui| ui.label(RichText::new(column).weak()));
        }
        ui.end_row();
        for layer in cake.layers.iter().rev() {
            layer_row(ui, layer, wishes, desk);
        }
        let mut total = LayerFigures { name: "all".into(), ..LayerFigures::default() };
        for layer in &cake.layers {
            total.raw += layer.raw;
            total.kept += layer.kept;
            total.offcut += layer.offcut;
            total.shortfall += layer.shortfall;
        }
        ui.label(RichText::new("all").strong());
        figures(ui, &total);
        ui.end_row();
    });
}

fn layer_row(ui: &mut egui::Ui, layer: &LayerFigures, wishes: &mut Wishes, desk: &Desk) {
    let parts = desk.parts_of_layer(&layer.name);
    let mut shown = !parts.iter().all(|part| wishes.showing.hidden.contains(part)) || parts.is_empty();
    if ui.checkbox(&mut shown, &layer.name).changed() {
        wishes.showing.hidden.retain(|name| !parts.contains(name));
        if !shown {
            wishes.showing.hidden.extend(parts);
        }
    }
    figures(ui, layer);
    ui.end_row();
}

fn figures(ui: &mut egui::Ui, layer: &LayerFigures) {
    for (volume, loud) in
        [(layer.raw, false), (layer.kept, false), (layer.offcut, false), (layer.shortfall, true)]
    {
        let text =
            if volume < 0.5 * MM3_PER_ML { "–".to_owned() } else { format!("{:.0}", volume / MM3_PER_ML) };
        let text = RichText::new(text).monospace();
        let text = if loud && volume >= 0.5 * MM3_PER_ML {
            text.strong().color(egui::Color32::from_rgb(0, 140, 150))
        } else {
            text
        };
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| ui.label(text));
    }
}

fn findings(ui: &mut egui::Ui, desk: &Desk, wishes: &Wishes, eye: &mut Eye) {
    let Some(cake) = &desk.cake else { return };
    heading(ui, if cake.findings.is_empty() { "Nothing to look at twice" } else { "Look at" });
    for finding in &cake.findings {
        finding_row(ui, finding, wishes, desk, eye);
    }
}

fn finding_row(ui: &mut egui::Ui, finding: &Finding, wishes: &Wishes, desk: &Desk, eye: &mut Eye) {
    let mark = match finding.severity {
        Severity::Error => "Error",
        Severity::Warning => "Warning",
        Severity::Note => "Note",
    };
    let mark = RichText::new(mark).color(wishes.theme.severity(finding.severity)).strong();
    ui.horizontal_wrapped(|ui| {
        ui.label(mark);
        let row = ui.selectable_label(false, &finding.message);
        let row = match finding.place {
            Some(_) => row.on_hover_text("Click to look at the place"),
            None => row,
        };
        if let Some(place) = finding.place.filter(|_| row.clicked()) {
            eye.look_at(place, desk.middle, desk.radius);
        }
    });
    if let Some(help) = &finding.help {
        ui.label(RichText::new(help).weak());
    }
    ui.add_space(4.0);
}
