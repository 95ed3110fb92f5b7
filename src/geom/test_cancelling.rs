//! Whether work stops when asked to.

use std::{fmt::Debug, thread, time::Instant};

use super::Cancel;

/// Runs `work` to its end, which `complete` looks at; then again, and asks it to stop from another thread after a
/// quarter of the time that it took: it must fail, and soon: in less than a further quarter, or 100 ms where that is
/// more. As other work on the machine may hold it up, one of a few attempts must succeed.
pub fn assert_stops<T: Send, E: Debug + Send>(
    work: impl Fn(&Cancel) -> Result<T, E> + Sync,
    complete: impl FnOnce(&T),
) {
    const ATTEMPTS: u32 = 5;
    let start = Instant::now();
    let result = work(&Cancel::new()).expect("nobody asked it to stop");
    let full = start.elapsed();
    complete(&result);
    let mut told = String::new();
    for _ in 0..ATTEMPTS {
        let cancel = Cancel::new();
        let (stopped, delay) = thread::scope(|scope| {
            let worker = scope.spawn(|| (work(&cancel).is_err(), Instant::now()));
            thread::sleep(full / 4);
            cancel.cancel();
            let asked = Instant::now();
            let (stopped, end) = worker.join().expect("no panic");
            (stopped, end.saturating_duration_since(asked))
        });
        if stopped && delay < (full / 4).max(std::time::Duration::from_millis(100)).min(full / 2) {
            return;
        }
        told = format!("of {full:?} it went on for {delay:?}, stopped: {stopped}");
    }
    panic!("{told}");
}
