//! What a maker can count on, checked from outside the crate.

mod cakefile;
mod units;
