//! The laws of edits, on the files that come with the program and on random ones.

use proptest::{collection::vec, prelude::*, sample::Index};

use super::samples::{edit_value, random, real};
use crate::{
    FieldPath, Step,
    edit::{Applied, Document, Edit, EditError, EditValue},
};

/// What to do, before it is known to what.
#[derive(Debug, Clone)]
enum Wish {
    Set(Index, EditValue),
    SetNew(Index, bool, EditValue),
    InsertKey(Index, EditValue),
    InsertElement(Index, Index, EditValue),
    Remove(Index),
    MoveElement(Index, Index),
    Rename(Index, String),
}

fn wish() -> impl Strategy<Value = Wish> {
    let index = any::<Index>;
    prop_oneof![
        (index(), edit_value()).prop_map(|(at, value)| Wish::Set(at, value)),
        (index(), any::<bool>(), edit_value()).prop_map(|(at, deep, value)| Wish::SetNew(at, deep, value)),
        (index(), edit_value()).prop_map(|(at, value)| Wish::InsertKey(at, value)),
        (index(), index(), edit_value()).prop_map(|(at, place, value)| Wish::InsertElement(at, place, value)),
        index().prop_map(Wish::Remove),
        (index(), index()).prop_map(|(at, to)| Wish::MoveElement(at, to)),
        (index(), "[a-z .]{1,5}").prop_map(|(at, key)| Wish::Rename(at, format!("new {key}"))),
    ]
}

impl Wish {
    /// The edit for a document; `None` where that has nothing of the kind.
    fn edit(&self, document: &Document) -> Option<Edit> {
        let paths = document.paths();
        let pick = |at: &Index, fits: &dyn Fn(&FieldPath) -> bool| {
            let fitting: Vec<&FieldPath> = paths.iter().filter(|path| fits(path)).collect();
            (!fitting.is_empty()).then(|| (*at.get(&fitting)).clone())
        };
        let is_table = |path: &FieldPath| document.value(path).is_some_and(|value| value.fields().is_some());
        let any = |_: &FieldPath| true;
        let length = |path: &FieldPath| match document.value(path) {
            Some(EditValue::Array(values)) => Some(values.len()),
            _ => None,
        };
        let table = |at: &Index| {
            let mut tables: Vec<FieldPath> = paths.iter().filter(|path| is_table(path)).cloned().collect();
            tables.push(FieldPath::root());
            at.get(&tables).clone()
        };
        Some(match self {
            Self::Set(at, value) => Edit::Set { path: pick(at, &any)?, value: value.clone() },
            Self::SetNew(at, deep, value) => {
                let mut path = table(at).key("new table").key("x");
                if *deep {
                    path = path.key("y");
                }
                Edit::Set { path, value: value.clone() }
            }
            Self::InsertKey(at, value) => {
                Edit::Insert { path: table(at).key("new key"), value: value.clone() }
            }
            Self::InsertElement(at, place, value) => {
                let list = pick(at, &|path| length(path).is_some())?;
                let path = list.index(place.index(length(&list)? + 1));
                Edit::Insert { path, value: value.clone() }
            }
            Self::Remove(at) => Edit::Remove { path: pick(at, &any)? },
            Self::MoveElement(at, to) => {
                let from = pick(at, &|path| matches!(path.0.last(), Some(Step::Index(_))))?;
                let list = FieldPath(from.0[..from.0.len() - 1].to_vec());
                let to = list.index(to.index(length(&list)?));
                Edit::Move { from, to }
            }
            Self::Rename(at, key) => {
                let from = pick(at, &|path| matches!(path.0.last(), Some(Step::Key(_))))?;
                let to = FieldPath(from.0[..from.0.len() - 1].to_vec()).key(key);
                Edit::Move { from, to }
            }
        })
    }
}

/// Whether an edit may be refused: only where a list of tables was to hold something else.
fn may_fail(error: &EditError) -> bool {
    matches!(error, EditError::OnlyTables { .. })
}

fn is_leaf(value: &EditValue) -> bool {
    match value {
        EditValue::Array(values) => values.is_empty(),
        value => value.fields().is_none_or(Vec::is_empty),
    }
}

fn is_scalar(value: &EditValue) -> bool {
    value.fields().is_none() && !matches!(value, EditValue::Array(_))
}

fn leaves(document: &Document) -> Vec<FieldPath> {
    document.paths().into_iter().filter(|path| document.value(path).is_some_and(is_leaf)).collect()
}

/// The path that an edit is about, before it and after it.
fn subject(edit: &Edit) -> (FieldPath, FieldPath) {
    match edit {
        Edit::Set { path, .. } | Edit::Insert { path, .. } | Edit::Remove { path } => {
            (path.clone(), path.clone())
        }
        Edit::Move { from, to } => (from.clone(), to.clone()),
        Edit::Many(_) | Edit::Splice(_) => (FieldPath::root(), FieldPath::root()),
    }
}

