//! A cake file that is being edited: its text with undo, what of it is saved, and which of its values is selected.

use std::{
    collections::BTreeMap,
    io,
    path::{Path, PathBuf},
};

use cakefile::{
    CakeFile, FieldPath,
    edit::{Document, Edit, EditValue, History, HistoryError, PathMap},
    world::{Content, World},
};

use crate::saving::{Save, Saved, text_on_disk};

/// A cake file that is being edited. The text is the truth: nothing of the cake is kept elsewhere.
#[derive(Debug, Clone)]
pub struct Session {
    history: History,
    path: PathBuf,
    saved: Option<String>,
    beside: BTreeMap<String, Vec<u8>>,
    selected: Option<FieldPath>,
    outside: Option<String>,
    /// Whether a new cake is asked about before it is lost, although nothing was edited.
    is_kept: bool,
    /// Counts everything that happened to the text, so that whoever plans it sees that it is another.
    changes: u64,
}

/// Why an edit was refused, and what to do.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("{what}; {fix}")]
pub struct Refused {
    /// What was wrong.
    pub what: String,
    /// How to fix it.
    pub fix: String,
}

impl From<HistoryError> for Refused {
    fn from(error: HistoryError) -> Self {
        Self { what: error.to_string(), fix: error.fix() }
    }
}

impl Session {
    /// A cake that is on no disk yet and is to lie at `path`, with the files that it names and that will be written
    /// beside it: their names and bytes.
    pub fn new(path: impl Into<PathBuf>, text: &str, beside: BTreeMap<String, Vec<u8>>) -> Self {
        Self::with(path.into(), text, None, beside)
    }

    /// The cake file at `path`. One of an older format is upgraded, which counts as unsaved.
    ///
    /// # Errors
    /// A file that cannot be read, for the maker to read.
    pub fn open(world: &dyn World, path: &Path) -> Result<Self, String> {
        // Its errors are told in words; what the system says of a file comes after.
        let file = CakeFile::read(world, path).map_err(|error| error.render(false))?;
        let on_disk = text_on_disk(world, path).map_err(|error| format!("{}: {error}", path.display()))?;
        Ok(Self::with(path.to_owned(), file.text(), Some(on_disk), BTreeMap::new()))
    }

    /// What was not saved when a window ended: the file as it lies at `path`, with `text` as a step after it that can be
    /// undone; a new cake where there is no file.
    ///
    /// # Errors
    /// A file that is there and cannot be read, for the maker to read.
    pub fn recovered(
        world: &dyn World,
        path: &Path,
        text: &str,
        beside: BTreeMap<String, Vec<u8>>,
    ) -> Result<Self, String> {
        if world.read(path, Content::Text).is_err_and(|error| error.kind() == io::ErrorKind::NotFound) {
            let mut session = Self::new(path, text, beside);
            session.mark_edited();
            return Ok(session);
        }
        let mut session = Self::open(world, path)?;
        let edit = Edit::of_text(session.document(), text);
        session.edit("what was not saved", &edit).map_err(|refused| refused.to_string())?;
        session.beside = beside;
        Ok(session)
    }

    /// Counts as unsaved although nothing was edited: what it was begun with was chosen by the maker.
    pub fn mark_edited(&mut self) {
        self.is_kept = true;
    }

    fn with(path: PathBuf, text: &str, saved: Option<String>, beside: BTreeMap<String, Vec<u8>>) -> Self {
        let folder = path.parent().unwrap_or(Path::new("")).to_owned();
        let file = CakeFile::from_text(path.display().to_string(), folder, text);
        let history = History::new(Document::new(file));
        Self { history, path, saved, beside, selected: None, outside: None, is_kept: false, changes: 0 }
    }

    /// The document as it is now.
    pub fn document(&self) -> &Document {
        self.history.document()
    }

    /// Its text.
    pub fn text(&self) -> &str {
        self.document().text()
    }

    /// Where it lies, or will lie once it is saved.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Files that lie beside it once it is saved.
    pub fn beside(&self) -> &BTreeMap<String, Vec<u8>> {
        &self.beside
    }

    /// Rises with every change of the text, of its name and of the files beside it.
    pub fn changes(&self) -> u64 {
        self.changes
    }

    /// Whether it was never written.
    pub fn is_new(&self) -> bool {
        self.saved.is_none()
    }

    /// Whether there is anything that closing it would lose. A new cake counts once it was edited.
    pub fn is_unsaved(&self) -> bool {
        match &self.saved {
            Some(saved) => saved != self.text(),
            None => self.is_kept || self.history.undo_label().is_some(),
        }
    }

    /// The value that is selected.
    pub fn selected(&self) -> Option<&FieldPath> {
        self.selected.as_ref()
    }

    /// Selects a value, or nothing.
    pub fn select(&mut self, path: Option<FieldPath>) {
        self.selected = path;
    }

