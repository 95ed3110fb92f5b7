//! Writing the cake and looking at its file, beside the window: a disk that is slow or gone does not stop it.

use std::{
    io,
    path::{Path, PathBuf},
    time::{Duration, Instant},
};

use super::{Workshop, dialogs::After};
use crate::{
    beside::{Beside, NoResult},
    saving::{Save, Saved, text_on_disk},
    stack::Wake,
};

/// A cake that is being written.
pub(super) struct Saving {
    save: Save,
    after: Option<After>,
    saved: Beside<Saved>,
    since: Instant,
}

impl Workshop {
    /// Works with the disk on threads from now on; `wake` is called when one is done.
    pub fn work_beside(&mut self, wake: Wake) {
        self.wake = Some(wake);
    }

    /// Writes the cake file; a new one is asked where.
    pub(super) fn save(&mut self, after: Option<After>) {
        let Some(session) = &mut self.session else { return };
        if session.is_new() {
            return self.ask_where(after);
        }
        if session.outside().is_some() {
            // Both are shown above the panel.
            return;
        }
        let save = session.to_save();
        self.write(save, after);
    }

    /// Writes the cake file to another place, and goes on with that one.
    pub(super) fn save_as(&mut self, path: &Path, after: Option<After>) {
        let Some(session) = &mut self.session else { return };
        let save = session.to_save_as(path);
        self.write(save, after);
    }

    fn write(&mut self, save: Save, after: Option<After>) {
        if self.saving.is_some() {
            self.told = Some("The cake is still being saved; try again when that is done.".into());
            return;
        }
        let (job, world) = (save.clone(), self.world.clone());
        let saved = Beside::start(self.wake.as_ref(), move || job.run(&*world));
        self.saving = Some(Saving { save, after, saved, since: Instant::now() });
        self.take_saved();
    }

    /// Takes note of what was written and of what was read.
    pub(super) fn take_saved(&mut self) {
        self.take_looked();
        let Some(saving) = &self.saving else { return };
        let saved = match saving.saved.result() {
            Err(NoResult::Waiting) => return,
            Err(NoResult::Gone) => {
                Saved::Failed("an internal error; the program is at fault, not the cake".into())
            }
            Ok(saved) => saved,
        };
        let (Some(Saving { save, after, .. }), Some(session)) = (self.saving.take(), &mut self.session)
        else {
            return;
        };
        // What was read meanwhile may be older.
        self.looking = None;
        let is_other = save.path != *session.path();
        match session.saved(&save, saved) {
            Err(error) => self.told = Some(format!("The cake could not be saved: {error}")),
            Ok(true) => {
                self.settings.remember(&save.path);
                self.keep_settings();
                if let Some(after) = after {
                    self.then(after);
                }
            }
            // Somebody else's text is shown above the panel until one is chosen.
            Ok(false) if session.outside().is_some() => {}
            Ok(false) if is_other => self.save_as(&save.path, after),
            Ok(false) => self.save(after),
        }
    }

    /// How long the cake is being written already.
    pub(super) fn saving_since(&self) -> Option<Duration> {
        self.saving.as_ref().map(|saving| saving.since.elapsed())
    }

    /// Takes note of what lies on the disk now.
    pub fn look_at_disk(&mut self) {
        let Some(session) = self.session.as_ref().filter(|session| !session.is_new()) else { return };
        let (world, path) = (self.world.clone(), session.path().to_owned());
        let of = path.clone();
        let read = Beside::start(self.wake.as_ref(), move || text_on_disk(&*world, &path));
        self.looking = Some((of, read));
        self.take_looked();
    }

    fn take_looked(&mut self) {
        let Some((of, read)) = &self.looking else { return };
        let text = match read.result() {
            Err(NoResult::Waiting) => return,
            Err(NoResult::Gone) => None,
            Ok(text) => text.ok(),
        };
        let of = of.clone();
        self.looking = None;
        if let (Some(text), Some(session)) = (text, &mut self.session)
            // While it is written it is one text or the other.
            && self.saving.is_none()
            && session.path() == of
        {
            session.on_disk(text);
        }
    }
}

/// The text of a file that is read beside the window.
pub(super) type Looking = (PathBuf, Beside<io::Result<String>>);
