//! Plans carved cakes: a cake file goes in; a carve plan, pictures, printable tools and client files come out.
//!
//! ```text
//! Source ──────► Planner ─► Plan ─┬─► solids ─► export (STL, OBJ), studio (pictures, the window)
//! (cake file,                     ├─► kit, sheets (printed tools, templates, cutting sheet)
//!  pantry, files)                 ├─► report
//!    ▲                            └─► amounts, quote, timetable, batch
//!    └── Edit ◄── proposals for a stack, scaling, fixes of findings
//! ```
//!
//! From the text of a cake to a plan and a solid to print:
//!
//! ```
//! use std::sync::Arc;
//! use crumbline::{CakeFile, Memory, Plan, Source, export::stl, solids};
//!
//! let text = r#"
//! crumbline = 1
//! name = "Drum"
//! unit = "cm"
//! [shape.turned]
//! points = [[9, 0], [9, 12]]
//! [[covering]]
//! material = "ganache"
//! thickness = 1
//! [[tier]]
//! name = "only"
//! [[tier.layer]]
//! pan = { round = 20 }
//! height = 11
//! "#;
//! let cake = CakeFile::from_text("drum.cake.toml", "", text);
//! let plan = Plan::new(&Source::new(cake, Arc::new(Memory::new())))?;
//! assert!(!plan.has_errors());
//!
//! // The knife takes a cylinder of radius 8 cm, 11 cm high, out of a cake of radius 10 cm (closed form).
//! let kept_ml = plan.carving.slabs[0].volumes.kept / 1000.0;
//! assert!((kept_ml / (std::f64::consts::PI * 8.0 * 8.0 * 11.0) - 1.0).abs() < 1e-3);
//!
//! let lines = solids::lines_model(&plan, plan.design.tool)?;
//! let carved = lines.parts.iter().find(|part| part.name == "carved").expect("every cake has one");
//! carved.mesh.check()?; // closed, oriented, of positive volume
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! With the feature `viewer` the same plan gives a picture: `Studio::open()?.picture(&model, &options)`.
//!
//! Lengths are millimetres, angles degrees, masses grams, all `f64`; z is up, the front faces −y, and the
//! origin is the middle of the presentation board's top.
//!
//! | member | what is in it |
//! |---|---|
//! | [`geom`] | shapes and lengths: regions, meshes, offset surfaces, traced outlines, units |
//! | [`cakefile`] | the file that a maker writes: read, checked, edited, undone |
//! | [`mod@formats`] | files of others: models read, solids, drawings and pages written |
//! | [`mod@plan`] | what happens to the cake: lines, stack, carving, support, findings |
//! | [`mod@make`] | what is made of a plan: solids, printed tools, templates, the report |
//! | [`mod@shop`] | what to bake, buy and charge, and when |
//! | `studio` | pictures and the window; the only one that knows Bevy |
//! | [`cli`] | the command line |

// Checks may use the standard library's functions: they allow for the last digits.
#![cfg_attr(test, allow(clippy::disallowed_methods))]

pub mod cli;

pub use cakefile::{
    CakeFile, CakeFileError, Diagnostic, FieldPath, Severity,
    edit::{Document, Edit, History},
    world::{Disk, Memory, World},
};
pub use geom::{Cancel, Tolerance};
pub use plan::{Plan, PlanError, Planner, Quality, Source};

pub use cakefile;
pub use formats::{self, drawing, export, model, scan};
pub use geom::{self, progress, trace, units};
pub use make::{self, kit, report, sheets, solids, trace_overlay};
pub use plan::{self, carve, design, findings, fix, lines, outline, pantry, stack, support};
pub use shop::{self, amounts, arrange, batch, quote, scale, timetable};
#[cfg(feature = "viewer")]
pub use studio as viewer;
