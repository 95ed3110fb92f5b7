//! What must go when the program is broken off: scratch files, and folders made for them.

use std::{
    collections::BTreeSet,
    fs,
    path::{Path, PathBuf},
    sync::{Mutex, MutexGuard, PoisonError},
};

use super::target::remove_folders;

static UNFINISHED: Mutex<Unfinished> =
    Mutex::new(Unfinished { files: BTreeSet::new(), folders: BTreeSet::new() });

/// Everything on disk that has no right to stay yet.
#[derive(Debug)]
pub(super) struct Unfinished {
    files: BTreeSet<PathBuf>,
    /// Sorted, so that a folder comes before those in it.
    folders: BTreeSet<PathBuf>,
}

impl Unfinished {
    pub fn list_file(&mut self, path: &Path) {
        self.files.insert(path.to_owned());
    }

    pub fn forget_file(&mut self, path: &Path) {
        self.files.remove(path);
    }

    pub fn list_folders(&mut self, folders: &[PathBuf]) {
        self.folders.extend(folders.iter().cloned());
    }

    pub fn forget_folders(&mut self, folders: &[PathBuf]) {
        for folder in folders {
            self.folders.remove(folder);
        }
    }
}

/// The list, for one holder at a time: nothing is created, renamed or abandoned meanwhile.
pub(super) fn lock() -> MutexGuard<'static, Unfinished> {
    // The list is a plain set of paths; a panic elsewhere cannot leave it half changed.
    UNFINISHED.lock().unwrap_or_else(PoisonError::into_inner)
}

/// Shows that every unfinished file is gone. While it lives no new one can begin and none can be given
/// its name: keep it until the process ends.
#[must_use = "a new file may begin as soon as this is dropped"]
pub struct Abandoned {
    _held: MutexGuard<'static, Unfinished>,
}

/// Removes every unfinished file of this process, for a program that is about to end because its user
/// broke it off. A set that is just being given its names is finished first.
pub fn abandon_all() -> Abandoned {
    let mut unfinished = lock();
    for file in std::mem::take(&mut unfinished.files) {
        // Nothing useful can be said on the way out.
        let _ = fs::remove_file(file);
    }
    let folders: Vec<PathBuf> = std::mem::take(&mut unfinished.folders).into_iter().collect();
    remove_folders(&folders);
    Abandoned { _held: unfinished }
}