    /// Edits the text as one step that can be undone.
    ///
    /// # Errors
    /// An edit that leads nowhere; the text stays.
    pub fn edit(&mut self, label: &str, edit: &Edit) -> Result<(), Refused> {
        self.finish();
        let moved = self.history.step(label, edit)?;
        self.moved(&moved);
        Ok(())
    }

    /// Edits the text as part of a gesture that is undone at once: the first call begins it, [`Self::finish`] ends it.
    ///
    /// # Errors
    /// As [`Self::edit`].
    pub fn drag(&mut self, label: &str, edit: &Edit) -> Result<(), Refused> {
        if !self.history.is_open() {
            self.history.begin(label)?;
        }
        let moved = self.history.apply(edit)?;
        self.moved(&moved);
        Ok(())
    }

    /// [`Self::drag`] for part of a gesture, else [`Self::edit`].
    ///
    /// # Errors
    /// As [`Self::edit`].
    pub fn change(&mut self, label: &str, edit: &Edit, is_gesture: bool) -> Result<(), Refused> {
        if is_gesture { self.drag(label, edit) } else { self.edit(label, edit) }
    }

    /// Whether a gesture was begun and goes on.
    pub fn is_dragging(&self) -> bool {
        self.history.is_open()
    }

    /// Ends a gesture. Nothing happens if none was begun.
    pub fn finish(&mut self) {
        let _ = self.history.commit();
    }

    /// Ends a gesture and takes it back. Nothing happens if none was begun.
    pub fn abort(&mut self) {
        if let Ok(moved) = self.history.abort() {
            self.moved(&moved);
        }
    }

    /// Takes the last step back; whether there was one.
    pub fn undo(&mut self) -> bool {
        self.finish();
        let moved = self.history.undo().ok().flatten();
        moved.inspect(|moved| self.moved(moved)).is_some()
    }

    /// Takes the step again that was last taken back; whether there was one.
    pub fn redo(&mut self) -> bool {
        self.finish();
        let moved = self.history.redo().ok().flatten();
        moved.inspect(|moved| self.moved(moved)).is_some()
    }

    /// What [`Self::undo`] takes back.
    pub fn undo_label(&self) -> Option<&str> {
        self.history.undo_label()
    }

    /// What [`Self::redo`] does again.
    pub fn redo_label(&self) -> Option<&str> {
        self.history.redo_label()
    }

    fn moved(&mut self, moved: &PathMap) {
        self.changes += 1;
        self.selected = self.selected.take().and_then(|path| moved.map(&path));
    }

    /// Lays a file beside the cake, under `name` or, where another is called so, a name like it. It is written with
    /// the cake file. Gives the name.
    pub fn put_beside(&mut self, name: &str, bytes: Vec<u8>) -> String {
        let folder = self.folder().to_owned();
        self.put_beside_in(&folder, name, bytes)
    }

    fn put_beside_in(&mut self, folder: &Path, name: &str, bytes: Vec<u8>) -> String {
        let (stem, ending) =
            name.rsplit_once('.').map_or((name, String::new()), |(s, e)| (s, format!(".{e}")));
        let taken = |name: &str| {
            self.beside.get(name).is_some_and(|other| *other != bytes) || folder.join(name).exists()
        };
        let numbered = (2..).map(|number| format!("{stem}-{number}{ending}"));
        let free = std::iter::once(name.to_owned()).chain(numbered).find(|name| !taken(name));
        let name = free.unwrap_or_else(|| name.to_owned());
        self.beside.insert(name.clone(), bytes);
        self.changes += 1;
        name
    }

    fn folder(&self) -> &Path {
        self.path.parent().unwrap_or(Path::new(""))
    }

    /// What is written by saving: the cake file, and the files beside it that were not written yet. [`Self::saved`] takes
    /// note of it.
    pub fn to_save(&mut self) -> Save {
        self.finish();
        Save {
            path: self.path.clone(),
            text: self.text().to_owned(),
            beside: self.beside.clone(),
            along: Vec::new(),
            expected: self.saved.clone(),
        }
    }

    /// What is written by saving to another place: every file that the cake names comes along.
    pub fn to_save_as(&mut self, path: &Path) -> Save {
        let mut save = self.to_save();
        if path.parent() != self.path.parent() {
            let named = self.named_files().into_iter().filter(|name| !self.beside.contains_key(name));
            save.along = named.map(|name| (name.clone(), self.folder().join(name))).collect();
        }
        Save { path: path.to_owned(), expected: None, ..save }
    }

