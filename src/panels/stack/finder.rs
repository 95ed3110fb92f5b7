//! Looking for stacks beside the window, on a thread of its own.

use std::{
    panic::{AssertUnwindSafe, catch_unwind},
    sync::{Arc, Mutex, MutexGuard, PoisonError},
    thread,
};

use geom::{Cancel, progress::Progress};
use plan::{Planner, Source};
use shop::arrange::{Aim, Effort, propose};

use super::{Proposed, Search};

/// What is called when there is something new to show.
pub type Wake = Arc<dyn Fn() + Send + Sync>;

/// Looks for stacks, for the newest request only.
pub struct Finder {
    state: Arc<Mutex<Search>>,
    cancel: Cancel,
    wake: Wake,
}

impl Finder {
    /// Nothing is looked for yet.
    pub fn new(wake: Wake) -> Self {
        Self { state: Arc::default(), cancel: Cancel::new(), wake }
    }

    /// How far it is.
    pub fn state(&self) -> Search {
        lock(&self.state).clone()
    }

    /// Looks for stacks of the cake in `source`, instead of whatever is looked for now.
    pub fn start(&mut self, planner: Arc<Planner>, source: Source) {
        self.stop();
        let cancel = Cancel::new();
        self.cancel = cancel.clone();
        // A state of its own: what an older search still says is not heard.
        self.state = Arc::new(Mutex::new(Search::Running { what: "reading the cake".into(), done: 0.0 }));
        let said = Said { state: self.state.clone(), wake: self.wake.clone(), steps: Mutex::new(1) };
        thread::spawn(move || {
            let found = catch_unwind(AssertUnwindSafe(|| {
                propose(&planner, &source, &Aim::ALL, Effort::default(), &cancel, &said)
            }));
            if cancel.is_cancelled() {
                return;
            }
            let search = match found {
                Ok(Ok(found)) => Search::Found(Proposed::new(found, source.cake.text())),
                Ok(Err(error)) => Search::Failed(error.to_string()),
                Err(_) => Search::Failed(
                    "Internal error: the program is at fault, not the cake. It goes on; change the cake and try again."
                        .into(),
                ),
            };
            *lock(&said.state) = search;
            (said.wake)();
        });
    }

    /// Stops looking; what was found stays.
    pub fn stop(&mut self) {
        self.cancel.cancel();
        let mut state = lock(&self.state);
        if matches!(*state, Search::Running { .. }) {
            *state = Search::None;
        }
    }
}

impl Drop for Finder {
    fn drop(&mut self) {
        self.cancel.cancel();
    }
}

fn lock(state: &Mutex<Search>) -> MutexGuard<'_, Search> {
    // It is replaced in one step.
    state.lock().unwrap_or_else(PoisonError::into_inner)
}

/// Tells how far the search is.
struct Said {
    state: Arc<Mutex<Search>>,
    wake: Wake,
    steps: Mutex<u64>,
}

impl Said {
    fn say(&self, change: impl FnOnce(&mut String, &mut f32)) {
        if let Search::Running { what, done } = &mut *lock(&self.state) {
            change(what, done);
        }
        (self.wake)();
    }
}

impl Progress for Said {
    fn start(&self, name: &str, steps: u64) {
        *self.steps.lock().unwrap_or_else(PoisonError::into_inner) = steps.max(1);
        self.say(|what, done| (*what, *done) = (name.to_owned(), 0.0));
    }

    fn step(&self, step: u64) {
        let steps = *self.steps.lock().unwrap_or_else(PoisonError::into_inner);
        self.say(|_, done| *done = step as f32 / steps as f32);
    }

    fn finish(&self) {}
}

#[cfg(test)]
mod tests {
    use super::*;
    use cakefile::{CakeFile, world::Memory};
    use std::time::{Duration, Instant};

    fn source(text: &str) -> Source {
        Source::new(CakeFile::from_text("cake", "", text), Arc::new(Memory::new()))
    }

    const DRUM: &str = "crumbline = 2\nname = \"Drum\"\n[board]\nround = 300\nthickness = 12\n[shape.turned]\n\
                        points = [[90, 0], [90, 100], [0, 100]]\n";

    fn found(finder: &Finder) -> Search {
        let start = Instant::now();
        loop {
            match finder.state() {
                Search::Running { .. } if start.elapsed() < Duration::from_secs(60) => {
                    thread::sleep(Duration::from_millis(10));
                }
                state => return state,
            }
        }
    }

    #[test]
    fn a_stack_that_is_found_is_one_that_the_plan_takes() {
        let mut finder = Finder::new(Arc::new(|| ()));
        finder.start(Arc::new(Planner::new()), source(DRUM));
        let Search::Found(found) = found(&finder) else { panic!("{:?}", finder.state()) };
        let best = &found.proposals.proposals[0];
        let document = cakefile::edit::Document::from_text("cake", DRUM);
        let text = document.apply(&best.edit).unwrap().document.text().to_owned();
        let plan = plan::Plan::new(&source(&text)).unwrap();
        assert!(!plan.has_errors(), "{:?}", plan.findings);
    }

    #[test]
    fn what_is_stopped_says_nothing_and_what_is_wrong_is_told() {
        let mut finder = Finder::new(Arc::new(|| ()));
        finder.start(Arc::new(Planner::new()), source(DRUM));
        finder.stop();
        assert!(matches!(finder.state(), Search::None));
        finder.start(Arc::new(Planner::new()), source("crumbline = 2\nname = \"None\"\n"));
        assert!(matches!(found(&finder), Search::Failed(_)));
    }
}
