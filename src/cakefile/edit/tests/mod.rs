//! What holds for every edit, and what some look like.

mod examples;
mod histories;
mod laws;
mod lengths;
mod refusals;
mod samples;

use super::{Document, Edit};
use crate::{FieldPath, Step};

/// A path as it is shown, `tier[0].layer[2].height`; keys must not hold dots or brackets.
fn path(text: &str) -> FieldPath {
    let mut path = FieldPath::root();
    for part in text.split('.') {
        let mut steps = part.split('[');
        path.0.push(Step::Key(steps.next().expect("a split has a first part").to_owned()));
        for index in steps {
            path.0.push(Step::Index(index.trim_end_matches(']').parse().expect("a place is a number")));
        }
    }
    path
}

fn set(at: &str, value: impl Into<super::EditValue>) -> Edit {
    Edit::Set { path: path(at), value: value.into() }
}

fn insert(at: &str, value: impl Into<super::EditValue>) -> Edit {
    Edit::Insert { path: path(at), value: value.into() }
}

fn remove(at: &str) -> Edit {
    Edit::Remove { path: path(at) }
}

fn moved(from: &str, to: &str) -> Edit {
    Edit::Move { from: path(from), to: path(to) }
}

/// The text after an edit, which has to lead back, and in a file with CR LF to do the same.
fn edited(text: &str, edit: &Edit) -> String {
    let document = Document::from_text("test", text);
    let applied = document.apply(edit).unwrap_or_else(|error| panic!("{error}: {edit:?} of\n{text}"));
    let back = applied.document.apply(&applied.inverse).expect("an inverse applies");
    assert_eq!(back.document.text(), text);
    if text.contains('\n') && !text.contains('\r') {
        let crlf = Document::from_text("test", text.replace('\n', "\r\n"))
            .apply(edit)
            .expect("line ends do not matter");
        assert_eq!(crlf.document.text(), applied.document.text().replace('\n', "\r\n"));
    }
    applied.document.into_file().text().to_owned()
}
