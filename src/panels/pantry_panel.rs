//! The pantry: what the maker owns, mixes, buys and charges, for every cake. It is written as it is changed.

use std::{
    collections::BTreeMap,
    fs,
    path::{Path, PathBuf},
};

use cakefile::{Diagnostic, schema_pantry::PantryFile, world::World};
use egui::Ui;
use plan::{PANTRY_BESIDE, pantry::USUAL};

use crate::{
    asked::Asked,
    form::{Form, FormView},
    session::Session,
};

/// The panel, with the pantry file that counts for the cake.
pub struct PantryPanel {
    /// The maker's own, for cakes that have none beside them.
    usual: Option<PathBuf>,
    session: Option<Session>,
    /// How often a pantry file was written.
    changes: u64,
}

impl PantryPanel {
    /// The panel; `usual` is the maker's own pantry file, which need not be there.
    pub fn new(usual: Option<PathBuf>) -> Self {
        Self { usual, session: None, changes: 0 }
    }

    /// The pantry file that is edited.
    pub fn session_mut(&mut self) -> Option<&mut Session> {
        self.session.as_mut()
    }

    /// Rises with every change that was written.
    pub fn changes(&self) -> u64 {
        self.changes
    }

    /// The file that counts for a cake: the one beside it, else the maker's own.
    fn file(&self, cake: &Path) -> Option<PathBuf> {
        let beside = cake.with_file_name(PANTRY_BESIDE);
        if beside.is_file() { Some(beside) } else { self.usual.clone() }
    }

    /// Draws the panel for the cake at `cake`.
    ///
    /// # Errors
    /// A pantry file that cannot be read, in a sentence.
    pub fn show(
        &mut self,
        ui: &mut Ui,
        world: &dyn World,
        cake: &Path,
        materials: &[String],
    ) -> Result<(), String> {
        ui.label("What you own, mix, buy and charge, for every cake. It is kept as you change it.");
        let Some(file) = self.file(cake) else {
            ui.weak("There is no place for a pantry of your own.");
            return Ok(());
        };
        if self.session.as_ref().is_none_or(|session| session.path() != file) {
            self.session = None;
            if file.is_file() {
                self.session = Some(Session::open(world, &file)?);
            }
        }
        let Some(session) = &mut self.session else {
            ui.label("So far cakes are planned with the pantry that comes with the program.");
            if ui.button("Begin a pantry of your own").on_hover_text(file.display().to_string()).clicked() {
                // A copy to change: every number stands in it, with where it comes from.
                self.session = Some(Session::new(file, USUAL, BTreeMap::new()));
            }
            return Ok(());
        };
        ui.weak(session.path().display().to_string());
        let problems: Vec<Diagnostic> = session.document().file().parse_as::<PantryFile>().problems;
        let mut asked = Vec::new();
        let view = FormView {
            document: session.document(),
            problems: &problems,
            materials,
            selected: session.selected(),
        };
        Form::new(view, &mut asked).placed("pantry").keys(ui, &["pantry"]);
        for one in asked {
            if let Asked::Edit { label, edit, is_gesture } = one {
                session.change(&label, &edit, is_gesture).map_err(|refused| format!("{refused}."))?;
            }
        }
        Ok(())
    }

    /// Ends a gesture, and writes what was changed.
    ///
    /// # Errors
    /// A file that cannot be written, in a sentence; what was changed stays here.
    pub fn settle(&mut self, world: &dyn World) -> Result<(), String> {
        let Some(session) = &mut self.session else { return Ok(()) };
        session.finish();
        if !session.is_new() && !session.is_unsaved() {
            return Ok(());
        }
        let folder = session.path().parent().unwrap_or(Path::new(""));
        let made = fs::create_dir_all(folder).map_err(|error| error.to_string());
        let written = made.and_then(|()| session.save(world));
        match written {
            Ok(()) => {
                self.changes += 1;
                Ok(())
            }
            Err(error) => {
                let error = format!("The pantry could not be kept in {}: {error}", session.path().display());
                // It is tried again with the next change, not with every frame.
                self.session = None;
                Err(error)
            }
        }
    }
}
