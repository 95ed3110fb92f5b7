//! What a maker can count on, checked from outside the crate, one module a promise.

mod cakefile;
mod cakefile_roundtrip;
mod export;
mod svg;
mod units;
