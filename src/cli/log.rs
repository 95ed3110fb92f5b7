//! `--log FILE`: what the program does, line by line, for whoever helps from afar.
//!
//! A line is in the file before the work after it begins, so that a run that hangs, is killed or takes the machine with
//! it is told up to there; this is the one file that is not written all at once. It holds which program on which system,
//! each file that is read by its own name and size, what is worked on, what is said on standard error, faults, and how
//! it ended. It does not hold the cake file, nor in which folders anything lies: see [`without_folders`].

use std::{
    ffi::OsString,
    fs::{File, OpenOptions},
    io::{Read, Write},
    path::{MAIN_SEPARATOR, Path, PathBuf},
    sync::{Mutex, OnceLock, PoisonError},
    time::Instant,
};

use super::{cake, error::CliError, version};

/// How every log begins: nothing else is ever written to.
const HEAD: &str = "A log of crumbline";

/// More lines than this say nothing new; a window may be open for weeks.
const MOST_LINES: usize = 20_000;

/// The log of this run, once it is begun.
static LOG: OnceLock<Log> = OnceLock::new();

struct Log {
    path: PathBuf,
    begun: Instant,
    folders: Vec<String>,
    file: Mutex<(File, usize)>,
}

/// The file of the log of this run, if it has one: the window names it to the programs that it runs.
#[cfg_attr(not(feature = "viewer"), expect(dead_code, reason = "only the window runs others"))]
pub fn file() -> Option<&'static Path> {
    LOG.get().map(|log| log.path.as_path())
}

/// Begins the log of `command` in `file`, behind what earlier runs wrote there. `words` are those of the command line:
/// the folders that they name are left out of every line.
///
/// # Errors
/// A file that is there and no log, or one that cannot be written. It is as it was then.
pub fn begin(file: &Path, command: &str, words: &[OsString]) -> Result<(), CliError> {
    let wrong = |what: String, fix: &str| CliError::Usage { what, fix: fix.into() };
    let cannot = |error: std::io::Error| {
        wrong(
            format!("cannot write the log {}: {error}", file.display()),
            "give --log a file in a folder that you may write to",
        )
    };
    if file.exists() && !is_log(file).map_err(cannot)? {
        return Err(wrong(
            format!("{} is there already and no log of this program", file.display()),
            "give --log another name: nothing is overwritten",
        ));
    }
    let open = OpenOptions::new().append(true).create(true).open(file).map_err(cannot)?;
    let log = Log {
        path: file.to_owned(),
        begun: Instant::now(),
        folders: folders(words),
        file: Mutex::new((open, 0)),
    };
    // Called once, before any other thread runs.
    let log = LOG.get_or_init(|| log);
    let head = format!(
        "{HEAD} {}\nsystem: {} {}\ncommand: {command}\n",
        version::LINE,
        std::env::consts::OS,
        std::env::consts::ARCH
    );
    log.file.lock().unwrap_or_else(PoisonError::into_inner).0.write_all(head.as_bytes()).map_err(cannot)
}

fn is_log(file: &Path) -> std::io::Result<bool> {
    if !std::fs::metadata(file)?.is_file() {
        return Ok(false);
    }
    let mut begin = Vec::new();
    File::open(file)?.take(HEAD.len() as u64).read_to_end(&mut begin)?;
    Ok(begin.is_empty() || begin == HEAD.as_bytes())
}

/// Whether there is a log.
pub fn is_on() -> bool {
    LOG.get().is_some()
}

/// Writes what happens, with the seconds since the log began. A disk that takes no more stops nothing.
pub fn line(text: &str) {
    let Some(log) = LOG.get() else { return };
    let plain = anstream::adapter::strip_str(text).to_string();
    let text = without_folders(plain.trim_end(), &log.folders).replace('\n', "\n           ");
    let text = format!("{:>9.3} s {text}\n", log.begun.elapsed().as_secs_f64());
    let mut file = log.file.lock().unwrap_or_else(PoisonError::into_inner);
    file.1 += 1;
    let written = match file.1 {
        ..=MOST_LINES => file.0.write_all(text.as_bytes()),
        lines if lines == MOST_LINES + 1 => file.0.write_all(b"and so on: the log is full\n"),
        _ => Ok(()),
    };
    let _ = written;
}

