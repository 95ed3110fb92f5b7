//! What a maker can count on, checked from outside the crate.

mod units;
