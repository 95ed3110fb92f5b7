//! Client models: every format gives the same solid, messy ones are mended, bad ones refused.

mod bad;
mod bounds;
mod exported;
mod formats;
mod fuzz;
mod mending;
mod models;
mod outside;
