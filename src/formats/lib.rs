//! Meshes, drawings and pages: what is read from files of others, and what is written.
//!
//! Knows parts, lines and words, but no cakes: [`scan`] reads a client's model into a closed solid, [`export`]
//! writes solids, drawings and pictures, each set of files atomically.

// Checks may use the standard library's functions: they allow for the last digits.
#![cfg_attr(test, allow(clippy::disallowed_methods))]

pub mod colour;
pub mod drawing;
pub mod escape;
pub mod export;
pub mod model;
pub mod scan;
pub mod text;
pub mod tint;
