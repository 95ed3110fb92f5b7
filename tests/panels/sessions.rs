//! Sessions: any sequence of edits, undos and redos leaves a file that can be read, comments where they were, and undo
//! leads back to the first text byte for byte.

use std::{collections::BTreeMap, fs};

use cakefile::{
    FieldPath,
    edit::{Document, Edit, EditValue},
    world::{Disk, World},
};
use panels::{Session, begin::EXAMPLES};
use proptest::prelude::*;

/// Something that is done to a session.
#[derive(Debug, Clone)]
enum Step {
    /// A value, by its number among all paths, is set to another length.
    Set(usize, i64),
    /// It is taken out.
    Remove(usize),
    /// It is doubled, if it is in a list.
    Double(usize),
    Undo,
    Redo,
    /// Several sets as one gesture.
    Drag(usize, Vec<i64>),
}

fn step() -> impl Strategy<Value = Step> {
    prop_oneof![
        (any::<usize>(), 1..500_i64).prop_map(|(at, value)| Step::Set(at, value)),
        any::<usize>().prop_map(Step::Remove),
        any::<usize>().prop_map(Step::Double),
        Just(Step::Undo),
        Just(Step::Redo),
        (any::<usize>(), proptest::collection::vec(1..500_i64, 1..5))
            .prop_map(|(at, values)| Step::Drag(at, values)),
    ]
}

fn paths(document: &Document) -> Vec<FieldPath> {
    document.paths()
}

fn do_step(session: &mut Session, step: &Step) {
    let all = paths(session.document());
    let path = |at: usize| all.get(at % all.len().max(1)).cloned();
    match step {
        Step::Set(at, value) => {
            if let Some(path) = path(*at) {
                let _ = session.edit("set", &Edit::Set { path, value: (*value).into() });
            }
        }
        Step::Remove(at) => {
            if let Some(path) = path(*at) {
                let _ = session.edit("taken out", &Edit::Remove { path });
            }
        }
        Step::Double(at) => {
            if let Some(path) = path(*at)
                && let Some(value) = session.document().value(&path).cloned()
                && matches!(path.0.last(), Some(cakefile::Step::Index(_)))
            {
                let _ = session.edit("doubled", &Edit::Insert { path, value });
            }
        }
        Step::Undo => {
            session.undo();
        }
        Step::Redo => {
            session.redo();
        }
        Step::Drag(at, values) => {
            for value in values {
                if let Some(path) = path(*at) {
                    let _ = session.drag("dragged", &Edit::Set { path, value: (*value).into() });
                }
            }
            session.finish();
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, ..ProptestConfig::default() })]

    #[test]
    fn undo_leads_back_byte_for_byte(which in 0..EXAMPLES.len(), steps in proptest::collection::vec(step(), 1..25)) {
        let first = EXAMPLES[which].text;
        let mut session = Session::new("new/cake.cake.toml", first, BTreeMap::new());
        for step in &steps {
            do_step(&mut session, step);
            prop_assert!(session.document().tree().is_ok(), "{step:?} left\n{}", session.text());
        }
        let last = session.text().to_owned();
        while session.undo() {}
        prop_assert_eq!(session.text(), first);
        while session.redo() {}
        // What was taken back before is not done again.
        prop_assert!(session.text() == last || steps.iter().any(|step| matches!(step, Step::Undo)));
    }
}

fn opened(text: &str) -> (tempfile::TempDir, Session) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.cake.toml");
    fs::write(&path, text).unwrap();
    let session = Session::open(&Disk::new(), &path).unwrap();
    (folder, session)
}

fn rename(session: &mut Session, name: &str) {
    let path = FieldPath::root().key("name");
    session.edit("name", &Edit::Set { path, value: name.into() }).unwrap();
}

const CONE: &str = "crumbline = 2\nname = \"Cone\"\n[shape.turned]\npoints = [[40, 0], [0, 80]]\n";

#[test]
fn a_file_changed_elsewhere_is_taken_where_nothing_is_unsaved_and_kept_apart_where_something_is() {
    let (folder, mut session) = opened(CONE);
    let (world, path) = (Disk::new(), folder.path().join("a.cake.toml"));
    let theirs = CONE.replace("Cone", "Theirs");
    fs::write(&path, &theirs).unwrap();
    session.look_at_disk(&world);
    assert_eq!(session.text(), theirs);
    assert!(!session.is_unsaved() && session.outside().is_none());
    assert!(session.undo() && session.text() == CONE && session.is_unsaved());
    rename(&mut session, "Mine");
    let later = CONE.replace("Cone", "Later");
    fs::write(&path, &later).unwrap();
    session.look_at_disk(&world);
    assert_eq!(session.outside(), Some(later.as_str()));
    assert!(session.text().contains("Mine"));
    let mut other = session.clone();
    other.take_outside();
    assert_eq!(other.text(), later);
    assert!(other.undo() && other.text().contains("Mine"));
    session.keep_inside();
    assert!(session.is_unsaved());
    session.save(&world).unwrap();
    assert!(fs::read_to_string(&path).unwrap().contains("Mine") && !session.is_unsaved());
}

