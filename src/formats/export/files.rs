//! Atomic writes of one file or of a set of files: a reader never meets half a file, and a write that fails or is
//! interrupted leaves the old file, or no file, as it was.
//!
//! Each file is written under a scratch name in its own folder, flushed to the disk, and only then
//! renamed. Files that belong together form a [`FileSet`]: they are renamed one after the other once
//! all of them are complete, and the renames are taken back if one fails. What this cannot prevent: a
//! power cut or a killed process leaves scratch files (`.*.part`), and one between two renames of a set
//! leaves the set half placed.
//!
//! The list of unfinished scratch files is the one piece of process-wide state, because Ctrl-C is
//! process-wide as well: see [`abandon_all`].

mod target;
mod unfinished;

use std::{
    fs,
    io::{self, BufWriter, Write},
    path::{Path, PathBuf},
};

use tempfile::{Builder, NamedTempFile, TempPath};

use super::ExportError;
use target::{Target, make_folders, remove_folders, sync_folder};
pub use unfinished::{Abandoned, abandon_all};

/// Bytes gathered before they go to the file; larger pieces go straight through.
const BUFFER: usize = 1 << 18;

/// Writes one file atomically: all of it or nothing. Folders that are missing are made.
///
/// # Errors
/// When the file cannot be written, or `write` fails. Nothing is left behind then, and a file that was
/// there before is untouched.
pub fn write_atomic(
    path: &Path,
    write: impl FnOnce(&mut dyn Write) -> io::Result<()>,
) -> Result<(), ExportError> {
    let mut set = FileSet::new();
    set.add(path, write)?;
    set.commit().map(drop)
}

/// An atomic file set: all of its files appear, or none does.
///
/// Dropping a set without [`FileSet::commit`] removes what was written for it.
#[derive(Debug, Default)]
pub struct FileSet {
    staged: Vec<Staged>,
    /// Folders made for the set, outermost first.
    folders: Vec<PathBuf>,
}

/// A complete file that does not have its name yet.
#[derive(Debug)]
struct Staged {
    target: Target,
    scratch: TempPath,
}

impl FileSet {
    /// An empty set.
    pub fn new() -> Self {
        Self::default()
    }

    /// Writes one more file of the set under a scratch name.
    ///
    /// # Errors
    /// When the file cannot be written, or `write` fails.
    pub fn add(
        &mut self,
        path: &Path,
        write: impl FnOnce(&mut dyn Write) -> io::Result<()>,
    ) -> Result<(), ExportError> {
        let target = Target::of(path)?;
        let (file, scratch) = self.scratch_beside(&target)?.into_parts();
        // Staged before it is filled, so that a failure below removes and forgets it.
        self.staged.push(Staged { target, scratch });
        fill(file, write).map_err(|source| write_error(path, source))
    }

    /// Gives every file its name and returns the paths, in the order they were added.
    ///
    /// # Errors
    /// When a file cannot be renamed; the files already renamed are put back as they were.
    pub fn commit(mut self) -> Result<Vec<PathBuf>, ExportError> {
        let mut unfinished = unfinished::lock();
        let staged = std::mem::take(&mut self.staged);
        staged.iter().for_each(|file| unfinished.forget_file(&file.scratch));
        // A single rename replaces the old file in one step; only several need a way back.
        let keep_old = staged.len() > 1;
        let mut placed: Vec<Renamed> = Vec::with_capacity(staged.len());
        for Staged { target, scratch } in staged {
            match Renamed::place(&target, scratch, keep_old) {
                Ok(done) => placed.push(done),
                Err(source) => {
                    placed.into_iter().rev().for_each(Renamed::take_back);
                    return Err(write_error(&target.path, source));
                }
            }
        }
        unfinished.forget_folders(&self.folders);
        self.folders.clear();
        placed.iter().for_each(|file| sync_folder(&file.path));
        Ok(placed.into_iter().map(|file| file.path).collect())
    }

    /// Makes an empty scratch file in the folder of `target`, and the folder if need be. Both are on the
    /// list of the unfinished before anyone else can look.
    fn scratch_beside(&mut self, target: &Target) -> Result<NamedTempFile, ExportError> {
        let mut unfinished = unfinished::lock();
        let made = make_folders(&target.folder)?;
        unfinished.list_folders(&made);
        self.folders.extend(made);
        let mut builder = Builder::new();
        builder.prefix(".").suffix(".part");
        if let Some(permissions) = target.permissions() {
            builder.permissions(permissions);
        }
        let file = builder.tempfile_in(&target.folder).map_err(|source| match source.kind() {
            io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded => write_error(&target.path, source),
            _ => ExportError::FolderNotWritable { folder: target.folder.clone(), source },
        })?;
        unfinished.list_file(file.path());
        Ok(file)
    }
}

impl Drop for FileSet {
    fn drop(&mut self) {
        if self.staged.is_empty() && self.folders.is_empty() {
            return;
        }
        let mut unfinished = unfinished::lock();
        for staged in self.staged.drain(..) {
            unfinished.forget_file(&staged.scratch);
        }
        unfinished.forget_folders(&self.folders);
        remove_folders(&self.folders);
    }
}

/// A file that has its name, and the file of that name from before, if it must be kept for now.
struct Renamed {
    path: PathBuf,
    /// Removed when dropped.
    old: Option<NamedTempFile<()>>,
}

impl Renamed {
    fn place(target: &Target, scratch: TempPath, keep_old: bool) -> io::Result<Self> {
        let path = target.path.clone();
        let old = if keep_old && path.is_file() { Some(set_aside(&path, &target.folder)?) } else { None };
        let placed = Self { path, old };
        match scratch.persist(&placed.path) {
            Ok(()) => Ok(placed),
            Err(failed) => {
                placed.put_old_back();
                Err(failed.error)
            }
        }
    }

    fn take_back(self) {
        // Best effort: the error that led here is the one to report.
        let _ = fs::remove_file(&self.path);
        self.put_old_back();
    }

    fn put_old_back(self) {
        if let Some(mut old) = self.old
            && fs::rename(old.path(), &self.path).is_err()
        {
            // Better a file of the maker's under an odd name than none.
            old.disable_cleanup(true);
        }
    }
}

fn set_aside(path: &Path, folder: &Path) -> io::Result<NamedTempFile<()>> {
    Builder::new().prefix(".").suffix(".old").make_in(folder, |aside| fs::rename(path, aside))
}

fn fill(handle: fs::File, write: impl FnOnce(&mut dyn Write) -> io::Result<()>) -> io::Result<()> {
    let mut buffered = BufWriter::with_capacity(BUFFER, handle);
    write(&mut buffered)?;
    buffered.into_inner().map_err(io::IntoInnerError::into_error)?.sync_all()
}

fn write_error(path: &Path, source: io::Error) -> ExportError {
    let path = path.to_owned();
    match source.kind() {
        io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded => ExportError::DiskFull { path, source },
        _ => ExportError::Write { path, source },
    }
}
