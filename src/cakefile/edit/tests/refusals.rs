//! Edits that cannot be: each names the place and the fix, and changes nothing.

use super::{insert, moved, path, remove, set};
use crate::edit::{Document, Edit, EditError, EditValue};

const TEXT: &str = "a = 1\nlist = [1, 2]\n\n[[tier]]\nname = \"x\"\n";

fn refused(text: &str, edit: &Edit) -> EditError {
    let document = Document::from_text("x", text);
    let error = document.apply(edit).expect_err("it cannot be");
    assert!(!error.fix().is_empty());
    error
}

#[test]
fn paths_that_lead_nowhere() {
    assert_eq!(refused(TEXT, &remove("b.c")), EditError::Missing { path: path("b.c") });
    assert_eq!(refused(TEXT, &remove("a.c")), EditError::NotATable { path: path("a") });
    assert_eq!(refused(TEXT, &set("a.c", 1)), EditError::NotATable { path: path("a") });
    assert_eq!(refused(TEXT, &set("a[0]", 1)), EditError::NotAList { path: path("a") });
    assert_eq!(refused(TEXT, &set("tier.name", 1)), EditError::NotATable { path: path("tier") });
    let beyond = refused(TEXT, &set("list[2]", 1));
    assert_eq!(beyond, EditError::BeyondEnd { list: path("list"), length: 2, index: 2 });
    assert_eq!(beyond.to_string(), "`list` has 2 elements, so there is no place 2, counted from 0");
    assert_eq!(beyond.fix(), "take a place from 0 to 1");
    assert_eq!(
        refused(TEXT, &set("tier[1].name", 1)),
        EditError::BeyondEnd { list: path("tier"), length: 1, index: 1 }
    );
    assert!(matches!(refused(TEXT, &insert("list[3]", 1)), EditError::BeyondEnd { index: 3, .. }));
    let root = Edit::Remove { path: crate::FieldPath::root() };
    assert_eq!(refused(TEXT, &root), EditError::WholeFile);
}

#[test]
fn what_is_there_and_what_does_not_fit() {
    assert_eq!(refused(TEXT, &insert("a", 1)), EditError::Exists { path: path("a") });
    assert_eq!(refused(TEXT, &moved("a", "list")), EditError::Exists { path: path("list") });
    assert!(matches!(refused(TEXT, &moved("a", "tier[0].a")), EditError::Apart { .. }));
    assert!(matches!(refused(TEXT, &moved("list[0]", "list[2]")), EditError::BeyondEnd { .. }));
    assert_eq!(refused(TEXT, &insert("tier[0]", 1)), EditError::OnlyTables { list: path("tier") });
}

#[test]
fn files_that_are_not_toml() {
    let twice = refused("a = 1\nb = 2\na = 3\n", &set("b", 1));
    assert!(matches!(&twice, EditError::Unreadable { line: 3, column: 1, .. }), "{twice:?}");
    assert_eq!(twice.to_string(), "line 3, column 1: `a` is written twice");
    let torn = refused("a = 1\nb = \"x\n", &set("a", 1));
    assert!(matches!(&torn, EditError::Unreadable { line: 2, .. }), "{torn:?}");
    assert_eq!(torn.fix(), "text begins and ends with a quote");
}

#[test]
fn a_member_that_fails_is_named() {
    let many = Edit::Many(vec![set("a", 2), remove("b")]);
    let error = refused(TEXT, &many);
    assert_eq!(error.to_string(), "edit 2 of 2: there is no `b` in the file");
}

#[test]
fn a_splice_of_another_text() {
    let document = Document::from_text("x", TEXT);
    let applied = document.apply(&set("list[0]", 7)).unwrap();
    let other = applied.document.apply(&set("list[0]", EditValue::from("other"))).unwrap();
    let error = other.document.apply(&applied.inverse).unwrap_err();
    assert_eq!(error, EditError::OtherText { line: 2 });
}
