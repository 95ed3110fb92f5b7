//! How much a command says on standard error beside its errors.

use std::{
    path::Path,
    sync::{
        Arc,
        atomic::{AtomicU8, Ordering},
    },
    time::Instant,
};

use cakefile::world::{Content, FileBytes, World};

use super::{
    error::{print_error, tell},
    log,
};

/// How much is said.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Talk {
    /// Errors alone.
    Quiet,
    /// Progress and notes.
    Usual,
    /// Also each file that is read, and how long the command took.
    Verbose,
}

/// Set once, before a command begins.
static TALK: AtomicU8 = AtomicU8::new(Talk::Usual as u8);

/// Settles how much is said.
pub fn set(talk: Talk) {
    TALK.store(talk as u8, Ordering::Relaxed);
}

/// Whether nothing but errors is said.
pub fn is_quiet() -> bool {
    TALK.load(Ordering::Relaxed) == Talk::Quiet as u8
}

fn is_verbose() -> bool {
    TALK.load(Ordering::Relaxed) == Talk::Verbose as u8
}

/// Says something that is no error, unless nothing is to be said.
pub fn note(text: &str) {
    match is_quiet() {
        true => log::line(text),
        false => tell(text),
    }
}

/// Does a command, and says how long it took where that is asked for.
pub fn timed<T>(command: &str, job: impl FnOnce() -> T) -> T {
    let begun = Instant::now();
    let done = job();
    if is_verbose() {
        tell(&format!("{command} took {:.2} s\n", begun.elapsed().as_secs_f64()));
    }
    done
}

/// `world`, each file that is read from it told or logged where that is asked for.
pub fn told(world: Arc<dyn World>) -> Arc<dyn World> {
    if is_verbose() || log::is_on() { Arc::new(Telling(world)) } else { world }
}

struct Telling(Arc<dyn World>);

impl World for Telling {
    fn read(&self, path: &Path, content: Content) -> std::io::Result<FileBytes> {
        let found = self.0.read(path, content);
        // The log is told no folders.
        let name = Path::new(path.file_name().unwrap_or_default()).display();
        match &found {
            Ok(file) => {
                let bytes = file.bytes.len();
                log::line(&format!("read {name} ({bytes} bytes)"));
                if is_verbose() {
                    print_error(&format!("read {} ({bytes} bytes)\n", path.display()));
                }
            }
            Err(error) => log::line(&format!("did not read {name}: {}", error.kind())),
        }
        found
    }

    fn may_name(&self, folder: &Path, name: &Path) -> std::io::Result<()> {
        self.0.may_name(folder, name)
    }
}
