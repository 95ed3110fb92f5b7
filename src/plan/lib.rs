//! From a cake file to a plan: [`Plan::new`] once, [`Planner`] again and again.
//!
//! ```text
//! cake file ─► design ─► lines ─► stack ─► carve ─┬─► support ─► findings ─► plan
//!            (what the  (finished, (raw    (kept,  │  (stands,
//!             maker      coated,    layers) offcut, │   travels)
//!             wants)     carved)            shortfall)
//! ```

// Checks may use the standard library's functions: they allow for the last digits.
#![cfg_attr(test, allow(clippy::disallowed_methods))]

pub mod carve;
pub mod design;
pub mod extent;
pub mod findings;
pub mod finishes;
pub mod fix;
pub mod icing;
pub mod lines;
mod memo;
pub mod offer;
pub mod outline;
pub mod pantry;
mod plan;
mod planner;
pub mod rolls;
mod source;
pub mod stack;
pub mod support;
pub mod zones;

pub use plan::{Plan, PlanError};
pub use planner::{Planner, Quality, Understood, nothing_left};
pub use source::{PANTRY_BESIDE, Source, pantry_file, shared_pantry};
