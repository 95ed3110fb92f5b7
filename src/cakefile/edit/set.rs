//! Sets a value anew.

use super::{
    EditError, EditValue, PathMap,
    find::{Found, Piece, key_count},
    insert::insert,
    layout::NodeKind,
    lines::{indent, line_end, line_start},
    remove::{remove_found, runs, with_gap},
    splice::Changes,
    view::View,
    write,
};
use crate::{FieldPath, Step};

/// What setting a value comes to.
pub(super) enum Setting {
    /// These changes.
    Once(Changes, PathMap),
    /// The old value has to be taken out before the new one is put in.
    Anew,
}

/// Sets the value at `path`, in the form that it has there. Where there is none, it is put in.
pub(super) fn set(view: View, path: &FieldPath, value: &EditValue) -> Result<Setting, EditError> {
    let (_, last) = View::split(path)?;
    let Some(old) = view.value.get(path) else {
        return match last {
            Step::Index(_) => Err(view.missing(path)),
            Step::Key(_) => insert(view, path, value).map(|(changes, map)| Setting::Once(changes, map)),
        };
    };
    if old.says_same(value) {
        return Ok(Setting::Once(Changes::default(), PathMap::unchanged()));
    }
    let held = old.fields().is_some() || matches!(old, EditValue::Array(_));
    let map = if held { PathMap::replaced(path.clone()) } else { PathMap::unchanged() };
    let found = view.layout.find(path);
    let changes = match (found.node, found.pieces.first()) {
        (Some(node), Some(Piece::Pair { .. })) => {
            let start = node.span.start;
            let before = view.text[line_start(view.text, start)..start].chars().count();
            let indent = indent(view.text, line_start(view.text, start));
            Changes::one(node.span.clone(), write::wide_value(value, before, indent, view.style))
        }
        (Some(node), _) => Changes::one(node.span.clone(), write::value(value, view.style)),
        (None, Some(Piece::Section(_))) if matches!(last, Step::Index(_)) && value.fields().is_none() => {
            return Err(EditError::OnlyTables { list: View::split(path)?.0 });
        }
        (None, Some(Piece::Section(_))) => match sections(view, path, value) {
            Some(sections) => in_place_of_sections(view, &found, &sections),
            None => return Ok(Setting::Anew),
        },
        (None, Some(_)) => match dotted(view, path, &found, value) {
            Some(changes) => changes,
            None => return Ok(Setting::Anew),
        },
        (None, None) => return Err(view.missing(path)),
    };
    Ok(Setting::Once(changes, map))
}

/// The sections of the new value, where it can be written below headers.
fn sections(view: View, path: &FieldPath, value: &EditValue) -> Option<String> {
    let names = View::names(path);
    match (value, path.0.last()?) {
        (EditValue::Array(tables), Step::Key(_)) => {
            let tables: Option<Vec<EditValue>> =
                tables.iter().map(|table| Some(EditValue::Table(table.fields()?.clone()))).collect();
            let tables = tables.filter(|tables| !tables.is_empty())?;
            Some(write::sections(&names, &EditValue::Array(tables), view.style))
        }
        (table, Step::Index(_)) => table.fields().map(|_| write::element(&names, table, view.style)),
        (table, Step::Key(_)) => {
            let table = EditValue::Table(table.fields()?.clone());
            Some(write::sections(&names, &table, view.style))
        }
    }
}

/// `sections` in the place of the first section that `found` has; the others go.
fn in_place_of_sections(view: View, found: &Found, sections: &str) -> Changes {
    let mut changes = Changes::default();
    for (number, run) in runs(view, &found.pieces).into_iter().enumerate() {
        if number > 0 {
            changes.remove(with_gap(view, run));
        } else if view.text[run.clone()].ends_with('\n') {
            changes.replace(run, sections);
        } else {
            changes.replace(run, sections.trim_end_matches(['\r', '\n']));
        }
    }
    let others: Vec<Piece> =
        found.pieces.iter().copied().filter(|piece| !matches!(piece, Piece::Section(_))).collect();
    remove_found(view, &Found { node: None, pieces: others }, &mut changes);
    changes
}

/// Dotted keys in the place of the dotted keys that `found` has. `None` where sections belong to the value too,
/// or it is no table.
fn dotted(view: View, path: &FieldPath, found: &Found, value: &EditValue) -> Option<Changes> {
    let fields = value.fields()?;
    let (layout, text) = (view.layout, view.text);
    let mut changes = Changes::default();
    let (first, rest) = found.pieces.split_first()?;
    if rest.iter().any(|piece| matches!(piece, Piece::Section(_))) {
        return None;
    }
    let (pair, keys, separator) = match *first {
        Piece::Pair { section, pair } => {
            let section = &layout.sections[section];
            let pair = &section.pairs[pair];
            let separator = format!("{}{}", view.style.newline, indent(text, pair.span.start));
            (pair, key_count(&section.path), separator)
        }
        Piece::Entry { table, keys, slot } => {
            let NodeKind::Inline(slots) = &table.kind else { return None };
            (&slots[slot].content, keys, ", ".to_owned())
        }
        _ => return None,
    };
    let prefix = &text[pair.span.start..pair.words[key_count(path) - keys - 1].span.end];
    let lines: Vec<String> = if fields.is_empty() {
        vec![format!("{prefix} = {{}}")]
    } else {
        let fields = write::dotted_fields(prefix, fields, view.style);
        fields.into_iter().map(|(key, value)| format!("{key} = {value}")).collect()
    };
    // A comment behind the first key stays behind the first of the new ones.
    let (one, more) = lines.split_first()?;
    changes.replace(pair.span.clone(), one.clone());
    if !more.is_empty() {
        let more = more.join(&separator);
        if matches!(first, Piece::Pair { .. }) {
            let end = line_end(text, pair.span.end);
            let ended = text[..end].ends_with('\n');
            let indent = indent(text, pair.span.start);
            let newline = view.style.newline;
            let lines =
                if ended { format!("{indent}{more}{newline}") } else { format!("{newline}{indent}{more}") };
            changes.insert(end, lines);
        } else {
            changes.insert(pair.span.end, format!(", {more}"));
        }
    }
    remove_found(view, &Found { node: None, pieces: rest.to_vec() }, &mut changes);
    Some(changes)
}
