//! Atomic writes of one file or of a set of files: a reader never meets half a file, and a write that fails, is
//! broken off or killed leaves the old files, or none, as they were.
//!
//! A set lies in one folder. Its files are written into a stage folder there (`stage`), flushed to the disk, and get
//! their names once all of them are complete; a set of several says in a journal first what is renamed to what
//! (`journal`), so that after a kill or a power cut the next run in the folder finishes the set or takes it back. One
//! run at a time writes into a folder; another waits. A set may have a manifest (`manifest`), by which it replaces the
//! set before it without touching what is the maker's.
//!
//! The list of unfinished stage folders is the one piece of process-wide state, because Ctrl-C is process-wide as
//! well: see [`abandon_all`].

mod aside;
mod fingerprint;
mod journal;
mod manifest;
mod stage;
mod target;
mod unfinished;
mod verify;

use std::{
    collections::HashMap,
    fs,
    io::{self, BufWriter, Write},
    path::{Path, PathBuf},
};

use super::{ExportError, error, same_name::same_name_key};
use error::write_error;
use fingerprint::Fingerprinting;
use journal::{Failed, Fault, Journal};
use stage::Stage;
use target::{Target, folder_of, make_folders, remove_folders, sync_folder};

pub use fingerprint::Fingerprint;
pub use journal::Recovered;
pub use manifest::{MANIFEST, MadeFrom, Manifest, Member, Origin, Replaced};
pub use unfinished::{Abandoned, abandon_all};
pub use verify::{Checked, check};

/// Bytes gathered before they go to the file; larger pieces go straight through.
const BUFFER: usize = 1 << 18;

/// Writes one file atomically: all of it or nothing. Folders that are missing are made.
///
/// # Errors
/// When the file cannot be written, or `write` fails. Nothing is left behind then, and a file that was
/// there before is untouched.
pub fn write_atomic(
    path: &Path,
    write: impl FnOnce(&mut dyn Write) -> io::Result<()>,
) -> Result<(), ExportError> {
    let mut set = FileSet::new();
    set.add(path, write)?;
    set.commit().map(drop)
}

/// An atomic file set: all of its files appear, or none does.
///
/// Dropping a set without [`FileSet::commit`] removes what was written for it.
#[derive(Debug, Default)]
pub struct FileSet {
    open: Option<Open>,
    /// Whether its files are fingerprinted, for a manifest.
    fingerprinted: bool,
    /// Folders made so that there is a stage, outermost first.
    folders: Vec<PathBuf>,
}

/// A set whose folder is known and locked.
#[derive(Debug)]
struct Open {
    /// The folder that all files lie in, links followed.
    root: PathBuf,
    stage: Stage,
    /// Complete files that do not have their name yet; the place in the list is the number in the stage.
    staged: Vec<Staged>,
    /// Every name, as disks compare them.
    names: HashMap<String, PathBuf>,
    recovered: Option<Recovered>,
}

#[derive(Debug)]
struct Staged {
    target: Target,
    /// Length and fingerprint, if the set has a manifest.
    holds: Option<(u64, Fingerprint)>,
}

impl FileSet {
    /// An empty set in the folder of the first file that is added. It waits silently for other runs that write there.
    pub fn new() -> Self {
        Self::default()
    }

    /// An empty set in `folder`, which is made if it is not there. If another run writes there, `waiting` is called
    /// and the set begins when that run has ended.
    ///
    /// # Errors
    /// When nothing can be written in the folder.
    pub fn in_folder(folder: &Path, waiting: &dyn Fn(&Path)) -> Result<Self, ExportError> {
        let mut set = Self::new();
        set.open(folder, waiting)?;
        Ok(set)
    }

    /// The same for a set that ends in [`FileSet::commit_with_manifest`].
    ///
    /// # Errors
    /// As for [`FileSet::in_folder`].
    pub fn with_manifest(folder: &Path, waiting: &dyn Fn(&Path)) -> Result<Self, ExportError> {
        let mut set = Self::in_folder(folder, waiting)?;
        set.fingerprinted = true;
        Ok(set)
    }

    /// What a killed run had left in the folder and was put in order, if it is known which folder that is.
    pub fn recovered(&self) -> Option<Recovered> {
        self.open.as_ref().and_then(|open| open.recovered)
    }

    fn open(&mut self, folder: &Path, waiting: &dyn Fn(&Path)) -> Result<&mut Open, ExportError> {
        let full = std::path::absolute(folder).map_err(|source| write_error(folder, source))?;
        {
            let mut unfinished = unfinished::lock();
            self.folders = make_folders(&full)?;
            unfinished.list_folders(&self.folders);
        }
        let root = fs::canonicalize(&full).map_err(|source| write_error(&full, source))?;
        let (stage, recovered) = Stage::open(&root, waiting).map_err(|error| match error {
            ExportError::FolderNotWritable { source, .. } => {
                ExportError::FolderNotWritable { folder: full.clone(), source }
            }
            other => other,
        })?;
        let open = Open { root, stage, staged: Vec::new(), names: HashMap::new(), recovered };
        Ok(self.open.insert(open))
    }

