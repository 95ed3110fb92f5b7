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

// Checks may use the standard library's functions: they allow for the last digits.
#![cfg_attr(test, allow(clippy::disallowed_methods))]

pub mod cli;

pub use cakefile;
pub use formats::{drawing, export, model, scan};
pub use geom::{self, progress, trace, units};
pub use make::{kit, proof, report, sheets, solids};
pub use plan::{self, carve, design, findings, fix, lines, outline, pantry, stack, support};
pub use shop::{amounts, arrange, batch, quote, scale, timetable};
#[cfg(feature = "viewer")]
pub use studio as viewer;
