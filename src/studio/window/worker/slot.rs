//! The slot between the window and one worker thread: it holds the newest request only.

use std::{
    sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError},
    time::{Duration, Instant},
};

use geom::Cancel;

/// Holds the newest request for one worker thread. A newer request replaces one that was not begun and
/// cancels the one that is running, so that work does not queue up.
pub struct RequestSlot<T> {
    state: Mutex<SlotState<T>>,
    changed: Condvar,
    /// A running request younger than this is let finish.
    grace: Duration,
}

struct SlotState<T> {
    next: Option<T>,
    running: Option<Running>,
    closed: bool,
}

struct Running {
    cancel: Cancel,
    since: Instant,
}

impl<T> RequestSlot<T> {
    /// An empty slot. A newer request cancels the running one unless that began less than `grace` ago:
    /// requests that follow each other faster than they are worked on would otherwise never have a result.
    pub fn new(grace: Duration) -> Arc<Self> {
        let state = SlotState { next: None, running: None, closed: false };
        Arc::new(Self { state: Mutex::new(state), changed: Condvar::new(), grace })
    }

    /// Puts a request in.
    pub fn request(&self, request: T) {
        let mut state = self.lock();
        state.next = Some(request);
        if let Some(running) = &state.running
            && running.since.elapsed() >= self.grace
        {
            running.cancel.cancel();
        }
        self.changed.notify_all();
    }

    /// Waits until there is a request, without taking it; `false` once the slot is closed.
    pub fn wait(&self) -> bool {
        let mut state = self.lock();
        while state.next.is_none() && !state.closed {
            state = self.changed.wait(state).unwrap_or_else(PoisonError::into_inner);
        }
        !state.closed
    }

    /// Waits for a request and begins it; `None` once the slot is closed.
    pub fn begin(&self) -> Option<(T, Cancel)> {
        while self.wait() {
            let mut state = self.lock();
            // Nobody else takes requests, but the slot may have been closed meanwhile.
            if let Some(request) = state.next.take() {
                let cancel = Cancel::new();
                state.running = Some(Running { cancel: cancel.clone(), since: Instant::now() });
                return Some((request, cancel));
            }
        }
        None
    }

    /// Ends the running request; whether its result is still wanted.
    pub fn finish(&self) -> bool {
        let running = self.lock().running.take();
        running.is_some_and(|running| !running.cancel.is_cancelled())
    }

    /// Cancels the running request and one that was not begun.
    pub fn cancel(&self) {
        let mut state = self.lock();
        state.next = None;
        if let Some(running) = &state.running {
            running.cancel.cancel();
        }
    }

    /// Cancels the running request and accepts no more: the thread that works on the slot ends.
    pub fn close(&self) {
        let mut state = self.lock();
        state.closed = true;
        if let Some(running) = &state.running {
            running.cancel.cancel();
        }
        self.changed.notify_all();
    }

    /// No code that can panic runs under the lock, so that what it guards is whole even if it is poisoned.
    fn lock(&self) -> MutexGuard<'_, SlotState<T>> {
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_the_newest_request_is_begun() {
        let slot = RequestSlot::new(Duration::ZERO);
        for request in 1..=3 {
            slot.request(request);
        }
        let (request, cancel) = slot.begin().unwrap();
        assert_eq!(request, 3);
        assert!(!cancel.is_cancelled());
        assert!(slot.finish());
        slot.close();
        assert!(slot.begin().is_none());
    }

    #[test]
    fn a_newer_request_cancels_the_running_one() {
        let slot = RequestSlot::new(Duration::ZERO);
        slot.request("old");
        let (_, cancel) = slot.begin().unwrap();
        slot.request("new");
        assert!(cancel.is_cancelled());
        assert!(!slot.finish(), "the result of a cancelled request is wanted");
        let (request, cancel) = slot.begin().unwrap();
        assert!(request == "new" && !cancel.is_cancelled());
    }

    #[test]
    fn a_request_that_has_just_begun_may_finish() {
        let slot = RequestSlot::new(Duration::from_secs(3600));
        slot.request(1);
        let (_, cancel) = slot.begin().unwrap();
        slot.request(2);
        assert!(!cancel.is_cancelled());
        assert!(slot.finish());
        assert_eq!(slot.begin().unwrap().0, 2);
    }

    #[test]
    fn what_is_cancelled_is_neither_begun_nor_wanted() {
        let slot = RequestSlot::new(Duration::from_secs(3600));
        slot.request(1);
        let (_, cancel) = slot.begin().unwrap();
        slot.request(2);
        slot.cancel();
        assert!(cancel.is_cancelled() && !slot.finish());
        slot.request(3);
        assert_eq!(slot.begin().unwrap().0, 3);
    }

    #[test]
    fn closing_cancels_what_runs() {
        let slot = RequestSlot::new(Duration::from_secs(3600));
        slot.request(());
        let ((), cancel) = slot.begin().unwrap();
        slot.close();
        assert!(cancel.is_cancelled() && !slot.wait());
    }
}
