//! Ctrl-C, a closed terminal, the system's request to end (SIGINT, SIGHUP and SIGTERM; on Windows the console's events):
//! nothing half-written stays behind.

use formats::export::files::abandon_all;

/// What the program ends with when it is broken off: 128 and the number of the interrupt signal, as shells
/// have it.
pub const EXIT_CODE: i32 = 130;

/// From now on whatever breaks the program off removes every unfinished file and ends it with [`EXIT_CODE`].
///
/// # Errors
/// When the system refuses a handler, or there is one already.
pub fn install() -> Result<(), ctrlc::Error> {
    ctrlc::set_handler(|| {
        // Held until the end, so that no other thread begins a new file.
        let _abandoned = abandon_all();
        super::log::line("broken off");
        std::process::exit(EXIT_CODE);
    })
}
