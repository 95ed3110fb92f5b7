//! What is made of a plan: solids, printed tools, templates and the report.

// Checks may use the standard library's functions: they allow for the last digits.
#![cfg_attr(test, allow(clippy::disallowed_methods))]

pub mod icing;
pub mod kit;
pub mod language;
pub mod overview;
pub mod report;
pub mod rolled;
pub mod scale_card;
pub mod shared_name;
pub mod sheets;
pub mod solids;
pub mod trace_overlay;
