//! What the client chose as an edit of the cake file.

use super::choices::{Choices, Serves, Tint, hex};
use cakefile::{
    FieldPath,
    edit::{Document, Edit, EditValue},
    schema::Colour,
};
use formats::model::Rgb;
use plan::offer::Offer;

/// A value of the cake file that the client's choice changes.
#[derive(Debug, Clone, PartialEq)]
pub struct Change {
    /// Which value.
    pub path: FieldPath,
    /// What it is now; `None` where the file says nothing of it.
    pub before: Option<String>,
    /// What it becomes.
    pub now: String,
    /// What makes it so.
    pub edit: Edit,
}

/// What `choices` change in `document`, whose cake offers `offer`. What is so already is left out.
pub fn changes(document: &Document, offer: &Offer, choices: &Choices) -> Vec<Change> {
    let mut changes = Vec::new();
    let mut set = |path: FieldPath, value: EditValue, now: String| {
        let before = document.value(&path).and_then(told);
        changes.push(Change { path: path.clone(), before, now, edit: Edit::Set { path, value } });
    };
    for (choice, tint) in offer.colours.iter().zip(&choices.colours) {
        let Some(chosen) = colour(choice.colours.as_slice(), tint) else { continue };
        for path in choice.of.iter().map(|taker| taker.path()) {
            let now = document.value(&path).and_then(EditValue::as_str);
            let now = now.and_then(|text| Colour(text.to_owned()).to_rgb()).map(|[r, g, b]| Rgb(r, g, b));
            // A colour that the page shows and the file does not name is the material's own.
            let is_so = now.map_or(matches!(tint, Tint::AsShown(_)), |now| now == chosen);
            if !is_so {
                set(path, EditValue::String(hex(chosen)), hex(chosen));
            }
        }
    }
    let order = FieldPath::root().key("order");
    if let Some(serves) = choices.serves {
        let path = order.key("serves");
        let now = document.value(&path).and_then(EditValue::as_number);
        let wanted = i64::from(serves.count());
        let is_so = now.map_or(matches!(serves, Serves::AsShown(_)), |now| now == f64::from(serves.count()));
        if !is_so {
            set(path, EditValue::Integer(wanted), wanted.to_string());
        }
    }
    if !choices.remarks.is_empty() {
        let path = order.key("remarks");
        if document.value(&path).and_then(EditValue::as_str) != Some(choices.remarks.as_str()) {
            set(path, EditValue::String(choices.remarks.clone()), choices.remarks.clone());
        }
    }
    changes
}

/// A value in words.
fn told(value: &EditValue) -> Option<String> {
    let text = value.as_str().map(str::to_owned);
    text.or_else(|| value.as_number().map(|number| number.to_string()))
}

fn colour(offered: &[(String, Rgb)], tint: &Tint) -> Option<Rgb> {
    match tint {
        Tint::AsShown(colour) => *colour,
        Tint::Offered(name) => offered.iter().find(|(known, _)| known == name).map(|(_, colour)| *colour),
    }
}
