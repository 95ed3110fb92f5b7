//! Files of others: what the member `formats` promises, one module a promise.

// Checks may use the standard library's functions: they allow for the last digits.
#![allow(clippy::disallowed_methods)]

#[path = "../common/folders.rs"]
mod folders;
#[path = "../common/fuzzing.rs"]
mod fuzzing;
#[path = "../common/meshes.rs"]
mod meshes;
#[path = "../common/models.rs"]
mod models;
#[path = "../common/reference.rs"]
mod reference;
#[path = "../common/repository.rs"]
mod repository;
#[path = "../common/support.rs"]
mod support;

mod escape;
mod export;
mod scan;
