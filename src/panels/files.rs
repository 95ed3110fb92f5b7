//! The list of files from which one is chosen, to open or to write.

use std::{
    fs,
    path::{Path, PathBuf},
};

use egui::{Key, RichText, Ui};

use crate::{
    stack::Wake,
    system_dialog::{Question, SystemDialog, Told},
};

/// A file that is being chosen.
#[derive(Debug, Clone)]
pub struct FileList {
    /// What stands above the list.
    title: String,
    /// What the button says.
    button: &'static str,
    folder: PathBuf,
    /// The name that is typed or was clicked; a whole path goes too.
    name: String,
    endings: Vec<String>,
    entries: Vec<Entry>,
    wrong: Option<String>,
    is_writing: bool,
    is_asking_to_overwrite: bool,
    /// Whether it was drawn before: at first the name has the focus.
    is_shown: bool,
    /// The system's own dialog, which is asked instead of this list while it is open.
    system: Option<SystemDialog>,
}

#[derive(Debug, Clone, PartialEq)]
struct Entry {
    name: String,
    is_folder: bool,
}

/// What came of a frame.
#[derive(Debug, Clone, PartialEq)]
pub enum Chosen {
    /// Nothing yet.
    Open,
    /// None was chosen.
    Cancelled,
    /// This one.
    File(PathBuf),
}

impl FileList {
    /// A list of the files in `folder` that end in one of `endings`, to open one.
    pub fn to_open(title: &str, folder: &Path, endings: &[&str]) -> Self {
        Self::new(title, "Open", folder, "", endings, false)
    }

    /// The same to write one, which is called `name` unless another name is typed.
    pub fn to_write(title: &str, folder: &Path, name: &str, endings: &[&str]) -> Self {
        Self::new(title, "Save", folder, name, endings, true)
    }

    /// The same, asked by the system's own dialog where there is a `wake`, which is called once it is answered; where the
    /// dialog cannot be opened the list is shown.
    #[must_use]
    pub fn by_system(mut self, wake: Option<&Wake>) -> Self {
        self.system = wake.map(|wake| {
            let question = Question {
                title: &self.title,
                folder: &self.folder,
                name: &self.name,
                endings: &self.endings,
                is_writing: self.is_writing,
            };
            SystemDialog::open(&question, wake)
        });
        self
    }

    fn new(
        title: &str,
        button: &'static str,
        folder: &Path,
        name: &str,
        endings: &[&str],
        is_writing: bool,
    ) -> Self {
        let folder = folder.canonicalize().unwrap_or_else(|_| folder.to_owned());
        let mut list = Self {
            title: title.to_owned(),
            button,
            folder,
            name: name.to_owned(),
            endings: endings.iter().map(|ending| format!(".{ending}")).collect(),
            entries: Vec::new(),
            wrong: None,
            is_writing,
            is_asking_to_overwrite: false,
            is_shown: false,
            system: None,
        };
        list.read();
        list
    }

    fn read(&mut self) {
        self.entries.clear();
        self.wrong = None;
        let entries = match fs::read_dir(&self.folder) {
            Ok(entries) => entries,
            Err(error) => {
                self.wrong = Some(format!("{}: {error}", self.folder.display()));
                return;
            }
        };
        for entry in entries.flatten() {
            let name = entry.file_name().to_string_lossy().into_owned();
            // Follows links, so that a folder behind one can be entered.
            let is_folder = fs::metadata(entry.path()).is_ok_and(|data| data.is_dir());
            let fits = is_folder || self.endings.iter().any(|ending| name.to_lowercase().ends_with(ending));
            if fits && !name.starts_with('.') {
                self.entries.push(Entry { name, is_folder });
            }
        }
        self.entries.sort_by_key(|entry| (!entry.is_folder, entry.name.to_lowercase()));
    }

    fn enter(&mut self, folder: PathBuf) {
        self.folder = folder;
        self.is_asking_to_overwrite = false;
        self.read();
    }

    /// Draws the list in the middle of the window, or says that the system's dialog is open.
    pub fn show(&mut self, ctx: &egui::Context) -> Chosen {
        if let Some(system) = &mut self.system {
            match system.told() {
                Told::Nothing => {
                    let modal = egui::Modal::new("system files".into()).show(ctx, |ui| {
                        ui.strong(&self.title);
                        ui.label("Choose the file in the system's own dialog.");
                        ui.button("List the files here instead").clicked()
                    });
                    if modal.inner {
                        self.system = None;
                    }
                    return Chosen::Open;
                }
                Told::Cancelled => return Chosen::Cancelled,
                Told::NotThere => self.system = None,
                // That a file is written over was asked by the system.
                Told::File(path) => return Chosen::File(self.with_ending(path)),
            }
        }
        let modal = egui::Modal::new("files".into()).show(ctx, |ui| self.inside(ui));
        if modal.should_close() && modal.inner == Chosen::Open { Chosen::Cancelled } else { modal.inner }
    }

