//! Plans carved cakes.
//!
//! A cake file goes in; a carve plan, a picture, printable tools and client files come out:
//!
//! ```text
//! cakefile ─► design ─► lines ─► stack ─► carve ─► findings ─► plan ─┬─► report
//!   (text)    (what the  (finished, (raw     (kept,   (what to          ├─► solids ─► model ─► export
//!              maker      coated,    layers)  offcut,   mend)           │                   └► viewer
//!              wants)     carved)             shortfall)                ├─► kit (printed tools)
//!                                                                       └─► cli on top
//! ```
//!
//! Data flows from left to right and each arrow is one pure function; nothing on the right is named
//! by anything on its left. Lengths are millimetres, angles degrees, masses grams, all `f64`; z is up,
//! the front faces −y, and the origin is the middle of the presentation board's top.

#![warn(missing_docs)]

pub mod amounts;
pub mod arrange;
pub mod batch;
pub mod cakefile;
pub mod carve;
pub mod cli;
pub mod design;
pub mod drawing;
pub mod export;
pub mod findings;
pub mod geom;
pub mod kit;
pub mod lines;
pub mod model;
pub mod outline;
pub mod pantry;
pub mod plan;
pub mod progress;
pub mod proof;
pub mod quote;
pub mod report;
pub mod scale;
pub mod scan;
pub mod sheets;
pub mod solids;
pub mod stack;
pub mod support;
pub mod timetable;
pub mod trace;
pub mod units;
#[cfg(feature = "viewer")]
pub mod viewer;
