//! The files on disk: ordinary files only, of bounded size, and of those that a cake file names only what lies in its
//! folder.

use std::{
    collections::HashMap,
    fs::{File, Metadata},
    io::{self, Read},
    path::{Path, PathBuf},
    sync::{Mutex, PoisonError},
    time::{Duration, SystemTime},
};

use super::{Content, FileBytes, OutsideFolder, World, goes_down};

/// A file may be written again within one tick of its clock, which some file systems count in two seconds;
/// what was read so soon after it was written is read anew the next time.
const TICK: Duration = Duration::from_secs(2);

/// The files on disk. Only ordinary files are read: devices and pipes may never end. What was read is kept
/// until the file's size or time of change is another.
#[derive(Debug, Default)]
pub struct Disk {
    known: Mutex<HashMap<PathBuf, Known>>,
    outside: bool,
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

    /// The same, where a cake file may name files outside its folder as well.
    #[must_use]
    pub fn allowing_outside(self, allowed: bool) -> Self {
        Self { outside: allowed, ..self }
    }

    fn known(&self, path: &Path, size: u64, changed: SystemTime) -> Option<FileBytes> {
        let known = self.known.lock().unwrap_or_else(PoisonError::into_inner);
        let found = known.get(path)?;
        (found.size == size && found.changed == changed).then(|| found.file.clone())
    }
}

impl World for Disk {
    fn read(&self, path: &Path, content: Content) -> io::Result<FileBytes> {
        let about = std::fs::metadata(path)?;
        ordinary(&about)?;
        content.check(about.len())?;
        let changed = about.modified().ok();
        if let Some(file) = changed.and_then(|changed| self.known(path, about.len(), changed)) {
            return Ok(file);
        }
        let mut bytes = Vec::new();
        // The file may grow while it is read.
        File::open(path)?.take(content.largest() + 1).read_to_end(&mut bytes)?;
        let size = bytes.len() as u64;
        content.check(size)?;
        let file = FileBytes::new(bytes);
        let settled = |changed: &SystemTime| changed.elapsed().is_ok_and(|age| age > TICK);
        if let Some(changed) = changed.filter(settled) {
            let entry = Known { size, changed, file: file.clone() };
            self.known.lock().unwrap_or_else(PoisonError::into_inner).insert(path.to_owned(), entry);
        }
        Ok(file)
    }

    /// Links are followed before it is decided. What is not there is inside if its name goes only down.
    fn may_name(&self, folder: &Path, name: &Path) -> io::Result<()> {
        if self.outside {
            return Ok(());
        }
        let folder = if folder.as_os_str().is_empty() { Path::new(".") } else { folder };
        let inside = match (folder.canonicalize(), folder.join(name).canonicalize()) {
            (Ok(folder), Ok(file)) => file.starts_with(folder),
            _ => goes_down(name),
        };
        if inside { Ok(()) } else { Err(OutsideFolder.into()) }
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
    Ok(())
}
