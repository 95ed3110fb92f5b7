//! Where bytes come from: files by name, each with a revision that changes when its bytes do.
//!
//! Nothing that plans a cake or makes something of a plan touches the disk: it is handed a [`World`]. The
//! program hands over the [`Disk`]; the window lays unsaved text over it ([`Overlay`]); tests use [`Memory`].
//! [`Recorded`] keeps a list of what was asked for, also of what was not there, so that whoever watches knows
//! exactly which files a plan was made from.

mod content;
mod disk;
mod outside;

use std::{
    collections::BTreeMap,
    hash::{DefaultHasher, Hasher},
    io,
    path::{Path, PathBuf},
    sync::{Arc, Mutex, PoisonError},
};

pub use content::Content;
pub use disk::Disk;
use outside::goes_down;
pub use outside::{OutsideFolder, fix};

/// A fingerprint of bytes: two files of the same revision hold the same.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Revision(u64);

impl Revision {
    /// The revision of `bytes`: a 64-bit hash of them.
    pub fn of(bytes: &[u8]) -> Self {
        let mut hasher = DefaultHasher::new();
        hasher.write(bytes);
        Self(hasher.finish())
    }
}

/// What a file holds.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FileBytes {
    /// Its bytes.
    pub bytes: Arc<[u8]>,
    /// Their revision.
    pub revision: Revision,
}

impl FileBytes {
    /// A file that holds `bytes`.
    pub fn new(bytes: impl Into<Arc<[u8]>>) -> Self {
        let bytes = bytes.into();
        Self { revision: Revision::of(&bytes), bytes }
    }
}

/// Files by name.
pub trait World: Send + Sync {
    /// The file at `path`, which is to hold `content`.
    ///
    /// # Errors
    /// Whatever keeps it from being read; [`io::ErrorKind::NotFound`] if it is not there,
    /// [`io::ErrorKind::FileTooLarge`] if it holds more than such a file may.
    fn read(&self, path: &Path, content: Content) -> io::Result<FileBytes>;

    /// Whether a cake file in `folder` may name the file `name`: by default what lies in that folder, going by the
    /// name alone.
    ///
    /// # Errors
    /// [`OutsideFolder`] if it may not.
    fn may_name(&self, folder: &Path, name: &Path) -> io::Result<()> {
        let _ = folder;
        if goes_down(name) { Ok(()) } else { Err(OutsideFolder.into()) }
    }
}

impl<W: World + ?Sized> World for &W {
    fn read(&self, path: &Path, content: Content) -> io::Result<FileBytes> {
        (**self).read(path, content)
    }

    fn may_name(&self, folder: &Path, name: &Path) -> io::Result<()> {
        (**self).may_name(folder, name)
    }
}

impl<W: World + ?Sized> World for Arc<W> {
    fn read(&self, path: &Path, content: Content) -> io::Result<FileBytes> {
        (**self).read(path, content)
    }

    fn may_name(&self, folder: &Path, name: &Path) -> io::Result<()> {
        (**self).may_name(folder, name)
    }
}

/// Files that are only in memory.
#[derive(Debug, Clone, Default)]
pub struct Memory(BTreeMap<PathBuf, FileBytes>);

impl Memory {
    /// No files.
    pub fn new() -> Self {
        Self::default()
    }

    /// The same files and one more, or another in the place of one of that name.
    #[must_use]
    pub fn with(mut self, path: impl Into<PathBuf>, bytes: impl Into<Arc<[u8]>>) -> Self {
        self.0.insert(path.into(), FileBytes::new(bytes));
        self
    }
}

impl World for Memory {
    fn read(&self, path: &Path, content: Content) -> io::Result<FileBytes> {
        let file = self.0.get(path).cloned().ok_or_else(|| io::Error::from(io::ErrorKind::NotFound))?;
        content.check(file.bytes.len() as u64).map(|()| file)
    }
}

/// Files that are not saved yet, laid over those of another world.
#[derive(Debug)]
pub struct Overlay<W> {
    below: W,
    unsaved: Mutex<BTreeMap<PathBuf, FileBytes>>,
}

impl<W: World> Overlay<W> {
    /// Nothing over `below`.
    pub fn new(below: W) -> Self {
        Self { below, unsaved: Mutex::default() }
    }

    /// From now on the file at `path` reads as `bytes`, whatever lies below.
    pub fn set(&self, path: impl Into<PathBuf>, bytes: impl Into<Arc<[u8]>>) {
        self.files().insert(path.into(), FileBytes::new(bytes));
    }

    /// From now on the file at `path` reads as it lies below.
    pub fn clear(&self, path: &Path) {
        self.files().remove(path);
    }

