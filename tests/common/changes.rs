//! Files with bytes changed, taken out and put in: readers may refuse them, but neither stop the program nor take
//! for ever.
//!
//! A few hundred of each run with every test; `CRUMBLINE_FUZZ_MINUTES=10` goes on for ten minutes with each.

// The tests of each member use their part of it.
#![allow(dead_code)]

use std::time::{Duration, Instant};

use proptest::{collection::vec, prelude::*};

use crate::fuzzing::tried_for_long;

/// A change to a file: where, as a part of its length, and what.
#[derive(Debug, Clone)]
enum Change {
    Set(f64, u8),
    Flip(f64, u8),
    Cut(f64, f64),
    Repeat(f64, f64),
    Insert(f64, Vec<u8>),
}

fn change() -> impl Strategy<Value = Change> {
    prop_oneof![
        (0.0..1.0, any::<u8>()).prop_map(|(at, byte)| Change::Set(at, byte)),
        (0.0..1.0, 0..8_u8).prop_map(|(at, bit)| Change::Flip(at, bit)),
        (0.0..1.0, 0.0..0.3).prop_map(|(at, part)| Change::Cut(at, part)),
        (0.0..1.0, 0.0..0.2).prop_map(|(at, part)| Change::Repeat(at, part)),
        (0.0..1.0, vec(any::<u8>(), 1..6)).prop_map(|(at, bytes)| Change::Insert(at, bytes)),
    ]
}

fn changed(seed: &[u8], changes: &[Change]) -> Vec<u8> {
    let mut bytes = seed.to_vec();
    for change in changes {
        if bytes.is_empty() {
            break;
        }
        let place = |at: f64| ((at * bytes.len() as f64) as usize).min(bytes.len() - 1);
        match change {
            Change::Set(at, byte) => {
                let at = place(*at);
                bytes[at] = *byte;
            }
            Change::Flip(at, bit) => {
                let at = place(*at);
                bytes[at] ^= 1 << bit;
            }
            Change::Cut(at, part) => {
                let (from, to) = (place(*at), place(at + part));
                bytes.drain(from..to);
            }
            Change::Repeat(at, part) => {
                let (from, to) = (place(*at), place(at + part));
                let again = bytes[from..to].to_vec();
                bytes.splice(from..from, again);
            }
            Change::Insert(at, new) => {
                let at = place(*at);
                bytes.splice(at..at, new.iter().copied());
            }
        }
    }
    bytes
}

/// How many are tried at a time.
const CASES: u32 = 300;

/// Tries changed copies of the seeds.
pub fn fuzz(seeds: &[Vec<u8>], read: impl Fn(&[u8]) -> bool) {
    // What is changed goes all the way as long as it is not: or nothing past the reader would be tried.
    assert!(!seeds.is_empty() && seeds.iter().all(|seed| read(seed)));
    let cases = (0..seeds.len(), vec(change(), 1..6));
    tried_for_long(CASES, &cases, |(seed, changes)| {
        let start = Instant::now();
        read(&changed(&seeds[seed], &changes));
        // Far above what any of these takes, even where everything is slow.
        prop_assert!(start.elapsed() < Duration::from_secs(30), "this takes for ever");
        Ok(())
    });
}
