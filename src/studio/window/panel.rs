//! The panel at the left: how far, what is shown, the figures.

use bevy::prelude::*;
use bevy_egui::egui::{self, Align, Layout, RichText};

use super::{
    figures,
    orbit::Eye,
    parts,
    state::{ViewSettings, Viewport, WindowState},
    theme::{Theme, bold},
};
use crate::{Lens, OffcutView, Section, Simplified, Stage, Step, View};
use geom::units::UnitStyle;

/// Draws what is in the panel.
pub fn show(
    ui: &mut egui::Ui,
    state: &WindowState,
    view_settings: &mut ViewSettings,
    eye: &mut Eye,
    viewport: &Viewport,
) {
    ui.add_space(4.0);
    title(ui, state, view_settings);
    stage(ui, state, view_settings);
    views(ui, state, eye, viewport);
    showing(ui, state, view_settings);
    section(ui, state, view_settings);
    figures::show(ui, state, view_settings);
    glance(ui, state);
    heading(ui, "Show or hide");
    parts::show(ui, state, view_settings);
    keys(ui);
}

fn title(ui: &mut egui::Ui, state: &WindowState, view_settings: &mut ViewSettings) {
    ui.horizontal(|ui| {
        let name = state.cake.as_ref().map_or("…", |cake| cake.model.name.as_str());
        ui.label(RichText::new(name).size(18.0).family(bold()));
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            let other = match view_settings.theme {
                Theme::Light => "Dark",
                Theme::Dark => "Light",
            };
            if ui.button(other).on_hover_text("Light or dark window (D)").clicked() {
                view_settings.theme = view_settings.theme.other();
            }
        });
    });
}

/// A heading of the panel.
pub fn heading(ui: &mut egui::Ui, text: &str) {
    ui.add_space(6.0);
    ui.label(RichText::new(text).family(bold()));
}

fn stage(ui: &mut egui::Ui, state: &WindowState, view_settings: &mut ViewSettings) {
    heading(ui, "Stage");
    let now = view_settings.showing.stage.fraction();
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
                view_settings.showing.stage = stage;
            }
        }
    });
    let mut fraction = now;
    ui.spacing_mut().slider_width = ui.available_width() - 8.0;
    let slider = egui::Slider::new(&mut fraction, 0.0..=1.0).show_value(false);
    let slider =
        ui.add(slider).on_hover_text("The knife comes in evenly from outside, then the coats grow outwards");
    if slider.changed() {
        view_settings.showing.stage = snap(fraction);
    }
    if let Some(simplified) = state.simplified.filter(Simplified::is_some) {
        ui.label(RichText::new(simplified.to_string()).weak());
    }
    // The step that is drawn, not the one asked for.
    ui.label(RichText::new(state.step.describe(state.style())).weak());
}

/// Snaps to a named stage when close to it.
fn snap(fraction: f64) -> Stage {
    let named = [Stage::Raw, Stage::Carved, Stage::Coated, Stage::Finished];
    named
        .into_iter()
        .find(|stage| (stage.fraction() - fraction).abs() < 0.012)
        .unwrap_or(Stage::Fraction(fraction))
}

fn views(ui: &mut egui::Ui, state: &WindowState, eye: &mut Eye, viewport: &Viewport) {
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
                eye.jump_to_view(view, &state.points, viewport.aspect());
            }
        }
    });
    let mut flat = eye.lens == Lens::Orthographic;
    let text = "True to scale (no perspective)";
    if ui.checkbox(&mut flat, text).on_hover_text("Key O").changed() {
        eye.lens = if flat { Lens::Orthographic } else { Lens::Perspective };
    }
}

fn showing(ui: &mut egui::Ui, state: &WindowState, view_settings: &mut ViewSettings) {
    heading(ui, "Show");
    let showing = &mut view_settings.showing;
    // What changes nothing at this stage is greyed, with the reason.
    let is_raw = state.step == Step::Raw;
    let carves = matches!(state.step, Step::Carved | Step::Carving { .. });
    let reason = match is_raw {
        true => "Nothing is carved yet at this stage.",
        false => "The coats hide it at this stage.",
    };
    let can_carve = carves && !showing.loads;
    let reason = if showing.loads { "Not while it shows what carries what." } else { reason };
    ui.add_enabled_ui(can_carve, |ui| {
        ui.horizontal_wrapped(|ui| {
            for offcut in OffcutView::ALL {
                let (name, help) = words_of(offcut);
                let choice = ui.selectable_value(&mut showing.offcut, offcut, name);
                choice.on_hover_text(help).on_disabled_hover_text(reason);
            }
        });
    });
    if can_carve && showing.offcut == OffcutView::Halves {
        ui.horizontal(|ui| {
            ui.label("Lifted off");
            ui.spacing_mut().slider_width = 150.0;
            ui.add(egui::Slider::new(&mut showing.lifted, 0.0..=1.0).show_value(false));
        });
        ui.horizontal(|ui| {
            ui.label("Carved half");
            ui.spacing_mut().slider_width = 150.0;
            ui.add(egui::Slider::new(&mut showing.carved_half, 0.0..=360.0).step_by(5.0).suffix("°"));
        });
    }
    let has_ghost = can_carve && showing.offcut != OffcutView::None;
    let reason = if can_carve { "The cake is shown alone." } else { reason };
    ui.add_enabled(has_ghost, egui::Checkbox::new(&mut showing.ghost, "What is carved off"))
        .on_hover_text("Key G")
        .on_disabled_hover_text(reason);
    let bears = state.cake.as_ref().is_some_and(|cake| !cake.model.bearing.is_empty());
    ui.add_enabled(bears || showing.loads, egui::Checkbox::new(&mut showing.loads, "What carries what"))
        .on_hover_text("Key L: boards and dowels by load, centres of mass, edges to tip over")
        .on_disabled_hover_text("This cake has no boards and dowels that carry anything.");
    ui.horizontal(|ui| {
        ui.label("Pull apart");
        ui.spacing_mut().slider_width = 150.0;
        ui.add(length(state.style(), &mut showing.pull_apart, 0.0..=state.radius.max(10.0) * 0.6));
    });
}

