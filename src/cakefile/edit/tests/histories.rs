//! Undo and redo against a plain list of texts.

use proptest::{collection::vec, prelude::*, sample::Index};

use super::{remove, set};
use crate::edit::{Document, Edit, EditValue, History, HistoryError};

#[derive(Debug, Clone)]
enum Act {
    Begin,
    Commit,
    Abort,
    Undo,
    Redo,
    Set(Index, i64),
    Remove(Index),
    Insert(i64),
}

fn act() -> impl Strategy<Value = Act> {
    prop_oneof![
        3 => Just(Act::Begin),
        3 => Just(Act::Commit),
        1 => Just(Act::Abort),
        2 => Just(Act::Undo),
        2 => Just(Act::Redo),
        4 => (any::<Index>(), any::<i64>()).prop_map(|(at, value)| Act::Set(at, value)),
        1 => any::<Index>().prop_map(Act::Remove),
        1 => any::<i64>().prop_map(Act::Insert),
    ]
}

const TEXT: &str =
    "a = 1   # one\nlist = [1, 2, 3]\n\n# over\n[b]\nc = 'x'\n\n[[t]]\nd = 1\n\n[[t]]\nd = 2\n";

/// The same by whole texts: those before the present one, and those after it.
struct Texts {
    done: Vec<String>,
    now: String,
    undone: Vec<String>,
    start: Option<String>,
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn histories_are_as_lists_of_texts(acts in vec(act(), 0..60), most in 1..12usize) {
        let mut history = History::with_limits(Document::from_text("x", TEXT), most, usize::MAX);
        let mut texts = Texts { done: Vec::new(), now: TEXT.to_owned(), undone: Vec::new(), start: None };
        let mut revision = 0;
        for act in acts {
            let before = history.document().clone();
            let edit = edit(&act, &before);
            match act {
                Act::Begin => {
                    prop_assert_eq!(history.begin("step").is_ok(), texts.start.is_none());
                    texts.start.get_or_insert(texts.now.clone());
                }
                Act::Commit => {
                    prop_assert_eq!(history.commit().is_ok(), texts.start.is_some());
                    if let Some(start) = texts.start.take().filter(|start| *start != texts.now) {
                        texts.done.push(start);
                        texts.undone.clear();
                        if texts.done.len() > most {
                            texts.done.remove(0);
                        }
                    }
                }
                Act::Abort => {
                    prop_assert_eq!(history.abort().is_ok(), texts.start.is_some());
                    texts.now = texts.start.take().unwrap_or(texts.now);
                }
                Act::Undo if texts.start.is_none() => {
                    let undone = history.undo().expect("no step is open").is_some();
                    prop_assert_eq!(undone, !texts.done.is_empty());
                    if let Some(text) = texts.done.pop() {
                        texts.undone.push(std::mem::replace(&mut texts.now, text));
                    }
                }
                Act::Redo if texts.start.is_none() => {
                    let redone = history.redo().expect("no step is open").is_some();
                    prop_assert_eq!(redone, !texts.undone.is_empty());
                    if let Some(text) = texts.undone.pop() {
                        texts.done.push(std::mem::replace(&mut texts.now, text));
                    }
                }
                Act::Undo => prop_assert!(history.undo().is_err()),
                Act::Redo => prop_assert!(history.redo().is_err()),
                Act::Set(..) | Act::Remove(_) | Act::Insert(_) => {
                    let Some(edit) = edit else { continue };
                    let applied = history.apply(&edit);
                    // An element of an array of tables cannot be set to a number.
                    prop_assert_eq!(applied.is_ok(), texts.start.is_some() && before.apply(&edit).is_ok());
                    if applied.is_ok() {
                        texts.now = before.apply(&edit).expect("it was applied").document.text().to_owned();
                    }
                }
            }
            let now = history.document();
            prop_assert_eq!(now.text(), &texts.now);
            prop_assert_eq!(now.revision() > revision, now.text() != before.text());
            prop_assert_eq!(history.labels().count(), texts.done.len());
            prop_assert_eq!(history.undo_label().is_some(), !texts.done.is_empty());
            prop_assert_eq!(history.redo_label().is_some(), !texts.undone.is_empty());
            revision = now.revision();
        }
    }
}

fn edit(act: &Act, document: &Document) -> Option<Edit> {
    let paths = document.paths();
    let pick = |at: &Index| (!paths.is_empty()).then(|| at.get(&paths).clone());
    Some(match act {
        Act::Set(at, value) => Edit::Set { path: pick(at)?, value: EditValue::Integer(*value) },
        Act::Remove(at) => Edit::Remove { path: pick(at)? },
        Act::Insert(value) => set("new.key", *value),
        _ => return None,
    })
}

#[test]
fn a_drag_is_one_step_and_its_values_are_followed() {
    let mut history = History::new(Document::from_text("x", TEXT));
    history.begin("height").unwrap();
    for value in 0..500 {
        history.apply(&set("t[1].d", value)).unwrap();
    }
    history.apply(&remove("t[0]")).unwrap();
    assert_eq!(history.begin("other"), Err(HistoryError::StepOpen { label: "height".into() }));
    history.commit().unwrap();
    assert_eq!(history.undo_label(), Some("height"));
    let moved = history.undo().unwrap().unwrap();
    assert_eq!(history.document().text(), TEXT);
    assert_eq!(moved.map(&super::path("t[0].d")), Some(super::path("t[1].d")));
    let moved = history.redo().unwrap().unwrap();
    assert_eq!(moved.map(&super::path("t[1].d")), Some(super::path("t[0].d")));
    assert_eq!(moved.map(&super::path("t[0].d")), None);
    assert_eq!(history.document().value(&super::path("t[0].d")), Some(&499.into()));
}

#[test]
fn refused_edits_leave_no_step_and_old_steps_make_room() {
    let mut history = History::with_limits(Document::from_text("x", TEXT), 100, 400);
    assert!(history.step("wrong", &remove("not.there")).is_err());
    assert!(!history.is_open() && history.undo_label().is_none());
    for value in 0..50 {
        history.step(format!("{value}"), &set("b.c", value.to_string().repeat(30))).unwrap();
    }
    let kept = history.labels().count();
    assert!((1..20).contains(&kept), "{kept}");
    assert_eq!(history.undo_label(), Some("49"));
    history.step("huge", &set("b.c", "x".repeat(1000))).unwrap();
    assert_eq!(history.labels().collect::<Vec<_>>(), ["huge"]);
}
