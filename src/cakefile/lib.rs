//! Cake files: text in, syntax as written out. Applies no defaults and builds no geometry.
//!
//! [`world`] brings files; [`CakeFile`] is the text; [`CakeFile::parse`] turns it into a [`schema::Cake`] and every problem
//! that can be found without knowing what the cake means. Problems carry the path of the value they
//! are about ([`FieldPath`]); later steps report by path too, and [`CakeFile::error`] finds the place
//! in the text and shows all of them together.
//!
//! What is refused: text that is not UTF-8, files beyond [`world::Content::largest`], keys and words that the
//! format does not know, and lengths and angles that [`geom::units`] lets nobody have.

// Checks may use the standard library's functions: they allow for the last digits.
#![cfg_attr(test, allow(clippy::disallowed_methods))]

mod check;
mod choice;
mod diagnostic;
pub mod edit;
mod error;
mod excerpt;
mod file;
pub mod glossary;
mod kind;
mod local_time;
mod nearest;
mod other_kind;
mod parse;
mod picture;
mod quantity;
mod rule;
mod scalar;
pub mod schema;
pub mod schema_pantry;
mod starter;
mod support_schema;
mod syntax;
mod upgrade;
pub mod world;

pub use choice::exactly_one;
pub use diagnostic::{Diagnostic, FieldPath, KeyProblem, Severity, Step};
pub use error::CakeFileError;
pub use file::CakeFile;
pub use kind::{FileKind, StandIn};
pub use local_time::{LocalTime, LocalTimeError};
pub use nearest::nearest;
pub use parse::Reading;
pub use rule::{json_schema, json_schema_of};
pub use starter::starter;
pub use upgrade::{Upgraded, upgraded};