/// What a way to show the offcut is called, and what it shows.
fn words_of(offcut: OffcutView) -> (&'static str, &'static str) {
    match offcut {
        OffcutView::CutAway => ("Cut-away", "What goes is hatched around what stays."),
        OffcutView::Halves => {
            ("Half and half", "One half as baked, one carved, and what goes lifted off it.")
        }
        OffcutView::Depth => ("Depth", "What stays is coloured by how deep the knife goes."),
        OffcutView::None => ("Cake alone", "What stays, in its own colours."),
    }
}

fn section(ui: &mut egui::Ui, state: &WindowState, view_settings: &mut ViewSettings) {
    heading(ui, "Cut open");
    let now = view_settings.showing.section;
    ui.horizontal_wrapped(|ui| {
        let middle = state.middle.z;
        let kinds = [
            ("Whole", None),
            ("Through the middle", Some(Section::Bearing(0.0))),
            ("Parallel to the front", Some(Section::Across(0.0))),
            ("Horizontal", Some(Section::Height(middle))),
        ];
        for (name, kind) in kinds {
            let same = match (now, kind) {
                (Some(a), Some(b)) => std::mem::discriminant(&a) == std::mem::discriminant(&b),
                (a, b) => a.is_none() && b.is_none(),
            };
            if ui.selectable_label(same, name).clicked() && !same {
                view_settings.showing.section = kind;
            }
        }
    });
    let reach = state.radius;
    let style = state.style();
    let slider = match &mut view_settings.showing.section {
        Some(Section::Height(height)) => length(style, height, 0.0..=state.top()),
        Some(Section::Bearing(bearing)) => {
            egui::Slider::new(bearing, -180.0..=180.0).suffix("°").max_decimals(0)
        }
        Some(Section::Across(behind)) => length(style, behind, -reach..=reach),
        None => return,
    };
    ui.spacing_mut().slider_width = 200.0;
    ui.add(slider);
}

/// A slider for a length in mm, read and written as a maker does.
fn length(style: UnitStyle, mm: &mut f64, range: std::ops::RangeInclusive<f64>) -> egui::Slider<'_> {
    egui::Slider::new(mm, range)
        .step_by(1.0)
        .custom_formatter(move |mm, _| style.in_own(mm))
        .custom_parser(move |text| style.read_length(text))
}

/// What else there is at a glance, folded. What is to be decided leads in a panel of its own.
fn glance(ui: &mut egui::Ui, state: &WindowState) {
    let Some(cake) = &state.cake else { return };
    egui::CollapsingHeader::new("At a glance").show(ui, |ui| {
        for (label, text) in &cake.glance {
            ui.label(RichText::new(label.as_str()).family(bold()));
            ui.add(egui::Label::new(text).wrap());
        }
    });
    let caution = "Estimates, for a practised person to check. Local food codes and licensing come first.";
    ui.add(egui::Label::new(RichText::new(caution).weak()).wrap());
}

/// What mouse, trackpad and keys do.
const KEYS: [(&str, &str); 9] = [
    ("drag, arrows", "turn"),
    ("right drag, Shift + drag", "move"),
    ("Shift + arrows, two fingers", "move"),
    ("wheel, pinch, + and −", "nearer, further"),
    ("F  S  B  T  Q", "front, side, back, top, three-quarter"),
    ("Home", "all of the cake"),
    ("G  L  O  D", "ghost, what carries what, true to scale, dark"),
    ("Tab, Space, Esc", "through the panel, press, back to the cake"),
    ("F5", "read the file again"),
];

fn keys(ui: &mut egui::Ui) {
    egui::CollapsingHeader::new("Mouse and keys").show(ui, |ui| {
        egui::Grid::new("keys").num_columns(2).spacing([8.0, 2.0]).show(ui, |ui| {
            for (key, what) in KEYS {
                ui.label(RichText::new(key).family(bold()));
                ui.add(egui::Label::new(what).wrap());
                ui.end_row();
            }
        });
    });
}