/// Leads back byte for byte, and its map leads back too.
fn leads_back(before: &Document, applied: &Applied) {
    let back = applied.document.apply(&applied.inverse).expect("an inverse applies");
    assert_eq!(back.document.text(), before.text());
    assert!(before.text() == applied.document.text() || applied.document.revision() > before.revision());
    for path in before.paths() {
        if let Some(now) = applied.moved.map(&path) {
            let there = back.moved.map(&now);
            assert!(there.is_none_or(|there| there == path), "{path} is at {now}");
        }
    }
    let again = back.document.apply(&back.inverse).expect("the inverse of an inverse applies");
    assert_eq!(again.document.text(), applied.document.text());
}

/// All other values are the same, where the map says.
fn map_is_right(before: &Document, edit: &Edit, applied: &Applied) {
    let after = &applied.document;
    let (subject_before, subject_after) = subject(edit);
    let about = |path: &FieldPath| path.starts_with(&subject_before);
    let mut found = Vec::new();
    for path in leaves(before) {
        let old = before.value(&path).expect("the path is one of the document");
        match applied.moved.map(&path) {
            Some(now) => {
                let new = after.value(&now);
                let replaced = matches!(edit, Edit::Set { .. } if about(&path));
                // A list or table that was empty may have got something.
                let filled = is_leaf(old) && subject_after.starts_with(&now) && new.is_some();
                assert!(
                    replaced || filled || new.is_some_and(|new| new.says_same(old)),
                    "{path} is at {now}: {new:?}"
                );
                found.push(now);
            }
            None => assert!(
                about(&path) && !matches!(edit, Edit::Move { .. } | Edit::Insert { .. }),
                "{path} is gone"
            ),
        }
    }
    found.sort_by_key(ToString::to_string);
    for path in leaves(after) {
        let emptied = matches!(edit, Edit::Remove { .. }) && subject_before.starts_with(&path);
        assert!(
            emptied || path.starts_with(&subject_after) || found.contains(&path),
            "{path} came from nowhere"
        );
    }
}

/// Comments with where they stand.
fn comments(document: &Document) -> Vec<(usize, String)> {
    let layout = crate::edit::layout::Layout::of(document.text());
    layout.comments.into_iter().map(|at| (at.start, document.text()[at].to_owned())).collect()
}

/// The bytes that a value takes up, all of its parts.
fn extents(document: &Document, path: &FieldPath) -> Vec<std::ops::Range<usize>> {
    use crate::edit::find::Piece;
    let layout = crate::edit::layout::Layout::of(document.text());
    let found = layout.find(path);
    let mut extents: Vec<(Option<usize>, std::ops::Range<usize>)> = Vec::new();
    for piece in &found.pieces {
        match *piece {
            Piece::Section(number) => {
                let section = &layout.sections[number];
                let end = document.text()[section.end()..]
                    .find('\n')
                    .map_or(document.text().len(), |at| section.end() + at);
                match extents.last_mut() {
                    Some((Some(last), extent)) if *last + 1 == number => {
                        *last = number;
                        extent.end = end;
                    }
                    _ => extents.push((Some(number), section.start()..end)),
                }
            }
            Piece::Pair { section, pair } => {
                extents.push((None, layout.sections[section].pairs[pair].span.clone()));
            }
            Piece::Entry { table, slot, .. } | Piece::Element { list: table, slot } => {
                extents.push((None, table.slots()[slot].0.clone()));
            }
        }
    }
    extents.into_iter().map(|(_, extent)| extent).collect()
}

