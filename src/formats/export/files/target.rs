//! Where a file is to go: an ordinary file, or a name not yet taken, in a folder that is there.

use std::{
    fs, io,
    path::{Path, PathBuf},
};

use super::ExportError;

/// A place for one file.
#[derive(Debug)]
pub(super) struct Target {
    /// The file, absolute, links followed.
    pub path: PathBuf,
    /// The folder it lies in.
    pub folder: PathBuf,
    /// What is there now.
    existing: Option<fs::Metadata>,
}

impl Target {
    /// Looks at what is at `path` now. A link is followed, so that the file it leads to is replaced and
    /// not the link; anything but an ordinary file is refused, for a rename would replace a device too.
    pub fn of(path: &Path) -> Result<Self, ExportError> {
        let ends_in_name = path.file_name().is_some() && !ends_in_separator(path);
        let existing = fs::metadata(path).ok();
        match &existing {
            Some(found) if found.is_dir() => return Err(ExportError::IsFolder { path: path.to_owned() }),
            _ if !ends_in_name => return Err(ExportError::IsFolder { path: path.to_owned() }),
            Some(found) if !found.is_file() => {
                return Err(ExportError::NotOrdinary { path: path.to_owned() });
            }
            Some(found) if found.permissions().readonly() => {
                return Err(ExportError::ReadOnly { path: path.to_owned() });
            }
            _ => {}
        }
        let full = if path.is_symlink() { fs::canonicalize(path) } else { std::path::absolute(path) };
        let path = full.map_err(|source| ExportError::Write { path: path.to_owned(), source })?;
        let folder = path.parent().map(Path::to_owned).unwrap_or_default();
        Ok(Self { path, folder, existing })
    }

    /// The permissions the new file is to have: those of the file it replaces, else what the system gives
    /// to any new file; `None` where scratch files get them anyway.
    pub fn permissions(&self) -> Option<fs::Permissions> {
        self.existing.as_ref().map(fs::Metadata::permissions).or_else(ordinary_permissions)
    }
}

#[cfg(unix)]
fn ordinary_permissions() -> Option<fs::Permissions> {
    // The user's mask still applies.
    Some(std::os::unix::fs::PermissionsExt::from_mode(0o666))
}

#[cfg(not(unix))]
fn ordinary_permissions() -> Option<fs::Permissions> {
    None
}

/// Whether `path` is written as a folder is; `Path` itself drops the separator.
fn ends_in_separator(path: &Path) -> bool {
    path.as_os_str().to_string_lossy().ends_with(std::path::is_separator)
}

/// Makes `folder` and what it lies in; gives back those that were missing, outermost first.
pub(super) fn make_folders(folder: &Path) -> Result<Vec<PathBuf>, ExportError> {
    let mut missing: Vec<PathBuf> =
        folder.ancestors().take_while(|f| !f.exists()).map(Path::to_owned).collect();
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

/// Flushes the folder of `path`, so that a new name survives a power cut. Not every system can, and the
/// file itself is safe already: no error comes of it.
pub(super) fn sync_folder(path: &Path) {
    #[cfg(unix)]
    if let Some(folder) = path.parent()
        && let Ok(handle) = fs::File::open(folder)
    {
        let _ = handle.sync_all();
    }
    #[cfg(not(unix))]
    let _ = path;
}
