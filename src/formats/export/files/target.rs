//! Where a file is to go: an ordinary file, or a name not yet taken, in a folder that is there.

use std::{
    fs, io,
    path::{Component, Path, PathBuf},
};

use super::{ExportError, error::write_error};

/// A place for one file of a set.
#[derive(Debug)]
pub(super) struct Target {
    /// The file as it was asked for, absolute.
    pub shown: PathBuf,
    /// The file from the set's folder, links followed: ordinary names only, none of them `..`.
    pub inside: PathBuf,
    /// What is there now.
    pub existing: Option<fs::Metadata>,
}

impl Target {
    /// Looks at what is at `path` now. A link is followed, so that the file it leads to is replaced and not the link;
    /// anything but an ordinary file is refused, for a rename would replace a device too, and so is what lies outside
    /// `root`, a folder with all links followed.
    pub fn of(path: &Path, root: &Path) -> Result<Self, ExportError> {
        let existing = looked_at(path)?;
        let shown = std::path::absolute(path).map_err(|source| write_error(path, source))?;
        let full = real(path)?;
        let inside = full.strip_prefix(root).ok().filter(|inside| is_plain(inside));
        let inside = inside
            .ok_or_else(|| ExportError::OutsideFolder { path: path.to_owned(), folder: root.to_owned() })?;
        Ok(Self { shown, inside: inside.to_owned(), existing })
    }
}

/// What is at `path`, if anything; an error unless a file may be put there.
pub(super) fn looked_at(path: &Path) -> Result<Option<fs::Metadata>, ExportError> {
    let ends_in_name = path.file_name().is_some() && !ends_in_separator(path);
    let existing = fs::metadata(path).ok();
    match &existing {
        Some(found) if found.is_dir() => return Err(ExportError::IsFolder { path: path.to_owned() }),
        _ if !ends_in_name => return Err(ExportError::IsFolder { path: path.to_owned() }),
        Some(found) if !found.is_file() => return Err(ExportError::NotOrdinary { path: path.to_owned() }),
        Some(found) if found.permissions().readonly() => {
            return Err(ExportError::ReadOnly { path: path.to_owned() });
        }
        _ => {}
    }
    Ok(existing)
}

/// The folder in which a file at `path` would really lie.
pub(super) fn folder_of(path: &Path) -> Result<PathBuf, ExportError> {
    looked_at(path)?;
    let full = if path.is_symlink() { fs::canonicalize(path) } else { std::path::absolute(path) };
    let full = full.map_err(|source| write_error(path, source))?;
    Ok(full.parent().map(Path::to_owned).unwrap_or_default())
}

/// `path` absolute, with the links followed of as much of it as is there.
fn real(path: &Path) -> Result<PathBuf, ExportError> {
    let full = std::path::absolute(path).map_err(|source| write_error(path, source))?;
    if full.is_symlink() {
        return fs::canonicalize(&full).map_err(|source| write_error(path, source));
    }
    let there = full.ancestors().skip(1).find(|folder| folder.exists()).unwrap_or(Path::new(""));
    let rest = full.strip_prefix(there).unwrap_or(&full);
    Ok(fs::canonicalize(there).map_err(|source| write_error(path, source))?.join(rest))
}

/// Whether `path` is made of names only, at least one.
pub(super) fn is_plain(path: &Path) -> bool {
    path.components().next().is_some() && path.components().all(|part| matches!(part, Component::Normal(_)))
}

/// Whether `path` is written as a folder is; `Path` itself drops the separator.
fn ends_in_separator(path: &Path) -> bool {
    path.as_os_str().to_string_lossy().ends_with(std::path::is_separator)
}

/// Makes `folder` and what it lies in; gives back those that were missing, outermost first.
pub(super) fn make_folders(folder: &Path) -> Result<Vec<PathBuf>, ExportError> {
    let mut missing: Vec<PathBuf> =
        folder.ancestors().take_while(|f| !f.exists()).map(Path::to_owned).collect();
    missing.retain(|folder| !folder.as_os_str().is_empty());
    missing.reverse();
    for (made, next) in missing.iter().enumerate() {
        match fs::create_dir(next) {
            Err(source) if source.kind() != io::ErrorKind::AlreadyExists => {
                remove_folders(&missing[..made]);
                return Err(ExportError::NoFolder { folder: next.clone(), source });
            }
            _ => {}
        }
    }
    if folder.is_dir() {
        Ok(missing)
    } else {
        remove_folders(&missing);
        let source = io::Error::from(io::ErrorKind::NotADirectory);
        Err(ExportError::NoFolder { folder: folder.to_owned(), source })
    }
}

/// Removes those of `folders` (outermost first) that are still empty.
pub(super) fn remove_folders(folders: &[PathBuf]) {
    for folder in folders.iter().rev() {
        // Someone else may have put a file there meanwhile; then it stays.
        let _ = fs::remove_dir(folder);
    }
}

/// Flushes `folder`, so that new names in it survive a power cut. Not every system can: where it says so, or keeps the
/// folder from being opened, the files are as safe as they get there.
pub(super) fn sync_folder(folder: &Path) -> io::Result<()> {
    #[cfg(unix)]
    {
        use io::ErrorKind::{InvalidInput, PermissionDenied, Unsupported};
        match fs::File::open(folder).and_then(|handle| handle.sync_all()) {
            Err(error) if !matches!(error.kind(), InvalidInput | PermissionDenied | Unsupported) => {
                Err(error)
            }
            _ => Ok(()),
        }
    }
    #[cfg(not(unix))]
    {
        // A folder cannot be opened as a file; its journal is flushed by the system itself (NTFS).
        let _ = folder;
        Ok(())
    }
}
