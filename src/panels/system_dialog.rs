//! The system's own dialog for choosing a file. It is open beside the window, which goes on.

use std::{
    path::{Path, PathBuf},
    time::{Duration, Instant},
};

use crate::{
    beside::{Beside, NoResult},
    stack::Wake,
};

/// What is asked.
pub struct Question<'a> {
    /// What stands above it.
    pub title: &'a str,
    /// The folder that is shown first.
    pub folder: &'a Path,
    /// The name that a file to be written has at first.
    pub name: &'a str,
    /// How the names of files that can be chosen end, each with its dot.
    pub endings: &'a [String],
    /// Whether a file is to be written.
    pub is_writing: bool,
}

/// A dialog that was opened.
#[derive(Debug, Clone)]
pub struct SystemDialog(Beside<Answer>);

/// What was chosen, and how long that took.
type Answer = (Option<PathBuf>, Duration);

/// What a dialog told.
#[derive(Debug, Clone, PartialEq)]
pub enum Told {
    /// Nothing yet.
    Nothing,
    /// No file was chosen.
    Cancelled,
    /// There is no such dialog on this system.
    NotThere,
    /// This file.
    File(PathBuf),
}

/// Sooner than this nobody closes a dialog: it was never there. The libraries do not tell one from the other.
const SOONER_THAN_ANYBODY: Duration = Duration::from_millis(400);

impl SystemDialog {
    /// Opens a dialog; `wake` is called once it is answered.
    pub fn open(question: &Question<'_>, wake: &Wake) -> Self {
        let endings: Vec<&str> =
            question.endings.iter().map(|ending| ending.trim_start_matches('.')).collect();
        let dialog = rfd::AsyncFileDialog::new()
            .set_title(question.title)
            .set_directory(question.folder)
            .add_filter(endings.join(", "), &endings);
        let begun = Instant::now();
        // Made on this thread, as some systems ask for, and waited for on another.
        let answer = if question.is_writing {
            let chosen = dialog.set_file_name(question.name).save_file();
            Beside::start(Some(wake), move || waited(chosen, begun))
        } else {
            let chosen = dialog.pick_file();
            Beside::start(Some(wake), move || waited(chosen, begun))
        };
        Self(answer)
    }

    /// What it told by now.
    pub fn told(&self) -> Told {
        told(self.0.result())
    }
}

fn waited(chosen: impl Future<Output = Option<rfd::FileHandle>>, begun: Instant) -> Answer {
    (pollster::block_on(chosen).map(PathBuf::from), begun.elapsed())
}

fn told(answer: Result<Answer, NoResult>) -> Told {
    match answer {
        Err(NoResult::Waiting) => Told::Nothing,
        Ok((Some(file), _)) => Told::File(file),
        Ok((None, after)) if after > SOONER_THAN_ANYBODY => Told::Cancelled,
        Ok((None, _)) | Err(NoResult::Gone) => Told::NotThere,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_dialog_that_is_gone_at_once_was_never_there() {
        let (soon, late) = (Duration::from_millis(20), Duration::from_secs(2));
        assert_eq!(told(Err(NoResult::Waiting)), Told::Nothing);
        assert_eq!(told(Ok((None, soon))), Told::NotThere);
        assert_eq!(told(Ok((None, late))), Told::Cancelled);
        assert_eq!(told(Ok((Some("a".into()), soon))), Told::File("a".into()));
        assert_eq!(told(Err(NoResult::Gone)), Told::NotThere);
    }
}