    /// Writes one more file of the set under a scratch name.
    ///
    /// # Errors
    /// When the file cannot be written, `write` fails, the set has a file of that name already, or the file would lie
    /// outside the set's folder.
    pub fn add(
        &mut self,
        path: &Path,
        write: impl FnOnce(&mut dyn Write) -> io::Result<()>,
    ) -> Result<(), ExportError> {
        let fingerprinted = self.fingerprinted;
        let open = match &mut self.open {
            Some(open) => open,
            None => {
                let folder = folder_of(path)?;
                self.open(&folder, &|_| {})?
            }
        };
        open.add(path, fingerprinted, write)
    }

    /// Gives every file its name and returns the paths, in the order they were added.
    ///
    /// # Errors
    /// When a file cannot be renamed; the files already renamed are put back as they were.
    pub fn commit(mut self) -> Result<Vec<PathBuf>, ExportError> {
        let Some(open) = self.open.take() else { return Ok(Vec::new()) };
        open.place(&mut self.folders, &[])
    }

    /// Gives every file its name, adds the manifest, and removes the files of the set before that this one does not
    /// have. What the maker changed, or put there, stays; where its name is needed, under another.
    ///
    /// # Errors
    /// When the folder holds the set of another cake or a manifest that cannot be read, or a file cannot be renamed;
    /// nothing is changed then.
    pub fn commit_with_manifest(mut self, made_from: MadeFrom) -> Result<Replaced, ExportError> {
        let Some(mut open) = self.open.take() else { return Ok(Replaced::default()) };
        let mut replaced = Replaced::default();
        let before = Manifest::read(&open.root)?;
        if let Some(before) = before.as_ref().filter(|before| !before.is_of_same_cake(&made_from)) {
            return Err(ExportError::OtherKit {
                folder: open.root.clone(),
                title: before.made_from.title.clone(),
                file: before.made_from.files.first().map_or_else(String::new, |origin| origin.file.clone()),
            });
        }
        open.set_aside(before.as_ref(), &mut replaced)?;
        let (gone, kept) = open.left_over(before.as_ref(), &mut replaced)?;
        let members = open.members()?;
        let text = Manifest::new(made_from, members, kept).text();
        let text = text.map_err(|source| write_error(&open.root.join(MANIFEST), source))?;
        open.add(&open.root.join(MANIFEST), false, |w| w.write_all(&text))?;
        replaced.written = open.place(&mut self.folders, &gone)?;
        let aside: Vec<&PathBuf> = replaced.set_aside.iter().map(|(_, now)| now).collect();
        replaced.written.retain(|path| !aside.contains(&path));
        Ok(replaced)
    }
}

impl Open {
    fn add(
        &mut self,
        path: &Path,
        fingerprinted: bool,
        write: impl FnOnce(&mut dyn Write) -> io::Result<()>,
    ) -> Result<(), ExportError> {
        let target = Target::of(path, &self.root)?;
        self.take_name(&target)?;
        let failed = |source| write_error(path, source);
        let filled = self.stage.next_file(target.existing.as_ref()).and_then(|file| {
            let filled = fill(file, fingerprinted, write);
            filled.inspect_err(|_| self.stage.drop_last())
        });
        match filled {
            Ok(holds) => {
                self.staged.push(Staged { target, holds });
                Ok(())
            }
            Err(source) => {
                self.names.remove(&same_name_key(&target.inside));
                Err(failed(source))
            }
        }
    }

    fn take_name(&mut self, target: &Target) -> Result<(), ExportError> {
        match self.names.insert(same_name_key(&target.inside), target.shown.clone()) {
            None => Ok(()),
            Some(other) => {
                self.names.insert(same_name_key(&target.inside), other.clone());
                Err(ExportError::SameName { path: target.shown.clone(), other })
            }
        }
    }

    /// Adds, for each file of the maker's whose name is needed, that file under another name.
    fn set_aside(&mut self, before: Option<&Manifest>, replaced: &mut Replaced) -> Result<(), ExportError> {
        for number in 0..self.staged.len() {
            let Staged { target, holds } = &self.staged[number];
            let (file, shown) = (self.root.join(&target.inside), target.shown.clone());
            let failed = |source| write_error(&shown, source);
            if !file.symlink_metadata().is_ok_and(|found| found.is_file()) {
                continue;
            }
            let listed = manifest::listed(&target.inside)?;
            let there = Fingerprint::of_file(&file).map_err(failed)?;
            let ours = before.and_then(|before| before.member(&listed)).map(|was| (was.bytes, was.sha256));
            if ours == Some(there) || *holds == Some(there) {
                continue;
            }
            let promised = |path: &Path| {
                let inside = path.strip_prefix(&self.root).unwrap_or(path);
                self.names.contains_key(&same_name_key(inside))
            };
            let name = aside::free_name(&file, promised);
            let target = Target::of(&name, &self.root)?;
            self.take_name(&target)?;
            self.stage.link(&file).map_err(failed)?;
            replaced.set_aside.push((shown.clone(), name));
            self.staged.push(Staged { target, holds: None });
        }
        Ok(())
    }

