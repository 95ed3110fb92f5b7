//! The cake that is edited in the window: its panels, and what works beside them.

use std::{
    path::{Path, PathBuf},
    process::Command,
    sync::{Arc, OnceLock},
};

use bevy::prelude::*;
use bevy_egui::egui;
use cakefile::FieldPath;
use formats::model::PartKind;
use glam::DVec3;

use super::{
    cake_file::CakeFileSource,
    problems::internal_error,
    source::LoadedCake,
    state::WindowState,
    worker::{JobError, NotLoaded, Worker},
};
use crate::spawn;
use panels::{
    Workshop,
    effect::Effects,
    maker::Maker,
    planned::Outcome,
    stack::{Finder, Search, Wake},
    workshop::{Folders, Layout, Request, Shown},
};

/// What the window is opened with.
#[derive(Debug, Clone, Default)]
pub struct WindowOptions {
    /// The cake file that is opened; without one the first page is shown.
    pub cake: Option<PathBuf>,
    /// The pantry file, as it is named to every command.
    pub pantry: Option<PathBuf>,
    /// Where the window keeps what is its own.
    pub folders: Folders,
    /// This program, which makes kits and pictures.
    pub program: PathBuf,
    /// The file that it tells what it does, if there is one.
    pub log: Option<PathBuf>,
}

/// Everything that is edited, and what works beside it.
#[derive(Resource)]
pub struct Editor {
    workshop: Workshop,
    source: CakeFileSource,
    finder: Finder,
    effects: Effects,
    maker: Maker,
    outcome: Outcome,
    /// The text that was given to the worker last: where it lies, how often it had changed, and whether a gesture went
    /// on.
    sent: Option<(PathBuf, u64, bool)>,
    /// How often the pantry had changed then.
    pantry_sent: u64,
    is_planning: bool,
    wake: Arc<OnceLock<Box<dyn Fn() + Send + Sync>>>,
}

/// What is to be done outside the panels after a frame.
#[derive(Default)]
pub struct AfterFrame {
    /// Where the panels lie.
    pub layout: Layout,
    /// The eye goes to this place, mm.
    pub look_at: Option<DVec3>,
    /// The window closes.
    pub quits: bool,
}

impl Editor {
    /// The panels on the cake that `options` name.
    pub fn new(
        source: CakeFileSource,
        options: &WindowOptions,
        world: Arc<dyn cakefile::world::World>,
    ) -> Self {
        let wake: Arc<OnceLock<Box<dyn Fn() + Send + Sync>>> = Arc::default();
        let call = wake.clone();
        let waker: Wake = Arc::new(move || {
            if let Some(wake) = call.get() {
                wake();
            }
        });
        let flag = |name: &str, file: &Option<PathBuf>| {
            file.iter().flat_map(|file| [name.into(), file.into()]).collect::<Vec<_>>()
        };
        let flags = [flag("--pantry", &options.pantry), flag("--log", &options.log)].concat();
        let mut workshop = Workshop::new(world, &options.folders);
        workshop.work_beside(waker.clone());
        workshop.ask_system();
        if let Some(cake) = &options.cake {
            workshop.open(cake);
        }
        Self {
            workshop,
            source,
            finder: Finder::new(waker.clone()),
            effects: Effects::new(waker.clone()),
            maker: Maker::new(options.program.clone(), flags, waker),
            outcome: Outcome::default(),
            sent: None,
            pantry_sent: 0,
            is_planning: false,
            wake,
        }
    }

    /// From now on `call` ends the window's sleep.
    pub fn on_change(&self, call: impl Fn() + Send + Sync + 'static) {
        let _ = self.wake.set(Box::new(call));
    }

    /// The panels.
    pub fn workshop(&mut self) -> &mut Workshop {
        &mut self.workshop
    }

    /// Takes note of what came of planning, and of what lies on the disk now.
    pub fn set_loaded(&mut self, loaded: &Result<Arc<LoadedCake>, JobError<NotLoaded>>) {
        self.is_planning = false;
        match loaded {
            Ok(cake) => {
                self.outcome.planned.clone_from(&cake.planned);
                self.outcome.problems.clone_from(&cake.problems);
                self.outcome.failed = None;
            }
            Err(JobError::Failed(error)) => {
                self.outcome.problems.clone_from(&error.problems);
                self.outcome.failed = error.problems.is_empty().then(|| error.message.clone());
            }
            Err(JobError::Panicked(said)) => self.outcome.failed = Some(internal_error(said)),
        }
        self.workshop.look_at_disk();
    }

