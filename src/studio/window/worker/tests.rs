//! The worker with made-up sources: one that panics, one that is slow, one on disk.

use std::{
    fs, io,
    path::Path,
    sync::atomic::{AtomicU32, Ordering},
    time::Instant,
};

use super::*;
use crate::{Stage, window::CakeFileSource};
use cakefile::world::{Content, Disk, FileBytes, Memory, Overlay, World};
use formats::model::{Between, Model, Part};

/// Longer than anything here takes.
const TIMEOUT: Duration = Duration::from_secs(30);

/// A source whose loads are numbered from 0.
struct Numbered<F> {
    loads: AtomicU32,
    load: F,
}

impl<F: Fn(u32, &Cancel) -> Result<LoadedCake, LoadError> + Send + Sync + 'static> CakeSource
    for Numbered<F>
{
    fn load(&self, cancel: &Cancel) -> Result<LoadedCake, LoadError> {
        (self.load)(self.loads.fetch_add(1, Ordering::SeqCst), cancel)
    }
}

fn start(load: impl Fn(u32, &Cancel) -> Result<LoadedCake, LoadError> + Send + Sync + 'static) -> Worker {
    Worker::start(Arc::new(Numbered { loads: AtomicU32::new(0), load }))
}

fn named(name: &str) -> LoadedCake {
    LoadedCake { model: Model { name: name.into(), ..Model::default() }, ..LoadedCake::default() }
}

fn next(worker: &Worker) -> WorkResult {
    let start = Instant::now();
    loop {
        let mut results = worker.take_results();
        match results.pop() {
            // Of several only the newest counts.
            Some(result) => return result,
            None => assert!(start.elapsed() < TIMEOUT, "no result came"),
        }
        thread::sleep(Duration::from_millis(2));
    }
}

/// The name of the next cake, or why there is none.
fn next_cake(worker: &Worker) -> Result<String, JobError<NotLoaded>> {
    match next(worker) {
        WorkResult::Cake(cake) => cake.map(|cake| cake.model.name.clone()),
        WorkResult::Scene(..) => panic!("nobody asked for a scene"),
    }
}

#[test]
fn a_load_that_panics_is_told_and_the_next_one_works() {
    let worker = start(|number, _| match number {
        0 => panic!("no such layer"),
        1 => Ok(named("good")),
        2 => Err(LoadError::Invalid {
            message: "line 3 is wrong".into(),
            problems: Vec::new(),
            files: Vec::new(),
        }),
        _ => Ok(named("good again")),
    });
    assert_eq!(next_cake(&worker), Err(JobError::Panicked("no such layer".into())));
    worker.load();
    assert_eq!(next_cake(&worker), Ok("good".into()));
    worker.load();
    assert_eq!(next_cake(&worker), Err(JobError::Failed("line 3 is wrong".into())));
    worker.load();
    assert_eq!(next_cake(&worker), Ok("good again".into()));
}

#[test]
fn a_newer_load_cancels_the_slow_one_and_its_result_is_dropped() {
    let (began, begun) = mpsc::channel();
    let (stopped, told) = mpsc::channel();
    let began = Mutex::new(began);
    let stopped = Mutex::new(stopped);
    let worker = start(move |number, cancel| {
        began.lock().unwrap().send(number).unwrap();
        if number == 0 {
            let start = Instant::now();
            while !cancel.is_cancelled() {
                assert!(start.elapsed() < TIMEOUT, "it was never cancelled");
                thread::sleep(Duration::from_millis(1));
            }
            stopped.lock().unwrap().send(()).unwrap();
            // Careless: it hands out a result although it was asked to stop.
            return Ok(named("old"));
        }
        Ok(named("new"))
    });
    assert_eq!(begun.recv_timeout(TIMEOUT), Ok(0));
    worker.load();
    told.recv_timeout(TIMEOUT).unwrap();
    assert_eq!(next_cake(&worker), Ok("new".into()));
    assert!(worker.take_results().is_empty());
}

#[test]
fn a_dropped_worker_cancels_what_runs() {
    let (stopped, told) = mpsc::channel();
    let (began, begun) = mpsc::channel();
    let (began, stopped) = (Mutex::new(began), Mutex::new(stopped));
    let worker = start(move |_, cancel| {
        began.lock().unwrap().send(()).unwrap();
        while !cancel.is_cancelled() {
            thread::sleep(Duration::from_millis(1));
        }
        stopped.lock().unwrap().send(()).unwrap();
        Err(LoadError::Cancelled(geom::Cancelled))
    });
    begun.recv_timeout(TIMEOUT).unwrap();
    drop(worker);
    told.recv_timeout(TIMEOUT).unwrap();
}

/// Carving that panics until it is fixed.
#[derive(Debug)]
struct Broken;

impl Between for Broken {
    fn start(&self) -> f64 {
        10.0
    }

    fn offcuts(&self, _off: f64) -> Vec<Part> {
        panic!("no offcuts")
    }

    fn thickness(&self, _index: usize) -> f64 {
        0.0
    }

    fn coat(&self, _index: usize, _laid: f64) -> Option<Part> {
        None
    }
}

