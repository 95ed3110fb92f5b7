//! The manifest of a set: which files in a folder are the program's, and what they were made from.
//!
//! It is the one way to tell, when a set is written again, what belongs to the set before and what to the maker. A file
//! is the program's if the manifest lists it with the bytes that it has now; everything else is the maker's and is
//! neither removed nor written over.

use std::{
    collections::BTreeMap,
    fs, io,
    path::{Path, PathBuf},
};

use serde::{Deserialize, Serialize};

use super::{ExportError, Fingerprint, target::is_plain};

/// What the manifest of a kit is called, in the kit's folder.
pub const MANIFEST: &str = "kit.json";

/// Counted up when the meaning of a manifest changes.
const VERSION: u32 = 1;

/// No manifest is larger, bytes: ten thousand members take a fifth of it.
const LARGEST: u64 = 8 * 1024 * 1024;

/// What a set was made from, and how.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct MadeFrom {
    /// The program and its version.
    pub program: String,
    /// What the cake is called.
    pub title: String,
    /// The cake file first, then every file that it was made from.
    pub files: Vec<Origin>,
    /// What was asked for, by flag or setting.
    pub options: BTreeMap<String, String>,
}

/// A file that a set was made from.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Origin {
    /// Its path from the cake file's folder, with `/`; only its name where it lies elsewhere.
    pub file: String,
    /// Whether it lies elsewhere.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub elsewhere: bool,
    /// What it held; `None` where it was looked for and not there.
    pub sha256: Option<Fingerprint>,
}

/// A file of a set.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Member {
    /// Its path from the set's folder, with `/`.
    pub file: String,
    /// Its length.
    pub bytes: u64,
    /// What it holds.
    pub sha256: Fingerprint,
}

/// A set as it was written.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Manifest {
    /// Version of this format.
    crumbline_kit: u32,
    /// What it was made from.
    pub made_from: MadeFrom,
    /// Its files, in the order of their paths.
    pub members: Vec<Member>,
    /// Files of sets before this one that the maker had changed, so that they were kept.
    pub kept: Vec<String>,
}

impl Manifest {
    pub(super) fn new(made_from: MadeFrom, mut members: Vec<Member>, mut kept: Vec<String>) -> Self {
        members.sort_by(|a, b| a.file.cmp(&b.file));
        kept.sort();
        kept.dedup();
        Self { crumbline_kit: VERSION, made_from, members, kept }
    }

    /// The manifest in `folder`; `None` if there is none.
    ///
    /// # Errors
    /// When it is there but cannot be read as one.
    pub fn read(folder: &Path) -> Result<Option<Self>, ExportError> {
        let path = folder.join(MANIFEST);
        let wrong = |why: String| ExportError::NotManifest { path: path.clone(), why };
        match fs::symlink_metadata(&path) {
            Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(None),
            Err(error) => return Err(wrong(error.to_string())),
            Ok(found) if !found.is_file() => return Err(wrong("it is no ordinary file".into())),
            Ok(found) if found.len() > LARGEST => return Err(wrong("it is larger than any".into())),
            Ok(_) => {}
        }
        let bytes = fs::read(&path).map_err(|error| wrong(error.to_string()))?;
        let manifest: Self = serde_json::from_slice(&bytes).map_err(|error| wrong(error.to_string()))?;
        if manifest.crumbline_kit != VERSION {
            return Err(wrong(format!(
                "it is of version {}, this program knows {VERSION}",
                manifest.crumbline_kit
            )));
        }
        let names = manifest.members.iter().map(|member| &member.file).chain(&manifest.kept);
        match names.into_iter().find(|name| !is_plain(Path::new(name))) {
            Some(outside) => Err(wrong(format!("{outside:?} leads out of the folder"))),
            None => Ok(Some(manifest)),
        }
    }

    pub(super) fn text(&self) -> io::Result<Vec<u8>> {
        let mut text = serde_json::to_vec_pretty(self)?;
        text.push(b'\n');
        Ok(text)
    }

    /// The member of that name.
    pub fn member(&self, file: &str) -> Option<&Member> {
        self.members.iter().find(|member| member.file == file)
    }

    /// Whether `other` is made from the same cake: one of that name, or in a file of that name.
    pub(super) fn is_of_same_cake(&self, other: &MadeFrom) -> bool {
        let file = |made: &MadeFrom| made.files.first().map(|origin| origin.file.clone());
        self.made_from.title == other.title || file(&self.made_from) == file(other)
    }
}

/// `inside` as it stands in a manifest: with `/` on every system.
pub(super) fn listed(inside: &Path) -> Result<String, ExportError> {
    let parts: Option<Vec<&str>> = inside.iter().map(|part| part.to_str()).collect();
    parts.map(|parts| parts.join("/")).ok_or_else(|| ExportError::NotUnicode { path: inside.to_owned() })
}

/// Whether the file at `path` holds what `member` says.
pub(super) fn holds(path: &Path, member: &Member) -> io::Result<bool> {
    let found = fs::symlink_metadata(path)?;
    if !found.is_file() || found.len() != member.bytes {
        return Ok(false);
    }
    Ok(Fingerprint::of_file(path)? == (member.bytes, member.sha256))
}

/// What became of the files that were there before.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Replaced {
    /// The files of the set and its manifest.
    pub written: Vec<PathBuf>,
    /// Files of the set before, which this one does not have and nobody had changed: gone.
    pub removed: Vec<PathBuf>,
    /// Files of the set before, which this one does not have but the maker had changed: still there.
    pub kept: Vec<PathBuf>,
    /// Files of the maker's whose names the set needed, and what they are called now.
    pub set_aside: Vec<(PathBuf, PathBuf)>,
}
