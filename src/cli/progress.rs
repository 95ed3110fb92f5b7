//! Progress bars for a terminal.

use std::sync::{LazyLock, Mutex, PoisonError};

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

use super::{log, talk};
use geom::progress::Progress;

/// What a bar says: "checking solids ━━━━━───── 5/12, 8s left".
const LOOK: &str = "{msg} {bar:30} {human_pos}/{human_len}, {eta} left";

/// Shows one bar at a time on standard error, and nothing at all when that is not a terminal.
#[derive(Debug, Default)]
pub struct ProgressBars {
    present: Mutex<Option<ProgressBar>>,
    /// Told in lines as well, to whoever started the program: what is done, and in how many steps.
    lines: Mutex<(String, u64)>,
}

/// Whether progress is told in lines on standard error: the window asks for that when it starts the program.
fn tells_lines() -> bool {
    static LINES: LazyLock<bool> = LazyLock::new(|| std::env::var_os("CRUMBLINE_PROGRESS").is_some());
    *LINES
}

impl ProgressBars {
    /// No bar yet.
    pub fn new() -> Self {
        Self::default()
    }

    /// One line: "progress", what is done, how many steps are done, and how many there are, with tabs between.
    fn tell_line(&self, done: u64) {
        if tells_lines() {
            let (what, steps) = &*self.lines.lock().unwrap_or_else(PoisonError::into_inner);
            anstream::eprintln!("progress\t{what}\t{done}\t{steps}");
        }
    }

    fn with_present(&self, act: impl FnOnce(&mut Option<ProgressBar>)) {
        // A bar may be out of date after a panic elsewhere, never broken.
        act(&mut self.present.lock().unwrap_or_else(PoisonError::into_inner));
    }
}

impl Progress for ProgressBars {
    fn start(&self, what: &str, steps: u64) {
        *self.lines.lock().unwrap_or_else(PoisonError::into_inner) = (what.to_owned(), steps);
        self.tell_line(0);
        log::line(&format!("{what} ({steps})"));
        let style = ProgressStyle::with_template(LOOK).expect("the template is well formed");
        let target =
            if talk::is_quiet() { ProgressDrawTarget::hidden() } else { ProgressDrawTarget::stderr() };
        // indicatif draws nothing where standard error is not a terminal.
        let bar = ProgressBar::with_draw_target(Some(steps), target);
        let bar = bar.with_style(style.progress_chars("━━─")).with_message(what.to_owned());
        self.with_present(|present| {
            if let Some(unfinished) = present.replace(bar) {
                unfinished.finish_and_clear();
            }
        });
    }

    fn step(&self, done: u64) {
        self.tell_line(done);
        self.with_present(|present| {
            if let Some(bar) = present {
                bar.set_position(done);
            }
        });
    }

    fn finish(&self) {
        self.with_present(|present| {
            if let Some(bar) = present.take() {
                bar.finish_and_clear();
            }
        });
    }
}

impl Drop for ProgressBars {
    fn drop(&mut self) {
        self.finish();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_bar_at_a_time_whose_steps_count_from_its_start() {
        let bars = ProgressBars::new();
        bars.step(3);
        bars.start("first", 10);
        bars.step(4);
        bars.start("second", 5);
        bars.step(2);
        bars.with_present(|present| {
            let bar = present.as_ref().expect("a bar is shown");
            assert_eq!((bar.position(), bar.length(), bar.message()), (2, Some(5), "second".to_owned()));
        });
        bars.finish();
        bars.with_present(|present| assert!(present.is_none()));
    }
}
