//! Runs one job so that a panic in it ends the job and not the thread.

use std::{
    any::Any,
    cell::Cell,
    panic::{AssertUnwindSafe, catch_unwind},
};

/// Why a job has no result.
#[derive(Debug, Clone, PartialEq)]
pub enum JobError<E> {
    /// The job refused what it was given.
    Failed(E),
    /// The job panicked: a defect of the program. What the panic said.
    Panicked(String),
}

thread_local! {
    /// Whether this thread is inside [`run`].
    static IN_JOB: Cell<bool> = const { Cell::new(false) };
}

/// Whether a panic on this thread belongs to a job, which catches it. The geometry runs on rayon's threads
/// too, and passes their panics on to the job.
pub fn is_running() -> bool {
    IN_JOB.get() || rayon::current_thread_index().is_some()
}

/// Runs `job`.
///
/// # Errors
/// The job's own error, or what it said when it panicked.
pub fn run<T, E>(job: impl FnOnce() -> Result<T, E>) -> Result<T, JobError<E>> {
    IN_JOB.set(true);
    // Jobs share nothing that they write to but what guards itself against a panic; the result is dropped.
    let done = catch_unwind(AssertUnwindSafe(job));
    IN_JOB.set(false);
    match done {
        Ok(result) => result.map_err(JobError::Failed),
        Err(panic) => Err(JobError::Panicked(message(panic.as_ref()))),
    }
}

fn message(panic: &(dyn Any + Send)) -> String {
    let text = panic.downcast_ref::<&str>().map(|text| (*text).to_owned());
    let text = text.or_else(|| panic.downcast_ref::<String>().cloned());
    text.unwrap_or_else(|| "no reason was given".into())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_panic_becomes_an_error_that_says_what_it_said() {
        let index = 3;
        let done: Result<(), JobError<String>> = run(|| panic!("index {index} is out of bounds"));
        assert_eq!(done, Err(JobError::Panicked("index 3 is out of bounds".into())));
        let done: Result<(), JobError<String>> = run(|| panic!("plain"));
        assert_eq!(done, Err(JobError::Panicked("plain".into())));
        assert!(!is_running());
        assert_eq!(run(|| Ok::<_, String>(is_running())), Ok(true));
        assert_eq!(run(|| Err::<(), _>("no")), Err(JobError::Failed("no")));
    }

    #[test]
    fn a_panic_on_another_thread_of_the_pool_is_caught_too() {
        use rayon::prelude::*;
        let done: Result<i32, JobError<String>> = run(|| {
            let doubled = (0..1000).into_par_iter().map(|i| if i == 777 { panic!("at {i}") } else { 2 * i });
            Ok(doubled.sum())
        });
        assert_eq!(done, Err(JobError::Panicked("at 777".into())));
    }
}
