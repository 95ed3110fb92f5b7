//! Pure geometry: no cakes, no files.
//!
//! Conventions, stated once: millimetres, `f64`, right-handed, z up, the front faces −y. Bearings are
//! degrees counter-clockwise seen from above with 0 at the front. Outer contours and outward faces run
//! counter-clockwise. A half outline lives in the (radius, height) half-plane with radius ≥ 0.
//! Curves become straight pieces by an allowed chord error, never by a fixed count.

mod apart;
pub mod axis;
mod bay;
pub mod cancel;
mod caps;
pub mod contour;
pub mod crossing;
mod depths;
pub mod develop;
pub mod hull;
mod levels;
pub mod loft;
pub mod mesh;
mod moments;
mod parts;
pub mod progress;
mod rebuild;
pub mod region;
pub mod revolve;
#[cfg(test)]
mod samples;
mod slices;
mod solid;
pub mod stitch;
pub mod sweep;
pub mod terraces;
mod tolerance;
mod tower;
pub mod trace;
pub mod units;
mod values;
pub mod wedge;

pub use bay::{Bay, Inner, Run};
pub use cancel::{Cancel, Cancelled, uncancelled};
pub use depths::Tree;
pub use depths::{Depths, Nearest};
pub use hull::Hull;
pub use mesh::{MassProperties, MeshDefect, TriMesh};
pub use moments::Moments;
pub use rebuild::NotRebuilt;
pub use region::Region;
pub use solid::{NotSolid, Solid};
pub use terraces::Terraces;
pub use tolerance::Tolerance;
