//! The files on disk.

use std::{
    collections::HashMap,
    fs::{File, Metadata},
    io::{self, Read},
    path::{Path, PathBuf},
    sync::{Mutex, PoisonError},
    time::{Duration, SystemTime},
};

use super::{FileBytes, World};

/// A file may hold at most this many bytes: a scanned model of five million triangles takes half of it.
pub const LARGEST: u64 = 512 * 1024 * 1024;

/// A file may be written again within one tick of its clock, which some file systems count in two seconds;
/// what was read so soon after it was written is read anew the next time.
const TICK: Duration = Duration::from_secs(2);

/// The files on disk. Only ordinary files are read: devices and pipes may never end. What was read is kept
/// until the file's size or time of change is another.
#[derive(Debug, Default)]
pub struct Disk {
    known: Mutex<HashMap<PathBuf, Known>>,
}

#[derive(Debug)]
struct Known {
    size: u64,
    changed: SystemTime,
    file: FileBytes,
}

impl Disk {
    /// The files on disk, of which nothing was read yet.
    pub fn new() -> Self {
        Self::default()
    }

    fn known(&self, path: &Path, size: u64, changed: SystemTime) -> Option<FileBytes> {
        let known = self.known.lock().unwrap_or_else(PoisonError::into_inner);
        let found = known.get(path)?;
        (found.size == size && found.changed == changed).then(|| found.file.clone())
    }
}

impl World for Disk {
    fn read(&self, path: &Path) -> io::Result<FileBytes> {
        let about = std::fs::metadata(path)?;
        ordinary(&about)?;
        let changed = about.modified().ok();
        if let Some(file) = changed.and_then(|changed| self.known(path, about.len(), changed)) {
            return Ok(file);
        }
        let mut bytes = Vec::new();
        // The file may grow while it is read.
        File::open(path)?.take(LARGEST + 1).read_to_end(&mut bytes)?;
        within_limit(bytes.len() as u64)?;
        let size = bytes.len() as u64;
        let file = FileBytes::new(bytes);
        let settled = |changed: &SystemTime| changed.elapsed().is_ok_and(|age| age > TICK);
        if let Some(changed) = changed.filter(settled) {
            let entry = Known { size, changed, file: file.clone() };
            self.known.lock().unwrap_or_else(PoisonError::into_inner).insert(path.to_owned(), entry);
        }
        Ok(file)
    }
}

fn ordinary(about: &Metadata) -> io::Result<()> {
    if about.is_dir() {
        return Err(io::Error::new(io::ErrorKind::IsADirectory, "it is a folder"));
    }
    if !about.is_file() {
        return Err(io::Error::new(
            io::ErrorKind::InvalidInput,
            "it is no ordinary file but a device or a pipe",
        ));
    }
    within_limit(about.len())
}

fn within_limit(size: u64) -> io::Result<()> {
    if size <= LARGEST {
        return Ok(());
    }
    let message = format!("it is larger than {} MiB", LARGEST / 1024 / 1024);
    Err(io::Error::new(io::ErrorKind::FileTooLarge, message))
}
