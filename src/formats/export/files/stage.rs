//! The stage folder: where the files of a set wait until all of them are complete, and the lock that keeps other runs
//! out of the output folder meanwhile.
//!
//! It lies in the output folder, so that a rename never crosses to another disk, and there is one for each output
//! folder. Whoever holds the lock in it is the only run that writes there; whoever finds one whose lock is free has
//! found what a killed run left, and puts it in order before anything else ([`super::journal`]). The lock is an
//! advisory one of the operating system (`flock`, `LockFileEx`), which ends with the process whatever ends that.
//!
//! In a folder that several users write into, each user has a stage folder of their own, and runs of different users do
//! not wait for each other: a user may neither lock nor tidy what belongs to another.

use std::{
    fs::{self, File, OpenOptions, TryLockError},
    io,
    path::{Path, PathBuf},
    time::Duration,
};

use super::{
    ExportError,
    error::write_error,
    journal::{Recovered, recover, second_link},
    unfinished::{self, Unfinished},
};

/// What the stage folder is called. Those after the first are for folders that other users write into as well.
const NAME: &str = ".crumbline-unfinished";

/// So many users may have left something in one folder before it is taken for unusable.
const MOST: usize = 16;

/// The file that the lock is on.
const LOCK: &str = "lock";
/// Folder of the complete files that do not have their name yet.
const NEW: &str = "new";
/// Folder of what they replace.
const OLD: &str = "old";

/// A stage folder of which this run holds the lock. Dropping it removes it with all that is in it.
#[derive(Debug)]
pub(super) struct Stage {
    folder: PathBuf,
    lock: Option<File>,
    files: usize,
}

/// What one attempt at the lock came to.
enum Attempt {
    Held(File),
    /// Another run holds it.
    Busy(File),
    /// The folder went away with the run that held it.
    Again,
    /// It belongs to someone else.
    NotOurs,
}

impl Stage {
    /// The stage of the output folder `root`, empty, once no other run writes there; and what became of what a killed
    /// run had left. `waiting` is called when another run writes there.
    ///
    /// # Errors
    /// When nothing can be written in `root`, its file system knows no locks and a stage folder is there, or what a
    /// killed run left cannot be put in order; then it is left as it is.
    pub fn open(root: &Path, waiting: &dyn Fn(&Path)) -> Result<(Self, Option<Recovered>), ExportError> {
        let mut stage = Self::locked(root, waiting)?;
        let recovered = {
            // Nothing is broken off in the middle.
            let mut unfinished = unfinished::lock();
            recover(&stage.folder, root).inspect_err(|_| stage.leave(&mut unfinished))
        }?;
        clear(&stage.folder);
        Ok((stage, recovered))
    }

    fn locked(root: &Path, waiting: &dyn Fn(&Path)) -> Result<Self, ExportError> {
        let mut told = false;
        let mut number = 1;
        loop {
            let folder = folder(root, number);
            let attempt = {
                // Listed before anyone else can look.
                let mut unfinished = unfinished::lock();
                let attempt = attempt(root, &folder)?;
                if matches!(attempt, Attempt::Held(_)) {
                    unfinished.list_stage(&folder);
                }
                attempt
            };
            match attempt {
                Attempt::Held(lock) => return Ok(Self { folder, lock: Some(lock), files: 0 }),
                Attempt::Again => {}
                Attempt::NotOurs if number < MOST => number += 1,
                Attempt::NotOurs => {
                    let source = io::Error::other(format!("{} is not a folder of yours", folder.display()));
                    return Err(ExportError::FolderNotWritable { folder: root.to_owned(), source });
                }
                Attempt::Busy(lock) => {
                    if !std::mem::replace(&mut told, true) {
                        waiting(root);
                    }
                    // Given back at once: the file may be gone from its folder by then, and is then looked for again.
                    lock.lock().map_err(|source| write_error(&folder.join(LOCK), source))?;
                }
            }
        }
    }

    /// Where it lies.
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// Makes the next empty file, with the permissions of `like` or else those of any new file.
    pub fn next_file(&mut self, like: Option<&fs::Metadata>) -> io::Result<File> {
        // No file begins while the program is being broken off.
        let _held = unfinished::lock();
        let path = new_file(&self.folder, self.files);
        path.parent().map_or(Ok(()), fs::create_dir_all)?;
        let file = OpenOptions::new().write(true).create_new(true).open(&path)?;
        self.files += 1;
        match like.map_or(Ok(()), |like| file.set_permissions(like.permissions())) {
            Ok(()) => Ok(file),
            Err(error) => {
                self.drop_last();
                Err(error)
            }
        }
    }

    /// Removes the file made last, which could not be filled.
    pub fn drop_last(&mut self) {
        self.files -= 1;
        // It goes with the stage otherwise.
        let _ = fs::remove_file(new_file(&self.folder, self.files));
    }

    /// Leaves it as it is, for the next run to put in order.
    pub fn leave(&mut self, unfinished: &mut Unfinished) {
        unfinished.forget_stage(&self.folder);
        self.lock = None;
    }

