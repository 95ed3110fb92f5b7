//! What a maker can count on, checked from outside the crate, one module a promise.

mod between;
mod cakefile;
mod cakefile_roundtrip;
mod carving;
mod crossed;
mod depths;
mod export;
mod geometry;
mod kit;
mod lines;
mod outlines;
mod outside;
mod properties;
mod reference;
mod report;
mod scan;
mod sheets;
mod stack;
mod standing;
mod support;
mod svg;
mod trace;
mod trims;
mod units;
