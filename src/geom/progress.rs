//! Reports of progress from a long piece of work to whoever asked for it.

/// Receives reports of progress. The work may send them from several threads.
pub trait Progress: Sync {
    /// A piece of work begins: what it is, in a few words ("checking solids"), and how many steps it
    /// takes. It replaces one that was not finished.
    fn start(&self, what: &str, steps: u64);
    /// `done` steps of the present work are done, counted from its start.
    fn step(&self, done: u64);
    /// The present work is over.
    fn finish(&self);
}

/// Ignores all reports.
#[derive(Debug, Clone, Copy, Default)]
pub struct NoProgress;

impl Progress for NoProgress {
    fn start(&self, _what: &str, _steps: u64) {}
    fn step(&self, _done: u64) {}
    fn finish(&self) {}
}
