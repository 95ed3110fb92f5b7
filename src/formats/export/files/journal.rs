//! The journal of a set: what is renamed to what, written before the first rename.
//!
//! Until it is complete on the disk the old files are as they were, and all that a killed run leaves is the stage folder.
//! From then on the set is as good as written: whoever finds the journal finishes what it says, from the complete files
//! beside it. If a step cannot be done, the journal is first marked as to be taken back, and then the old files return.
//! Either way a folder holds, once a run or a check was there, the old set or the new one and nothing between. Every
//! step may be repeated, so it does not matter where in the middle a run was killed.
//!
//! No name is ever without a file between two renames: a new file is renamed over the old one, of which a second hard
//! link was made before (a copy, where the file system has no links).

use std::{
    collections::BTreeSet,
    ffi::OsString,
    fs::{self, Metadata},
    io,
    path::{Path, PathBuf},
    time::UNIX_EPOCH,
};

use serde::{Deserialize, Serialize};

use super::{
    ExportError,
    aside::free_name,
    stage::{new_file, old_file},
    target::{is_plain, remove_folders, sync_folder},
};

/// The journal of a set that is to be finished.
const FORWARD: &str = "journal.json";
/// The journal of a set that is to be taken back.
const BACK: &str = "take-back.json";
/// A journal that is being written.
const DRAFT: &str = "journal.part";

/// Counted up when the meaning of a journal changes.
const VERSION: u32 = 1;

/// What is done to the files of a folder, in this order. Paths lead from that folder; a step's number is its place in
/// the list and the name of its files in the stage.
#[derive(Debug, Default, Serialize, Deserialize)]
pub(super) struct Journal {
    version: u32,
    /// Folders that the set needs and that were not there, outermost first.
    folders: Vec<OsString>,
    steps: Vec<Step>,
}

/// What is done to one name.
#[derive(Debug, Clone, Serialize, Deserialize)]
enum Step {
    /// The complete file of the step's number gets this name.
    Put { to: OsString, new: Seen, old: Option<Seen> },
    /// The file of this name goes away.
    Remove { at: OsString, old: Seen },
}

/// By what a file is known again without reading it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
struct Seen {
    bytes: u64,
    /// When it was changed last: seconds and nanoseconds since 1970, where the file system knows.
    changed: Option<(u64, u32)>,
}

impl Seen {
    fn of(file: &Metadata) -> Self {
        let changed = file.modified().ok().and_then(|time| time.duration_since(UNIX_EPOCH).ok());
        Self { bytes: file.len(), changed: changed.map(|since| (since.as_secs(), since.subsec_nanos())) }
    }

    /// What is at `path`, links not followed.
    fn at(path: &Path) -> io::Result<Option<Self>> {
        match fs::symlink_metadata(path) {
            Ok(found) => Ok(Some(Self::of(&found))),
            Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(None),
            Err(error) => Err(error),
        }
    }
}

/// Where a step failed, and why.
#[derive(Debug)]
pub(super) struct Failed {
    /// The file.
    pub path: PathBuf,
    /// What the system said.
    pub source: io::Error,
}

/// Why a set could not be placed, and what the folder holds now.
#[derive(Debug)]
pub(super) enum Fault {
    /// The old files.
    TakenBack(Failed),
    /// Files of both, and a journal to put them in order by.
    Left(Failed),
}

fn at(path: &Path) -> impl FnOnce(io::Error) -> Failed {
    let path = path.to_owned();
    |source| Failed { path, source }
}

/// What a killed run left, and what became of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Recovered {
    /// Its files were complete: they have their names now.
    Finished,
    /// They could not all be placed: the old ones are there again.
    TakenBack,
}

impl Journal {
    /// Adds: the next complete file of the stage gets the name `to`.
    pub fn put(&mut self, stage: &Path, root: &Path, to: &Path) -> Result<(), Failed> {
        let new = new_file(stage, self.steps.len());
        let seen = Seen::at(&new).and_then(|seen| seen.ok_or_else(|| io::ErrorKind::NotFound.into()));
        let full = root.join(to);
        let step = Step::Put {
            to: to.into(),
            new: seen.map_err(at(&full))?,
            old: Seen::at(&full).map_err(at(&full))?,
        };
        self.steps.push(step);
        Ok(())
    }

    /// Adds: the file `inside` goes away.
    pub fn remove(&mut self, root: &Path, inside: &Path) -> Result<(), Failed> {
        let full = root.join(inside);
        if let Some(old) = Seen::at(&full).map_err(at(&full))? {
            self.steps.push(Step::Remove { at: inside.into(), old });
        }
        Ok(())
    }

