//! The picture and the window: raw layers against the finished carve.
//!
//! The only folder that names Bevy. Everything here starts from a [`Model`](formats::model::Model); no
//! shape is computed here except the plane cuts of a section, which the boolean kernel makes so that
//! the cut face shows what is really there.
//!
//! ```text
//! Model ─► staging (which pieces, how they look) ─► scene (meshes, materials) ─┬─► studio ─► picture
//!                                                                             └─► window
//! ```

// Pictures are not promised byte for byte.
#![allow(clippy::disallowed_methods)]

mod compose;
mod convert;
mod cut;
mod error;
mod exposure;
mod fit;
mod framing;
mod gpu;
mod lamps;
mod lean;
mod light_curve;
mod options;
mod picture;
mod quality;
pub mod scale;
mod scene;
mod series;
mod skin;
mod staging;
mod studio;
mod surface;
mod turning;
mod way;
mod window;

pub use cut::{cap_area, keep_inside};
pub use error::ViewerError;
pub use fit::Lightened;
pub use framing::{Margins, Pose};
pub use gpu::describe as describe_driver;
#[cfg(target_os = "linux")]
pub use gpu::expect_no_session;
pub use options::{Ground, Lens, MAX_PIXELS, PictureOptions, Section, Showing, Stage, View};
pub use picture::{Picture, picture};
pub use series::animate;
pub use skin::SHADERS;
pub use staging::{Look, Piece, Staging, stage};
pub use studio::{Shot, Studio};
pub use surface::{CREASE_DEGREES, Corner, Surface};
pub use turning::FrameTime;
pub use way::{Load, Step};
pub use window::{CakeFileSource, CakeSource, Finding, LayerFigures, LoadedCake, view};