    /// Makes a second link to `file`, or a copy of it, as the next file.
    pub fn link(&mut self, file: &Path) -> io::Result<()> {
        let _held = unfinished::lock();
        second_link(file, &new_file(&self.folder, self.files))?;
        self.files += 1;
        Ok(())
    }
}

impl Drop for Stage {
    fn drop(&mut self) {
        // Left alone where it was left on purpose.
        if self.lock.is_none() {
            return;
        }
        let mut unfinished = unfinished::lock();
        remove(&self.folder);
        if cfg!(windows) {
            // Where a removed file keeps its name until nobody has it open.
            self.lock = None;
            let _ = fs::remove_dir(&self.folder);
        }
        unfinished.forget_stage(&self.folder);
    }
}

/// Whether a stage folder is in `root`.
pub(super) fn is_there(root: &Path) -> bool {
    (1..=MOST).any(|number| is_ours(&folder(root, number)))
}

fn folder(root: &Path, number: usize) -> PathBuf {
    root.join(if number == 1 { NAME.to_owned() } else { format!("{NAME}-{number}") })
}

/// The complete file of that number.
pub(super) fn new_file(stage: &Path, number: usize) -> PathBuf {
    stage.join(NEW).join(format!("{number}.part"))
}

/// What the file of that number replaces.
pub(super) fn old_file(stage: &Path, number: usize) -> PathBuf {
    stage.join(OLD).join(format!("{number}.part"))
}

/// Removes a stage folder with all that is in it, its lock last, so that no other run takes over half of it.
pub(super) fn remove(stage: &Path) {
    clear(stage);
    // Nothing useful can be said if that fails: the next run in this folder tries again.
    let _ = fs::remove_file(stage.join(LOCK));
    let _ = fs::remove_dir(stage);
}

fn clear(stage: &Path) {
    for entry in fs::read_dir(stage).into_iter().flatten().flatten() {
        let path = entry.path();
        let is_folder = entry.file_type().is_ok_and(|kind| kind.is_dir());
        if is_folder {
            let _ = fs::remove_dir_all(&path);
        } else if entry.file_name() != LOCK {
            let _ = fs::remove_file(&path);
        }
    }
}

fn attempt(root: &Path, folder: &Path) -> Result<Attempt, ExportError> {
    let made = match make_private(folder) {
        Ok(()) => true,
        Err(error) if error.kind() == io::ErrorKind::AlreadyExists => false,
        Err(source) => return Err(not_writable(root, source)),
    };
    if !made && !is_ours(folder) {
        return Ok(if folder.symlink_metadata().is_ok() { Attempt::NotOurs } else { Attempt::Again });
    }
    let path = folder.join(LOCK);
    let lock = match OpenOptions::new().read(true).write(true).create(true).truncate(false).open(&path) {
        Ok(lock) => lock,
        // The run that held it has just ended.
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(Attempt::Again),
        // So it has on Windows, where a removed file keeps its name until nobody has it open.
        Err(error) if cfg!(windows) && error.kind() == io::ErrorKind::PermissionDenied => {
            std::thread::sleep(Duration::from_millis(10));
            return Ok(Attempt::Again);
        }
        Err(source) => {
            // Only if it is empty.
            let _ = fs::remove_dir(folder);
            return Err(not_writable(root, source));
        }
    };
    match lock.try_lock() {
        Ok(()) => {}
        Err(TryLockError::WouldBlock) => return Ok(Attempt::Busy(lock)),
        // Without locks only the run that made the folder knows that it is its own.
        Err(TryLockError::Error(_)) if made => return Ok(Attempt::Held(lock)),
        Err(TryLockError::Error(source)) => {
            return Err(ExportError::NoLocks { stage: folder.to_owned(), source });
        }
    }
    let same = same_file::Handle::from_file(lock.try_clone().map_err(|e| not_writable(root, e))?)
        .is_ok_and(|held| same_file::Handle::from_path(&path).is_ok_and(|there| held == there));
    Ok(if same { Attempt::Held(lock) } else { Attempt::Again })
}

fn not_writable(root: &Path, source: io::Error) -> ExportError {
    match source.kind() {
        io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded => write_error(root, source),
        _ => ExportError::FolderNotWritable { folder: root.to_owned(), source },
    }
}

#[cfg(unix)]
fn make_private(folder: &Path) -> io::Result<()> {
    use std::os::unix::fs::DirBuilderExt;
    fs::DirBuilder::new().mode(0o700).create(folder)
}

#[cfg(not(unix))]
fn make_private(folder: &Path) -> io::Result<()> {
    fs::create_dir(folder)
}

/// Whether `folder` is one, and not a link to one, that this user made: what it says is done to the files beside it.
#[cfg(unix)]
fn is_ours(folder: &Path) -> bool {
    use std::os::unix::fs::MetadataExt;
    let user = rustix::process::geteuid().as_raw();
    fs::symlink_metadata(folder).is_ok_and(|found| found.is_dir() && found.uid() == user)
}

#[cfg(not(unix))]
fn is_ours(folder: &Path) -> bool {
    fs::symlink_metadata(folder).is_ok_and(|found| found.is_dir())
}
