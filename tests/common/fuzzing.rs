//! Tests that change files at random go on for as long as one asks.

// The tests of each member use their part of it.
#![allow(dead_code)]

use std::time::{Duration, Instant};

use proptest::{prelude::*, test_runner::TestRunner};

/// Tries `few` cases, or as many as it takes for the minutes that `CRUMBLINE_FUZZ_MINUTES` says.
///
/// # Panics
/// With the smallest case found for which `test` fails.
pub fn tried_for_long<S: Strategy>(
    few: u32,
    cases: &S,
    test: impl Fn(S::Value) -> Result<(), TestCaseError>,
) {
    let minutes: Option<f64> =
        std::env::var("CRUMBLINE_FUZZ_MINUTES").ok().and_then(|text| text.parse().ok());
    let end = minutes.map(|minutes| Instant::now() + Duration::from_secs_f64(60.0 * minutes));
    let config = ProptestConfig { cases: few, failure_persistence: None, ..ProptestConfig::default() };
    let mut tried = 0_u64;
    loop {
        // A runner that has run through does nothing more.
        if let Err(error) = TestRunner::new(config.clone()).run(cases, &test) {
            panic!("{error}");
        }
        tried += u64::from(few);
        if end.is_none_or(|end| Instant::now() > end) {
            println!("{tried} cases");
            return;
        }
    }
}
