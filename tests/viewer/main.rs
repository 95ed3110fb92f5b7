//! Pictures and the window: what a maker and a client can count on seeing.
//!
//! Every picture that is drawn here for looking at lies in the target folder's `tmp`.

// Checks may use the standard library's functions: they allow for the last digits.
#![allow(clippy::disallowed_methods)]

#[path = "../common/any_cake/mod.rs"]
mod any_cake;
mod big;
mod client_page;
mod colours;
mod expected;
mod golden;
mod light;
mod loads;
mod looks;
mod missing;
mod offcut;
#[path = "../common/pictures.rs"]
mod pictures;
#[path = "../common/reference.rs"]
mod reference;
#[path = "../common/repository.rs"]
mod repository;
mod same_plan;
#[cfg(target_os = "linux")]
mod screen;
mod shaders;
mod sitting;
mod staging;
mod toadstool;
mod truth;
#[cfg(target_os = "linux")]
mod window;
