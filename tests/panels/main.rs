//! The panels by the names of their controls, as a screen reader tells them (AccessKit), and by keyboard alone.

// Checks may use the standard library's functions: they allow for the last digits.
#![allow(clippy::disallowed_methods)]

mod beginners;
mod bench;
mod every_control;
mod forms;
mod keeping;
mod laying;
mod pictures;
mod sessions;
mod steps;
