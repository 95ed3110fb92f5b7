//! Pictures → outlines: pixels in, smooth curves in millimetres out, with how far they can be trusted.
//!
//! ```text
//! bytes ─► Picture ─► GreyLevels ─► Contours ─► Plane ─► Base ─► Trace ─► fitted path
//!         (decoded,  (one per      (sub-pixel  (seen    (made   (mm)     (within a
//!          upright)   pixel)        edges)      upright) level)           stated error)
//! ```
//!
//! The edge is where the value of the picture (brightness, opacity or distance of colour) crosses the
//! threshold, found between pixel centres by linear interpolation: marching squares (Lorensen and Cline 1987,
//! in the plane). Pixels are squares; the middle of the upper left one is at (0.5, 0.5), right and down.
//!
//! Where a scale card is seen ([`card`]), the plane of the outline is the card's: edges are mapped by the homography of
//! its marks. Lens distortion is not modelled.
//!
//! Refused: pictures in which outline and background do not differ, pictures that are larger than any camera makes,
//! files that end early, and outlines whose base is tilted by more than a little.

mod base;
pub mod card;
mod contours;
mod corners;
mod cubics;
mod edges;
mod error;
mod fit;
mod grey_levels;
mod half_outline;
mod jpeg_end;
mod options;
mod picture;
mod plane;
mod regions;
mod smooth;
mod standing;
mod tracing;

pub use card::CardFault;
pub use error::TraceError;
pub use fit::Fitted;
pub use grey_levels::{Background, SeparateBy};
pub use half_outline::{Half, HalfOutline};
pub use options::{CardUse, Keep, Options, Scale};
pub use picture::{MOST_PIXELS, Picture};
pub use tracing::{CardReading, CrossedReading, Trace, UnlikelySize, trace};
