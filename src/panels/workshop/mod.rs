//! The whole window but the picture: the bar with the menus, the panel of each step of the making, and what is asked
//! before anything is lost.

mod bar;
mod dialogs;
mod doing;
mod keep;
mod place;
mod tab;

use std::{
    path::{Path, PathBuf},
    sync::Arc,
};

use cakefile::{FieldPath, edit::Edit, world::World};
use egui::Ui;
use glam::DVec3;
use plan::design::material;

use crate::{
    asked::Asked,
    begin::BeginPage,
    effect::Effects,
    files::FileList,
    form::{Form, FormView},
    guide::{self, Go, Next},
    make_panel::{self, MakeAsked, Product, Progress},
    outline::OutlinePanel,
    pages::Pages,
    pantry_panel::PantryPanel,
    planned::{Outcome, Planned},
    recovery::{LeftBehind, Recovery, left_behind},
    session::Session,
    settings::Settings,
    stack::{Find, Search, StackPanel, Wake, proposals},
    to_fix, unit,
};
use dialogs::Dialog;
pub use tab::Tab;

/// What is shown beside the document.
pub struct Shown<'a> {
    /// What came of planning.
    pub outcome: &'a Outcome,
    /// Whether a newer plan is being made.
    pub is_planning: bool,
    /// Stacks that are looked for.
    pub search: &'a Search,
    /// What each fix would do.
    pub effects: &'a Effects,
    /// How far each product is.
    pub progress: &'a dyn Fn(Product) -> Option<Progress>,
}

/// What whoever draws the window is to do.
#[derive(Debug, Clone, PartialEq)]
pub enum Request {
    /// Bring the eye to a place on the cake, mm.
    LookAt(DVec3),
    /// Look for stacks.
    FindStacks,
    /// Stop looking for stacks.
    StopFinding,
    /// Plan the fixes of the plan that is shown.
    PlanFixes,
    /// Make this of the saved cake.
    Make(Product),
    /// Stop making this.
    StopMaking(Product),
    /// Show a folder in the system's own way.
    OpenFolder(PathBuf),
    /// Close the window: nothing is lost by it.
    Quit,
}

/// Where the panel ends and the picture begins, points.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Layout {
    /// Width of the panel at the left.
    pub left: f32,
    /// Height of the bar at the top.
    pub top: f32,
    /// Whether the page covers the picture.
    pub is_covered: bool,
}

/// The window but the picture.
pub struct Workshop {
    world: Arc<dyn World>,
    session: Option<Session>,
    is_beginning: bool,
    tab: Tab,
    /// Where files are chosen from first.
    documents: PathBuf,
    begin: BeginPage,
    outline: OutlinePanel,
    stack: StackPanel,
    dialog: Option<Dialog>,
    /// Something that could not be done.
    told: Option<String>,
    /// What the window remembers of its user.
    pub settings: Settings,
    settings_file: Option<PathBuf>,
    recovery: Option<Recovery>,
    left_behind: Vec<LeftBehind>,
    materials: Vec<String>,
    pantry: PantryPanel,
    /// The first of the stacks that were found for the text as it is now.
    best_stack: Option<Edit>,
    requests: Vec<Request>,
    /// Whether the system has dialogs of its own that may be asked.
    has_system_dialogs: bool,
    /// Ends the window's sleep; without it everything is done at once, and nothing on a thread.
    wake: Option<Wake>,
    place: place::Placing,
    pages: Option<Pages>,
    saving: Option<keep::Saving>,
    looking: Option<keep::Looking>,
}

/// Where the window keeps what is its own.
#[derive(Debug, Clone, Default)]
pub struct Folders {
    /// The file of settings.
    pub settings: Option<PathBuf>,
    /// The maker's own pantry file, which counts for cakes that have none beside them.
    pub pantry: Option<PathBuf>,
    /// The folder of copies of what is not saved.
    pub recovery: Option<PathBuf>,
    /// Where files are chosen from first.
    pub documents: PathBuf,
}

