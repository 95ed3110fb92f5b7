//! What a maker can count on, checked from outside the crate, one module a promise.

// Checks may use the standard library's functions: they allow for the last digits.
#![allow(clippy::disallowed_methods)]

mod amounts;
mod architecture;
mod arrange;
mod between;
mod cakefile;
mod cakefile_roundtrip;
mod carving;
mod crossed;
mod depths;
mod export;
mod fuzzing;
mod geometry;
mod kit;
mod lines;
mod orders;
mod orders_refused;
mod outlines;
mod outside;
mod planner;
mod properties;
mod reference;
mod report;
mod same_everywhere;
mod scan;
mod sheets;
mod solids;
mod stack;
mod standing;
mod support;
mod svg;
mod trace;
mod trims;
mod units;
mod volumes;

use std::{path::Path, sync::Arc};

use crumbline::{
    cakefile::{
        CakeFile, CakeFileError,
        world::{Disk, World},
    },
    plan::{Plan, PlanError, Source},
};

/// The files on disk.
fn disk() -> Arc<dyn World> {
    Arc::new(Disk::new())
}

/// What the command line would plan `file` from if there were no pantry beside it.
fn source(file: &CakeFile) -> Source {
    Source::new(file.clone(), disk())
}

/// The plan of `file`, made from the pantry that comes with the program.
fn planned(file: &CakeFile) -> Result<Plan, PlanError> {
    Plan::new(&source(file))
}

/// The cake file at `path`.
fn read(path: impl AsRef<Path>) -> Result<CakeFile, CakeFileError> {
    CakeFile::read(&disk(), path)
}
