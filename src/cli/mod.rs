//! The command line: flags in, one resolved job, files and text out. Holds no geometry of its own.
//!
//! Exit codes: 0 the cake is sound, 1 the plan found an error in the cake, 2 a wrong command, a wrong
//! file or something that could not be written, 3 a fault of the program itself, 130 broken off: with Ctrl-C, by closing the terminal, or because the
//! system asks the program to end.

mod args;
pub mod cake;
mod card;
mod check;
pub mod error;
mod export;
pub mod fault;
pub mod interrupt;
mod job;
mod kit;
mod language;
mod lists;
mod log;
#[cfg(feature = "viewer")]
mod look;
mod made_from;
mod order;
mod output;
pub mod progress;
pub mod run;
mod share;
mod shell_files;
mod stack;
mod talk;
mod trace;
mod upgrade;
mod version;

use std::{ffi::OsString, path::Path, process::ExitCode};

use clap::Parser;

/// The words of a command line, with the command that a double-click leaves out: the program alone opens the window, and
/// so does a cake file as its only word.
fn words(given: impl IntoIterator<Item = OsString>) -> Vec<OsString> {
    let mut words: Vec<OsString> = given.into_iter().collect();
    let is_cake = |word: &OsString| {
        word.to_string_lossy().to_lowercase().ends_with(".toml") && Path::new(word).is_file()
    };
    let opens = words.len() == 1 || (words.len() == 2 && is_cake(&words[1]));
    if cfg!(feature = "viewer") && opens {
        words.insert(1, "view".into());
    }
    words
}

/// Reads the command line of this process, does what it says, and gives the exit code.
pub fn main() -> ExitCode {
    #[cfg(all(feature = "viewer", target_os = "linux"))]
    studio::expect_no_session();
    let words = words(std::env::args_os());
    let args = args::Args::parse_from(&words);
    // Without a handler Ctrl-C still ends the program; it only leaves scratch files behind.
    let _ = interrupt::install();
    talk::set(args.talk());
    let job = args.command.job();
    if let Some(Err(error)) = args.log.as_deref().map(|file| log::begin(file, job.command, &words)) {
        error.show();
        return ExitCode::from(error::WRONG);
    }
    let code = talk::timed(job.command, || fault::guarded(args.command.job(), || run::run(&args)));
    log::line(&format!("ended with exit code {code}"));
    ExitCode::from(code)
}

#[cfg(all(test, feature = "viewer"))]
mod tests {
    use super::*;

    #[test]
    fn the_program_alone_and_a_cake_file_alone_open_the_window() {
        let folder = tempfile::tempdir().unwrap();
        let cake = folder.path().join("a.cake.toml");
        std::fs::write(&cake, "crumbline = 2").unwrap();
        let given = |words: &[&str]| words.iter().map(OsString::from).collect::<Vec<_>>();
        let cake = cake.to_str().unwrap();
        assert_eq!(words(given(&["crumbline"])), given(&["crumbline", "view"]));
        assert_eq!(words(given(&["crumbline", cake])), given(&["crumbline", "view", cake]));
        for other in
            [&["crumbline", "plan"][..], &["crumbline", "missing.cake.toml"], &["crumbline", "plan", cake]]
        {
            assert_eq!(words(given(other)), given(other));
        }
    }
}
