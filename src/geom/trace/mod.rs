//! Pictures → outlines: pixels in, smooth curves in millimetres out, with how far they can be trusted.
//!
//! ```text
//! bytes ─► Picture ─► Levels ─► Contours ─► Stance ─► Trace ─► fitted path
//!         (decoded,  (one      (sub-pixel   (level     (mm)      (within a
//!          upright)   value)    edges)       base)               stated error)
//! ```
//!
//! The edge is where the value of the picture (brightness, opacity or distance of colour) crosses the
//! threshold, found between pixel centres by linear interpolation: marching squares (Lorensen and Cline 1987,
//! in the plane). Pixels are squares; the middle of the upper left one is at (0.5, 0.5), right and down.
//!
//! Refused: pictures with nothing to tell apart, pictures that are larger than any camera makes, files that
//! end early, and outlines that stand askew by more than a slight tilt.

mod contours;
mod corners;
mod cubics;
mod error;
mod fit;
mod halves;
mod levels;
mod picture;
mod regions;
mod smooth;
mod stance;
mod tracing;
mod whole_jpeg;

pub use error::TraceError;
pub use fit::Fitted;
pub use halves::{Half, Halves};
pub use levels::{Ground, SeparateBy};
pub use picture::{MOST_PIXELS, Picture};
pub use tracing::{Keep, Options, Scale, Trace, trace};