    fn inside(&mut self, ui: &mut Ui) -> Chosen {
        ui.set_width(460.0);
        ui.label(RichText::new(&self.title).strong());
        ui.horizontal(|ui| {
            let up = self.folder.parent().map(Path::to_owned);
            if ui.add_enabled(up.is_some(), egui::Button::new("Folder above")).clicked()
                && let Some(up) = up
            {
                self.enter(up);
            }
            ui.add(egui::Label::new(self.folder.display().to_string()).truncate());
        });
        let mut entered = None;
        let mut picked = None;
        egui::ScrollArea::vertical().max_height(280.0).auto_shrink([false, false]).show(ui, |ui| {
            for entry in &self.entries {
                let text = if entry.is_folder { format!("{}/", entry.name) } else { entry.name.clone() };
                let row = ui.selectable_label(self.name == entry.name, text);
                if entry.is_folder && row.clicked() {
                    entered = Some(self.folder.join(&entry.name));
                } else if row.double_clicked() {
                    picked = Some(entry.name.clone());
                } else if row.clicked() {
                    self.name = entry.name.clone();
                    self.is_asking_to_overwrite = false;
                }
            }
            if self.entries.is_empty() && self.wrong.is_none() {
                ui.weak(format!("No files here that end in {}.", self.endings.join(", ")));
            }
        });
        if let Some(folder) = entered {
            self.enter(folder);
        }
        if let Some(wrong) = &self.wrong {
            ui.label(RichText::new(wrong).color(crate::ink::wrong_ink(ui)));
        }
        let mut enter = false;
        ui.horizontal(|ui| {
            let label = ui.label("Name");
            let field =
                ui.add(egui::TextEdit::singleline(&mut self.name).desired_width(330.0)).labelled_by(label.id);
            if !std::mem::replace(&mut self.is_shown, true) {
                field.request_focus();
            }
            if field.changed() {
                self.is_asking_to_overwrite = false;
            }
            enter = field.lost_focus() && ui.input(|input| input.key_pressed(Key::Enter));
        });
        if self.is_asking_to_overwrite {
            ui.label(format!("{} is there already. Write over it?", self.name));
        }
        let mut chosen = Chosen::Open;
        ui.horizontal(|ui| {
            let name = if self.is_asking_to_overwrite { "Write over it" } else { self.button };
            let is_typed = !self.name.trim().is_empty();
            if ui.add_enabled(is_typed, egui::Button::new(name)).clicked()
                || (enter && is_typed)
                || picked.is_some()
            {
                if let Some(picked) = picked {
                    self.name = picked;
                }
                chosen = self.done();
            }
            if ui.button("Cancel").clicked() {
                chosen = Chosen::Cancelled;
            }
        });
        chosen
    }

    /// A file that is written ends as it should.
    fn with_ending(&self, path: PathBuf) -> PathBuf {
        let ending = self.endings.first().cloned().unwrap_or_default();
        let text = path.to_string_lossy();
        if !self.is_writing || text.to_lowercase().ends_with(&ending) {
            return path;
        }
        format!("{text}{ending}").into()
    }

    /// What the name stands for.
    fn done(&mut self) -> Chosen {
        let path = self.folder.join(self.name.trim());
        if path.is_dir() {
            self.enter(path);
            self.name.clear();
            return Chosen::Open;
        }
        if !self.is_writing {
            if path.is_file() {
                return Chosen::File(path);
            }
            self.wrong = Some(format!("There is no file {}.", path.display()));
            return Chosen::Open;
        }
        let path = self.with_ending(path);
        if path.exists() && !self.is_asking_to_overwrite {
            self.is_asking_to_overwrite = true;
            return Chosen::Open;
        }
        if path.parent().is_some_and(|folder| !folder.is_dir()) {
            self.wrong =
                Some(format!("There is no folder {}.", path.parent().unwrap_or(Path::new("")).display()));
            return Chosen::Open;
        }
        Chosen::File(path)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn names(list: &FileList) -> Vec<&str> {
        list.entries.iter().map(|entry| entry.name.as_str()).collect()
    }

    #[test]
    fn only_what_fits_is_listed_folders_first() {
        let folder = tempfile::tempdir().unwrap();
        for name in ["b.cake.toml", "a.CAKE.TOML", "notes.txt", ".hidden.cake.toml"] {
            fs::write(folder.path().join(name), "x").unwrap();
        }
        fs::create_dir(folder.path().join("zoo")).unwrap();
        let list = FileList::to_open("Open", folder.path(), &["cake.toml"]);
        assert_eq!(names(&list), ["zoo", "a.CAKE.TOML", "b.cake.toml"]);
    }

    #[test]
    fn a_file_that_is_there_is_asked_about_before_it_is_written_over() {
        let folder = tempfile::tempdir().unwrap();
        let at = folder.path().canonicalize().unwrap();
        fs::write(at.join("a.cake.toml"), "x").unwrap();
        let mut list = FileList::to_write("Save", &at, "a", &["cake.toml"]);
        assert_eq!(list.done(), Chosen::Open);
        assert_eq!(list.done(), Chosen::File(at.join("a.cake.toml")));
        let mut list = FileList::to_write("Save", &at, "new", &["cake.toml"]);
        assert_eq!(list.done(), Chosen::File(at.join("new.cake.toml")));
        let mut list = FileList::to_open("Open", &at, &["cake.toml"]);
        list.name = "missing".into();
        assert_eq!(list.done(), Chosen::Open);
        assert!(list.wrong.is_some());
    }
}
