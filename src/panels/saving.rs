//! Writing a cake to the disk, which may be slow or gone: apart from the session, so that it can be done on a thread.

use std::{
    collections::BTreeMap,
    fs,
    io::{self, Write},
    path::{Path, PathBuf},
};

use cakefile::world::{Content, World};
use formats::export::{ExportError, FileSet};

/// A cake that is to be written.
#[derive(Debug, Clone)]
pub struct Save {
    /// Where to.
    pub path: PathBuf,
    /// Its text.
    pub text: String,
    /// The files that are written beside it, by name.
    pub beside: BTreeMap<String, Vec<u8>>,
    /// Files that the cake names and that come along to another folder, with where they lie.
    pub along: Vec<(String, PathBuf)>,
    /// The text that lies there, as far as is known; `None` where whatever lies there is written over.
    pub expected: Option<String>,
}

/// What came of writing.
#[derive(Debug, Clone, PartialEq)]
pub enum Saved {
    /// Everything was written.
    Done,
    /// Files of these names lie there already and hold something else; nothing was written. `along` are the files that
    /// were to come along.
    Taken {
        /// The names.
        names: Vec<String>,
        /// The files that come along from another folder, by name.
        along: BTreeMap<String, Vec<u8>>,
    },
    /// Somebody else wrote this text to the file since it was read; nothing was written.
    Changed(String),
    /// A folder or file that cannot be written, in a sentence; nothing was written.
    Failed(String),
}

impl Save {
    /// Writes the cake file and the files beside it, all or nothing. Of those none is written over another file.
    pub fn run(&self, world: &dyn World) -> Saved {
        if let Some(expected) = &self.expected
            && let Ok(there) = text_on_disk(world, &self.path)
            && there != *expected
            && there != self.text
        {
            return Saved::Changed(there);
        }
        let mut beside = self.along(world);
        let along = beside.clone();
        beside.extend(self.beside.clone());
        let mut names = Vec::new();
        for (name, bytes) in &beside {
            match holds_another(&self.path.with_file_name(name), bytes) {
                Ok(false) => {}
                Ok(true) => names.push(name.clone()),
                Err(error) => return Saved::Failed(format!("{name}: {error}")),
            }
        }
        if !names.is_empty() {
            return Saved::Taken { names, along };
        }
        match self.write(&beside) {
            Ok(()) => Saved::Done,
            Err(error) => Saved::Failed(error.to_string()),
        }
    }

    /// The files that come along; what cannot be read is told by the plan.
    fn along(&self, world: &dyn World) -> BTreeMap<String, Vec<u8>> {
        let read = |(name, from): &(String, PathBuf)| {
            let file = world.read(from, Content::Model).ok()?;
            Some((name.clone(), file.bytes.to_vec()))
        };
        self.along.iter().filter_map(read).collect()
    }

    fn write(&self, beside: &BTreeMap<String, Vec<u8>>) -> Result<(), ExportError> {
        let mut set = FileSet::new();
        for (name, bytes) in beside {
            set.add(&self.path.with_file_name(name), |w| w.write_all(bytes))?;
        }
        set.add(&self.path, |w: &mut dyn Write| w.write_all(self.text.as_bytes()))?;
        set.commit()?;
        Ok(())
    }
}

impl std::fmt::Display for Saved {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Done => write!(f, "everything was written"),
            Self::Taken { names, .. } => {
                write!(f, "other files are called so already: {}; nothing was written", names.join(", "))
            }
            Self::Changed(_) => write!(f, "another program changed the file meanwhile; nothing was written"),
            Self::Failed(error) => write!(f, "{error}"),
        }
    }
}

/// Whether something else than these bytes lies at `path`.
fn holds_another(path: &Path, bytes: &[u8]) -> io::Result<bool> {
    match fs::read(path) {
        Ok(there) => Ok(there != bytes),
        Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(false),
        Err(error) => Err(error),
    }
}

/// The text of a file as it lies on the disk.
///
/// # Errors
/// A file that cannot be read, or holds no text.
pub fn text_on_disk(world: &dyn World, path: &Path) -> io::Result<String> {
    let file = world.read(path, Content::Text)?;
    String::from_utf8(file.bytes.to_vec()).map_err(|_| io::ErrorKind::InvalidData.into())
}
