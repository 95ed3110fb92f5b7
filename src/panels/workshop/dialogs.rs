//! What is asked before something is opened, written or lost.

use std::path::{Path, PathBuf};

use cakefile::{FieldPath, edit::Edit, glossary::TERMS};
use egui::{RichText, Ui};

use super::{Product, Request, Tab, Workshop};
use crate::{
    asked::Asked,
    command::{COMMANDS, Command},
    files::{Chosen, FileList},
};

/// What is being asked.
#[derive(Debug, Clone)]
pub(super) enum Dialog {
    /// Which file to open.
    Open(FileList),
    /// Where to write, and what is done then.
    SaveAs(FileList, Option<After>),
    /// Which file the value at a path is to name.
    File(FileList, FieldPath),
    /// Whether what is not saved may be lost.
    Unsaved(After),
    /// Keys and words.
    Help,
}

/// What is done once nothing can be lost any more.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum After {
    /// Another cake is begun.
    Begin,
    /// A file is chosen.
    Open,
    /// This cake file is opened.
    OpenThis(PathBuf),
    /// The window is closed.
    Quit,
    /// Something is made of the saved cake.
    Make(Product),
}

/// How the names of cake files end.
const ENDINGS: &[&str] = &["cake.toml", "toml"];

impl Workshop {
    /// Does a command.
    pub(crate) fn run(&mut self, command: Command) {
        match command {
            Command::New => self.then(After::Begin),
            Command::Open => self.then(After::Open),
            Command::Quit => self.then(After::Quit),
            Command::Save => self.save(None),
            Command::SaveAs => self.ask_where(None),
            Command::Undo => {
                self.active().map(super::Session::undo);
            }
            Command::Redo => {
                self.active().map(super::Session::redo);
            }
            Command::FindStacks if self.session.is_some() => {
                self.tab = Tab::Stack;
                self.requests.push(Request::FindStacks);
            }
            Command::FindStacks => {}
            Command::TakeStack => match self.best_stack.clone() {
                Some(edit) => self.take(vec![Asked::edit("stack", edit)]),
                None => {
                    self.told =
                        Some("No stack was found for the cake as it is now: look for one first.".into())
                }
            },
            Command::MakeKit if self.session.is_some() => {
                self.tab = Tab::Make;
                self.make(Product::Kit);
            }
            Command::MakeKit => {}
            Command::Help => self.dialog = Some(Dialog::Help),
        }
    }

    /// Does what would lose what is not saved: asks first where something is.
    pub(super) fn then(&mut self, after: After) {
        if self.session.as_ref().is_some_and(super::Session::is_unsaved) {
            self.dialog = Some(Dialog::Unsaved(after));
        } else {
            self.go_on(after);
        }
    }

    fn go_on(&mut self, after: After) {
        match after {
            After::Begin => self.is_beginning = true,
            After::Open => {
                let folder = self.folder();
                self.dialog = Some(Dialog::Open(
                    FileList::to_open("Open a cake", &folder, ENDINGS).by_system(self.asks_system()),
                ));
            }
            After::OpenThis(path) => self.open(&path),
            After::Quit => self.requests.push(Request::Quit),
            After::Make(product) => self.requests.push(Request::Make(product)),
        }
    }

    fn folder(&self) -> PathBuf {
        let of_session = self.session.as_ref().and_then(|session| session.path().parent());
        of_session.filter(|folder| folder.is_dir()).map_or_else(|| ".".into(), Path::to_owned)
    }

    /// Makes something of the cake, which is saved first.
    pub(super) fn make(&mut self, product: Product) {
        let is_saved =
            self.session.as_ref().is_some_and(|session| !session.is_new() && !session.is_unsaved());
        if is_saved { self.go_on(After::Make(product)) } else { self.save(Some(After::Make(product))) }
    }

    pub(super) fn ask_where(&mut self, after: Option<After>) {
        let Some(session) = &self.session else { return };
        let name = session.path().file_name().unwrap_or_default().to_string_lossy().into_owned();
        let list = FileList::to_write("Save the cake as", &self.folder(), &name, &["cake.toml"])
            .by_system(self.asks_system());
        self.dialog = Some(Dialog::SaveAs(list, after));
    }

