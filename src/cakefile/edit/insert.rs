//! Puts a value into a text.

use super::{
    EditError, EditValue, PathMap,
    find::{Found, Piece, key_count},
    form::{Form, form_of},
    layout::{Node, NodeKind},
    lines::{as_block, comments_above, indent, is_blank, line_end, line_start, whole_lines},
    remove::is_one_a_line,
    splice::Changes,
    view::View,
    write,
};
use crate::{FieldPath, Step};

/// Puts `value` in at `path`, where there is none or, in a list, before the one that is there. Tables on the way
/// that are not there are made in the form that the file uses for such tables.
pub(super) fn insert(
    view: View,
    path: &FieldPath,
    value: &EditValue,
) -> Result<(Changes, PathMap), EditError> {
    let (outer, last) = View::split(path)?;
    match last {
        Step::Index(index) => insert_element(view, &outer, *index, value),
        Step::Key(_) if view.value.get(path).is_some() => Err(EditError::Exists { path: path.clone() }),
        Step::Key(key) if view.value.get(&outer).is_some() => {
            Ok((insert_key(view, &outer, key, value)?, PathMap::inserted(path.clone())))
        }
        Step::Key(_) => insert_with_tables(view, path, value),
    }
}

/// Puts `value` in at `path` together with the tables that it is in.
fn insert_with_tables(
    view: View,
    path: &FieldPath,
    value: &EditValue,
) -> Result<(Changes, PathMap), EditError> {
    let there = (0..path.0.len()).rev().map(|count| FieldPath(path.0[..count].to_vec()));
    let there = there.into_iter().find(|outer| view.value.get(outer).is_some()).unwrap_or_default();
    let mut names = Vec::new();
    for step in &path.0[there.0.len()..] {
        let Step::Key(key) = step else { return Err(view.missing(path)) };
        names.push(key.as_str());
    }
    let [first, inner @ ..] = &names[..] else { return Err(view.missing(path)) };
    let map = PathMap::inserted(there.key(first));
    let form = form_of(view, &there, first);
    if form == Form::Dotted {
        let value = write::value(value, view.style);
        return Ok((insert_written(view, &there, &write::dotted(names.iter().copied()), &value)?, map));
    }
    let nested = inner.iter().rev().fold(value.clone(), |value, key| match form {
        Form::Header => EditValue::table([(*key, value)]),
        _ => EditValue::inline([(*key, value)]),
    });
    Ok((insert_key(view, &there, first, &nested)?, map))
}

/// Puts `value` in as `key` of the table at `table`, which is there and has no such key.
fn insert_key(view: View, table: &FieldPath, key: &str, value: &EditValue) -> Result<Changes, EditError> {
    if view.value.get(table).is_none_or(|value| value.fields().is_none()) {
        return Err(EditError::NotATable { path: table.clone() });
    }
    let found = if table.0.is_empty() { Found::default() } else { view.layout.find(table) };
    let dotted = |piece: &Piece| matches!(piece, Piece::Pair { .. } | Piece::Entry { .. });
    let has_room = found.node.is_none() && !found.pieces.iter().any(dotted);
    if value.is_below_header() && has_room {
        let at = end_of_table(view, table, &found);
        let sections = write::sections(&View::names(&table.key(key)), value, view.style);
        return Ok(Changes::one(at..at, as_block(view.text, view.style, at, &sections, false)));
    }
    if let (Some((_, section)), EditValue::Array(_)) = (view.layout.section(table), value) {
        // A long list may go over several lines.
        let indent = section.pairs.last().map_or("", |pair| indent(view.text, pair.span.start));
        let key = write::key(key);
        let wide = write::wide_value(value, indent.len() + key.len() + 3, indent, view.style);
        return insert_written(view, table, &key, &wide);
    }
    insert_written(view, table, &write::key(key), &write::value(value, view.style))
}