    fn files(&self) -> std::sync::MutexGuard<'_, BTreeMap<PathBuf, FileBytes>> {
        // A panic elsewhere leaves the map whole: entries go in and out in one step.
        self.unsaved.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl<W: World> World for Overlay<W> {
    fn read(&self, path: &Path, content: Content) -> io::Result<FileBytes> {
        let unsaved = self.files().get(path).cloned();
        unsaved.map_or_else(|| self.below.read(path, content), Ok)
    }

    /// A file that is laid over the others may be named wherever it goes down from the folder.
    fn may_name(&self, folder: &Path, name: &Path) -> io::Result<()> {
        if goes_down(name) && self.files().contains_key(&folder.join(name)) {
            return Ok(());
        }
        self.below.may_name(folder, name)
    }
}

/// A file that was asked for.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct FileRead {
    /// Its path, as it was asked for.
    pub path: PathBuf,
    /// What it was to hold.
    pub content: Content,
    /// What it held; `None` if it could not be read.
    pub revision: Option<Revision>,
}

impl FileRead {
    /// Whether the file is the same in `world` now.
    pub fn holds_in(&self, world: &dyn World) -> bool {
        world.read(&self.path, self.content).ok().map(|file| file.revision) == self.revision
    }
}

/// Another world, with a list of what was asked for.
pub struct Recorded<W> {
    world: W,
    reads: Mutex<Vec<FileRead>>,
}

impl<W: World> Recorded<W> {
    /// `world`, of which nothing was asked yet.
    pub fn new(world: W) -> Self {
        Self { world, reads: Mutex::default() }
    }

    /// What was asked for, each file once, sorted by path.
    pub fn reads(&self) -> Vec<FileRead> {
        let mut reads = self.reads.lock().unwrap_or_else(PoisonError::into_inner).clone();
        reads.sort();
        reads.dedup();
        reads
    }
}

impl<W: World> World for Recorded<W> {
    fn read(&self, path: &Path, content: Content) -> io::Result<FileBytes> {
        let found = self.world.read(path, content);
        let revision = found.as_ref().ok().map(|file| file.revision);
        let read = FileRead { path: path.to_owned(), content, revision };
        self.reads.lock().unwrap_or_else(PoisonError::into_inner).push(read);
        found
    }

    fn may_name(&self, folder: &Path, name: &Path) -> io::Result<()> {
        self.world.may_name(folder, name)
    }
}

/// The files that a cake file names, by their names relative to it.
#[derive(Clone)]
pub struct Beside<'a> {
    world: &'a dyn World,
    folder: PathBuf,
}

impl<'a> Beside<'a> {
    /// The files that a cake file in `folder` names.
    pub fn new(world: &'a dyn World, folder: impl Into<PathBuf>) -> Self {
        Self { world, folder: folder.into() }
    }

    /// The file called `name` in the cake file, which is to hold `content`.
    ///
    /// # Errors
    /// Whatever keeps it from being read; [`OutsideFolder`] if it does not lie in the cake file's folder and the world
    /// does not allow that.
    pub fn load(&self, name: &str, content: Content) -> io::Result<FileBytes> {
        self.world.may_name(&self.folder, Path::new(name))?;
        self.world.read(&self.folder.join(name), content)
    }

    /// Where all files come from.
    pub fn world(&self) -> &'a dyn World {
        self.world
    }

    /// Where the names start.
    pub fn folder(&self) -> &Path {
        &self.folder
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn unsaved_text_hides_what_lies_below_until_it_is_cleared() {
        let world = Overlay::new(Memory::new().with("a.toml", *b"old"));
        let read = |name: &str| world.read(Path::new(name), Content::Text).map(|file| file.bytes.to_vec());
        assert_eq!(read("a.toml").unwrap(), b"old");
        world.set("a.toml", *b"new");
        world.set("b.toml", *b"more");
        assert_eq!((read("a.toml").unwrap(), read("b.toml").unwrap()), (b"new".to_vec(), b"more".to_vec()));
        world.clear(Path::new("a.toml"));
        world.clear(Path::new("b.toml"));
        assert_eq!(read("a.toml").unwrap(), b"old");
        assert_eq!(read("b.toml").unwrap_err().kind(), io::ErrorKind::NotFound);
    }

    #[test]
    fn what_was_asked_for_is_known_also_what_was_not_there() {
        let memory = Memory::new().with("here.svg", *b"<svg/>");
        let recorded = Recorded::new(&memory);
        let beside = Beside::new(&recorded, "");
        beside.load("here.svg", Content::Drawing).unwrap();
        beside.load("here.svg", Content::Drawing).unwrap();
        beside.load("gone.svg", Content::Drawing).unwrap_err();
        let expected = [
            FileRead { path: "gone.svg".into(), content: Content::Drawing, revision: None },
            FileRead {
                path: "here.svg".into(),
                content: Content::Drawing,
                revision: Some(Revision::of(b"<svg/>")),
            },
        ];
        assert_eq!(recorded.reads(), expected);
        assert!(expected.iter().all(|read| read.holds_in(&memory)));
        let later = memory.with("gone.svg", *b"").with("here.svg", *b"<svg />");
        assert!(!expected.iter().any(|read| read.holds_in(&later)));
    }
}
