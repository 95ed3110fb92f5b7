//! Why no window could be opened, in words.

use crate::ViewerError;

/// How the window library begins when it finds no screen.
const NO_SCREEN: &str = "Failed to build event loop";

/// The error to tell when the window library gave up with this text; `None` if a screen was not what it
/// missed.
pub fn missing(said: &str) -> Option<ViewerError> {
    said.starts_with(NO_SCREEN).then(|| ViewerError::NoScreen { reason: reason() })
}

/// What is known of the screen that was looked for.
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