    /// Draws the panels, and does what was asked for in them. `look` draws the panel of the picture.
    pub fn show(&mut self, root: &mut egui::Ui, look: impl FnOnce(&mut egui::Ui)) -> AfterFrame {
        let search = self.finder.state();
        let progress = |product| self.maker.progress(product);
        let shown = Shown {
            outcome: &self.outcome,
            is_planning: self.is_planning,
            search: &search,
            effects: &self.effects,
            progress: &progress,
        };
        let (layout, requests) = self.workshop.show(root, &shown, look);
        let mut after = AfterFrame { layout, ..AfterFrame::default() };
        for request in requests {
            self.answer(request, &mut after);
        }
        if matches!(search, Search::Running { .. }) {
            root.ctx().request_repaint_after(std::time::Duration::from_millis(250));
        }
        after
    }

    fn answer(&mut self, request: Request, after: &mut AfterFrame) {
        match request {
            Request::LookAt(place) => after.look_at = Some(place),
            Request::FindStacks => {
                if let Some(session) = self.workshop.session() {
                    self.source.follow(session);
                }
                match self.source.source() {
                    Ok((planner, source)) => self.finder.start(planner, source),
                    Err(error) => self.workshop.tell(error.render()),
                }
            }
            Request::StopFinding => self.finder.stop(),
            Request::PlanFixes => {
                // Where the files cannot be read now, the worker says so.
                if let (Some(planned), Ok((_, source))) = (&self.outcome.planned, self.source.source()) {
                    self.effects.start(source, planned, self.source.overview());
                }
            }
            Request::Make(product) => {
                if let Some(session) = self.workshop.session() {
                    self.maker.start(product, session.path());
                }
            }
            Request::StopMaking(product) => self.maker.stop(product),
            Request::OpenFolder(folder) => {
                if let Err(error) = open_folder(&folder) {
                    self.workshop.tell(format!("{} could not be opened: {error}", folder.display()));
                }
            }
            Request::Quit => after.quits = true,
        }
    }

    /// Selects what the file says of a part of the cake, by its kind and its place among those; nothing where the ground
    /// was clicked. While the picture's own panel is shown it stays.
    pub fn select(&mut self, part: Option<(PartKind, usize)>) {
        let path = part.zip(self.outcome.planned.as_ref()).and_then(|((kind, index), planned)| {
            let top = |key: &str| FieldPath::root().key(key);
            let stack = &planned.plan.stack;
            match kind {
                PartKind::PresentationBoard => Some(top("board")),
                PartKind::BoardIcing => Some(top("board").key("icing")),
                PartKind::Ribbon => Some(top("board").key("ribbon")),
                PartKind::RawLayer
                | PartKind::Kept
                | PartKind::Offcut
                | PartKind::Shortfall
                | PartKind::RawFilling
                | PartKind::Filling
                | PartKind::Fill
                | PartKind::Board => stack.slabs.get(index).map(|slab| slab.field.clone()),
                PartKind::Dowel => stack.dowels.get(index).map(|dowel| dowel.field.clone()),
                PartKind::Covering => Some(top("covering").index(index)),
                PartKind::Inlay | PartKind::Add => Some(top("detail").index(index)),
                PartKind::Finished | PartKind::Line => Some(top("shape")),
                PartKind::Mark => None,
            }
        });
        self.workshop.select(path);
    }

    /// Gives the newest text to the worker. Says whether it is of another cake than before.
    pub fn send(&mut self, worker: &Worker) -> bool {
        let Some(session) = self.workshop.session() else {
            let was_there = self.sent.take().is_some();
            if was_there {
                self.outcome = Outcome::default();
            }
            return was_there;
        };
        let now = (session.path().to_owned(), session.changes(), session.is_dragging());
        let pantry = self.workshop.pantry_changes();
        if self.sent.as_ref() == Some(&now) && pantry == self.pantry_sent {
            return false;
        }
        self.pantry_sent = pantry;
        let is_other = self.sent.as_ref().is_none_or(|(path, ..)| *path != now.0);
        self.source.follow(session);
        if is_other {
            self.finder.stop();
            self.outcome = Outcome::default();
        }
        self.sent = Some(now);
        self.is_planning = true;
        worker.load();
        is_other
    }
}

/// Shows a folder in the system's own way.
fn open_folder(folder: &Path) -> std::io::Result<()> {
    let program = if cfg!(target_os = "macos") {
        "open"
    } else if cfg!(windows) {
        "explorer"
    } else {
        "xdg-open"
    };
    Command::new(program).arg(folder).spawn().map(|_| ())
}

/// Gives the newest text to the worker after each frame; of another cake nothing of the last one is shown.
pub fn send_text(world: &mut World) {
    let is_other = world.resource_scope(|world, mut editor: Mut<Editor>| {
        let worker = &world.resource::<super::results::WindowWorker>().0;
        editor.bypass_change_detection().send(worker)
    });
    if is_other {
        *world.resource_mut::<WindowState>() = WindowState::default();
        spawn::despawn_pieces(world);
    }
}
