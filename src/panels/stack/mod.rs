//! The stack: the elevation with every layer to scale, and the form of what is selected in it.

mod drawing;
mod finder;
mod proposals;

use cakefile::{FieldPath, Step};
use egui::Ui;

use crate::{
    asked::Asked,
    elevation::Seen,
    form::{Form, FormView},
    planned::Planned,
};
pub use finder::{Finder, Wake};
pub use proposals::{Find, Proposed, Search, proposals};

/// What is remembered of this panel from frame to frame; nothing of it is the cake's.
#[derive(Debug, Clone, Default)]
pub struct StackPanel {
    /// From where the stack is looked at.
    pub seen: Seen,
}

impl StackPanel {
    /// Draws the panel.
    pub fn show(
        &mut self,
        ui: &mut Ui,
        view: FormView<'_>,
        planned: Option<&Planned>,
        asked: &mut Vec<Asked>,
    ) {
        ui.label(
            "The layers as they are stacked. Drag the top of a layer to make it higher, its middle to move it aside; \
             click one to see its pan.",
        );
        ui.horizontal(|ui| {
            ui.label("Seen from");
            ui.selectable_value(&mut self.seen, Seen::Front, "the front");
            ui.selectable_value(&mut self.seen, Seen::Side, "the right");
        });
        match planned {
            Some(planned) => drawing::show(ui, view, planned, self.seen, asked),
            None => {
                ui.weak("The drawing is here once the cake can be planned.");
            }
        }
        let selected = view.selected.and_then(table_of);
        if let Some((path, name)) = &selected {
            ui.add_space(6.0);
            ui.strong(title(path));
            ui.push_id("selected", |ui| {
                Form::new(view, asked).placed("selected").table(ui, path, name);
            });
            ui.separator();
        }
        Form::new(view, asked).keys(ui, &["tier", "centre_dowel", "board"]);
    }
}

/// The layer or board that a selected value belongs to, with its table in the schema.
fn table_of(selected: &FieldPath) -> Option<(FieldPath, &'static str)> {
    let steps = &selected.0;
    let key = |at: usize| match steps.get(at) {
        Some(Step::Key(key)) => key.as_str(),
        _ => "",
    };
    let up_to = |count: usize| FieldPath(steps[..count].to_vec());
    match (key(0), key(2)) {
        ("tier", "layer") if steps.len() >= 4 => Some((up_to(4), "Layer")),
        ("tier", "board") => Some((up_to(3), "Board")),
        ("tier", "dowels") => Some((up_to(3), "Dowels")),
        _ => None,
    }
}

fn title(path: &FieldPath) -> String {
    let number = |at: usize| match path.0.get(at) {
        Some(Step::Index(index)) => index + 1,
        _ => 1,
    };
    match path.0.get(2) {
        Some(Step::Key(key)) if key == "layer" => format!("Layer {} of tier {}", number(3), number(1)),
        Some(Step::Key(key)) if key == "board" => format!("Board under tier {}", number(1)),
        _ => format!("Dowels of tier {}", number(1)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_selected_is_the_layer_that_it_belongs_to() {
        let layer = FieldPath::root().key("tier").index(1).key("layer").index(2);
        assert_eq!(table_of(&layer.key("pan").key("round")), Some((layer.clone(), "Layer")));
        assert_eq!(title(&layer), "Layer 3 of tier 2");
        assert_eq!(table_of(&FieldPath::root().key("tier").index(1)), None);
        let board = FieldPath::root().key("tier").index(0).key("board");
        assert_eq!(table_of(&board.key("round")), Some((board, "Board")));
    }
}