/// Puts `key = value` into the table at `table`, both as they are to be written.
fn insert_written(view: View, table: &FieldPath, key: &str, value: &str) -> Result<Changes, EditError> {
    let View { text, layout, style, .. } = view;
    if let Some((number, section)) = layout.section(table) {
        let (at, indent) = match section.pairs.last() {
            Some(pair) => (line_end(text, pair.span.end), indent(text, pair.span.start)),
            None if number == 0 => (head_of_file(view), ""),
            None => (line_end(text, section.end()), ""),
        };
        let newline = if text[..at].is_empty() || text[..at].ends_with('\n') { "" } else { style.newline };
        let mut line = format!("{newline}{indent}{key} = {value}{}", style.newline);
        if number == 0 && section.pairs.is_empty() && !text[at..].is_empty() {
            line += style.gap();
        }
        return Ok(Changes::one(at..at, line));
    }
    let found = layout.find(table);
    match found.pieces.last() {
        _ if let Some(node) = found.node => Ok(append_to_braces(text, node, &format!("{key} = {value}"))),
        Some(&Piece::Entry { table: node, keys, slot }) => {
            let NodeKind::Inline(slots) = &node.kind else { return Err(no_place(table)) };
            let pair = &slots[slot].content;
            let prefix = &text[pair.span.start..pair.words[key_count(table) - keys - 1].span.end];
            let at = pair.span.end;
            Ok(Changes::one(at..at, format!(", {prefix}.{key} = {value}")))
        }
        _ if let Some((section, pair)) = last_dotted(&found) => {
            let section = &layout.sections[section];
            let pair = &section.pairs[pair];
            let word = key_count(table) - key_count(&section.path) - 1;
            let prefix = &text[pair.span.start..pair.words[word].span.end];
            let indent = indent(text, pair.span.start);
            let at = line_end(text, pair.span.end);
            let newline = if text[..at].ends_with('\n') { "" } else { style.newline };
            Ok(Changes::one(at..at, format!("{newline}{indent}{prefix}.{key} = {value}{}", style.newline)))
        }
        _ if let Some(&Piece::Section(first)) = found.pieces.first() => {
            // The headers name only tables inside of this one: it gets a header of its own, before them.
            let start = line_start(text, layout.sections[first].start());
            let at = comments_above(text, start, view.end_before(start));
            let header = write::dotted(View::names(table));
            let section = format!("[{header}]{0}{key} = {value}{0}", style.newline);
            Ok(Changes::one(at..at, as_block(text, style, at, &section, false)))
        }
        _ => Err(no_place(table)),
    }
}

fn no_place(path: &FieldPath) -> EditError {
    EditError::NoPlace { path: path.clone() }
}

fn last_dotted(found: &Found) -> Option<(usize, usize)> {
    found.pieces.iter().rev().find_map(|piece| match *piece {
        Piece::Pair { section, pair } => Some((section, pair)),
        _ => None,
    })
}

/// Where the first key of a file goes that has none above its headers: behind the comments at the top that an
/// empty line sets apart from the rest.
fn head_of_file(view: View) -> usize {
    let mut at = 0;
    while at < view.text.len() && view.text[at..].trim_start_matches([' ', '\t']).starts_with('#') {
        at = line_end(view.text, at);
    }
    let rest = &view.text[at..];
    if at > 0 && (rest.is_empty() || is_blank(&rest[..line_end(rest, 0)])) {
        if rest.is_empty() { at } else { line_end(view.text, at) }
    } else {
        0
    }
}

/// The end of all that makes up the table at `table`; of the file for the top of it.
fn end_of_table(view: View, table: &FieldPath, found: &Found) -> usize {
    if table.0.is_empty() {
        return view.text.len();
    }
    let ends = found.pieces.iter().filter_map(|piece| match *piece {
        Piece::Section(number) => Some(view.layout.sections[number].end()),
        _ => None,
    });
    ends.max().map_or(view.text.len(), |end| line_end(view.text, end))
}

/// `entry` as the last one of a table in braces.
fn append_to_braces(text: &str, node: &Node, entry: &str) -> Changes {
    let slots = node.slots();
    let Some((last, _)) = slots.last() else {
        let inside = node.span.start + 1..node.span.end - 1;
        return if is_blank(&text[inside.clone()]) && !text[inside.clone()].contains('\n') {
            Changes::one(inside, format!(" {entry} "))
        } else {
            Changes::one(inside.start..inside.start, format!(" {entry}"))
        };
    };
    let lines = whole_lines(text, last);
    let one_a_line = is_blank(&text[lines.start..last.start]) && lines.end <= node.span.end;
    let before = if one_a_line {
        let newline = if text[..lines.end].ends_with("\r\n") { "\r\n" } else { "\n" };
        format!(",{newline}{}", indent(text, last.start))
    } else {
        ", ".to_owned()
    };
    Changes::one(last.end..last.end, before + entry)
}

