//! A search that is asked to stop, and one that says how far it is.

use std::{
    sync::Mutex,
    thread,
    time::{Duration, Instant},
};

use cakefile::CakeFile;
use geom::{Cancel, Cancelled, progress::Progress};
use plan::{PlanError, Planner};
use shop::arrange::{Aim, ArrangeError, Effort, propose, search};

use super::cases::cases;

#[test]
fn a_search_stops_when_it_is_asked_to() {
    let case = cases(1, 40).remove(0);
    let needs = case.needs();
    let cancel = Cancel::new();
    cancel.cancel();
    assert_eq!(search(&case.problem(&needs), Effort::default(), &cancel), Err(Cancelled));
}

/// Asked in the middle of a search that would take seconds, it ends at once.
#[test]
fn a_long_search_ends_soon_after_it_is_asked_to() {
    let mut case = cases(3, 140).remove(2);
    case.rules.step = 1.0;
    let needs = case.needs();
    let cancel = Cancel::new();
    let asked = thread::scope(|scope| {
        let asking = scope.spawn(|| {
            thread::sleep(Duration::from_millis(150));
            cancel.cancel();
            Instant::now()
        });
        let effort = Effort { first: 20_000, last: 1_000_000, comparisons: usize::MAX };
        let found = search(&case.problem(&needs), effort, &cancel);
        let ended = Instant::now();
        assert_eq!(found, Err(Cancelled), "the search was too short to be stopped");
        ended.saturating_duration_since(asking.join().unwrap())
    });
    // 50 ms are asked for; the machines that run this are busy.
    assert!(asked < Duration::from_millis(500), "{asked:?}");
}

/// Keeps what it hears.
#[derive(Default)]
struct Heard(Mutex<Vec<(String, u64, u64)>>);

impl Progress for Heard {
    fn start(&self, what: &str, steps: u64) {
        self.0.lock().unwrap().push((what.to_owned(), steps, 0));
    }

    fn step(&self, done: u64) {
        let mut heard = self.0.lock().unwrap();
        let last = heard.last_mut().unwrap();
        last.2 = last.2.max(done);
    }

    fn finish(&self) {}
}

const CAKE: &str = "crumbline = 1\nname = \"x\"\n[shape.turned]\npoints = [[80, 0], [70, 120]]\n[[covering]]\n\
                    material = \"ganache\"\nthickness = 5\n";

#[test]
fn every_search_and_every_plan_is_a_step() {
    let source = crate::plans::source(&CakeFile::from_text("x", "", CAKE));
    let heard = Heard::default();
    let found =
        propose(&Planner::new(), &source, &Aim::ALL, Effort::default(), &Cancel::new(), &heard).unwrap();
    let plans = found.proposals.len() as u64;
    assert_eq!(
        heard.0.into_inner().unwrap(),
        [("searching for stacks".into(), 4, 4), ("planning the stacks".into(), plans, plans)]
    );
    let cancel = Cancel::new();
    cancel.cancel();
    let stopped = propose(&Planner::new(), &source, &Aim::ALL, Effort::default(), &cancel, &Heard::default());
    assert!(matches!(stopped, Err(ArrangeError::Plan(PlanError::Cancelled(Cancelled)))));
}
