//! Shapes and lengths: what the member `geom` promises, one module a promise.

// Checks may use the standard library's functions: they allow for the last digits.
#![allow(clippy::disallowed_methods)]

#[path = "../common/cameras.rs"]
mod cameras;
#[path = "../common/changes.rs"]
mod changes;
#[path = "../common/fuzzing.rs"]
mod fuzzing;
#[path = "../common/meshes.rs"]
mod meshes;
#[path = "../common/photographs.rs"]
mod photographs;
#[path = "../common/pictures.rs"]
mod pictures;
#[path = "../common/reference.rs"]
mod reference;
#[path = "../common/repository.rs"]
mod repository;
#[path = "../common/support.rs"]
mod support;
#[path = "../common/teapot_bowl.rs"]
mod teapot_bowl;

mod depths;
mod geometry;
mod trace;
mod units;
