//! Beginning a cake.

use std::{
    collections::BTreeMap,
    fs,
    path::{Path, PathBuf},
};

use formats::export::slug;

use super::{Tab, Workshop, dialogs::After};
use crate::{begin::Choice, command::Command, session::Session};

impl Workshop {
    /// Does what was chosen on the first page.
    pub(super) fn begin(&mut self, choice: Choice) {
        match choice {
            Choice::Open => self.run(Command::Open),
            Choice::Recent(path) => self.open(&path),
            Choice::Back => self.is_beginning = false,
            Choice::Example(example) => {
                let beside = example.beside.iter().map(|(name, bytes)| ((*name).to_owned(), bytes.to_vec()));
                self.begin_with(Session::new(new_path(example.file), example.text, beside.collect()));
                self.tab = Tab::Look;
            }
            Choice::Starter => {
                let text = cakefile::starter("First cake");
                self.begin_with(Session::new(new_path("first-cake.cake.toml"), &text, BTreeMap::new()));
                self.tab = Tab::Look;
            }
            Choice::New(new) => match new.begin(|file| fs::read(file)) {
                Ok(begun) => {
                    let file = format!("{}.cake.toml", slug(new.name.trim()));
                    let mut session = Session::new(new_path(&file), &begun.text, begun.beside);
                    session.mark_edited();
                    self.begin_with(session);
                    self.tab = Tab::Shape;
                }
                Err(error) => self.told = Some(error),
            },
            Choice::Recover(left) => {
                match Session::recovered(&*self.world, &left.cake, &left.text, left.beside.clone()) {
                    Ok(session) => {
                        self.begin_with(session);
                        left.forget();
                    }
                    Err(error) => self.told = Some(error),
                }
                self.left_behind.retain(|other| *other != left);
            }
            Choice::Forget(left) => {
                left.forget();
                self.left_behind.retain(|other| *other != left);
            }
        }
    }
}

impl Workshop {
    /// Takes a file that was dropped on the window: a cake file is opened, of a picture, a drawing or a model a cake is
    /// begun.
    pub fn drop_file(&mut self, file: &Path) {
        let name = file.file_name().unwrap_or_default().to_string_lossy().into_owned();
        if name.to_lowercase().ends_with(".toml") {
            self.then(After::OpenThis(file.to_owned()));
        } else if self.begin.take_file(file) {
            self.is_beginning = true;
        } else {
            self.told = Some(format!(
                "Nothing can be made of {name}: drop a cake file (.cake.toml), a picture (.png, .jpg), a drawing (.svg) \
                 or a model (.stl, .obj, .3mf, .glb)."
            ));
        }
    }
}

/// Where a cake that is on no disk yet is to lie: it is asked for when it is saved.
fn new_path(file: &str) -> PathBuf {
    // A folder of that name is not there, so that nothing beside it is taken for what the cake names.
    PathBuf::from("new-cake").join(file)
}
