//! Details that are laid on the cake by a click on it, or dragged along its surface.

use cakefile::{
    FieldPath,
    edit::{Document, EditValue},
};
use egui::Ui;
use glam::DVec3;

use super::Workshop;
use crate::{placing, session::Session};

/// What is being placed.
#[derive(Default)]
pub(super) struct Placing {
    /// The detail that the next click on the cake places.
    by_click: Option<usize>,
    /// The detail that is dragged, and the cake as it was before.
    dragged: Option<(usize, Document)>,
}

impl Placing {
    /// The pointer was let go.
    pub(super) fn let_go(&mut self) {
        self.dragged = None;
    }
}

/// Offers to lay the selected detail where the maker clicks.
pub(super) fn offer(ui: &mut Ui, session: &Session, place: &mut Placing) {
    let selected = session.selected().and_then(placing::detail_of);
    let selected = selected.filter(|detail| placing::middle(session.document(), *detail).is_some());
    let Some(detail) = selected else {
        place.by_click = None;
        ui.weak("Click a detail on the cake to select it; drag it then along the surface.");
        return;
    };
    let mut waits = place.by_click == Some(detail);
    let words = format!("Lay {} where I click on the cake", name_of(session.document(), detail));
    if ui.toggle_value(&mut waits, words).clicked() {
        place.by_click = waits.then_some(detail);
    }
    if place.by_click.is_some() && ui.input(|input| input.key_pressed(egui::Key::Escape)) {
        place.by_click = None;
    }
}

fn name_of(document: &Document, detail: usize) -> String {
    let name = FieldPath::root().key("detail").index(detail).key("name");
    document.value(&name).and_then(EditValue::as_str).unwrap_or("the detail").to_owned()
}

impl Workshop {
    /// What is to be done with the next click on the cake, in a sentence; `None` where it only selects.
    pub fn asks_for_place(&self) -> Option<String> {
        let name = name_of(self.session.as_ref()?.document(), self.place.by_click?);
        Some(format!("Click on the cake where the middle of {name} is to lie."))
    }

    /// Lays the detail that waits for a click at this place on the surface, mm. Whether one waited.
    pub fn place_at(&mut self, at: DVec3) -> bool {
        let (Some(detail), Some(session)) = (self.place.by_click.take(), &mut self.session) else {
            return false;
        };
        if let Some(edit) = placing::placed(session.document(), detail, at)
            && let Err(refused) = session.edit("detail placed", &edit)
        {
            self.told = Some(format!("{refused}."));
        }
        true
    }

    /// Whether a drag on this detail moves it: it is selected, and lies somewhere.
    pub fn is_movable(&self, detail: usize) -> bool {
        self.session.as_ref().is_some_and(|session| {
            session.selected().and_then(placing::detail_of) == Some(detail)
                && placing::middle(session.document(), detail).is_some()
        })
    }

    /// Moves a detail as the place `from` on the surface, where it was taken hold of, moves to the place `to`, mm.
    pub fn drag_detail(&mut self, detail: usize, from: DVec3, to: DVec3) {
        let Some(session) = &mut self.session else { return };
        let before = match self.place.dragged.take() {
            Some((dragged, before)) if dragged == detail => before,
            _ => session.document().clone(),
        };
        if let Some(edit) = placing::moved(&before, detail, from, to)
            && let Err(refused) = session.drag("detail moved", &edit)
        {
            self.told = Some(format!("{refused}."));
        }
        self.place.dragged = Some((detail, before));
    }
}
