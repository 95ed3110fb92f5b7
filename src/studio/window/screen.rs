//! Why no window could be opened, in words.

use crate::ViewerError;

/// How the window library begins when it finds no screen.
const NO_SCREEN: &str = "Failed to build event loop";

/// The error for this panic message of the window library; `None` if a screen is not what it lacks.
pub fn missing(message: &str) -> Option<ViewerError> {
    message.starts_with(NO_SCREEN).then(|| ViewerError::NoScreen { reason: reason() })
}

/// What is known about the screen.
#[cfg(all(unix, not(target_os = "macos")))]
fn reason() -> String {
    let set = |name: &str| std::env::var(name).ok().filter(|value| !value.is_empty());
    match set("DISPLAY") {
        Some(display) => format!("nothing answers at DISPLAY={display}"),
        None => "DISPLAY is not set".to_owned(),
    }
}

/// Elsewhere there is a screen as long as anyone is logged in.
#[cfg(not(all(unix, not(target_os = "macos"))))]
fn reason() -> String {
    "nobody is logged in at one".to_owned()
}
