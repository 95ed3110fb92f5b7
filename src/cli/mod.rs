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
pub mod fault;
pub mod interrupt;
mod job;
mod kit;
mod lists;
#[cfg(feature = "viewer")]
mod look;
mod made_from;
mod order;
mod output;
pub mod progress;
pub mod run;
mod stack;
mod talk;
mod trace;
mod upgrade;

use std::process::ExitCode;

use clap::Parser;

/// Reads the command line of this process, does what it says, and gives the exit code.
pub fn main() -> ExitCode {
    #[cfg(all(feature = "viewer", target_os = "linux"))]
    studio::expect_no_session();
    let args = args::Args::parse();
    // Without a handler Ctrl-C still ends the program; it only leaves scratch files behind.
    let _ = interrupt::install();
    talk::set(args.talk());
    let job = args.command.job();
    ExitCode::from(talk::timed(job.command, || fault::guarded(args.command.job(), || run::run(&args))))
}
