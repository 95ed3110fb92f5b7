//! The disk: slow, gone, or written by another window meanwhile. Nothing is lost, and the window goes on.

use std::{
    collections::BTreeMap,
    fs, io,
    path::{Path, PathBuf},
    sync::{Arc, Condvar, Mutex},
    time::{Duration, Instant},
};

use cakefile::{
    FieldPath,
    edit::Edit,
    world::{Content, Disk, FileBytes, World},
};
use egui::{Key, Modifiers};
use egui_kittest::{Harness, kittest::Queryable};
use panels::{
    Session, Workshop,
    effect::Effects,
    planned::Outcome,
    stack::Search,
    workshop::{Folders, Shown},
};

const CAKE: &str = "crumbline = 2\nname = \"Drum\"\n[board]\nround = 300\nthickness = 12\n[shape.turned]\n\
                    points = [[90, 0], [90, 100], [0, 100]]\n[[tier]]\nname = \"one\"\n[[tier.layer]]\n\
                    pan = { round = 190 }\nheight = 50\n[[tier.layer]]\npan = { round = 190 }\nheight = 60\n";

/// A disk whose files cannot be read until it is let go.
struct Slow {
    disk: Disk,
    is_free: Mutex<bool>,
    freed: Condvar,
}

impl Slow {
    fn new() -> Arc<Self> {
        Arc::new(Self { disk: Disk::new(), is_free: Mutex::new(true), freed: Condvar::new() })
    }

    fn set_free(&self, is_free: bool) {
        *self.is_free.lock().unwrap() = is_free;
        self.freed.notify_all();
    }
}

impl World for Slow {
    fn read(&self, path: &Path, content: Content) -> io::Result<FileBytes> {
        let free = self.is_free.lock().unwrap();
        drop(self.freed.wait_while(free, |is_free| !*is_free).unwrap());
        self.disk.read(path, content)
    }
}

struct Desk {
    workshop: Workshop,
    outcome: Outcome,
    effects: Effects,
}

type Window = Harness<'static, Desk>;

fn window(world: Arc<dyn World>, cake: &Path, on_threads: bool) -> Window {
    let mut workshop = Workshop::new(world, &Folders::default());
    if on_threads {
        workshop.work_beside(Arc::new(|| ()));
    }
    workshop.open(cake);
    let desk = Desk { workshop, outcome: Outcome::default(), effects: Effects::new(Arc::new(|| ())) };
    let draw = |ui: &mut egui::Ui, desk: &mut Desk| {
        let shown = Shown {
            outcome: &desk.outcome,
            is_planning: false,
            search: &Search::None,
            effects: &desk.effects,
            progress: &|_| None,
        };
        desk.workshop.show(ui, &shown, |_| ());
    };
    Harness::builder().with_size(egui::vec2(1366.0, 768.0)).build_ui_state(draw, desk)
}

fn session(window: &Window) -> &Session {
    window.state().workshop.session().unwrap()
}

fn rename(window: &mut Window, name: &str) {
    let edit = Edit::Set { path: FieldPath::root().key("name"), value: name.into() };
    window.state_mut().workshop.session_mut().unwrap().edit("name", &edit).unwrap();
    window.step();
}

fn save(window: &mut Window) {
    window.key_press_modifiers(Modifiers::COMMAND, Key::S);
    window.step();
}

fn until(window: &mut Window, done: impl Fn(&Window) -> bool) {
    let start = Instant::now();
    while !done(window) {
        assert!(start.elapsed() < Duration::from_secs(20), "it does not end");
        std::thread::sleep(Duration::from_millis(5));
        window.step();
    }
}

fn cake_in(folder: &Path) -> PathBuf {
    let path = folder.join("drum.cake.toml");
    fs::write(&path, CAKE).unwrap();
    path
}