/// The folders that no line tells: those of the command line's files, the user's, this one, and the program's own. The
/// longest first, so that none is told by a shorter one being cut out of it.
fn folders(words: &[OsString]) -> Vec<String> {
    let mut found: Vec<String> = Vec::new();
    let mut add = |folder: &Path| {
        for folder in [Some(folder.to_owned()), std::fs::canonicalize(folder).ok()].into_iter().flatten() {
            let name = folder.to_string_lossy().trim_end_matches(MAIN_SEPARATOR).to_owned();
            if !name.is_empty() && !found.contains(&name) {
                found.push(name);
            }
        }
    };
    for word in words {
        let word = word.to_string_lossy();
        // A flag may have its value behind an equals sign.
        let value = word.strip_prefix("--").and_then(|flag| Some(flag.split_once('=')?.1)).unwrap_or(&word);
        let path = Path::new(value);
        path.parent().filter(|folder| !folder.as_os_str().is_empty()).iter().for_each(|folder| add(folder));
        if path.is_dir() && path.file_name().is_some() {
            add(path);
        }
    }
    std::env::current_dir().iter().for_each(|folder| add(folder));
    directories::UserDirs::new().iter().for_each(|user| add(user.home_dir()));
    cake::configuration().iter().for_each(|folder| add(folder));
    add(&std::env::temp_dir());
    found.sort_by_key(|name| std::cmp::Reverse(name.len()));
    found
}

/// `text` with "…" instead of each of `folders` that it names as the beginning of a path, or as a whole one.
fn without_folders(text: &str, folders: &[String]) -> String {
    let mut text = text.to_owned();
    for folder in folders {
        let mut kept = String::with_capacity(text.len());
        let mut rest = text.as_str();
        while let Some((before, after)) = rest.split_once(folder.as_str()) {
            // Part of a longer name is another folder.
            let goes_on = |c: char| c.is_alphanumeric() || matches!(c, '_' | '-');
            let begins = !before.chars().next_back().is_some_and(|c| goes_on(c) || c == '.');
            let ends = !after.chars().next().is_some_and(goes_on);
            kept += before;
            kept += if begins && ends { "…" } else { folder };
            rest = after;
        }
        kept += rest;
        text = kept;
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn paths_are_told_without_their_folders() {
        let folders = ["/home/jane doe/cakes".to_owned(), "/home/jane doe".to_owned(), "cakes".to_owned()];
        let told = |text: &str| without_folders(text, &folders);
        assert_eq!(told("read /home/jane doe/cakes/a.cake.toml (3 bytes)"), "read …/a.cake.toml (3 bytes)");
        assert_eq!(told("\"/home/jane doe/other/b\" and cakes/c"), "\"…/other/b\" and …/c");
        assert_eq!(told("wrote cakes"), "wrote …");
        assert_eq!(told("cupcakes, cakes-2, a.cakes"), "cupcakes, cakes-2, a.cakes");
        assert_eq!(told("…"), "…");
    }

    #[test]
    fn the_folders_of_flags_and_files_are_known() {
        let words = ["crumbline", "plan", "deep/er/a.cake.toml", "--out=some/where/out", "b.toml"];
        let found = folders(&words.map(OsString::from));
        assert!(
            ["deep/er", "some/where"].iter().all(|name| found.iter().any(|found| found == name)),
            "{found:?}"
        );
        assert!(!found.iter().any(|name| name.is_empty() || name == "b.toml"), "{found:?}");
        assert!(found.windows(2).all(|pair| pair[0].len() >= pair[1].len()), "{found:?}");
    }
}
