//! What the window shows of an edited cake is what every command says of the saved file, however it came to be so: by
//! edits, gestures, undo and redo, with a planner that remembers what it had planned before.

use std::{fs, path::Path, sync::Arc};

use crumbline::{
    cakefile::{
        CakeFile, FieldPath,
        edit::{Edit, EditValue},
        world::{Disk, World},
    },
    geom::Cancel,
    make::overview::Overview,
    plan::{Plan, Source},
    viewer::{CakeFileSource, CakeSource},
};
use panels::Session;
use proptest::{prelude::*, test_runner::TestRunner};

#[derive(Debug, Clone)]
enum Step {
    /// A number of the file, by its place among all numbers, becomes so many times what it is.
    Scale(usize, f64),
    /// The same in several steps of one gesture.
    Drag(usize, Vec<f64>),
    /// A value is taken out.
    Remove(usize),
    Undo,
    Redo,
}

fn step() -> impl Strategy<Value = Step> {
    prop_oneof![
        4 => (any::<usize>(), 0.9..1.12).prop_map(|(at, times)| Step::Scale(at, times)),
        2 => (any::<usize>(), proptest::collection::vec(0.95..1.06, 1..4))
            .prop_map(|(at, all)| Step::Drag(at, all)),
        1 => any::<usize>().prop_map(Step::Remove),
        1 => Just(Step::Undo),
        1 => Just(Step::Redo),
    ]
}

/// Numbers that are measures of the cake.
fn numbers(session: &Session) -> Vec<(FieldPath, f64)> {
    let document = session.document();
    let number = |path: FieldPath| Some((path.clone(), document.value(&path)?.as_number()?));
    let is_version = |path: &FieldPath| *path == FieldPath::root().key("crumbline");
    document.paths().into_iter().filter(|path| !is_version(path)).filter_map(number).collect()
}

fn scaled(session: &mut Session, at: usize, times: f64, is_gesture: bool) {
    let all = numbers(session);
    let Some((path, number)) = all.get(at % all.len().max(1)).cloned() else { return };
    let value = EditValue::from((number * times * 100.0).round() / 100.0);
    let _ = session.change("number", &Edit::Set { path, value }, is_gesture);
}

fn do_step(session: &mut Session, step: &Step) {
    match step {
        Step::Scale(at, times) => scaled(session, *at, *times, false),
        Step::Drag(at, all) => all.iter().for_each(|times| scaled(session, *at, *times, true)),
        Step::Remove(at) => {
            let all = session.document().paths();
            if let Some(path) = all.get(at % all.len().max(1)).cloned() {
                let _ = session.edit("taken out", &Edit::Remove { path });
            }
        }
        Step::Undo => drop(session.undo()),
        Step::Redo => drop(session.redo()),
    }
}

#[test]
fn the_window_shows_what_every_command_says_of_the_saved_file() {
    let folder = tempfile::tempdir().unwrap();
    let example = Path::new(env!("CARGO_MANIFEST_DIR")).join("assets/examples/toadstool-house");
    for entry in fs::read_dir(example).unwrap().flatten().filter(|entry| entry.path().is_file()) {
        fs::copy(entry.path(), folder.path().join(entry.file_name())).unwrap();
    }
    let path = folder.path().join("toadstool-house.cake.toml");
    let first = fs::read_to_string(&path).unwrap();
    let world: Arc<dyn World> = Arc::new(Disk::new());
    let source = CakeFileSource::new(world.clone(), &path, None);
    let steps = proptest::collection::vec(step(), 1..7);
    let config = ProptestConfig { cases: 24, failure_persistence: None, ..ProptestConfig::default() };
    let planned_cakes = std::cell::Cell::new(0);
    TestRunner::new(config)
        .run(&steps, |steps| {
            fs::write(&path, &first).unwrap();
            let mut session = Session::open(&*world, &path).unwrap();
            for step in &steps {
                do_step(&mut session, step);
                // As in the window: each is planned, coarsely while a gesture goes on.
                source.follow(&session);
                let _ = source.load(&Cancel::new());
            }
            session.finish();
            source.follow(&session);
            let shown = source.load(&Cancel::new());
            session.save(&*world).unwrap();
            let file = CakeFile::read(&*world, &path).unwrap();
            let said = Plan::new(&Source::new(file, world.clone()));
            match (shown, said) {
                (Ok(shown), Ok(said)) => {
                    let shown = shown.planned.expect("a plan is shown").plan;
                    prop_assert_eq!(Overview::new(&shown), Overview::new(&said));
                    prop_assert_eq!(&shown.findings, &said.findings);
                    prop_assert_eq!(shown.line_volumes(), said.line_volumes());
                    planned_cakes.set(planned_cakes.get() + 1);
                }
                (Err(_), Err(_)) => {}
                // A cake without layers is shown all the same, with the problem told.
                (Ok(shown), Err(_)) => prop_assert!(!shown.problems.is_empty()),
                (Err(error), Ok(_)) => prop_assert!(false, "the window shows no cake: {error}"),
            }
            Ok(())
        })
        .unwrap();
    let planned_cakes = planned_cakes.get();
    assert!(planned_cakes > 4, "only {planned_cakes} of the cakes could be planned");
}
