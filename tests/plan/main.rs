//! From a cake file to a plan: what the member `plan` promises, one module a promise.

// Checks may use the standard library's functions: they allow for the last digits.
#![allow(clippy::disallowed_methods)]

#[path = "../common/cakes.rs"]
mod cakes;
#[path = "../common/changes.rs"]
mod changes;
#[path = "../common/detailed.rs"]
mod detailed;
#[path = "../common/files.rs"]
mod files;
#[path = "../common/fuzzing.rs"]
mod fuzzing;
#[path = "../common/photographs.rs"]
mod photographs;
#[path = "../common/pictures.rs"]
mod pictures;
#[path = "../common/plans.rs"]
mod plans;
#[path = "../common/random_cakes.rs"]
mod random_cakes;
#[path = "../common/reference.rs"]
mod reference;
#[path = "../common/repository.rs"]
mod repository;
#[path = "../common/support.rs"]
mod support;
#[path = "../common/teapot_bowl.rs"]
mod teapot_bowl;

mod carving;
mod crossed;
mod details;
mod figures;
mod finishes;
mod fuzz;
mod icing;
mod large;
mod letters;
mod lines;
mod models;
mod outlines;
mod outside;
mod photographed;
mod photographed_at_random;
mod pieces;
mod planner;
mod properties;
mod repeats;
mod rolls;
mod stack;
mod standing;
mod svg;
mod teapot;
mod traced;
mod volumes;
mod zones;
