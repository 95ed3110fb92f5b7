//! Pictures and the window: raw layers against the finished carve.
//!
//! The only member that names Bevy. Everything here starts from a [`Model`](formats::model::Model); no
//! shape is computed here except the plane cuts of a section, which the boolean kernel makes so that
//! the cut face shows what is really there.
//!
//! ```text
//! Model ─► scene (which pieces, how they look) ─► spawn (meshes, materials) ─┬─► studio ─► picture
//!                                                                           └─► window
//! ```

// Pictures are not promised byte for byte.
#![allow(clippy::disallowed_methods)]

mod accumulation;
mod cake_material;
mod camera;
mod carve_notes;
mod compose;
mod convert;
mod cut;
mod error;
mod frame_times;
mod framing;
mod gpu;
mod lamps;
mod options;
mod picture;
mod plugins;
mod quality;
mod refine;
pub mod scale;
mod scene;
mod series;
mod simplify;
mod smooth;
mod soft_light;
mod spawn;
mod srgb;
mod steps;
mod still_light;
mod studio;
mod surface;
#[cfg(test)]
mod test_model;
mod timeline;
mod window;

pub use cake_material::SHADERS;
pub use carve_notes::carve_notes;
pub use compose::{CarveNotes, LayerNote};
pub use cut::{cap_area, keep_inside};
pub use error::ViewerError;
pub use frame_times::FrameTime;
pub use framing::{Margins, Pose};
pub use gpu::describe as describe_driver;
#[cfg(target_os = "linux")]
pub use gpu::expect_no_session;
pub use options::{
    Background, CarvingLayer, Lens, MAX_PIXELS, OffcutView, PictureOptions, Section, Showing, Stage, View,
};
pub use picture::{Picture, picture};
pub use scene::{Look, Piece, Scene, build_scene, cut_away};
pub use series::animate;
pub use simplify::Simplified;
pub use steps::{MakingStep, making_steps};
pub use studio::{Shot, Studio, Vantage};
pub use surface::{CREASE_DEGREES, Surface, Vertex};
pub use timeline::{LoadLevel, Step};
pub use window::{
    CakeFileSource, CakeSource, Finding, LayerFigures, LoadError, LoadedCake, WindowOptions, view,
};
