//! Cake files on disk.

// The tests of each member use their part of it.
#![allow(dead_code)]

use std::{path::Path, sync::Arc};

use cakefile::{
    CakeFile, CakeFileError,
    world::{Disk, World},
};

/// The files on disk.
pub fn disk() -> Arc<dyn World> {
    Arc::new(Disk::new())
}

/// The cake file at `path`.
pub fn read(path: impl AsRef<Path>) -> Result<CakeFile, CakeFileError> {
    CakeFile::read(&disk(), path)
}
