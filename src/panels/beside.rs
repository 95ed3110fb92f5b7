//! Something that is worked out beside the window.

use std::{
    sync::{
        Arc, Mutex, PoisonError,
        mpsc::{Receiver, TryRecvError, channel},
    },
    thread,
};

use crate::stack::Wake;

/// Something that is worked out on a thread, or was at once.
#[derive(Debug, Clone)]
pub struct Beside<T>(Arc<Mutex<Receiver<T>>>);

/// Why there is no result.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoResult {
    /// It is not worked out yet.
    Waiting,
    /// The thread ended without one, or it was taken already.
    Gone,
}

impl<T: Send + 'static> Beside<T> {
    /// Works it out on a thread and calls `wake` then; without one at once.
    pub fn start(wake: Option<&Wake>, work: impl FnOnce() -> T + Send + 'static) -> Self {
        let (send, result) = channel();
        match wake.cloned() {
            Some(wake) => {
                thread::spawn(move || {
                    // Where nobody waits any more nothing is said.
                    let _ = send.send(work());
                    wake();
                });
            }
            None => {
                let _ = send.send(work());
            }
        }
        Self(Arc::new(result.into()))
    }

    /// What came of it, once.
    ///
    /// # Errors
    /// While it is not known, and where it never will be.
    pub fn result(&self) -> Result<T, NoResult> {
        let result = self.0.lock().unwrap_or_else(PoisonError::into_inner).try_recv();
        result.map_err(|error| match error {
            TryRecvError::Empty => NoResult::Waiting,
            TryRecvError::Disconnected => NoResult::Gone,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::time::{Duration, Instant};

    #[test]
    fn a_result_is_taken_once_and_a_panic_is_no_result() {
        let at_once = Beside::start(None, || 3);
        assert_eq!((at_once.result(), at_once.result()), (Ok(3), Err(NoResult::Gone)));
        let wake: Wake = Arc::new(|| ());
        let panics: Beside<i32> = Beside::start(Some(&wake), || panic!("on purpose"));
        let start = Instant::now();
        while panics.result() == Err(NoResult::Waiting) {
            assert!(start.elapsed() < Duration::from_secs(10), "it never ends");
        }
        assert_eq!(panics.result(), Err(NoResult::Gone));
    }
}
