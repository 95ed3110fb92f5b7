//! What is made of a plan: what the member `make` promises, one module a promise.

// Checks may use the standard library's functions: they allow for the last digits.
#![allow(clippy::disallowed_methods)]

#[path = "../common/cakes.rs"]
mod cakes;
#[path = "../common/cameras.rs"]
mod cameras;
#[path = "../common/detailed.rs"]
mod detailed;
#[path = "../common/files.rs"]
mod files;
#[path = "../common/fixtures.rs"]
mod fixtures;
#[path = "../common/language_words.rs"]
mod language_words;
#[path = "../common/photographs.rs"]
mod photographs;
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

mod between;
mod board;
mod crossed;
mod details;
mod kit;
mod masses;
mod outside;
mod planner;
mod properties;
mod report;
mod scale_card;
mod sheets;
mod solids;
mod volumes;
mod waste;
mod zones;

use formats::model::Model;

/// Panics unless every part of `model` bounds a solid.
#[track_caller]
fn assert_all_solid(model: &Model) {
    for part in &model.parts {
        if let Err(defect) = part.mesh.check() {
            panic!("\"{}\" ({:?}) is no solid: {defect}", part.name, part.kind);
        }
    }
}
