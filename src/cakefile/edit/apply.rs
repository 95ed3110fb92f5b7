//! The one function that applies an edit.

use std::collections::BTreeSet;

use super::{
    Applied, Document, Edit, EditError, EditValue, PathMap,
    insert::insert,
    model,
    remove::remove,
    reorder::reorder,
    set::{Setting, set},
    splice::{Changes, Splice},
    write,
};
use crate::FieldPath;

pub(super) fn apply(document: &Document, edit: &Edit) -> Result<Applied, EditError> {
    match edit {
        Edit::Many(edits) => many(document, edits),
        Edit::Splice(splice) => spliced(document, splice),
        Edit::Set { path, value } => {
            let view = document.view()?;
            match set(view, path, value)? {
                Setting::Once(changes, map) => {
                    checked(document, changes, map, path, |whole| model::set(whole, path, value))
                }
                Setting::Anew => {
                    let steps = [
                        Edit::Remove { path: path.clone() },
                        Edit::Insert { path: path.clone(), value: value.clone() },
                    ];
                    let applied = one_by_one(document, &steps).map_err(|(_, error)| error)?;
                    Ok(Applied { moved: PathMap::replaced(path.clone()), ..applied })
                }
            }
        }
        Edit::Insert { path, value } => {
            let (changes, map) = insert(document.view()?, path, value)?;
            checked(document, changes, map, path, |whole| model::insert(whole, path, value))
        }
        Edit::Remove { path } => {
            let (changes, map) = remove(document.view()?, path)?;
            let gone = map.gone().unwrap_or(path).clone();
            checked(document, changes, map, path, |whole| model::remove(whole, &gone))
        }
        Edit::Move { from, to } => {
            let (changes, map) = reorder(document.view()?, from, to)?;
            checked(document, changes, map, from, |whole| model::reorder(whole, from, to))
        }
    }
}

fn spliced(document: &Document, splice: &Splice) -> Result<Applied, EditError> {
    let (text, back) = splice.apply(document.text())?;
    Ok(Applied {
        document: document.with_text(text),
        inverse: Edit::Splice(back),
        moved: splice.moved.clone(),
    })
}

/// Makes the changes and looks whether the new text says what `wanted` makes of the old value.
fn checked(
    document: &Document,
    changes: Changes,
    map: PathMap,
    path: &FieldPath,
    wanted: impl FnOnce(&mut EditValue) -> Option<()>,
) -> Result<Applied, EditError> {
    let no_place = || EditError::NoPlace { path: path.clone() };
    let splice = changes.of(document.text(), map);
    let mut value = document.view()?.value.clone();
    wanted(&mut value).ok_or_else(no_place)?;
    let applied = spliced(document, &splice)?;
    match applied.document.view() {
        Ok(view) if view.value.says_same(&value) => Ok(applied),
        _ => Err(no_place()),
    }
}

fn many(document: &Document, edits: &[Edit]) -> Result<Applied, EditError> {
    let count = edits.len();
    one_by_one(document, edits).map_err(|(number, error)| EditError::Member {
        number: number + 1,
        count,
        error: Box::new(error),
    })
}

/// Applies edits in turn; the error says which one was refused.
fn one_by_one(document: &Document, edits: &[Edit]) -> Result<Applied, (usize, EditError)> {
    let mut now = document.clone();
    let mut moved = PathMap::unchanged();
    let mut inverses = Vec::new();
    let mut number = 0;
    while number < edits.len() {
        let (applied, done) = match together(&now, &edits[number..]) {
            Some(done) => done,
            None => (apply(&now, &edits[number]).map_err(|error| (number, error))?, 1),
        };
        now = applied.document;
        moved = moved.then(&applied.moved);
        inverses.push(applied.inverse);
        number += done;
    }
    inverses.reverse();
    let inverse = match <[Edit; 1]>::try_from(inverses) {
        Ok([only]) => only,
        Err(inverses) => Edit::Many(inverses),
    };
    let revision = document.revision() + u64::from(now.text() != document.text());
    Ok(Applied { document: now.with_revision(revision), inverse, moved })
}

/// Applies as many of the first edits as set scalars that stand apart from each other, all at once, and says how
/// many: parsing the text once for each of a thousand points would take long. Gives the same as one after
/// the other.
fn together(document: &Document, edits: &[Edit]) -> Option<(Applied, usize)> {
    let view = document.view().ok()?;
    let is_scalar = |value: &EditValue| value.fields().is_none() && !matches!(value, EditValue::Array(_));
    let mut places = BTreeSet::new();
    let mut changes = Changes::default();
    let mut value = view.value.clone();
    for edit in edits {
        let Edit::Set { path, value: new } = edit else { break };
        let (Some(node), Some(old)) = (view.layout.find(path).node, view.value.get(path)) else { break };
        if !is_scalar(old) || !is_scalar(new) || !places.insert(node.span.start) {
            break;
        }
        if !old.says_same(new) {
            changes.replace(node.span.clone(), write::value(new, view.style));
            model::set(&mut value, path, new)?;
        }
    }
    if places.len() < 2 {
        return None;
    }
    let applied = spliced(document, &changes.of(document.text(), PathMap::unchanged())).ok()?;
    applied.document.view().is_ok_and(|view| view.value.says_same(&value)).then_some((applied, places.len()))
}