    /// Does every step, or none.
    pub fn carry_out(&mut self, stage: &Path, root: &Path) -> Result<(), Fault> {
        let Err(failed) = self.begin(stage, root).and_then(|()| self.finish(stage, root)) else {
            return Ok(());
        };
        let begun = stage.join(FORWARD).exists() || stage.join(BACK).exists();
        if begun && self.take_back(stage, root).is_err() {
            return Err(Fault::Left(failed));
        }
        Err(Fault::TakenBack(failed))
    }

    /// Keeps what it replaces, and writes it down. From its end on the set is as good as written.
    fn begin(&mut self, stage: &Path, root: &Path) -> Result<(), Failed> {
        self.version = VERSION;
        self.folders = missing_folders(root, &self.steps);
        let replaced: Vec<(usize, PathBuf)> = (self.steps.iter().enumerate())
            .filter(|(_, step)| step.old().is_some())
            .map(|(number, step)| (number, root.join(step.name())))
            .collect();
        if !replaced.is_empty() {
            let folder = old_file(stage, 0);
            let folder = folder.parent().unwrap_or(stage);
            fs::create_dir_all(folder).map_err(at(folder))?;
            for (number, file) in &replaced {
                second_link(file, &old_file(stage, *number)).map_err(at(file))?;
            }
            sync_folder(folder).map_err(at(folder))?;
        }
        let new = new_file(stage, 0);
        let new = new.parent().filter(|folder| folder.exists());
        new.map_or(Ok(()), |folder| sync_folder(folder).map_err(at(folder)))?;
        let text = serde_json::to_vec(self).map_err(|error| at(root)(error.into()))?;
        let draft = stage.join(DRAFT);
        write_through(&draft, &text).map_err(at(root))?;
        fs::rename(&draft, stage.join(FORWARD)).map_err(at(root))?;
        // The name of the journal, and that of its folder.
        sync_folder(stage).and_then(|()| sync_folder(root)).map_err(at(root))
    }

    /// Does every step that is not done yet, and flushes each folder that it changed once.
    fn finish(&self, stage: &Path, root: &Path) -> Result<(), Failed> {
        for folder in &self.folders {
            let folder = root.join(folder);
            match fs::create_dir(&folder) {
                Err(error) if error.kind() != io::ErrorKind::AlreadyExists => return Err(at(&folder)(error)),
                _ => {}
            }
        }
        for (number, step) in self.steps.iter().enumerate() {
            let file = root.join(step.name());
            step.finish(&new_file(stage, number), &file).map_err(at(&file))?;
        }
        self.folders_of_steps(root).iter().try_for_each(|folder| sync_folder(folder).map_err(at(folder)))?;
        // Folders that nothing is left in.
        let removed = self.steps.iter().filter(|step| matches!(step, Step::Remove { .. }));
        let emptied: BTreeSet<PathBuf> =
            removed.filter_map(|step| Some(step.name().parent()?.to_owned())).collect();
        let emptied: Vec<PathBuf> =
            emptied.iter().filter(|folder| is_plain(folder)).map(|folder| root.join(folder)).collect();
        remove_folders(&emptied);
        self.end(stage, FORWARD)
    }

    /// Puts the old files back, and takes away what is new.
    fn take_back(&self, stage: &Path, root: &Path) -> Result<(), Failed> {
        let (forward, back) = (stage.join(FORWARD), stage.join(BACK));
        if !back.exists() {
            fs::rename(forward, &back).and_then(|()| sync_folder(stage)).map_err(at(root))?;
        }
        for (number, step) in self.steps.iter().enumerate().rev() {
            let file = root.join(step.name());
            step.take_back(&new_file(stage, number), &old_file(stage, number), &file).map_err(at(&file))?;
        }
        self.folders_of_steps(root).iter().try_for_each(|folder| sync_folder(folder).map_err(at(folder)))?;
        let folders: Vec<PathBuf> = self.folders.iter().map(|folder| root.join(folder)).collect();
        remove_folders(&folders);
        self.end(stage, BACK)
    }

    fn end(&self, stage: &Path, journal: &str) -> Result<(), Failed> {
        let journal = stage.join(journal);
        fs::remove_file(&journal).map_err(at(&journal))
    }

    /// Folders whose names changed; those that are not there any more have nothing to flush.
    fn folders_of_steps(&self, root: &Path) -> BTreeSet<PathBuf> {
        let of_steps =
            self.steps.iter().filter_map(|step| root.join(step.name()).parent().map(Path::to_owned));
        let of_folders = self.folders.iter().filter_map(|made| root.join(made).parent().map(Path::to_owned));
        of_steps.chain(of_folders).filter(|folder| folder.is_dir()).collect()
    }

