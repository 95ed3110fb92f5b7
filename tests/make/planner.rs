//! A planner that remembers: what did not change is not made again, and what it gives is reported as what a new one
//! gives.

use std::{sync::Arc, thread, time::Duration};

use cakefile::{CakeFile, world::Memory};
use geom::Cancel;
use make::report::Report;
use plan::{Plan, PlanError, Planner, Quality, Source};
use proptest::prelude::*;

use crate::plans::{example_source, full};

/// The same source with one part of its text replaced; that part must be there once.
fn with(source: &Source, old: &str, new: &str) -> Source {
    let text = source.cake.text();
    assert_eq!(text.matches(old).count(), 1, "{old}");
    source.with_text(text.replace(old, new))
}

fn said(plan: &Plan) -> String {
    serde_json::to_string(&Report::new(plan)).unwrap()
}

/// Which of lines, coats, stack and carving are those of the plan before.
fn kept(before: &Plan, after: &Plan) -> [bool; 4] {
    [
        Arc::ptr_eq(&before.lines, &after.lines),
        Arc::ptr_eq(&before.bulk, &after.bulk),
        Arc::ptr_eq(&before.stack, &after.stack),
        Arc::ptr_eq(&before.carving, &after.carving),
    ]
}

#[test]
fn an_edit_makes_anew_only_what_hangs_on_it() {
    const CAKE: &str = r##"crumbline = 1
name = "test"
[shape.turned]
points = [[80, 0], [80, 90], [40, 120]]
[[covering]]
material = "rolled icing"
thickness = 3
colour = "#ffffff"
[[covering]]
material = "ganache"
thickness = 6
[[tier]]
name = "only"
[[tier.layer]]
pan = { round = 200 }
height = 60
[[tier.layer]]
pan = { round = 190 }
height = 61
[[detail]]
name = "door"
cut = "sponge"
box = { centre = [0, -75, 20], size = [30, 20, 40] }
[support]
room = "24 C"
"##;
    let file = CakeFile::from_text("test", "", CAKE);
    let source = Source::new(file, Arc::new(Memory::new()));
    let planner = Planner::new();
    let first = full(&planner, &source);
    for (what, old, new, expected) in [
        ("colour", "#ffffff", "#ff0000", [true, true, true, true]),
        ("room", "24 C", "21 C", [true, true, true, true]),
        ("name of the cake", "\"test\"", "\"other\"", [true, true, true, true]),
        ("height of a layer", "height = 61", "height = 65", [true, true, false, false]),
        ("detail", "[30, 20, 40]", "[30, 24, 40]", [true, false, true, false]),
        ("coat", "thickness = 6", "thickness = 5", [false, false, true, false]),
        ("shape", "[40, 120]", "[40, 121]", [false, false, true, false]),
    ] {
        let edited = with(&source, old, new);
        let next = full(&planner, &edited);
        assert_eq!(kept(&first, &next), expected, "{what}");
        assert_eq!(said(&next), said(&Plan::new(&edited).unwrap()), "{what}");
        // Undone: all of it is there still.
        assert_eq!(kept(&first, &full(&planner, &source)), [true; 4], "{what}, undone");
    }
}

/// A plan that was stopped at any moment leaves nothing wrong behind.
#[test]
fn a_plan_that_is_stopped_gives_nothing_and_spoils_nothing() {
    let source = example_source("sitting-hen");
    let expected = said(&Plan::new(&source).unwrap());
    let planner = Planner::new();
    let mut stopped = 0;
    for wait in [0, 5, 20, 60, 150, 300] {
        let cancel = Cancel::new();
        let result = thread::scope(|scope| {
            let plan = scope.spawn(|| planner.plan(&source, Quality::Full, &cancel));
            thread::sleep(Duration::from_millis(wait));
            cancel.cancel();
            plan.join().unwrap()
        });
        match result {
            Err(PlanError::Cancelled(_)) => stopped += 1,
            Err(error) => panic!("{error}"),
            Ok(plan) => assert_eq!(said(&plan), expected),
        }
    }
    assert!(stopped > 0, "the first was stopped before it began");
    assert_eq!(said(&full(&planner, &source)), expected);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(12))]

    /// Whatever is edited in whatever order: the planner that remembers and a new one say the same.
    #[test]
    fn what_is_remembered_is_what_is_made_anew(
        edits in prop::collection::vec((0usize..6, 1u32..40), 1..8)
    ) {
        let source = example_source("toadstool-house");
        let planner = Planner::new();
        let mut text = source.cake.text().to_owned();
        for (which, size) in edits {
            let key = ["thickness = ", "height = ", "[support]", "name = ", "colour = ", "room = "][which];
            // The value of the first such key is changed, if there is one that is a bare number.
            if let Some(at) = text.find(key) {
                let from = at + key.len();
                let number: String = text[from..].chars().take_while(|c| c.is_ascii_digit()).collect();
                if !number.is_empty() {
                    text.replace_range(from..from + number.len(), &size.to_string());
                }
            }
            let edited = source.with_text(text.clone());
            match (planner.plan(&edited, Quality::Full, &Cancel::new()), Plan::new(&edited)) {
                (Ok(a), Ok(b)) => prop_assert_eq!(said(&a), said(&b)),
                (Err(a), Err(b)) => prop_assert_eq!(a.to_string(), b.to_string()),
                (a, b) => prop_assert!(false, "{a:?} {b:?}"),
            }
        }
    }
}