impl Workshop {
    /// The window without a cake; `world` are the files on disk.
    pub fn new(world: Arc<dyn World>, folders: &Folders) -> Self {
        let recovery = folders.recovery.as_deref();
        Self {
            world,
            session: None,
            is_beginning: true,
            tab: Tab::default(),
            documents: folders.documents.clone(),
            begin: BeginPage::new(&folders.documents),
            outline: OutlinePanel::default(),
            stack: StackPanel::default(),
            dialog: None,
            told: None,
            settings: folders.settings.as_deref().map(Settings::read).unwrap_or_default(),
            settings_file: folders.settings.clone(),
            left_behind: recovery.map(left_behind).unwrap_or_default(),
            // Where none can be kept the window works all the same.
            recovery: recovery.and_then(|folder| Recovery::in_folder(folder).ok()),
            materials: material::built_in_names().map(str::to_owned).collect(),
            pantry: PantryPanel::new(folders.pantry.clone()),
            best_stack: None,
            requests: Vec::new(),
            has_system_dialogs: false,
            wake: None,
            place: place::Placing::default(),
            pages: None,
            saving: None,
            looking: None,
        }
    }

    /// The system's own dialogs for files are asked from now on, unless the settings say otherwise.
    pub fn ask_system(&mut self) {
        self.has_system_dialogs = true;
    }

    /// What ends the window's sleep, where the system's own dialogs are asked.
    fn asks_system(&self) -> Option<&Wake> {
        self.wake.as_ref().filter(|_| self.has_system_dialogs && !self.settings.own_file_list)
    }

    /// The cake that is edited.
    pub fn session(&self) -> Option<&Session> {
        self.session.as_ref()
    }

    /// The session whose panel is shown: that of the pantry, or of the cake.
    fn active(&mut self) -> Option<&mut Session> {
        if self.tab == Tab::Pantry { self.pantry.session_mut() } else { self.session.as_mut() }
    }

    /// Rises with every change that was written to a pantry file.
    pub fn pantry_changes(&self) -> u64 {
        self.pantry.changes()
    }

    /// The same to change.
    pub fn session_mut(&mut self) -> Option<&mut Session> {
        self.session.as_mut()
    }

    /// The panel that is shown.
    pub fn tab(&self) -> Tab {
        self.tab
    }

    /// Shows a panel.
    pub fn show_tab(&mut self, tab: Tab) {
        self.tab = tab;
    }

    /// Selects a value and shows its panel, unless the picture's own is shown.
    pub fn select(&mut self, path: Option<FieldPath>) {
        let Some(session) = &mut self.session else { return };
        if let Some(path) = &path
            && self.tab != Tab::Look
        {
            self.tab = Tab::of(path);
        }
        session.select(path);
    }

    /// Opens the cake file at `path`; where it cannot be read that is told.
    pub fn open(&mut self, path: &Path) {
        match Session::open(&*self.world, path) {
            Ok(session) => {
                self.settings.remember(&path.canonicalize().unwrap_or_else(|_| path.to_owned()));
                self.keep_settings();
                self.begin_with(session);
            }
            Err(error) => self.told = Some(error),
        }
    }

    /// Goes on with this cake.
    pub fn begin_with(&mut self, session: Session) {
        self.session = Some(session);
        self.is_beginning = false;
        self.outline = OutlinePanel::default();
        self.stack = StackPanel::default();
        self.told = None;
    }

    /// Closes the window, unless something would be lost by it: then that is asked first.
    pub fn close(&mut self) {
        self.run(crate::command::Command::Quit);
    }

    /// Tells the maker something that could not be done.
    pub fn tell(&mut self, what: impl Into<String>) {
        self.told = Some(what.into());
    }

    /// Remembers how what is carved off is shown.
    pub fn remember_offcut(&mut self, way: String) {
        if self.settings.offcut != way {
            self.settings.offcut = way;
            self.keep_settings();
        }
    }

