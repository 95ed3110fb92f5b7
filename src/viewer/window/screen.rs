//! Whether there is a screen to open a window on, asked before the window library does, which would
//! give up without a word of help.

use crate::viewer::ViewerError;

/// Checks that a window can be opened.
///
/// # Errors
/// [`ViewerError::NoScreen`].
#[cfg(all(unix, not(target_os = "macos")))]
pub fn check() -> Result<(), ViewerError> {
    let set = |name: &str| std::env::var(name).ok().filter(|value| !value.is_empty());
    if cfg!(feature = "wayland") && set("WAYLAND_DISPLAY").is_some() {
        return Ok(());
    }
    let Some(display) = set("DISPLAY") else {
        return Err(ViewerError::NoScreen { reason: "DISPLAY is not set".into() });
    };
    match local_number(&display) {
        Some(number) if !answers(&number) => {
            Err(ViewerError::NoScreen { reason: format!("nothing answers at DISPLAY={display}") })
        }
        // A display on another machine is left to the window library.
        _ => Ok(()),
    }
}

/// Everywhere else there is a screen as long as anyone is logged in.
#[cfg(not(all(unix, not(target_os = "macos"))))]
pub fn check() -> Result<(), ViewerError> {
    Ok(())
}

/// The number of a display on this machine, as in `:1.0`.
#[cfg(all(unix, not(target_os = "macos")))]
fn local_number(display: &str) -> Option<String> {
    let rest = display.strip_prefix("unix").unwrap_or(display).strip_prefix(':')?;
    let number: String = rest.chars().take_while(char::is_ascii_digit).collect();
    (!number.is_empty()).then_some(number)
}

/// Whether an X server listens under this number (X Window System: sockets in `/tmp/.X11-unix`).
#[cfg(all(unix, not(target_os = "macos")))]
fn answers(number: &str) -> bool {
    let path = format!("/tmp/.X11-unix/X{number}");
    std::os::unix::net::UnixStream::connect(&path).is_ok() || answers_in_abstract(&path)
}

/// On Linux the socket may have a name only, and no file.
#[cfg(target_os = "linux")]
fn answers_in_abstract(path: &str) -> bool {
    use std::os::{
        linux::net::SocketAddrExt,
        unix::net::{SocketAddr, UnixStream},
    };
    SocketAddr::from_abstract_name(path).is_ok_and(|address| UnixStream::connect_addr(&address).is_ok())
}

/// Elsewhere it always has a file.
#[cfg(all(unix, not(any(target_os = "linux", target_os = "macos"))))]
fn answers_in_abstract(_: &str) -> bool {
    false
}

#[cfg(all(test, unix, not(target_os = "macos")))]
mod tests {
    use super::*;

    #[test]
    fn displays_are_told_apart() {
        assert_eq!(local_number(":0").as_deref(), Some("0"));
        assert_eq!(local_number("unix:12.1").as_deref(), Some("12"));
        assert_eq!(local_number("elsewhere:0"), None);
        assert!(!answers("60000"));
    }
}
