//! Pure geometry: no cakes, no files.
//!
//! Conventions, stated once: millimetres, `f64`, right-handed, z up, the front faces −y. Bearings are
//! degrees counter-clockwise seen from above with 0 at the front. Outer contours and outward faces run
//! counter-clockwise. A half outline lives in the (radius, height) half-plane with radius ≥ 0.
//! Curves become straight pieces by an allowed chord error, never by a fixed count.

// Checks may use the standard library's functions: they allow for the last digits.
#![cfg_attr(test, allow(clippy::disallowed_methods))]

pub mod axis;
mod bearing;
mod bounding_cylinder;
mod bvh;
pub mod cancel;
mod caps;
pub mod chain;
mod closed_surfaces;
mod columns;
mod components;
pub mod contour;
pub mod crossing;
pub mod develop;
mod distance_field;
pub mod flat;
mod homography;
pub mod hull;
mod layered;
pub mod loft;
mod meridians;
pub mod mesh;
mod moments;
pub mod progress;
mod ray;
pub mod real;
pub mod region;
pub mod revolve;
pub mod rope;
mod ruled;
mod scalar_field;
mod section;
mod sector;
mod self_intersection;
mod slices;
mod solid;
pub mod stepped_plate;
pub mod stitching;
pub mod sweep;
#[cfg(test)]
mod test_cancelling;
#[cfg(test)]
mod test_regions;
mod tolerance;
pub mod trace;
mod triangle;
mod tube;
mod union_tree;
mod united;
pub mod units;
pub mod wedge;
mod wide_bvh;

pub use bearing::{BearingRange, bearing_difference};
pub use bvh::Bvh;
pub use cancel::{Cancel, Cancelled, uncancelled};
pub use columns::Column;
pub use distance_field::{DistanceField, Nearest};
pub use homography::Homography;
pub use hull::Hull;
pub use layered::LayeredMesh;
pub use meridians::MeridianRange;
pub use mesh::{MassProperties, MeshDefect, TriMesh};
pub use moments::Moments;
pub use region::Region;
pub use sector::{ClosingFaces, Sector};
pub use self_intersection::NotResolved;
pub use solid::{NotSolid, Solid, SolidError};
pub use stepped_plate::SteppedPlate;
pub use tolerance::Tolerance;
pub use united::{MostCrossings, NotUnited};