    fn keep_settings(&mut self) {
        if let Some(file) = &self.settings_file
            && let Err(error) = self.settings.write(file)
        {
            self.told = Some(format!("The settings could not be kept in {}: {error}.", file.display()));
        }
    }

    /// Draws everything and does what was asked for in it. `look` draws the panel of the picture.
    pub fn show(
        &mut self,
        root: &mut Ui,
        shown: &Shown<'_>,
        look: impl FnOnce(&mut Ui),
    ) -> (Layout, Vec<Request>) {
        self.best_stack = match (shown.search, &self.session) {
            (Search::Found(found), Some(session)) if &*found.text == session.text() => {
                found.proposals.proposals.first().map(|proposal| proposal.edit.clone())
            }
            _ => None,
        };
        for command in crate::command::pressed(root.ctx()) {
            self.run(command);
        }
        self.tab_keys(root.ctx());
        let top = self.bar(root, shown);
        let is_covered = self.is_beginning || self.session.is_none();
        let left = if is_covered {
            self.begin_page(root);
            0.0
        } else {
            self.panel(root, shown, look)
        };
        self.dialogs(root.ctx());
        if self.pages.as_mut().is_some_and(|pages| pages.show(root.ctx())) {
            self.pages = None;
        }
        self.take_saved();
        self.settle(root.ctx());
        (Layout { left, top, is_covered }, std::mem::take(&mut self.requests))
    }

    fn begin_page(&mut self, root: &mut Ui) {
        let can_go_back = self.session.is_some();
        self.begin.asks_system = self.asks_system().cloned();
        let (begin, settings, left) = (&mut self.begin, &self.settings, &self.left_behind);
        let choice = egui::CentralPanel::default()
            .show(root, |ui| {
                self.told.as_ref().map(|told| ui.colored_label(crate::ink::wrong_ink(ui), told));
                begin.show(ui, settings, left, can_go_back)
            })
            .inner;
        if let Some(choice) = choice {
            self.begin(choice);
        }
    }

    fn panel(&mut self, root: &mut Ui, shown: &Shown<'_>, look: impl FnOnce(&mut Ui)) -> f32 {
        /// Widths of the panel, points: with a cake in a window of 1366 points.
        const LOOK: f32 = 330.0;
        const FORMS: f32 = 420.0;
        let is_look = self.tab == Tab::Look;
        let panel =
            egui::Panel::left("panel").resizable(false).exact_size(if is_look { LOOK } else { FORMS });
        let inside = |ui: &mut Ui| {
            self.notices(ui);
            self.guide(ui, shown);
            if is_look {
                look(ui);
            } else {
                ui.push_id(self.tab, |ui| self.step(ui, shown));
            }
        };
        let scrolled = |ui: &mut Ui| {
            // The bar has room of its own: nothing is read or pressed below it.
            ui.spacing_mut().scroll = egui::style::ScrollStyle::solid();
            egui::ScrollArea::vertical().auto_shrink([false, false]).show(ui, inside);
        };
        panel.show(root, scrolled).response.rect.width()
    }

    /// What comes next, unless the maker knows.
    fn guide(&mut self, ui: &mut Ui, shown: &Shown<'_>) {
        let Some(session) = self.session.as_ref().filter(|_| !self.settings.no_guide) else { return };
        let Some(next) = Next::of(session, shown.outcome) else { return };
        match guide::show(ui, next, self.tab) {
            Some(guide::Chosen::Go(Go::To(tab))) => self.tab = tab,
            Some(guide::Chosen::Go(Go::Do(command))) => self.run(command),
            Some(guide::Chosen::Hide) => {
                self.settings.no_guide = true;
                self.keep_settings();
            }
            None => {}
        }
    }

