//! The figures of the panel: what becomes of every layer, and how much is offcut.

use bevy_egui::egui::{self, Align, Layout, RichText};

use super::{
    panel::heading,
    source::LayerFigures,
    state::{ViewSettings, WindowState},
};

/// Cubic millimetres in a millilitre.
const MM3_PER_ML: f64 = 1000.0;

/// Less than this is no amount, mm³.
const NONE: f64 = 0.5 * MM3_PER_ML;

/// One row a layer, top first, and all of them together.
pub fn show(ui: &mut egui::Ui, state: &WindowState, view_settings: &mut ViewSettings) {
    let Some(cake) = &state.cake else { return };
    heading(ui, "Layers, mL");
    let columns = ["", "raw", "kept", "offcut", "shortfall"];
    let mut total = LayerFigures { name: "all".into(), ..LayerFigures::default() };
    egui::Grid::new("layers").num_columns(5).spacing([10.0, 3.0]).striped(true).show(ui, |ui| {
        for column in columns {
            ui.with_layout(Layout::right_to_left(Align::Center), |ui| ui.label(RichText::new(column).weak()));
        }
        ui.end_row();
        for layer in cake.layers.iter().rev() {
            layer_row(ui, layer, view_settings, state);
            total.raw += layer.raw;
            total.kept += layer.kept;
            total.offcut += layer.offcut;
            total.shortfall += layer.shortfall;
        }
        ui.label(RichText::new("all").strong());
        amounts(ui, &total, view_settings);
        ui.end_row();
    });
    if total.raw > 0.0 {
        let share = 100.0 * total.offcut / total.raw;
        let offcut = total.offcut / MM3_PER_ML;
        ui.label(format!("Offcut: {offcut:.0} mL, {share:.0} % of what is baked"));
    }
}

fn layer_row(ui: &mut egui::Ui, layer: &LayerFigures, view_settings: &mut ViewSettings, state: &WindowState) {
    let parts = state.parts_of_layer(&layer.name);
    on_and_off(ui, &layer.name, parts, view_settings);
    amounts(ui, layer, view_settings);
    ui.end_row();
}

/// A box that shows or hides these parts together.
pub fn on_and_off(ui: &mut egui::Ui, label: &str, parts: Vec<String>, view_settings: &mut ViewSettings) {
    let mut shown = parts.is_empty() || !parts.iter().all(|part| view_settings.showing.hidden.contains(part));
    if ui.checkbox(&mut shown, label).changed() {
        view_settings.showing.hidden.retain(|name| !parts.contains(name));
        if !shown {
            view_settings.showing.hidden.extend(parts);
        }
    }
}

fn amounts(ui: &mut egui::Ui, layer: &LayerFigures, view_settings: &ViewSettings) {
    for (volume, missing) in
        [(layer.raw, false), (layer.kept, false), (layer.offcut, false), (layer.shortfall, true)]
    {
        let text = if volume < NONE { "–".to_owned() } else { format!("{:.0}", volume / MM3_PER_ML) };
        let text = RichText::new(text).monospace();
        let text =
            if missing && volume >= NONE { text.strong().color(view_settings.theme.missing()) } else { text };
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| ui.label(text));
    }
}
