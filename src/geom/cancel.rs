//! Asking a long piece of work to stop.

use manifold_rust::cancel::CancelToken;

/// A request to stop, shared by all clones. Once made it is never taken back: new work takes a new one.
///
/// Work that takes one looks at it at least every 50 ms or so and, when asked to stop, either returns
/// [`Cancelled`] or breaks off with a result that its caller throws away: whoever hands out a result asks
/// [`Cancel::check`] last.
#[derive(Debug, Clone, Default)]
pub struct Cancel(CancelToken);

/// The work was asked to stop, and did.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("stopped before it was done")]
pub struct Cancelled;

impl Cancel {
    /// A request that nobody has made yet.
    pub fn new() -> Self {
        Self::default()
    }

    /// Asks all work that looks at this to stop.
    pub fn cancel(&self) {
        self.0.cancel();
    }

    /// Whether the work is to stop.
    pub fn is_cancelled(&self) -> bool {
        self.0.is_cancelled()
    }

    /// Goes on unless the work is to stop.
    ///
    /// # Errors
    /// [`Cancelled`] once [`Self::cancel`] was called.
    pub fn check(&self) -> Result<(), Cancelled> {
        if self.is_cancelled() { Err(Cancelled) } else { Ok(()) }
    }

    /// The same request as the boolean kernel takes it.
    pub(crate) fn token(&self) -> &CancelToken {
        &self.0
    }
}

/// Does work that takes a request to its end: nobody can make this one.
///
/// # Panics
/// When `work` makes the request itself.
pub fn uncancelled<T>(work: impl FnOnce(&Cancel) -> Result<T, Cancelled>) -> T {
    work(&Cancel::new()).expect("nobody else holds the request")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn clones_share_the_request() {
        let cancel = Cancel::new();
        let other = cancel.clone();
        assert_eq!(other.check(), Ok(()));
        cancel.cancel();
        assert_eq!(other.check(), Err(Cancelled));
        assert!(other.token().is_cancelled());
        assert_eq!(Cancel::new().check(), Ok(()));
    }
}