    /// Draws what is being asked, and does what is answered.
    pub(super) fn dialogs(&mut self, ctx: &egui::Context) {
        let Some(mut dialog) = self.dialog.take() else { return };
        match &mut dialog {
            Dialog::Open(list) => match list.show(ctx) {
                Chosen::Open => self.dialog = Some(dialog),
                Chosen::Cancelled => {}
                Chosen::File(path) => self.open(&path),
            },
            Dialog::File(list, path) => match list.show(ctx) {
                Chosen::Open => self.dialog = Some(dialog),
                Chosen::Cancelled => {}
                Chosen::File(file) => {
                    let path = path.clone();
                    self.name_file(&path, &file);
                }
            },
            Dialog::SaveAs(list, after) => match list.show(ctx) {
                Chosen::Open => self.dialog = Some(dialog),
                Chosen::Cancelled => {}
                Chosen::File(path) => {
                    let after = after.take();
                    self.save_as(&path, after);
                }
            },
            Dialog::Unsaved(after) => {
                let after = after.clone();
                let modal = egui::Modal::new("unsaved".into()).show(ctx, unsaved);
                match modal.inner {
                    Some(Answer::Save) => self.save(Some(after)),
                    Some(Answer::Lose) => {
                        if let Some(recovery) = &mut self.recovery {
                            recovery.clear();
                        }
                        // Until another cake is begun one can still go back to this one.
                        if after == After::Quit {
                            self.session = None;
                        }
                        self.go_on(after);
                    }
                    Some(Answer::Cancel) => {}
                    None if modal.should_close() => {}
                    None => self.dialog = Some(dialog),
                }
            }
            Dialog::Help => {
                let modal = egui::Modal::new("help".into()).show(ctx, help);
                if !modal.inner && !modal.should_close() {
                    self.dialog = Some(dialog);
                }
            }
        }
    }

    /// The value at `path` names `file`, of which a copy comes to lie beside the cake unless it lies there already.
    fn name_file(&mut self, path: &FieldPath, file: &Path) {
        let Some(session) = &mut self.session else { return };
        let folder = session.path().parent().unwrap_or(Path::new(""));
        let beside = folder.canonicalize().ok().filter(|_| !session.is_new());
        let inside = beside.and_then(|folder| file.strip_prefix(folder).ok().map(Path::to_owned));
        let name = match inside {
            // Cake files name folders with a slash on every system.
            Some(inside) => inside.to_string_lossy().replace('\\', "/"),
            None => match std::fs::read(file) {
                Ok(bytes) => {
                    let name = file.file_name().unwrap_or_default().to_string_lossy().into_owned();
                    session.put_beside(&name, bytes)
                }
                Err(error) => {
                    self.told = Some(format!("{}: {error}.", file.display()));
                    return;
                }
            },
        };
        let edit = Edit::Set { path: path.clone(), value: name.into() };
        self.take(vec![Asked::edit("file", edit)]);
    }
}

enum Answer {
    Save,
    Lose,
    Cancel,
}

fn unsaved(ui: &mut Ui) -> Option<Answer> {
    ui.set_width(340.0);
    ui.strong("The cake is not saved.");
    ui.label("What was changed since it was saved last will be lost.");
    ui.horizontal(|ui| {
        let mut answer = None;
        if ui.button("Save it").clicked() {
            answer = Some(Answer::Save);
        }
        if ui.button("Lose the changes").clicked() {
            answer = Some(Answer::Lose);
        }
        if ui.button("Cancel").clicked() {
            answer = Some(Answer::Cancel);
        }
        answer
    })
    .inner
}

/// Keys and words; whether it was closed.
fn help(ui: &mut Ui) -> bool {
    ui.set_width(560.0);
    egui::ScrollArea::vertical().max_height(420.0).show(ui, |ui| {
        ui.label(RichText::new("Keys").strong());
        egui::Grid::new("keys").num_columns(2).striped(true).show(ui, |ui| {
            for entry in COMMANDS {
                if let Some(keys) = entry.keys {
                    ui.label(ui.ctx().format_shortcut(&keys));
                    ui.label(entry.help);
                    ui.end_row();
                }
            }
            for (keys, help) in OTHER_KEYS {
                ui.label(*keys);
                ui.label(*help);
                ui.end_row();
            }
        });
        ui.add_space(8.0);
        ui.label(RichText::new("Words").strong());
        egui::Grid::new("words").num_columns(2).striped(true).show(ui, |ui| {
            for term in TERMS {
                ui.label(term.name);
                ui.add(egui::Label::new(term.meaning).wrap());
                ui.end_row();
            }
        });
    });
    ui.button("Close").clicked()
}

const OTHER_KEYS: &[(&str, &str)] = &[
    ("Ctrl 1 … 9, 0", "Show the panel of that number: Look, Shape, Stack and so on."),
    ("F S B T Q", "Look from the front, the side, the back, the top, or from three quarters."),
    ("G, L", "Show or hide the raw stack; what carries what."),
    ("O", "True to scale, without perspective."),
    ("Arrows", "Turn the cake; move the point of the outline that has the focus."),
    ("+ −", "Nearer and further away."),
    ("Tab, Enter", "Go from control to control; press what has the focus."),
    ("Escape", "Leave a field as it was; close what is asked."),
];
