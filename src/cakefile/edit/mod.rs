//! Edits of a cake file as values.
//!
//! A [`Document`] is the text of one file, parsed. [`Document::apply`] is the one way to change it: a pure
//! function from a document and an [`Edit`] to the next document, the edit that leads back, and a [`PathMap`]
//! from the paths before to the paths after. [`History`] keeps such steps for undo and redo, and [`LengthForm`]
//! writes a length in the unit and the form in which a maker wrote it.
//!
//! An edit finds its place by the spans of the parsed text and replaces only the bytes of the element that
//! it is about, with the comma, the line end and the empty lines that belong to it. Everything else stays byte
//! for byte, comments above and behind the element too. The new text is parsed again and compared with the value
//! that was wanted, so an edit is either right or refused with an [`EditError`], and nothing is changed.
//!
//! What is refused: files that are not TOML, keys in what is no table, places beyond the end of a list, values
//! that are no tables in a list of `[[tables]]`, and moves from one list or table into another.

mod apply;
mod document;
mod error;
mod find;
mod form;
mod history;
mod insert;
mod layout;
mod length;
mod lines;
mod model;
mod path_map;
mod remove;
mod reorder;
mod set;
mod splice;
#[cfg(test)]
mod tests;
mod value;
mod view;
mod write;

pub use document::{Applied, Document};
pub use error::EditError;
pub use history::{History, HistoryError};
pub(crate) use layout::{Layout as TextLayout, NodeKind, Pair, Word};
pub use length::{LENGTH_TOLERANCE, LengthForm};
pub use path_map::PathMap;
pub use splice::Splice;
pub use value::{EditValue, Fields, NoValue};

use serde::{Deserialize, Serialize};

use crate::FieldPath;

/// A change of a file.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Edit {
    /// The value at `path` is `value`, in the form that it has there: a table below a header stays one. Where
    /// there is no such key it is put in, as by [`Edit::Insert`]. A value that is there already changes
    /// nothing, whatever its form.
    Set {
        /// Which value.
        path: FieldPath,
        /// What it is to be.
        value: EditValue,
    },
    /// `value` is put in at `path`. Where that ends in a key, there must be none; where it ends in a place in a list,
    /// the element that is there and those behind it make room, and the place behind the last one is
    /// allowed. Tables on the way that are not there are made, in the form that the file uses for such.
    Insert {
        /// Where.
        path: FieldPath,
        /// What.
        value: EditValue,
    },
    /// The value at `path` is taken out with its key or header. A table that was only ever named on the way to it
    /// goes with it, and so does an array of tables that holds nothing any more.
    Remove {
        /// Which value.
        path: FieldPath,
    },
    /// The value at `from` is at `to` afterwards: in another place of the same list, or under another key of the
    /// same table. Comments directly above an element of a list move with it, except above the first.
    Move {
        /// Where it is.
        from: FieldPath,
        /// Where it is to be, counted when it is there.
        to: FieldPath,
    },
    /// One after the other, each with the paths that the one before leaves; all of them or none.
    Many(Vec<Edit>),
    /// Text for text, in the document that it was made for only. The inverse of another edit, or what
    /// somebody typed ([`Edit::of_text`]).
    Splice(Splice),
}

impl Edit {
    /// The edit that gives `document` another text. Values count as moved nowhere: those at the same path
    /// before and after are taken for the same.
    pub fn of_text(document: &Document, text: &str) -> Self {
        Self::Splice(Splice::between(document.text(), text))
    }

    /// An edit that changes nothing.
    pub fn nothing() -> Self {
        Self::Many(Vec::new())
    }
}