/// Puts `value` into the list at `list`, before the element that is at `index`, or behind the last one.
fn insert_element(
    view: View,
    list: &FieldPath,
    index: usize,
    value: &EditValue,
) -> Result<(Changes, PathMap), EditError> {
    let path = list.index(index);
    let length = match view.value.get(list) {
        Some(EditValue::Array(values)) => values.len(),
        Some(_) => return Err(EditError::NotAList { path: list.clone() }),
        None if index == 0 && !list.0.is_empty() => {
            let (changes, _) = insert(view, list, &EditValue::Array(vec![value.clone()]))?;
            return Ok((changes, PathMap::inserted(first_missing(view, &path))));
        }
        None => return Err(view.missing(&path)),
    };
    if index > length {
        return Err(EditError::BeyondEnd { list: list.clone(), length: length + 1, index });
    }
    let map = PathMap::inserted(path);
    match view.layout.find(list).node {
        Some(node) => {
            let written = write::value(value, view.style);
            Ok((insert_slot(view, node, index, &written), map))
        }
        None if value.fields().is_none() => Err(EditError::OnlyTables { list: list.clone() }),
        None => {
            let names = View::names(list);
            let at = place_of_element(view, list, index, length);
            let sections = write::element(&names, value, view.style);
            Ok((Changes::one(at..at, as_block(view.text, view.style, at, &sections, index == 0)), map))
        }
    }
}

/// The outermost value on the way to `path` that is not there.
fn first_missing(view: View, path: &FieldPath) -> FieldPath {
    let ways = (1..=path.0.len()).map(|count| FieldPath(path.0[..count].to_vec()));
    ways.into_iter().find(|way| view.value.get(way).is_none()).unwrap_or_else(|| path.clone())
}

/// Where the header of an element of an array of tables goes: before the element that is there and the comments
/// above it, but below what stands above the first; or behind all of the last one.
pub(super) fn place_of_element(view: View, list: &FieldPath, index: usize, length: usize) -> usize {
    if index >= length {
        let found = view.layout.find(&list.index(length - 1));
        return end_of_table(view, list, &found);
    }
    element_start(view, list, index)
}

/// The first byte of the lines of an element of an array of tables. Comments directly above it belong to it,
/// but not to the first one: those speak of the whole list.
pub(super) fn element_start(view: View, list: &FieldPath, index: usize) -> usize {
    let found = view.layout.find(&list.index(index));
    let first = found.pieces.first().and_then(|piece| match *piece {
        Piece::Section(number) => Some(view.layout.sections[number].start()),
        _ => None,
    });
    let start = line_start(view.text, first.unwrap_or(view.text.len()));
    if index == 0 { start } else { comments_above(view.text, start, view.end_before(start)) }
}

/// Puts `written` into a list in brackets.
fn insert_slot(view: View, node: &Node, index: usize, written: &str) -> Changes {
    let text = view.text;
    let slots = node.slots();
    let newline = view.style.newline;
    let Some((before, comma)) = index.checked_sub(1).map(|before| &slots[before]) else {
        let open = node.span.start + 1;
        let comma = if slots.is_empty() { "" } else { "," };
        let first_line = line_end(text, open);
        if is_one_a_line(text, node) && first_line < node.span.end {
            let indent = indent(text, slots[0].0.start);
            return Changes::one(first_line..first_line, format!("{indent}{written},{newline}"));
        }
        let blank = if slots.is_empty() { "" } else { " " };
        let at = slots.first().map_or(open, |(first, _)| first.start);
        return Changes::one(at..at, format!("{written}{comma}{blank}"));
    };
    if is_one_a_line(text, node) {
        let indent = indent(text, before.start);
        let end = line_end(text, before.end);
        let mut changes = Changes::default();
        if comma.is_none() {
            changes.insert(before.end, ",");
        }
        let comma = if index < slots.len() || comma.is_some() { "," } else { "" };
        changes.insert(end, format!("{indent}{written}{comma}{newline}"));
        return changes;
    }
    match slots.get(index) {
        Some((next, _)) => Changes::one(next.start..next.start, format!("{written}, ")),
        None => Changes::one(before.end..before.end, format!(", {written}")),
    }
}