#[test]
fn a_scene_that_panics_or_cannot_be_shown_is_told_and_the_next_one_works() {
    let worker = start(|_, _| Ok(named("any")));
    assert!(next_cake(&worker).is_ok());
    let mut cake = crate::test_model::one_layer();
    cake.between = Some(Arc::new(Broken));
    let cake = Arc::new(LoadedCake { model: cake, ..LoadedCake::default() });
    let scene = |showing: Showing| {
        worker.build_scene(SceneRequest {
            cake: cake.clone(),
            showing,
            largest_buffer: u64::MAX,
            light_from: None,
        });
        match next(&worker) {
            WorkResult::Scene(of, scene) => {
                assert!(Arc::ptr_eq(&of, &cake));
                scene.map(|scene| scene.scene.pieces.len())
            }
            WorkResult::Cake(_) => panic!("nobody asked for a cake"),
        }
    };
    let half = Showing { stage: Stage::Fraction(0.1), ..Showing::default() };
    let hidden = vec!["raw".to_owned(), "layer".to_owned()];
    assert!(matches!(scene(half.clone()), Err(JobError::Panicked(said)) if said == "no offcuts"));
    assert!(matches!(scene(Showing::default()), Ok(2)));
    let hidden = Showing { hidden, ..Showing::default() };
    assert!(matches!(scene(hidden), Err(JobError::Failed(ViewerError::AllHidden))));
    assert!(matches!(scene(half), Err(JobError::Panicked(_))));
    assert!(matches!(scene(Showing::default()), Ok(2)));
}

#[test]
fn each_result_is_announced() {
    let worker = start(|_, _| Ok(named("any")));
    let (send, calls) = mpsc::channel();
    let send = Mutex::new(send);
    assert!(next_cake(&worker).is_ok());
    worker.on_result(move || send.lock().unwrap().send(()).unwrap());
    worker.load();
    calls.recv_timeout(TIMEOUT).unwrap();
    assert!(next_cake(&worker).is_ok());
}

/// A turned cake of one layer; its profile is in `profile.svg` if it is `drawn`.
fn cake_text(name: &str, drawn: bool) -> String {
    let shape = match drawn {
        true => "[shape.turned.svg]\nfile = \"profile.svg\"\n",
        false => "[shape.turned]\npoints = [[80, 0], [60, 90]]\n",
    };
    format!(
        "crumbline = 1\nname = \"{name}\"\nboard = {{ round = 250, thickness = 12 }}\n{shape}\
         [[tier]]\nname = \"all\"\nlayer = [{{ pan = {{ round = 200 }}, height = 110 }}]\n"
    )
}

/// Half the outline of a truncated cone 100 mm high, its foot this wide, mm.
fn profile(foot: u32) -> String {
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"100mm\" height=\"100mm\" viewBox=\"0 0 100 100\">\
         <path d=\"M0 0 L50 0 L{foot} 100 L0 100 Z\"/></svg>"
    )
}

/// Files of which one is written just after it was first read, before anybody watches it.
struct WrittenMeanwhile {
    files: Overlay<Memory>,
    reads: AtomicU32,
}

impl World for WrittenMeanwhile {
    fn read(&self, path: &Path, content: Content) -> io::Result<FileBytes> {
        let file = self.files.read(path, content);
        if path == Path::new("cone.toml") && self.reads.fetch_add(1, Ordering::SeqCst) == 0 {
            self.files.set(path, cake_text("second", false).into_bytes());
        }
        file
    }
}

#[test]
fn a_change_between_reading_and_watching_is_not_lost() {
    let files = Overlay::new(Memory::new().with("cone.toml", cake_text("first", false).into_bytes()));
    let world = Arc::new(WrittenMeanwhile { files, reads: AtomicU32::new(0) });
    let worker = Worker::start(Arc::new(CakeFileSource::new(world, Path::new("cone.toml"), None)));
    // Nobody asks for it, and no watcher could tell.
    while next_cake(&worker) != Ok("second".into()) {}
}

/// The next result that is as wanted; others may come before it while a file is being written.
fn wait_for_cake(worker: &Worker, wanted: impl Fn(&Result<String, JobError<NotLoaded>>) -> bool) {
    let start = Instant::now();
    while !wanted(&next_cake(worker)) {
        assert!(start.elapsed() < TIMEOUT, "the result did not come");
    }
}

#[test]
fn a_drawing_that_is_named_after_the_window_opened_is_followed_too() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("cone.cake.toml");
    fs::write(&file, cake_text("first", false)).unwrap();
    let worker = Worker::start(Arc::new(CakeFileSource::new(Arc::new(Disk::new()), &file, None)));
    assert_eq!(next_cake(&worker), Ok("first".into()));
    let named =
        |name: &'static str| move |cake: &Result<String, JobError<NotLoaded>>| *cake == Ok(name.into());
    // The drawing is named before it is there: an error, and it is waited for.
    fs::write(&file, cake_text("second", true)).unwrap();
    wait_for_cake(
        &worker,
        |cake| matches!(cake, Err(JobError::Failed(error)) if error.message.contains("profile.svg")),
    );
    let drawing = folder.path().join("profile.svg");
    fs::write(&drawing, profile(70)).unwrap();
    wait_for_cake(&worker, named("second"));
    settle(&worker);
    // Written again, it is read again.
    fs::write(&drawing, profile(80)).unwrap();
    wait_for_cake(&worker, named("second"));
    settle(&worker);
    // So is a pantry that is laid beside the cake.
    fs::write(folder.path().join("pantry.toml"), "crumbline = ").unwrap();
    wait_for_cake(
        &worker,
        |cake| matches!(cake, Err(JobError::Failed(error)) if error.message.contains("pantry.toml")),
    );
    fs::remove_file(folder.path().join("pantry.toml")).unwrap();
    wait_for_cake(&worker, named("second"));
    settle(&worker);
    fs::write(folder.path().join("other.svg"), profile(80)).unwrap();
    thread::sleep(Duration::from_millis(400));
    assert!(worker.take_results().is_empty(), "a file that the cake does not name is followed");
}

/// Takes results that a file causes that was written in two steps.
fn settle(worker: &Worker) {
    thread::sleep(Duration::from_millis(300));
    worker.take_results();
}
