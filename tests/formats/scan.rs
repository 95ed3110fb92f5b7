//! Client models: every format gives the same solid, messy ones are repaired, bad ones refused.

mod bad;
mod bounds;
mod exported;
mod formats;
mod fuzz;
mod models;
mod outside;
mod repairing;
