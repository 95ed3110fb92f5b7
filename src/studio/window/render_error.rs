//! The first error of the renderer while the window is open, told once it is closed.

use std::{
    panic,
    sync::{Arc, Mutex, PoisonError},
};

use bevy::prelude::Resource;

use super::worker::job;

/// The first error of the renderer, written by whichever thread meets it.
#[derive(Resource, Clone, Default)]
pub struct RenderErrorLog(Arc<Mutex<String>>);

impl RenderErrorLog {
    /// Keeps `text` as one line, unless an error was recorded before: the first one is the cause.
    pub fn record(&self, text: &str) {
        /// No longer reason is read, characters.
        const MOST: usize = 400;
        let mut first = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        if first.is_empty() {
            // What went wrong stands on the last of several lines.
            let lines = text.lines().map(str::trim).filter(|line| !line.is_empty() && *line != "Caused by:");
            *first = lines.collect::<Vec<_>>().join(": ").chars().take(MOST).collect();
        }
    }

    /// The error.
    pub fn take(&self) -> String {
        let text = std::mem::take(&mut *self.0.lock().unwrap_or_else(PoisonError::into_inner));
        if text.is_empty() { "it did not say why".into() } else { text }
    }
}

/// Does `work`; `None` when it panicked. A driver that cannot be opened makes the renderer panic: that is
/// recorded instead of printed. Panics of a worker's jobs are none of the renderer's; they are printed as
/// usual.
pub fn catch_panic<T>(log: &RenderErrorLog, work: impl FnOnce() -> T) -> Option<T> {
    let before = Arc::new(panic::take_hook());
    let (usual, record) = (before.clone(), log.clone());
    panic::set_hook(Box::new(move |info| {
        if job::is_running() {
            usual(info);
        } else {
            record.record(info.payload_as_str().unwrap_or_default());
        }
    }));
    let done = panic::catch_unwind(panic::AssertUnwindSafe(work));
    panic::set_hook(Box::new(move |info| before(info)));
    done.ok()
}
