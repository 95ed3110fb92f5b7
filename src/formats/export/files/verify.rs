//! Whether the set in a folder is whole: each file that its manifest lists, as it was written, and nothing of the sets
//! before.

use std::{collections::BTreeSet, fs, io, path::Path};

use super::{
    ExportError, MANIFEST, Manifest, Recovered,
    manifest::{holds, listed},
    same_name_key,
    stage::{self, Stage},
};

/// What is in a set's folder. Paths are from there, with `/`, sorted.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Checked {
    /// The manifest.
    pub manifest: Manifest,
    /// What a killed run had left, and what became of it just now.
    pub recovered: Option<Recovered>,
    /// Files of the set that are not there.
    pub missing: Vec<String>,
    /// Files of the set that hold something else than when they were written.
    pub changed: Vec<String>,
    /// Files of sets before, which the maker had changed and which this set does not have.
    pub earlier: Vec<String>,
    /// Files beside those of the set that are none of it.
    pub foreign: Vec<String>,
}

impl Checked {
    /// Whether the set is there as it was written, with nothing of a set before beside it. Files of others may be.
    pub fn is_whole(&self) -> bool {
        self.missing.is_empty() && self.changed.is_empty() && self.earlier.is_empty()
    }
}

/// Looks at the set in `folder`; `None` if there is none. What a killed run left is put in order first. If another run
/// writes there, `waiting` is called and the look is taken when it has ended.
///
/// # Errors
/// When the manifest or a file cannot be read, or what a killed run left cannot be put in order.
pub fn check(folder: &Path, waiting: &dyn Fn(&Path)) -> Result<Option<Checked>, ExportError> {
    let root = fs::canonicalize(folder).map_err(unreadable(folder))?;
    // Nothing is written where there is nothing to put in order: the folder may be one that nobody may write into.
    let recovered = if stage::is_there(&root) { Stage::open(&root, waiting)?.1 } else { None };
    let Some(manifest) = Manifest::read(&root)? else { return Ok(None) };
    let (mut missing, mut changed) = (Vec::new(), Vec::new());
    for member in &manifest.members {
        let path = root.join(&member.file);
        match holds(&path, member) {
            Ok(true) => {}
            Ok(false) => changed.push(member.file.clone()),
            Err(error) if error.kind() == io::ErrorKind::NotFound => missing.push(member.file.clone()),
            Err(source) => return Err(unreadable(&path)(source)),
        }
    }
    let there = |file: &&String| root.join(file).symlink_metadata().is_ok();
    let earlier: Vec<String> = manifest.kept.iter().filter(there).cloned().collect();
    let foreign = foreign(&root, &manifest)?;
    Ok(Some(Checked { manifest, recovered, missing, changed, earlier, foreign }))
}

/// Files in the folders of the set that are none of it.
fn foreign(root: &Path, manifest: &Manifest) -> Result<Vec<String>, ExportError> {
    let key = |file: &String| same_name_key(Path::new(file));
    let known: BTreeSet<String> =
        manifest.members.iter().map(|member| &member.file).chain(&manifest.kept).map(key).collect();
    let parents = manifest.members.iter().filter_map(|member| Path::new(&member.file).parent());
    let folders: BTreeSet<&Path> = parents.chain([Path::new("")]).collect();
    let mut foreign = Vec::new();
    for folder in folders {
        let full = root.join(folder);
        let entries = match fs::read_dir(&full) {
            Ok(entries) => entries,
            // Its files are missing, which is told already.
            Err(error) if error.kind() == io::ErrorKind::NotFound => continue,
            Err(source) => return Err(unreadable(&full)(source)),
        };
        for entry in entries {
            let entry = entry.map_err(unreadable(&full))?;
            if entry.file_type().is_ok_and(|kind| kind.is_dir()) {
                continue;
            }
            let inside = folder.join(entry.file_name());
            let name = listed(&inside).unwrap_or_else(|_| inside.display().to_string());
            if name != MANIFEST && !known.contains(&key(&name)) {
                foreign.push(name);
            }
        }
    }
    foreign.sort();
    Ok(foreign)
}

fn unreadable(path: &Path) -> impl FnOnce(io::Error) -> ExportError {
    let path = path.to_owned();
    |source| ExportError::Unreadable { path, source }
}