#[test]
fn while_a_slow_disk_is_written_the_cake_is_changed_on() {
    let folder = tempfile::tempdir().unwrap();
    let path = cake_in(folder.path());
    let slow = Slow::new();
    let mut window = window(slow.clone(), &path, true);
    window.step();
    rename(&mut window, "First");
    slow.set_free(false);
    save(&mut window);
    window.step();
    window.get_by_label_contains("saving");
    assert_eq!(fs::read_to_string(&path).unwrap(), CAKE, "nothing is written yet");
    rename(&mut window, "Second");
    slow.set_free(true);
    until(&mut window, |_| fs::read_to_string(&path).unwrap().contains("First"));
    until(&mut window, |window| window.query_by_label_contains("saving").is_none());
    assert!(session(&window).is_unsaved() && session(&window).text().contains("Second"));
    save(&mut window);
    until(&mut window, |window| !session(window).is_unsaved());
    assert!(fs::read_to_string(&path).unwrap().contains("Second"));
}

#[test]
fn a_disk_that_is_gone_is_told_and_the_cake_stays() {
    let folder = tempfile::tempdir().unwrap();
    let path = cake_in(folder.path());
    let mut window = window(Arc::new(Disk::new()), &path, false);
    window.step();
    rename(&mut window, "Kept");
    fs::remove_dir_all(folder.path()).unwrap();
    // A file in its place, so that no folder can be made there either.
    fs::write(folder.path(), "gone").unwrap();
    save(&mut window);
    window.step();
    window.get_by_label_contains("could not be saved");
    assert!(session(&window).is_unsaved() && session(&window).text().contains("Kept"));
    fs::remove_file(folder.path()).unwrap();
    fs::create_dir_all(folder.path()).unwrap();
    save(&mut window);
    window.step();
    assert!(fs::read_to_string(&path).unwrap().contains("Kept") && !session(&window).is_unsaved());
}

#[test]
fn two_windows_on_one_file_lose_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let path = cake_in(folder.path());
    let world: Arc<dyn World> = Arc::new(Disk::new());
    let (mut one, mut other) = (window(world.clone(), &path, false), window(world, &path, false));
    one.step();
    other.step();
    rename(&mut one, "One");
    save(&mut one);
    assert!(fs::read_to_string(&path).unwrap().contains("One"));
    // Nothing was changed there: it takes what was written over, as a step that can be undone.
    other.state_mut().workshop.look_at_disk();
    other.step();
    assert!(session(&other).text().contains("One") && !session(&other).is_unsaved());
    // Both change it: whoever saves second is shown both, and writes over nothing unasked.
    rename(&mut one, "Mine");
    rename(&mut other, "Theirs");
    save(&mut one);
    save(&mut other);
    other.step();
    assert!(fs::read_to_string(&path).unwrap().contains("Mine"));
    assert!(session(&other).text().contains("Theirs"));
    assert!(session(&other).outside().is_some_and(|text| text.contains("Mine")));
    other.get_by_label("Keep yours").click();
    other.run();
    save(&mut other);
    assert!(fs::read_to_string(&path).unwrap().contains("Theirs"));
    let one = one.state_mut().workshop.session_mut().unwrap();
    one.look_at_disk(&Disk::new());
    assert!(one.text().contains("Theirs") && one.undo() && one.text().contains("Mine"));
}

#[test]
fn what_comes_along_to_a_slow_disk_gets_a_free_name() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("half.svg"), "the maker's own").unwrap();
    let text = "crumbline = 2\nname = \"Hen\"\n[shape.turned.svg]\nfile = \"half.svg\"\n";
    let beside = BTreeMap::from([("half.svg".to_owned(), b"<svg/>".to_vec())]);
    let mut session = Session::new("nowhere/hen.cake.toml", text, beside);
    let to = folder.path().join("hen.cake.toml");
    let first = session.to_save_as(&to);
    assert_eq!(session.saved(&first, first.run(&Disk::new())), Ok(false));
    // Changed while it was written: it stays unsaved.
    let second = session.to_save_as(&to);
    session.edit("name", &Edit::Set { path: FieldPath::root().key("name"), value: "Cock".into() }).unwrap();
    assert_eq!(session.saved(&second, second.run(&Disk::new())), Ok(true));
    assert!(session.is_unsaved() && session.path() == to);
    assert_eq!(fs::read(folder.path().join("half-2.svg")).unwrap(), b"<svg/>");
}
