//! A window without a renderer in which panels are used.

use std::{
    collections::BTreeMap,
    path::{Path, PathBuf},
    sync::Arc,
};

use cakefile::{
    CakeFile,
    world::{Disk, Overlay, World},
};
use egui::{Key, Modifiers, accesskit::Role};
use egui_kittest::{Harness, Node, kittest::Queryable};
use geom::Cancel;
use make::overview::Overview;
use panels::{
    Session, Workshop,
    begin::EXAMPLES,
    effect::Effects,
    make_panel::{Product, Progress},
    outline::TracedPictures,
    planned::{Outcome, Planned},
    planning::plan_for_window,
    stack::Search,
    workshop::{Folders, Request, Shown, Tab},
};
use plan::{PlanError, Planner, Quality, Source};

/// A workshop with what came of planning it.
pub struct Bench {
    pub workshop: Workshop,
    pub outcome: Outcome,
    pub search: Search,
    pub effects: Effects,
    pub requests: Vec<Request>,
    pub progress: BTreeMap<&'static str, Progress>,
    planned: Option<u64>,
    source: Option<Source>,
    /// Whether the cake is planned after each change.
    pub plans: bool,
}

/// The window of a bench.
pub type Window = Harness<'static, Bench>;

/// The text of an example, with its files.
pub fn example(name: &str) -> Session {
    let example = EXAMPLES.iter().find(|example| example.name == name).unwrap();
    let beside = example.beside.iter().map(|(name, bytes)| ((*name).to_owned(), bytes.to_vec()));
    Session::new(Path::new("new").join(example.file), example.text, beside.collect())
}

/// A cake of this text that is on no disk.
pub fn cake(text: &str) -> Session {
    Session::new("new/cake.cake.toml", text, BTreeMap::new())
}

/// A window on a cake, or on none.
pub fn window(session: Option<Session>, folders: &Folders) -> Window {
    let world: Arc<dyn World> = Arc::new(Disk::new());
    let mut workshop = Workshop::new(world, folders);
    if let Some(session) = session {
        workshop.begin_with(session);
    }
    let bench = Bench {
        workshop,
        outcome: Outcome::default(),
        search: Search::None,
        effects: Effects::new(Arc::new(|| ())),
        requests: Vec::new(),
        progress: BTreeMap::new(),
        planned: None,
        source: None,
        plans: true,
    };
    let draw = |ui: &mut egui::Ui, bench: &mut Bench| {
        bench.plan();
        let progress = |product: Product| bench.progress.get(product.name()).cloned();
        let shown = Shown {
            outcome: &bench.outcome,
            is_planning: false,
            search: &bench.search,
            effects: &bench.effects,
            progress: &progress,
        };
        let (_, requests) = bench.workshop.show(ui, &shown, |ui| {
            ui.label("the picture's own panel");
        });
        for request in &requests {
            if let (Request::PlanFixes, Some(planned), Some(source)) =
                (request, &bench.outcome.planned, &bench.source)
            {
                bench.effects.start(source.clone(), planned, Overview::new);
            }
        }
        bench.requests.extend(requests);
    };
    let mut window = Harness::builder().with_size(egui::vec2(1366.0, 2400.0)).build_ui_state(draw, bench);
    window.run();
    window
}

/// A window on a cake of this text, with a panel open.
pub fn window_on(text: &str, tab: Tab) -> Window {
    let mut window = window(Some(cake(text)), &Folders::default());
    window.state_mut().workshop.show_tab(tab);
    window.run();
    window
}

impl Bench {
    /// Plans the cake as it is now, unless it was planned already.
    fn plan(&mut self) {
        let Some(session) = self.workshop.session() else { return };
        if !self.plans || self.planned == Some(session.changes()) {
            return;
        }
        self.planned = Some(session.changes());
        let world = Overlay::new(Disk::new());
        for (name, bytes) in session.beside() {
            world.set(session.path().with_file_name(name), bytes.clone());
        }
        let folder = session.path().parent().map(PathBuf::from).unwrap_or_default();
        let file = CakeFile::from_text(session.path().display().to_string(), folder, session.text());
        self.outcome.problems.clear();
        self.outcome.failed = None;
        let source = Source::new(file, Arc::new(world));
        self.source = Some(source.clone());
        match plan_for_window(&Planner::new(), &source, Quality::Full, &Cancel::new()) {
            Ok((plan, problems)) => {
                self.outcome.problems = problems;
                let overview = Overview::new(&plan);
                self.outcome.planned =
                    Some(Planned::new(Arc::new(plan), overview, &source, &TracedPictures::default()));
            }
            Err(PlanError::CakeFile(error)) => self.outcome.problems = error.problems().to_vec(),
            Err(error) => self.outcome.failed = Some(error.render()),
        }
    }

    pub fn text(&self) -> &str {
        self.workshop.session().map_or("", Session::text)
    }
}

/// The field of this name.
pub fn field<'w>(window: &'w Window, name: &'w str) -> Node<'w> {
    window.get_by_role_and_label(Role::TextInput, name)
}

/// The button of this name.
pub fn button<'w>(window: &'w Window, name: &'w str) -> Node<'w> {
    window.get_by_role_and_label(Role::Button, name)
}

/// Presses a button.
pub fn press(window: &mut Window, name: &str) {
    button(window, name).click();
    window.run();
}

/// Types into a field instead of what is there, and leaves it.
pub fn type_into(window: &mut Window, name: &str, text: &str) {
    field(window, name).focus();
    window.run();
    window.key_press_modifiers(Modifiers::COMMAND, Key::A);
    window.run();
    if text.is_empty() {
        window.key_press(Key::Delete);
    } else {
        field(window, name).type_text(text);
    }
    window.run();
    window.key_press(Key::Enter);
    window.run();
}
