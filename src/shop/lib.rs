//! What to bake, buy and charge: the best stack of the pans that are there, amounts, prices, times, many orders.

// Checks may use the standard library's functions: they allow for the last digits.
#![cfg_attr(test, allow(clippy::disallowed_methods))]

pub mod amounts;
pub mod arrange;
pub mod batch;
pub mod maker_look;
pub mod order_check;
pub mod overview;
pub mod quote;
pub mod scale;
pub mod serve;
pub mod share;
mod spreadsheet;
mod steps;
pub mod timetable;
mod words;
pub mod work;
