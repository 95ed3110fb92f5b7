//! Why a file could not be written.

use std::{
    io,
    path::{Path, PathBuf},
};

use super::Format;
use geom::MeshDefect;

/// Why a file could not be written. Nothing is left behind when it is returned.
#[derive(Debug, thiserror::Error)]
pub enum ExportError {
    /// The file name has no ending, or one that names no format.
    #[error("{path:?} does not end in the name of a format; end it in {}", Format::endings())]
    UnknownEnding {
        /// The file asked for.
        path: PathBuf,
    },
    /// There is nothing to write.
    #[error("{model:?} has no parts to write; choose at least one")]
    Empty {
        /// Name of the model.
        model: String,
    },
    /// A part does not bound a solid once its corners are `f32`.
    #[error(
        "part {part:?} came out with a gap, so it cannot be printed or shown; please report this cake file"
    )]
    NotSolid {
        /// Name of the part.
        part: String,
        /// What is wrong with it.
        defect: MeshDefect,
    },
    /// The path ends in a folder, or names none at all.
    #[error("{path:?} is a folder, not a file; add a file name to it")]
    IsFolder {
        /// The file asked for.
        path: PathBuf,
    },
    /// The path is a device, a pipe or the like, which cannot be replaced as a whole.
    #[error("{path:?} is not an ordinary file, so it cannot be replaced as a whole; choose another name")]
    NotOrdinary {
        /// The file asked for.
        path: PathBuf,
    },
    /// The file is there and is marked read-only.
    #[error("{path:?} is marked read-only; choose another name, or allow changes to it first")]
    ReadOnly {
        /// The file asked for.
        path: PathBuf,
    },
    /// A missing folder could not be made.
    #[error("cannot make the folder {folder:?}; choose a place where you may write")]
    NoFolder {
        /// The folder.
        folder: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// The folder lets nothing be written into it.
    #[error("cannot write into the folder {folder:?}; choose one where you may write")]
    FolderNotWritable {
        /// The folder.
        folder: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// The disk, or the share of it that the user may fill, is full.
    #[error("no room left on the disk for {path:?}; free some space or write elsewhere")]
    DiskFull {
        /// The file asked for.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// Two files of a set would have the same name, at least on disks that take small and capital letters, or the
    /// ways to write an accent, for the same.
    #[error(
        "{path:?} and {other:?} would be one file on some disks; give them names that differ in more than case or accents"
    )]
    SameName {
        /// The file asked for.
        path: PathBuf,
        /// The one before it.
        other: PathBuf,
    },
    /// A file of a set lies outside the set's folder, perhaps because of a link.
    #[error(
        "{path:?} leads out of the folder {folder:?}, and files that belong together lie in one folder; remove the link, or write to where it leads"
    )]
    OutsideFolder {
        /// The file asked for.
        path: PathBuf,
        /// The folder, with links followed.
        folder: PathBuf,
    },
    /// A name that cannot stand in a manifest.
    #[error("{path:?} is no Unicode text, so it cannot be listed; choose another name")]
    NotUnicode {
        /// The file asked for.
        path: PathBuf,
    },
    /// Replacing several files failed in the middle, and so did putting the old ones back.
    #[error(
        "{path:?} could not be written while files were being replaced, and the old ones could not be put back yet; nothing is lost: fix the cause and run the command again, which finishes or takes back what was begun"
    )]
    Unfinished {
        /// The file.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// What a killed run wrote down cannot be read.
    #[error(
        "{path:?} tells what a run was about to do when it was killed, and cannot be read ({why}); the files beside it may be needed: move its folder away to go on without them"
    )]
    BrokenJournal {
        /// The journal.
        path: PathBuf,
        /// What is wrong with it.
        why: String,
    },
    /// The file system cannot say whether another run is still writing.
    #[error(
        "{stage:?} belongs to another run, and this disk cannot tell whether that still writes; when none does, move that folder away"
    )]
    NoLocks {
        /// The stage folder.
        stage: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// The manifest in a folder cannot be read, so nobody knows which files in it are the program's.
    #[error("{path:?} is not the list of a kit ({why}); move it away, or choose another folder")]
    NotManifest {
        /// The file.
        path: PathBuf,
        /// What is wrong with it.
        why: String,
    },
    /// The folder holds the kit of another cake.
    #[error(
        "{folder:?} holds the kit of \"{title}\" ({file}); choose another folder for this one, or remove that kit first"
    )]
    OtherKit {
        /// The folder.
        folder: PathBuf,
        /// The other cake.
        title: String,
        /// Its file.
        file: String,
    },
    /// A file or folder could not be looked at.
    #[error("cannot read {path:?}")]
    Unreadable {
        /// The file or folder.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// Anything else that went wrong while writing.
    #[error("cannot write {path:?}")]
    Write {
        /// The file asked for.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
}

/// What went wrong while `path` was written.
pub(super) fn write_error(path: &Path, source: io::Error) -> ExportError {
    let path = path.to_owned();
    match source.kind() {
        io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded => ExportError::DiskFull { path, source },
        _ => ExportError::Write { path, source },
    }
}