#[test]
fn saving_elsewhere_takes_the_files_along_that_the_cake_names() {
    let folder = tempfile::tempdir().unwrap();
    let text = "crumbline = 2\nname = \"Hen\"\n[shape.turned.svg]\nfile = \"half.svg\"\n";
    let beside = BTreeMap::from([("half.svg".to_owned(), b"<svg/>".to_vec())]);
    let mut session = Session::new("nowhere/hen.cake.toml", text, beside);
    let world = Disk::new();
    let (first, second) = (folder.path().join("one"), folder.path().join("two"));
    fs::create_dir_all(&first).unwrap();
    fs::create_dir_all(&second).unwrap();
    session.save_as(&world, &first.join("hen.cake.toml")).unwrap();
    assert_eq!(fs::read(first.join("half.svg")).unwrap(), b"<svg/>");
    assert!(!session.is_new() && !session.is_unsaved() && session.beside().is_empty());
    session.save_as(&world, &second.join("hen2.cake.toml")).unwrap();
    assert_eq!(fs::read(second.join("half.svg")).unwrap(), b"<svg/>");
    assert_eq!(fs::read_to_string(second.join("hen2.cake.toml")).unwrap(), text);
    assert_eq!(session.document().file().folder(), second);
    // A folder that is not there is refused, and the cake stays where it was.
    let before = session.path().to_owned();
    fs::write(folder.path().join("file"), "x").unwrap();
    assert!(session.save_as(&world, &folder.path().join("file/hen.cake.toml")).is_err());
    assert_eq!(session.path(), before);
}

/// A font is one of the files that a cake names: it goes along, and gets another name where one is taken.
#[test]
fn saving_elsewhere_takes_the_font_along() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("mine.ttf"), "another").unwrap();
    let text = format!(
        "{CONE}[[detail]]\nname = \"a\"\nadd = \"icing\"\n[detail.outline]\nheight = 20\ndepth = 2\n\
         shape = {{ text = {{ words = \"Mia\", size = 20, font = \"mine.ttf\" }} }}\n"
    );
    let beside = BTreeMap::from([("mine.ttf".to_owned(), b"letters".to_vec())]);
    let mut session = Session::new("nowhere/cone.cake.toml", &text, beside);
    session.save_as(&Disk::new(), &folder.path().join("cone.cake.toml")).unwrap();
    assert_eq!(fs::read(folder.path().join("mine-2.ttf")).unwrap(), b"letters");
    let saved = fs::read_to_string(folder.path().join("cone.cake.toml")).unwrap();
    assert!(saved.contains("font = \"mine-2.ttf\""), "{saved}");
}

#[test]
fn a_selection_follows_what_it_is_about() {
    let text = format!(
        "{CONE}[[tier]]\nname = \"a\"\n[[tier.layer]]\npan = {{ round = 80 }}\nheight = 20\n\
         [[tier.layer]]\npan = {{ round = 70 }}\nheight = 30\n"
    );
    let mut session = Session::new("new/cake.cake.toml", &text, BTreeMap::new());
    let layer = |index: usize| FieldPath::root().key("tier").index(0).key("layer").index(index);
    session.select(Some(layer(1)));
    session.edit("out", &Edit::Remove { path: layer(0) }).unwrap();
    assert_eq!(session.selected(), Some(&layer(0)));
    let height = session.document().value(&layer(0).key("height"));
    assert_eq!(height, Some(&EditValue::Integer(30)));
    session.undo();
    assert_eq!(session.selected(), Some(&layer(1)));
}

#[test]
fn a_read_only_world_is_told_not_lost() {
    let world: &dyn World = &Disk::new();
    assert!(Session::open(world, std::path::Path::new("there/is/none.cake.toml")).is_err());
}

/// A file that comes along is never written over one of the maker's: it gets another name, which the cake then says.
#[test]
fn a_file_of_the_makers_is_not_written_over() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("half.svg"), "the maker's own").unwrap();
    let text = "crumbline = 2\nname = \"Hen\"\n[shape.turned.svg]\nfile = \"half.svg\"   # drawn\n";
    let beside = BTreeMap::from([("half.svg".to_owned(), b"<svg/>".to_vec())]);
    let mut session = Session::new("nowhere/hen.cake.toml", text, beside);
    session.save_as(&Disk::new(), &folder.path().join("hen.cake.toml")).unwrap();
    assert_eq!(fs::read_to_string(folder.path().join("half.svg")).unwrap(), "the maker's own");
    assert_eq!(fs::read(folder.path().join("half-2.svg")).unwrap(), b"<svg/>");
    let saved = fs::read_to_string(folder.path().join("hen.cake.toml")).unwrap();
    assert!(saved.contains("file = \"half-2.svg\"   # drawn"), "{saved}");
    assert!(!session.is_unsaved());
}
