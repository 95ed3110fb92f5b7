//! What to bake, buy and charge: the best stack of the pans that are there, amounts, prices, times, many orders.

pub mod amounts;
pub mod arrange;
pub mod batch;
pub mod quote;
pub mod scale;
pub mod timetable;
