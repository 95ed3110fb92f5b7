//! What must go when the program is broken off: stage folders, and folders made for them.

use std::{
    collections::BTreeSet,
    path::{Path, PathBuf},
    sync::{Mutex, MutexGuard, PoisonError},
};

use super::{stage, target::remove_folders};

static UNFINISHED: Mutex<Unfinished> =
    Mutex::new(Unfinished { stages: BTreeSet::new(), folders: BTreeSet::new() });

/// Everything on disk that has no right to stay yet.
#[derive(Debug)]
pub(super) struct Unfinished {
    stages: BTreeSet<PathBuf>,
    /// Sorted, so that a folder comes before those in it.
    folders: BTreeSet<PathBuf>,
}

impl Unfinished {
    pub fn list_stage(&mut self, stage: &Path) {
        self.stages.insert(stage.to_owned());
    }

    pub fn forget_stage(&mut self, stage: &Path) {
        self.stages.remove(stage);
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
    for folder in std::mem::take(&mut unfinished.stages) {
        stage::remove(&folder);
    }
    let folders: Vec<PathBuf> = std::mem::take(&mut unfinished.folders).into_iter().collect();
    remove_folders(&folders);
    Abandoned { _held: unfinished }
}
