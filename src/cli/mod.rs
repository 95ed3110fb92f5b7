//! The command line.

pub mod interrupt;
pub mod progress;
