//! What a maker is told when the program itself fails, and the report that they may send.
//!
//! A panic, on whichever thread, is no text on the screen: it is noted by [`watch`], caught by [`guarded`], and told in
//! one sentence that names a file. The file holds the cake file, the version, the system and the place of the fault, and
//! nothing else: no names of files or folders, no environment.

use std::{
    io::{self, Write},
    panic::{self, AssertUnwindSafe, PanicHookInfo, catch_unwind},
    path::{Path, PathBuf},
    sync::{Mutex, Once, PoisonError},
};

use cakefile::world::Content;

use super::{
    error::{CliError, WRONG, tell},
    run::Outcome,
};

/// Exit code for a fault of the program itself.
pub const FAULT: u8 = 3;

/// Panics since the program began: where, and what was said there.
static NOTED: Mutex<Vec<String>> = Mutex::new(Vec::new());

/// More panics than this are no more use, as when many threads fail alike.
const MOST_NOTED: usize = 20;

/// From now on panics are noted instead of printed.
pub fn watch() {
    static BEGUN: Once = Once::new();
    BEGUN.call_once(|| panic::set_hook(Box::new(note)));
}

fn note(info: &PanicHookInfo<'_>) {
    let said = info.payload_as_str().unwrap_or("no words");
    let place = info.location().map_or_else(
        || "nowhere".to_owned(),
        |at| format!("{}:{}:{}", without_folders(at.file()), at.line(), at.column()),
    );
    super::log::line(&format!("fault at {place}: {said}"));
    let mut noted = NOTED.lock().unwrap_or_else(PoisonError::into_inner);
    if noted.len() < MOST_NOTED {
        noted.push(format!("{place}: {said}"));
    }
}

/// The file of a place in the source, without where it lay when the program was built.
fn without_folders(file: &str) -> &str {
    let slash = |c: char| c == '/' || c == '\\';
    // A package of others lies in a folder with its name and version, its source in "src".
    match file.starts_with(slash) || file.contains(':') {
        false => file,
        true => file
            .rfind("src")
            .and_then(|src| file[..src].trim_end_matches(slash).rfind(slash))
            .map_or_else(|| file.rsplit(slash).next().unwrap_or_default(), |begin| &file[begin + 1..]),
    }
}

/// What the program is asked to do, as far as a report and its place go.
#[derive(Debug, Clone, Copy, Default)]
pub struct Job<'a> {
    /// What the command is called.
    pub command: &'a str,
    /// The cake file.
    pub cake: Option<&'a Path>,
    /// What is to be written: the report lies beside it.
    pub output: Option<&'a Path>,
}

/// Does `work`, tells whatever goes wrong, and gives the exit code.
pub fn guarded(job: Job<'_>, work: impl FnOnce() -> Result<Outcome, CliError>) -> u8 {
    watch();
    match catch_unwind(AssertUnwindSafe(work)) {
        Ok(Ok(outcome)) => outcome.exit_code(),
        Ok(Err(error)) if error.is_fault() => {
            error.show();
            tell_fault(job, &error.chain());
            FAULT
        }
        Ok(Err(error)) => {
            error.show();
            WRONG
        }
        Err(_) => {
            tell_fault(job, "");
            FAULT
        }
    }
}

/// Writes a report and says where it is. `more` is what is known of the fault besides the panics that were noted.
pub fn tell_fault(job: Job<'_>, more: &str) {
    let sorry = "error: the program failed at this cake, which is the program's fault and not yours";
    match write_report(job, more) {
        Ok(path) => tell(&format!(
            "{sorry}; a report that you may send is {}: it holds the cake file, the version of the program, the \
             operating system and the place of the fault, and nothing else\n",
            path.display()
        )),
        Err(error) => tell(&format!("{sorry}; no report could be written ({error})\n")),
    }
}

fn write_report(job: Job<'_>, more: &str) -> io::Result<PathBuf> {
    let text = report(job, more);
    let write = |folder: &Path| {
        let mut file =
            tempfile::Builder::new().prefix("crumbline-report-").suffix(".txt").tempfile_in(folder)?;
        file.write_all(text.as_bytes())?;
        file.into_temp_path().keep().map_err(io::Error::from)
    };
    // Beside what was to be written, which may be a folder that is not there yet.
    let beside = job.output.and_then(Path::parent).map(|folder| match folder.as_os_str().is_empty() {
        true => Path::new("."),
        false => folder,
    });
    match beside.map(write) {
        Some(Ok(path)) => Ok(path),
        _ => write(&std::env::temp_dir()),
    }
}

fn report(job: Job<'_>, more: &str) -> String {
    let noted = NOTED.lock().unwrap_or_else(PoisonError::into_inner).join("\n");
    let cake = match job.cake.map(cake_text) {
        None => "none\n".to_owned(),
        Some(Ok(text)) => text,
        Some(Err(error)) => format!("cannot be read again: {}\n", error.kind()),
    };
    format!(
        "A report of a fault of crumbline\n\nversion: {}\nsystem: {} {}\ncommand: {}\n\nplace of the fault:\n{}\n\ncake \
         file:\n{cake}",
        super::version::LINE,
        std::env::consts::OS,
        std::env::consts::ARCH,
        job.command,
        [more, noted.as_str()].iter().filter(|text| !text.is_empty()).copied().collect::<Vec<_>>().join("\n"),
    )
}

fn cake_text(path: &Path) -> io::Result<String> {
    Content::Text.check(std::fs::metadata(path)?.len())?;
    Ok(String::from_utf8_lossy(&std::fs::read(path)?).into_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_do_not_say_where_the_program_was_built() {
        assert_eq!(without_folders("src/geom/bvh.rs"), "src/geom/bvh.rs");
        assert_eq!(
            without_folders("/home/someone/registry/src/index-1/kernel-0.1.2/src/deep/tree.rs"),
            "kernel-0.1.2/src/deep/tree.rs"
        );
        assert_eq!(
            without_folders("C:\\Users\\someone\\kernel-0.1.2\\src\\tree.rs"),
            "kernel-0.1.2\\src\\tree.rs"
        );
        assert_eq!(without_folders("/rustc/library/core/option.rs"), "option.rs");
    }
}
