//! What went wrong while the window was open, kept to be told once it is closed.

use std::sync::{Arc, Mutex, PoisonError};

use bevy::prelude::Resource;

/// What went wrong, told by whoever noticed.
#[derive(Resource, Clone, Default)]
pub struct Complaint(Arc<Mutex<String>>);

impl Complaint {
    /// Notes `text` unless something was noted before: what comes first is the cause.
    pub fn note(&self, text: &str) {
        let mut noted = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        if noted.is_empty() {
            *noted = text.lines().next().unwrap_or_default().trim().to_owned();
        }
    }

    /// What was noted.
    pub fn take(&self) -> String {
        let text = std::mem::take(&mut *self.0.lock().unwrap_or_else(PoisonError::into_inner));
        if text.is_empty() { "it did not say why".into() } else { text }
    }
}

/// Does `work`. A driver that cannot be opened makes the renderer panic; that is kept from the terminal
/// and noted. `None` when that happened.
pub fn caught<T>(said: &Complaint, work: impl FnOnce() -> T) -> Option<T> {
    let before = std::panic::take_hook();
    let notes = said.clone();
    std::panic::set_hook(Box::new(move |panic| notes.note(panic.payload_as_str().unwrap_or_default())));
    let done = std::panic::catch_unwind(std::panic::AssertUnwindSafe(work));
    std::panic::set_hook(before);
    done.ok()
}
