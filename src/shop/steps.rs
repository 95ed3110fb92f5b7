//! Steps of a piece of work that are done side by side.

use std::sync::atomic::{AtomicU64, Ordering};

use geom::progress::Progress;

/// Counts steps that are done side by side.
pub struct Steps<'a> {
    progress: &'a dyn Progress,
    done: AtomicU64,
}

impl<'a> Steps<'a> {
    /// `count` steps of the work that is called `what`.
    pub fn new(progress: &'a dyn Progress, what: &str, count: u64) -> Self {
        progress.start(what, count);
        Self { progress, done: AtomicU64::new(0) }
    }

    /// One more step is done.
    pub fn done_one(&self) {
        self.progress.step(self.done.fetch_add(1, Ordering::Relaxed) + 1);
    }
}
