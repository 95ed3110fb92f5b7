//! STL: the surface as loose triangles, for printers and scanners.
//!
//! Binary files are written; binary and ASCII files are read. Layout (STL binary format, polytechnic
//! Industrial Centre; kaitai stl.ksy): a header of 80 bytes that does not begin with "solid", the number
//! of facets, and 50 bytes a facet: normal and three corners as `f32`, and an attribute of two bytes, 0.
//! Everything little-endian. Corners run counter-clockwise seen from outside, and the normal points out
//! (Burns, Automated Fabrication, section 6.5). STL has no unit; ours are millimetres, z up, said in the
//! header.

mod read;
mod write;

pub use read::{StlError, read};
pub use write::write;

/// Bytes before the first facet: the header, and the number of facets.
const PREAMBLE: usize = 84;

/// Bytes of one facet.
const FACET: usize = 50;