    /// Files of the set before that this one does not have: those that go away, and those that stay because the maker
    /// changed them.
    fn left_over(
        &self,
        before: Option<&Manifest>,
        replaced: &mut Replaced,
    ) -> Result<(Vec<PathBuf>, Vec<String>), ExportError> {
        let (mut gone, mut kept) = (Vec::new(), Vec::new());
        let Some(before) = before else { return Ok((gone, kept)) };
        let is_new = |file: &str| self.names.contains_key(&same_name_key(Path::new(file)));
        for member in before.members.iter().filter(|member| !is_new(&member.file)) {
            let path = self.root.join(&member.file);
            match manifest::holds(&path, member) {
                Ok(true) => {
                    gone.push(PathBuf::from(&member.file));
                    replaced.removed.push(path);
                }
                Ok(false) => {
                    kept.push(member.file.clone());
                    replaced.kept.push(path);
                }
                Err(error) if error.kind() == io::ErrorKind::NotFound => {}
                Err(source) => return Err(write_error(&path, source)),
            }
        }
        let still_there = |file: &&String| !is_new(file) && self.root.join(file).symlink_metadata().is_ok();
        kept.extend(before.kept.iter().filter(still_there).cloned());
        Ok((gone, kept))
    }

    fn members(&self) -> Result<Vec<Member>, ExportError> {
        let listed = self.staged.iter().filter_map(|staged| Some((&staged.target.inside, staged.holds?)));
        listed
            .map(|(inside, (bytes, sha256))| Ok(Member { file: manifest::listed(inside)?, bytes, sha256 }))
            .collect()
    }

    /// Gives all files their names and removes those that are `gone`; all or nothing. `folders` were made for the set
    /// and stay from now on.
    fn place(mut self, folders: &mut Vec<PathBuf>, gone: &[PathBuf]) -> Result<Vec<PathBuf>, ExportError> {
        // Nothing is broken off in the middle.
        let mut unfinished = unfinished::lock();
        match self.rename_all(folders, gone) {
            Ok(()) => {
                unfinished.forget_folders(folders);
                folders.clear();
                Ok(self.staged.iter().map(|staged| staged.target.shown.clone()).collect())
            }
            Err(Fault::TakenBack(failed)) => Err(write_error(&failed.path, failed.source)),
            Err(Fault::Left(failed)) => {
                self.stage.leave(&mut unfinished);
                Err(ExportError::Unfinished { path: failed.path, source: failed.source })
            }
        }
    }

    fn rename_all(&self, made: &[PathBuf], gone: &[PathBuf]) -> Result<(), Fault> {
        let (root, stage) = (&self.root, self.stage.folder());
        for folder in made.iter().filter_map(|made| made.parent()) {
            sync_folder(folder)
                .map_err(|source| Fault::TakenBack(Failed { path: folder.to_owned(), source }))?;
        }
        if let [only] = &self.staged[..]
            && gone.is_empty()
            && only.target.inside.iter().count() == 1
        {
            // A single rename replaces the old file in one step.
            let file = root.join(&only.target.inside);
            fs::rename(stage::new_file(stage, 0), &file)
                .map_err(|source| Fault::TakenBack(Failed { path: file, source }))?;
            // The new file has its name; that it may not survive a power cut is no reason to say that it has not.
            let _ = sync_folder(root);
            return Ok(());
        }
        let mut journal = Journal::default();
        for file in &self.staged {
            journal.put(stage, root, &file.target.inside).map_err(Fault::TakenBack)?;
        }
        gone.iter().try_for_each(|file| journal.remove(root, file)).map_err(Fault::TakenBack)?;
        journal.carry_out(stage, root)
    }
}

impl Drop for FileSet {
    fn drop(&mut self) {
        // Before the folders that it lies in.
        self.open = None;
        if !self.folders.is_empty() {
            let mut unfinished = unfinished::lock();
            unfinished.forget_folders(&self.folders);
            remove_folders(&self.folders);
        }
    }
}

/// Fills a file and flushes it to the disk.
fn fill(
    file: fs::File,
    fingerprinted: bool,
    write: impl FnOnce(&mut dyn Write) -> io::Result<()>,
) -> io::Result<Option<(u64, Fingerprint)>> {
    if fingerprinted {
        let mut buffered = BufWriter::with_capacity(BUFFER, Fingerprinting::new(file));
        write(&mut buffered)?;
        let (file, bytes, sha256) = buffered.into_inner().map_err(io::IntoInnerError::into_error)?.end();
        file.sync_all()?;
        return Ok(Some((bytes, sha256)));
    }
    let mut buffered = BufWriter::with_capacity(BUFFER, file);
    write(&mut buffered)?;
    buffered.into_inner().map_err(io::IntoInnerError::into_error)?.sync_all()?;
    Ok(None)
}