    /// Whether every name in it stays inside the folder.
    fn is_plain(&self) -> bool {
        let folders = self.folders.iter().map(Path::new);
        self.version == VERSION && folders.chain(self.steps.iter().map(Step::name)).all(is_plain)
    }
}

impl Step {
    fn name(&self) -> &Path {
        match self {
            Self::Put { to, .. } => Path::new(to),
            Self::Remove { at, .. } => Path::new(at),
        }
    }

    fn old(&self) -> Option<Seen> {
        match self {
            Self::Put { old, .. } => *old,
            Self::Remove { old, .. } => Some(*old),
        }
    }

    fn finish(&self, new: &Path, file: &Path) -> io::Result<()> {
        let there = Seen::at(file)?;
        match self {
            // It has its name already.
            Self::Put { .. } if !new.exists() => Ok(()),
            Self::Put { old, .. } => {
                // Someone changed it after a run was killed: theirs stays, under another name.
                if there.is_some() && there != *old && file.is_file() {
                    second_link(file, &free_name(file, |_| false))?;
                }
                fs::rename(new, file)
            }
            Self::Remove { old, .. } if there == Some(*old) => fs::remove_file(file),
            Self::Remove { .. } => Ok(()),
        }
    }

    fn take_back(&self, new: &Path, old: &Path, file: &Path) -> io::Result<()> {
        match self {
            Self::Put { .. } if new.exists() => Ok(()),
            // Renamed over the new file; where it was renamed before, it is not here any more.
            Self::Put { old: Some(_), .. } if old.exists() => fs::rename(old, file),
            Self::Put { old: Some(_), .. } => Ok(()),
            Self::Put { new, old: None, .. } if Seen::at(file)? == Some(*new) => fs::remove_file(file),
            Self::Put { old: None, .. } => Ok(()),
            Self::Remove { .. } if !file.exists() && old.exists() => {
                // Its folder went with it, if it was the last one there.
                file.parent().map_or(Ok(()), fs::create_dir_all)?;
                fs::rename(old, file)
            }
            Self::Remove { .. } => Ok(()),
        }
    }
}

/// Puts in order what a killed run left in `root`, whose stage folder is `stage` and locked by this run.
pub(super) fn recover(stage: &Path, root: &Path) -> Result<Option<Recovered>, ExportError> {
    let unfinished = |failed: Failed| ExportError::Unfinished { path: failed.path, source: failed.source };
    if let Some(journal) = read(&stage.join(BACK))? {
        journal.take_back(stage, root).map_err(unfinished)?;
        return Ok(Some(Recovered::TakenBack));
    }
    let Some(journal) = read(&stage.join(FORWARD))? else { return Ok(None) };
    if journal.finish(stage, root).is_ok() {
        return Ok(Some(Recovered::Finished));
    }
    journal.take_back(stage, root).map_err(unfinished)?;
    Ok(Some(Recovered::TakenBack))
}

fn read(path: &Path) -> Result<Option<Journal>, ExportError> {
    let broken = |why: String| ExportError::BrokenJournal { path: path.to_owned(), why };
    let bytes = match fs::read(path) {
        Ok(bytes) => bytes,
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(None),
        Err(error) => return Err(broken(error.to_string())),
    };
    let journal: Journal = serde_json::from_slice(&bytes).map_err(|error| broken(error.to_string()))?;
    if journal.is_plain() { Ok(Some(journal)) } else { Err(broken("it leads out of the folder".into())) }
}

/// Folders that the steps need and that are not there, outermost first.
fn missing_folders(root: &Path, steps: &[Step]) -> Vec<OsString> {
    let puts = steps.iter().filter(|step| matches!(step, Step::Put { .. }));
    let folders = puts.flat_map(|step| step.name().ancestors().skip(1));
    let missing: BTreeSet<&Path> = folders.filter(|f| is_plain(f) && !root.join(f).exists()).collect();
    missing.into_iter().map(Into::into).collect()
}

/// A second hard link to `file`, or a copy of it that is safe on the disk.
pub(super) fn second_link(file: &Path, link: &Path) -> io::Result<()> {
    if fs::hard_link(file, link).is_ok() {
        return Ok(());
    }
    fs::copy(file, link)?;
    fs::OpenOptions::new().write(true).open(link)?.sync_all()
}

fn write_through(path: &Path, bytes: &[u8]) -> io::Result<()> {
    use io::Write;
    let mut file = fs::File::create(path)?;
    file.write_all(bytes)?;
    file.sync_all()
}
