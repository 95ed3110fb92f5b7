//! Cake files: what the member `cakefile` promises, one module a promise.

// Checks may use the standard library's functions: they allow for the last digits.
#![allow(clippy::disallowed_methods)]

#[path = "../common/files.rs"]
mod files;
#[path = "../common/repository.rs"]
mod repository;

mod reading;
mod roundtrip;
mod units;
mod upgrade;
mod world;
