//! What the window says when there is no new picture: each message names what it is about.

use super::{state::WindowState, worker::JobError};
use crate::ViewerError;

/// A message over the picture.
#[derive(Debug, Clone, PartialEq)]
pub struct Problem {
    /// What it is about, in one line.
    pub title: String,
    /// What is wrong, and what to do.
    pub text: String,
}

/// Everything that keeps the picture from being the newest one, that of the file first.
pub fn problems(state: &WindowState) -> Vec<Problem> {
    let stale = if state.cake.is_some() { "; this is the last good picture" } else { "" };
    let load = state.load_error.as_ref().map(|error| match error {
        JobError::Failed(error) => {
            Problem { title: format!("The cake file has a problem{stale}"), text: error.message.clone() }
        }
        JobError::Panicked(said) => internal(&format!("The cake could not be planned{stale}"), said),
    });
    let stale = if state.pieces.is_empty() { "" } else { "; this is the last good one" };
    let scene = state.scene_error.as_ref().map(|error| match error {
        JobError::Failed(ViewerError::AllHidden) => Problem {
            title: "Nothing is shown: all parts are switched off".into(),
            text: "Switch a part on in the panel.".into(),
        },
        JobError::Failed(error) => {
            Problem { title: format!("There is no picture of this{stale}"), text: error.to_string() }
        }
        JobError::Panicked(said) => internal(&format!("The picture could not be made{stale}"), said),
    });
    load.into_iter().chain(scene).collect()
}

fn internal(title: &str, said: &str) -> Problem {
    Problem { title: title.into(), text: internal_error(said) }
}

/// What is said where the program is at fault.
pub fn internal_error(said: &str) -> String {
    format!(
        "Internal error: the program is at fault, not the cake. It goes on; change the file or press F5 to try again. \
         To report it, send the cake file and this line:\n{said}"
    )
}