    /// What has to be known before anything else.
    fn notices(&mut self, ui: &mut Ui) {
        if let Some(told) = self.told.clone() {
            egui::Frame::group(ui.style()).show(ui, |ui| {
                ui.colored_label(crate::ink::wrong_ink(ui), told);
                if ui.button("Seen").clicked() {
                    self.told = None;
                }
            });
        }
        let Some(session) = &mut self.session else { return };
        let Some(theirs) = session.outside().map(str::to_owned) else { return };
        egui::Frame::group(ui.style()).show(ui, |ui| {
            ui.strong("Another program changed this cake's file, and there are changes here too.");
            let edit = Edit::of_text(session.document(), &theirs);
            egui::CollapsingHeader::new("From yours (−) to theirs (+)").show(ui, |ui| {
                ui.monospace(crate::changed_lines::changed_lines(session.document(), &edit));
            });
            ui.horizontal(|ui| {
                if ui.button("Take theirs").on_hover_text("Undo brings yours back.").clicked() {
                    session.take_outside();
                }
                if ui.button("Keep yours").on_hover_text("Saving writes over theirs.").clicked() {
                    session.keep_inside();
                }
            });
        });
    }

    /// The panel of the step that is shown.
    fn step(&mut self, ui: &mut Ui, shown: &Shown<'_>) {
        let Some(session) = &self.session else { return };
        let planned = shown.outcome.planned.as_ref();
        let view = FormView {
            document: session.document(),
            problems: &shown.outcome.problems,
            materials: &self.materials,
            selected: session.selected(),
        };
        let mut asked = Vec::new();
        let mut form = |ui: &mut Ui, help: &str, keys: &[&str]| {
            ui.label(help);
            Form::new(view, &mut asked).keys(ui, keys);
        };
        match self.tab {
            Tab::Look => {}
            Tab::Shape => self.outline.show(ui, view, planned, &mut asked),
            Tab::Stack => {
                match proposals(ui, shown.search, session.text(), &mut asked) {
                    Some(Find::Start) => self.requests.push(Request::FindStacks),
                    Some(Find::Stop) => self.requests.push(Request::StopFinding),
                    None => {}
                }
                self.stack.show(ui, view, planned, &mut asked);
            }
            Tab::Coats => form(ui, "What lies over the cake, from the outside in.", &["covering", "icing"]),
            Tab::Details => {
                form(ui, "Cuts and adds: a door, a petal, a handle.", &["detail"]);
                place::offer(ui, session, &mut self.place);
            }
            Tab::Order => {
                form(
                    ui,
                    "Who ordered the cake, for when and for how many.",
                    &["name", "order", "offer", "notes"],
                );
            }
            Tab::Pantry => {
                let cake = session.path().to_owned();
                if let Err(error) = self.pantry.show(ui, &*self.world, &cake, &self.materials) {
                    self.told = Some(error);
                }
            }
            Tab::ToFix => {
                let is_new =
                    |planned: &Planned| &*planned.text == session.text() && !shown.effects.is_of(planned);
                if planned.is_some_and(is_new) {
                    self.requests.push(Request::PlanFixes);
                }
                to_fix::show(ui, session.document(), shown.outcome, shown.effects, &mut asked);
            }
            Tab::Make => {
                let is_saved = !session.is_new() && !session.is_unsaved();
                match make_panel::show(ui, shown.progress, is_saved) {
                    Some(MakeAsked::Make(product)) => self.make(product),
                    Some(MakeAsked::Stop(product)) => self.requests.push(Request::StopMaking(product)),
                    Some(MakeAsked::Look(made)) => match Pages::of(&made, self.wake.clone()) {
                        Some(pages) => self.pages = Some(pages),
                        None => {
                            self.told = Some(format!("There is nothing to look at in {}.", made.display()))
                        }
                    },
                    Some(MakeAsked::OpenFolder(folder)) => self.requests.push(Request::OpenFolder(folder)),
                    None => {}
                }
            }
            Tab::Settings => {
                let (changed, settings) = (self.settings.clone(), &mut self.settings);
                window_settings(ui, settings);
                let is_changed = *settings != changed;
                const KEYS: [&str; 9] = [
                    "units", "support", "limits", "carving", "paper", "printing", "material", "pantry",
                    "accuracy",
                ];
                form(ui, "What else this cake's file says.", &KEYS);
                unit::show(ui, session.document(), &mut asked);
                egui::CollapsingHeader::new("The unit was wrong all along").show(ui, |ui| {
                    ui.label("Here every figure keeps its number: 40 mm becomes 40 cm.");
                    Form::new(view, &mut asked).keys(ui, &["unit"]);
                });
                if is_changed {
                    self.keep_settings();
                }
            }
        }
        Form::note_selected(ui, self.session.as_ref().and_then(Session::selected));
        self.take(asked);
    }
}

