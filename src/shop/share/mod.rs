//! The client's page: one HTML file in which the cake is turned, seen in the making and chosen, and what comes back of it.
//!
//! The page works from a letter: it asks for nothing, and a Content-Security-Policy forbids it to. Whatever is read on it is
//! escaped where it is written ([`formats::escape::html`]). Its script, style and shaders are in `assets/share`; without
//! scripts it still tells price, choices and all that the quote tells. What the client chooses comes back as a text with
//! names ([`Choices`]), which is read against the cake file and becomes an edit of it.

mod changes;
mod choices;
mod choices_error;
mod edits;
mod front;
mod mark;
mod meshes;
mod options;
mod page;
mod parts;
mod picture;
mod prices;
mod scripts;
mod sections;
mod sheet;

pub use changes::{Facts, FactsError};
pub use choices::{Choices, Expected, Serves, Tint};
pub use choices_error::ChoicesError;
pub use edits::{Change, changes};
pub use mark::mark;
pub use meshes::{MESH_BUDGET, Meshes};
pub use options::{ColourOption, ColourOptions, Options, SizeOption};
pub use page::{Page, page};
pub use parts::{Look, Parts, ViewPart};
pub use picture::{Picture, PictureError, Sight};
pub use prices::{NoPrice, WorkedOut, worked_out};
pub use scripts::LIGHT;
pub use sheet::{Elevation, PICTURE_HIGH, PictureSheet, SMALLEST, SheetViews, WIDE, lacking_on};
