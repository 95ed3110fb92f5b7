//! What the program does as a whole, run as a maker runs it, and what holds for the repository; the members' own
//! promises are in the folders beside this one.

// Checks may use the standard library's functions: they allow for the last digits.
#![allow(clippy::disallowed_methods)]

#[path = "../common/any_cake/mod.rs"]
mod any_cake;
#[path = "../common/cakes.rs"]
mod cakes;
#[path = "../common/cameras.rs"]
mod cameras;
#[path = "../common/exercise.rs"]
mod exercise;
#[path = "../common/files.rs"]
mod files;
#[path = "../common/fixtures.rs"]
mod fixtures;
#[path = "../common/folders.rs"]
mod folders;
#[path = "../common/meshes.rs"]
mod meshes;
#[path = "../common/models.rs"]
mod models;
#[path = "../common/orders_text.rs"]
mod orders_text;
#[path = "../common/photographs.rs"]
mod photographs;
#[path = "../common/pictures.rs"]
mod pictures;
#[path = "../common/plans.rs"]
mod plans;
#[path = "../common/reference.rs"]
mod reference;
#[path = "../common/repository.rs"]
mod repository;
#[path = "../common/support.rs"]
mod support;

mod any_cake_runs;
mod architecture;
mod faults;
mod files_kit;
mod files_lost;
mod files_read;
mod files_text;
mod interrupt;
mod kit;
mod log;
mod orders;
mod orders_refused;
mod package;
mod progress;
mod reference_today;
mod report;
mod same_everywhere;
mod share;
mod share_page;
mod stack;
mod trace;
mod version;
mod words;
