//! Coverings, details and supports on and off.

use bevy_egui::egui;

use super::{
    figures::on_and_off,
    state::{ViewSettings, WindowState},
};
use formats::model::{Part, PartKind};

/// The kinds that can be switched, under the heading of each group.
const GROUPS: [(&str, &[PartKind]); 3] = [
    ("Coverings", &[PartKind::Covering]),
    ("Details", &[PartKind::Add, PartKind::Inlay]),
    (
        "Boards and dowels",
        &[
            PartKind::PresentationBoard,
            PartKind::BoardIcing,
            PartKind::Ribbon,
            PartKind::Board,
            PartKind::Dowel,
        ],
    ),
];

/// One group under the other: a box for all of it, and in it one for each part.
pub fn show(ui: &mut egui::Ui, state: &WindowState, view_settings: &mut ViewSettings) {
    let Some(cake) = &state.cake else { return };
    for (name, kinds) in GROUPS {
        let of_group = |part: &&Part| kinds.contains(&part.kind);
        let names: Vec<String> =
            cake.model.parts.iter().filter(of_group).map(|part| part.name.clone()).collect();
        if names.is_empty() {
            continue;
        }
        egui::CollapsingHeader::new(format!("{name} ({})", names.len())).id_salt(name).show(ui, |ui| {
            if names.len() > 1 {
                on_and_off(ui, "all of them", names.clone(), view_settings);
            }
            // Coverings lie in the model from the inside out, and everybody counts from the outside.
            for part in names.iter().rev() {
                on_and_off(ui, part, vec![part.clone()], view_settings);
            }
        });
    }
}
