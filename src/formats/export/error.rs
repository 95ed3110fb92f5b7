//! Why a file could not be written.

use std::{io, path::PathBuf};

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
    #[error("part {part:?} is not a closed solid, so it cannot be printed or shown: {defect}")]
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
    /// Anything else that went wrong while writing.
    #[error("cannot write {path:?}")]
    Write {
        /// The file asked for.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
}
