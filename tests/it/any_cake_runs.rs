//! Valid cakes of every kind, each put through everything that the program makes.

use std::collections::BTreeMap;
use std::path::Path;
use std::time::Instant;

use proptest::{
    prelude::*,
    strategy::ValueTree,
    test_runner::{Config, FileFailurePersistence, RngSeed, TestRng, TestRunner},
};

use crate::{
    any_cake::{AnyCake, any_tape},
    exercise::{Outcome, exercise, times},
};

/// Few cases, since each is a whole cake, and the same ones every time; `PROPTEST_CASES` asks for more, and for others.
fn config() -> ProptestConfig {
    let default = ProptestConfig::default();
    let asked = std::env::var_os("PROPTEST_CASES").is_some();
    let seeds = FileFailurePersistence::WithSource("proptest-regressions");
    ProptestConfig {
        cases: if asked { default.cases } else { 60 },
        rng_seed: if asked { default.rng_seed } else { RngSeed::Fixed(27) },
        failure_persistence: Some(Box::new(seeds)),
        ..default
    }
}

proptest! {
    #![proptest_config(config())]

    #[test]
    fn everything_is_made_of_any_cake(tape in any_tape()) {
        let cake = AnyCake::drawn(&tape);
        if let Err(fault) = exercise(&cake) {
            // The smallest that fails is written last, over the others.
            kept(&cake, "smallest");
            return Err(TestCaseError::fail(format!("{fault:?}\n{}", cake.text())));
        }
    }
}

/// Leaves the files of a cake in a folder of this name, in that which `CRUMBLINE_FAULTS` names, if it names one.
fn kept(cake: &AnyCake, name: &str) {
    if let Some(folder) = std::env::var_os("CRUMBLINE_FAULTS") {
        let own = Path::new(&folder).join(name);
        std::fs::create_dir_all(&own).and_then(|()| cake.write(&own)).expect("a folder to write to");
    }
}

/// As many cakes as `CRUMBLINE_CAKES` asks for, from number `CRUMBLINE_FROM` of the seed `CRUMBLINE_SEED` on: counts what
/// was refused, what failed and how long it took, and leaves what failed, or has a command that takes longer than 20 s, in the folder that
/// `CRUMBLINE_FAULTS` names. For hours, not for CI.
#[test]
fn many_cakes() {
    let number = |key: &str| std::env::var(key).ok().and_then(|text| text.parse::<u64>().ok());
    let Some(count) = number("CRUMBLINE_CAKES") else { return };
    let seed = number("CRUMBLINE_SEED").unwrap_or(1);
    std::panic::set_hook(Box::new(|_| ()));
    let (mut refused, mut faults) = (BTreeMap::<String, u32>::new(), BTreeMap::<String, u32>::new());
    let (mut made, mut slow, mut slowest) = (0, 0, (0.0, 0));
    let from = number("CRUMBLINE_FROM").unwrap_or(0);
    for case in from..from + count {
        let mut bytes = [0; 32];
        bytes[..8].copy_from_slice(&seed.to_le_bytes());
        bytes[8..16].copy_from_slice(&case.to_le_bytes());
        let rng = TestRng::from_seed(proptest::test_runner::RngAlgorithm::ChaCha, &bytes);
        let mut runner = TestRunner::new_with_rng(Config::default(), rng);
        let tape = any_tape().new_tree(&mut runner).expect("a tape").current();
        let cake = AnyCake::drawn(&tape);
        let start = Instant::now();
        let outcome = exercise(&cake);
        let seconds = start.elapsed().as_secs_f64();
        if seconds > slowest.0 {
            slowest = (seconds, case);
        }
        let name = format!("{seed}-{case}");
        // A command plans, and then makes one of the things.
        let each = times();
        let of = |what: &str| {
            each.iter().find(|(doing, _)| *doing == what).map_or(0.0, |(_, time)| time.as_secs_f64())
        };
        let longest = each.iter().map(|(_, time)| time.as_secs_f64()).fold(0.0, f64::max) + of("planning");
        if longest > 20.0 {
            slow += 1;
            println!("case {case}: one command takes {longest:.1} s: {each:?}");
            kept(&cake, &name);
        }
        match outcome {
            Ok(Outcome::Made) => made += 1,
            Ok(Outcome::Refused(why)) => *refused.entry(why.chars().take(160).collect()).or_default() += 1,
            Err(fault) => {
                let what: String = format!("{}: {}", fault.doing, fault.what).chars().take(300).collect();
                println!("case {case}: {what}");
                kept(&cake, &name);
                *faults.entry(what).or_default() += 1;
            }
        }
    }
    println!(
        "{made} made, {} refused, {} failed of {count}, {slow} with a command over 20 s; all of the slowest {slowest:?}",
        refused.values().sum::<u32>(),
        faults.values().sum::<u32>()
    );
    let mut refused: Vec<_> = refused.into_iter().collect();
    refused.sort_by_key(|(_, count)| std::cmp::Reverse(*count));
    refused.iter().take(40).for_each(|(why, count)| println!("refused {count}: {why}"));
    let _ = std::panic::take_hook();
    assert!(faults.is_empty(), "{faults:#?}");
}
