//! Plans carved cakes.
//!
//! A cake file goes in; a carve plan, a picture, printable tools and client files come out:
//!
//! ```text
//! cake file ──► shape ──► lines ──► stack ──► carving ──┬─► report
//!                                                       ├─► model ──► export, viewer
//! ```
//!
//! Data flows from left to right and each arrow is one pure function; nothing on the right is named
//! by anything on its left. Lengths are millimetres, angles degrees, masses grams, all `f64`; z is up,
//! the front faces −y, and the origin is the middle of the presentation board's top.

#![warn(missing_docs)]

pub mod cakefile;
pub mod cli;
pub mod export;
pub mod geom;
pub mod model;
pub mod outline;
pub mod progress;
pub mod units;
#[cfg(feature = "viewer")]
pub mod viewer;