fn window_settings(ui: &mut Ui, settings: &mut Settings) {
    ui.strong("This window");
    ui.horizontal(|ui| {
        ui.label("Colours");
        ui.selectable_value(&mut settings.dark, false, "light");
        ui.selectable_value(&mut settings.dark, true, "dark");
    });
    ui.horizontal(|ui| {
        ui.label("Letters");
        for (size, name) in Settings::LETTERS {
            ui.selectable_value(&mut settings.letters, size, name);
        }
    });
    let mut is_told = !settings.no_guide;
    if ui.checkbox(&mut is_told, "Say above each panel what comes next").changed() {
        settings.no_guide = !is_told;
    }
    let mut is_fine = !settings.quick_picture;
    if ui.checkbox(&mut is_fine, "Draw the picture finely once it is left alone").changed() {
        settings.quick_picture = !is_fine;
    }
    ui.checkbox(&mut settings.own_file_list, "List files in this window, not in the system's own dialog");
    ui.separator();
}

impl Workshop {
    /// Does what was asked for in a panel.
    fn take(&mut self, asked: Vec<Asked>) {
        let asks_system = self.asks_system().cloned();
        let Some(session) = &mut self.session else { return };
        for one in asked {
            match one {
                Asked::Edit { label, edit, is_gesture } => {
                    if let Err(refused) = session.change(&label, &edit, is_gesture) {
                        self.told = Some(format!("{refused}."));
                    }
                }
                Asked::Select(path) => {
                    if let Some(path) = &path {
                        let tab = Tab::of(path);
                        // What is selected in a drawing stays there.
                        if self.tab == Tab::ToFix {
                            self.tab = tab;
                        }
                    }
                    session.select(path);
                }
                Asked::LookAt(place) => self.requests.push(Request::LookAt(place)),
                Asked::ChooseFile(path, endings) => {
                    let folder = session.path().parent().filter(|folder| folder.is_dir());
                    let folder = folder.map_or_else(|| self.documents.clone(), Path::to_owned);
                    let list = FileList::to_open("Choose the file", &folder, endings)
                        .by_system(asks_system.as_ref());
                    self.dialog = Some(Dialog::File(list, path));
                }
                Asked::Show(tab) => self.tab = tab,
                Asked::FindStacks => {
                    self.tab = Tab::Stack;
                    self.requests.push(Request::FindStacks);
                }
            }
        }
    }

    /// Ends a gesture once the pointer is let go, and keeps a copy of what is not saved.
    fn settle(&mut self, ctx: &egui::Context) {
        if ctx.input(|input| input.pointer.any_down()) {
            return;
        }
        if let Err(error) = self.pantry.settle(&*self.world) {
            self.told = Some(error);
        }
        self.place.let_go();
        let Some(session) = &mut self.session else { return };
        session.finish();
        let Some(recovery) = &mut self.recovery else { return };
        if !session.is_unsaved() {
            recovery.clear();
        } else if let Err(error) = recovery.write(session) {
            self.told = Some(format!("No copy of what is not saved can be kept: {error}."));
            self.recovery = None;
        }
    }
}
