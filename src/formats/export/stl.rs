//! STL: the surface as loose triangles, for printers and scanners.
//!
//! Binary files are written; binary and ASCII files are read. Layout (STL binary format, polytechnic
//! Industrial Centre; kaitai stl.ksy): a header of 80 bytes that does not begin with "solid", the number
//! of facets, and 50 bytes a facet: normal and three corners as `f32`, and an attribute of two bytes, 0.
//! Everything little-endian. Corners run counter-clockwise seen from outside, and the normal points out
//! (Burns, Automated Fabrication, section 6.5). STL has no unit; ours are millimetres, z up, said in the
//! header.
//!
//! Why not `stl_io` 0.11 throughout (`tests/bench/stl.rs`, 1 M triangles, two busy cores): its binary reader
//! takes 2.4 times as long as ours, cannot tell a wrong count from a cut file, takes a binary file that
//! begins with "solid " for ASCII, and reads not-a-number without a word. Its writer, fed with facets made
//! beforehand, takes as long as ours does from the `f64` mesh on with every check, and leaves the header
//! empty. Its ASCII reader is careful and is the one used here; ours adds the cleaning up before it and the
//! welding after it.

mod read;
mod write;

pub use read::{StlError, read};
pub use write::write;

/// Bytes before the first facet: the header, and the number of facets.
const PREAMBLE: usize = 84;

/// Bytes of one facet.
const FACET: usize = 50;
