//! One line of a bench: our time, that of a named reference measured in the same run, and a budget.

use std::time::{Duration, Instant};

/// Times of one kind of work, taken in turn so that a busy moment hits all of them alike.
const ROUNDS: usize = 9;

/// Prints the head of the table.
pub fn head() {
    println!(
        "{:<44} {:>10} {:>10} {:>7} {:>8}  verdict",
        "work vs reference", "ours", "reference", "ratio", "budget"
    );
}

/// Prints one line. The ratio is our time over the reference's; `budget` is the most it may be.
pub fn row(name: &str, ours: Duration, reference: Duration, budget: Option<f64>) {
    let ratio = ours.as_secs_f64() / reference.as_secs_f64();
    let (most, verdict) = match budget {
        Some(most) => (format!("≤ {most:.2}"), if ratio <= most { "met" } else { "not met" }),
        None => ("none".to_owned(), "for the record"),
    };
    println!(
        "{name:<44} {:>7.1} ms {:>7.1} ms {ratio:>7.3} {most:>8}  {verdict}",
        1e3 * ours.as_secs_f64(),
        1e3 * reference.as_secs_f64()
    );
}

/// Median times of several pieces of work, each done once to warm up and then [`ROUNDS`] times in turn.
pub fn medians<const N: usize>(mut works: [&mut dyn FnMut(); N]) -> [Duration; N] {
    let mut times = [const { Vec::new() }; N];
    for round in 0..=ROUNDS {
        for (work, times) in works.iter_mut().zip(&mut times) {
            let start = Instant::now();
            work();
            if round > 0 {
                times.push(start.elapsed());
            }
        }
    }
    times.map(|mut times| {
        times.sort_unstable();
        times[times.len() / 2]
    })
}
