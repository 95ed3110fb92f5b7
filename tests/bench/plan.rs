//! How long a maker waits for the plan of a real cake, process start to report, and how much memory it takes.
//!
//! `cargo bench --no-default-features --bench plan`. The reference is the budget itself: 50 ms, 80 MB.

// Checks may use the standard library's functions: they allow for the last digits.
#![allow(clippy::disallowed_methods)]

#[allow(missing_docs, dead_code)]
mod row;

use std::{path::Path, process::Command, time::Duration};

use row::{head, medians, row};

const TIME: Duration = Duration::from_millis(50);
const MEMORY_KB: u64 = 80_000;

fn main() {
    let example = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("assets/examples/toadstool-house/toadstool-house.cake.toml");
    head();
    let [whole] = medians([&mut || {
        let output = Command::new(env!("CARGO_BIN_EXE_crumbline")).arg("plan").arg(&example).output();
        assert!(output.expect("the program runs").status.code().is_some_and(|code| code < 2));
    }]);
    row("plan of the toadstool house vs 50 ms", whole, TIME, Some(1.0));
    match peak_memory(&example) {
        Some(kb) => {
            let verdict = if kb <= MEMORY_KB { "met" } else { "not met" };
            println!("peak memory {kb} kB, budget {MEMORY_KB} kB: {verdict}");
        }
        None => println!("peak memory not measured: GNU time is not at hand"),
    }
}

/// The most memory that the process held, as GNU time tells it.
fn peak_memory(cake: &Path) -> Option<u64> {
    let output = Command::new("/usr/bin/time")
        .args(["-f", "%M"])
        .args([Path::new(env!("CARGO_BIN_EXE_crumbline")), Path::new("plan"), cake])
        .output()
        .ok()?;
    String::from_utf8(output.stderr).ok()?.lines().last()?.trim().parse().ok()
}
