//! What is made of a plan: solids, printed tools, templates and the report.

pub mod kit;
pub mod proof;
pub mod report;
pub mod sheets;
pub mod solids;