/// Only bytes of the element change, and blanks, line ends and commas beside it; comments elsewhere stay.
fn rest_stays(before: &Document, edit: &Edit, applied: &Applied) {
    let (subject_before, _) = subject(edit);
    let own = extents(before, &subject_before);
    let is_own = |at: usize| own.iter().any(|extent| extent.contains(&at));
    let kept_comments: Vec<String> =
        comments(before).into_iter().filter(|(at, _)| !is_own(*at)).map(|(_, text)| text).collect();
    let mut now: Vec<String> = comments(&applied.document).into_iter().map(|(_, text)| text).collect();
    if let Edit::Move { .. } = edit {
        let mut all: Vec<String> = comments(before).into_iter().map(|(_, text)| text).collect();
        all.sort();
        now.sort();
        assert_eq!(all, now);
        let letters = |document: &Document| {
            let mut bytes: Vec<u8> =
                document.text().bytes().filter(|byte| !b" \t\r\n,".contains(byte)).collect();
            bytes.sort_unstable();
            bytes
        };
        if matches!(subject_before.0.last(), Some(Step::Index(_))) {
            assert_eq!(letters(before), letters(&applied.document));
        }
        return;
    }
    let mut rest = now.iter();
    for comment in &kept_comments {
        assert!(rest.any(|other| other == comment), "{comment:?} is lost");
    }
    // What is left of the old text without the element is still there, in order.
    let kept = before.text().char_indices().filter(|(at, _)| !is_own(*at)).map(|(_, character)| character);
    let mut new = applied.document.text().chars();
    for character in kept.filter(|character| !" \t\r\n,".contains(*character)) {
        assert!(new.any(|other| other == character), "{character:?} is lost");
    }
    if let (Edit::Set { value, .. }, [own]) = (edit, &own[..])
        && is_scalar(value)
        && let (Some(old), Some(span)) = (before.value(&subject_before), before.span(&subject_before))
        && is_scalar(old)
        && own.contains(&span.start)
    {
        let text = applied.document.text();
        assert!(text.starts_with(&before.text()[..span.start]), "bytes before the value changed");
        assert!(text.ends_with(&before.text()[span.end..]), "bytes behind the value changed");
    }
}

fn obeys_laws(document: &Document, wish: &Wish) -> Result<(), TestCaseError> {
    let Some(edit) = wish.edit(document) else { return Ok(()) };
    match document.apply(&edit) {
        Ok(applied) => {
            leads_back(document, &applied);
            map_is_right(document, &edit, &applied);
            rest_stays(document, &edit, &applied);
        }
        Err(error) => prop_assert!(may_fail(&error), "{error}: {edit:?}"),
    }
    Ok(())
}

fn many_is_one_by_one(document: &Document, wishes: &[Wish]) -> Result<(), TestCaseError> {
    let mut now = document.clone();
    let mut edits = Vec::new();
    for wish in wishes {
        let Some(edit) = wish.edit(&now) else { continue };
        let Ok(applied) = now.apply(&edit) else { continue };
        now = applied.document;
        edits.push(edit);
    }
    let all = document.apply(&Edit::Many(edits.clone())).expect("each one of them applies");
    prop_assert_eq!(all.document.text(), now.text());
    leads_back(document, &all);
    for path in leaves(document) {
        if let Some(to) = all.moved.map(&path) {
            prop_assert!(now.value(&to).is_some(), "{} is not at {}", path, to);
        }
    }
    let count = edits.len();
    edits.push(Edit::Remove { path: FieldPath::root().key("not there") });
    let refused = document.apply(&Edit::Many(edits)).expect_err("the last one is refused");
    let is_last = matches!(refused, EditError::Member { number, .. } if number == count + 1);
    prop_assert!(is_last, "{}", refused);
    Ok(())
}

/// Many values set at once.
fn sets(document: &Document, chosen: &[(Index, i64)]) -> Vec<Edit> {
    let mut leaves = leaves(document);
    leaves.retain(|path| document.value(path).is_some_and(is_scalar));
    let set = |(at, value): &(Index, i64)| Edit::Set {
        path: at.get(&leaves).clone(),
        value: EditValue::Integer(*value),
    };
    if leaves.is_empty() { Vec::new() } else { chosen.iter().map(set).collect() }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn edits_of_random_files_obey_the_laws(document in random(), wish in wish()) {
        obeys_laws(&document, &wish)?;
    }

    #[test]
    fn edits_of_real_files_obey_the_laws(document in real(), wish in wish()) {
        obeys_laws(&document, &wish)?;
    }

    #[test]
    fn many_edits_are_one_after_the_other(document in prop_oneof![random(), real()], wishes in vec(wish(), 0..5)) {
        many_is_one_by_one(&document, &wishes)?;
    }

    #[test]
    fn values_set_together_are_set_one_by_one(
        document in prop_oneof![random(), real()],
        chosen in vec((any::<Index>(), any::<i64>()), 2..12),
    ) {
        let edits = sets(&document, &chosen);
        let all = document.apply(&Edit::Many(edits.clone())).expect("values can be set");
        let mut now = document.clone();
        for edit in &edits {
            now = now.apply(edit).expect("values can be set").document;
        }
        prop_assert_eq!(all.document.text(), now.text());
        leads_back(&document, &all);
    }

    #[test]
    fn edits_survive_as_json(document in random(), wish in wish()) {
        let Some(edit) = wish.edit(&document) else { return Ok(()) };
        let Ok(applied) = document.apply(&edit) else { return Ok(()) };
        for edit in [edit, applied.inverse] {
            let json = serde_json::to_string(&edit).expect("an edit is data");
            prop_assert_eq!(serde_json::from_str::<Edit>(&json).expect("what was written is read"), edit);
        }
    }
}
