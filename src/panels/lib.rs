//! Panels in which a cake is made: pure functions from a document and its plan to what is asked for.
//!
//! Nothing here knows the window or the renderer: each panel is drawn with egui wherever there is one, and tested by the
//! names of its controls. The [`Session`] holds the text, which is the truth; no state of the cake lives in a control.

// Windows are not promised byte for byte.
#![allow(clippy::disallowed_methods)]

pub mod asked;
pub mod begin;
mod beside;
mod changed_lines;
pub mod command;
pub mod effect;
pub mod elevation;
pub mod files;
pub mod form;
pub mod guide;
pub mod ink;
pub mod make_panel;
pub mod maker;
pub mod outline;
pub mod pages;
mod pantry_panel;
pub mod placing;
pub mod planned;
pub mod planning;
pub mod recovery;
pub mod saving;
pub mod schema;
pub mod session;
pub mod settings;
pub mod stack;
mod system_dialog;
pub mod to_fix;
pub mod unit;
pub mod words;
pub mod workshop;

pub use asked::Asked;
pub use session::Session;
pub use workshop::Workshop;
