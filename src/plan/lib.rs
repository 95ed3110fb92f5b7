//! From a cake file to a plan, in one call: [`Plan::new`].
//!
//! ```text
//! cake file ─► design ─► lines ─► stack ─► carve ─┬─► support ─► findings ─► plan
//!            (what the  (finished, (raw    (kept,  │  (stands,
//!             maker      coated,    layers) offcut, │   travels)
//!             wants)     carved)            shortfall)
//! ```

pub mod carve;
pub mod design;
pub mod findings;
pub mod lines;
pub mod outline;
pub mod pantry;
mod planner;
pub mod stack;
pub mod support;

pub use planner::*;