    /// Takes note of what came of a [`Save`]. Whether everything is done; else a name was changed because it was taken, and
    /// it can be tried again, or somebody else's text is kept beside this one ([`Self::outside`]).
    ///
    /// # Errors
    /// What could not be written, in a sentence.
    pub fn saved(&mut self, save: &Save, saved: Saved) -> Result<bool, String> {
        match saved {
            Saved::Done => {
                if save.path != self.path {
                    self.path.clone_from(&save.path);
                    let folder = save.path.parent().unwrap_or(Path::new(""));
                    let file = CakeFile::from_text(save.path.display().to_string(), folder, self.text());
                    self.history.rename(file.name(), file.folder());
                    self.changes += 1;
                }
                self.saved = Some(save.text.clone());
                self.beside.retain(|name, bytes| save.beside.get(name) != Some(bytes));
                self.outside = None;
                Ok(true)
            }
            Saved::Taken { names, along } => {
                self.beside.extend(along);
                self.rename_beside(&names, save.path.parent().unwrap_or(Path::new("")));
                Ok(false)
            }
            Saved::Changed(theirs) => {
                self.outside = Some(theirs);
                Ok(false)
            }
            Saved::Failed(error) => Err(error),
        }
    }

    /// Gives files that are not written yet other names, in the text too, which nothing in `folder` has.
    fn rename_beside(&mut self, names: &[String], folder: &Path) {
        for name in names {
            let Some(bytes) = self.beside.remove(name) else { continue };
            let other = self.put_beside_in(folder, name, bytes);
            let document = self.document();
            let names_it = |path: &FieldPath| {
                is_file_key(path) && document.value(path).and_then(EditValue::as_str) == Some(name.as_str())
            };
            let paths = document.paths().into_iter().filter(names_it);
            let edits = paths.map(|path| Edit::Set { path, value: other.as_str().into() }).collect();
            // Values that are there can be set.
            let _ = self.edit("file renamed", &Edit::Many(edits));
        }
    }

    /// Writes the cake file at once, and the files beside it that were not written yet, all or nothing. Of those none is
    /// written over another file: it gets another name, in the text too.
    ///
    /// # Errors
    /// A folder or file that cannot be written, or that somebody else wrote to, in a sentence; then nothing was.
    pub fn save(&mut self, world: &dyn World) -> Result<(), String> {
        self.save_now(world, Self::to_save)
    }

    /// Writes the cake file to another place, with every file that it names and that can be read, and goes on with that
    /// one.
    ///
    /// # Errors
    /// As [`Self::save`].
    pub fn save_as(&mut self, world: &dyn World, path: &Path) -> Result<(), String> {
        self.save_now(world, |session| session.to_save_as(path))
    }

    fn save_now(&mut self, world: &dyn World, save: impl Fn(&mut Self) -> Save) -> Result<(), String> {
        loop {
            let save = save(self);
            let saved = save.run(world);
            let said = saved.to_string();
            let is_renamed = matches!(saved, Saved::Taken { .. });
            if self.saved(&save, saved)? {
                return Ok(());
            }
            if !is_renamed {
                return Err(said);
            }
        }
    }

    /// The files that the cake names: the value of every key `file` and `font`.
    fn named_files(&self) -> Vec<String> {
        let document = self.document();
        let mut named: Vec<String> = document
            .paths()
            .into_iter()
            .filter(is_file_key)
            .filter_map(|path| Some(document.value(&path)?.as_str()?.to_owned()))
            .collect();
        named.sort();
        named.dedup();
        named
    }

    /// Takes note of what lies on the disk now ([`Self::on_disk`]).
    pub fn look_at_disk(&mut self, world: &dyn World) {
        if let Ok(on_disk) = text_on_disk(world, &self.path) {
            self.on_disk(on_disk);
        }
    }

    /// Takes note of the text that lies on the disk now. Where nothing is unsaved here, that becomes the text, as a step
    /// that can be undone; where something is, both are kept until one is chosen ([`Self::outside`]).
    pub fn on_disk(&mut self, on_disk: String) {
        let Some(saved) = &self.saved else { return };
        if on_disk == *saved {
            return;
        }
        if on_disk == self.text() {
            self.saved = Some(on_disk);
            self.outside = None;
        } else if self.is_unsaved() {
            self.outside = Some(on_disk);
        } else {
            self.take(on_disk);
        }
    }

    /// The text that somebody else wrote to the file while something is unsaved here.
    pub fn outside(&self) -> Option<&str> {
        self.outside.as_deref()
    }

    /// Goes on with the text that somebody else wrote; what was here can be had back by undo.
    pub fn take_outside(&mut self) {
        if let Some(text) = self.outside.take() {
            self.take(text);
        }
    }

    /// Goes on with the text that is here; the next save writes over the other.
    pub fn keep_inside(&mut self) {
        if let Some(text) = self.outside.take() {
            self.saved = Some(text);
        }
    }

    fn take(&mut self, text: String) {
        let edit = Edit::of_text(self.document(), &text);
        if self.edit("changed by another program", &edit).is_ok() {
            self.saved = Some(text);
        }
    }
}

/// Whether a value names a file.
fn is_file_key(path: &FieldPath) -> bool {
    matches!(path.0.last(), Some(cakefile::Step::Key(key)) if key == "file" || key == "font")
}
