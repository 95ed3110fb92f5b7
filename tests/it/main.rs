//! What a maker can count on, checked from outside the crate.

mod cakefile;
mod cakefile_roundtrip;
mod svg;
mod units;
