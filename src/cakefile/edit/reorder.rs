//! Moves an element in its list, or gives a value another key in its table.

use super::{
    EditError, EditValue, PathMap,
    find::{Piece, key_count},
    insert::{element_start, place_of_element},
    layout::{Node, NodeKind},
    lines::{as_block, comments_above, line_end, line_start},
    remove::{is_one_a_line, runs, with_gap},
    splice::Changes,
    view::View,
    write,
};
use crate::{FieldPath, Step};

/// Moves the value at `from` so that it is at `to` afterwards.
pub(super) fn reorder(view: View, from: &FieldPath, to: &FieldPath) -> Result<(Changes, PathMap), EditError> {
    let (outer, last) = View::split(from)?;
    let (outer_to, last_to) = View::split(to)?;
    if view.value.get(from).is_none() {
        return Err(view.missing(from));
    }
    if outer != outer_to {
        return Err(EditError::Apart { from: from.clone(), to: to.clone() });
    }
    if from == to {
        return Ok((Changes::default(), PathMap::unchanged()));
    }
    let map = PathMap::moved(from.clone(), to.clone());
    match (last, last_to) {
        (Step::Index(from), Step::Index(to)) => Ok((move_element(view, &outer, *from, *to)?, map)),
        (Step::Key(_), Step::Key(_)) if view.value.get(to).is_some() => {
            Err(EditError::Exists { path: to.clone() })
        }
        (Step::Key(_), Step::Key(key)) => Ok((rename(view, from, key)?, map)),
        _ => Err(EditError::Apart { from: from.clone(), to: to.clone() }),
    }
}

/// Every mention of the key gets the new name.
fn rename(view: View, path: &FieldPath, key: &str) -> Result<Changes, EditError> {
    let mut changes = Changes::default();
    let key = write::key(key);
    let keys = key_count(path);
    for piece in &view.layout.find(path).pieces {
        let word = match *piece {
            Piece::Section(section) => {
                let header = view.layout.sections[section].header.as_ref();
                header.and_then(|header| header.words.get(keys - 1))
            }
            Piece::Pair { section, pair } => {
                let section = &view.layout.sections[section];
                section.pairs[pair].words.get(keys - key_count(&section.path) - 1)
            }
            Piece::Entry { table: Node { kind: NodeKind::Inline(slots), .. }, keys: outer, slot } => {
                slots[slot].content.words.get(keys - outer - 1)
            }
            Piece::Entry { .. } | Piece::Element { .. } => None,
        };
        let Some(word) = word else { return Err(EditError::NoPlace { path: path.clone() }) };
        changes.replace(word.span.clone(), key.clone());
    }
    Ok(changes)
}

fn move_element(view: View, list: &FieldPath, from: usize, to: usize) -> Result<Changes, EditError> {
    let length = match view.value.get(list) {
        Some(EditValue::Array(values)) => values.len(),
        _ => return Err(EditError::NotAList { path: list.clone() }),
    };
    if to >= length {
        return Err(EditError::BeyondEnd { list: list.clone(), length, index: to });
    }
    match view.layout.find(list).node {
        Some(node) => Ok(move_slot(view.text, node, from, to)),
        None => Ok(move_sections(view, list, from, to, length)),
    }
}

/// Moves the sections of an element, with the comments directly above it; those above the first element speak of
/// the whole list and stay.
fn move_sections(view: View, list: &FieldPath, from: usize, to: usize, length: usize) -> Changes {
    let found = view.layout.find(&list.index(from));
    let mut changes = Changes::default();
    let mut blocks = Vec::new();
    for (number, mut run) in runs(view, &found.pieces).into_iter().enumerate() {
        if number == 0 {
            run.start = element_start(view, list, from);
        }
        let mut block = view.text[run.clone()].to_owned();
        if !block.ends_with('\n') {
            block += view.style.newline;
        }
        blocks.push(block);
        changes.remove(with_gap(view, run));
    }
    let place = if to > from { to + 1 } else { to };
    let at = place_of_element(view, list, place, length);
    let block = blocks.join(view.style.gap());
    changes.insert(at, as_block(view.text, view.style, at, &block, to == 0));
    changes
}

/// Moves an element of a list in brackets: its line with the comments that belong to it where each element has a
/// line of its own, or else only what is between the commas.
fn move_slot(text: &str, node: &Node, from: usize, to: usize) -> Changes {
    let slots = node.slots();
    let mut order: Vec<usize> = (0..slots.len()).collect();
    let moved = order.remove(from);
    order.insert(to, moved);
    let mut changes = Changes::default();
    let lines = is_one_a_line(text, node);
    let place = |number: usize| {
        let span = slots[number].0.clone();
        if !lines {
            return span;
        }
        let floor = match number.checked_sub(1) {
            Some(before) => line_end(text, slots[before].0.end),
            None => span.start,
        };
        let start = line_start(text, span.start);
        comments_above(text, start, floor.min(start))..line_end(text, span.end)
    };
    for (number, &other) in order.iter().enumerate() {
        if number == other {
            continue;
        }
        let mut written = text[place(other)].to_owned();
        if lines && slots[other].1.is_none() {
            written.insert(slots[other].0.end - place(other).start, ',');
        }
        changes.replace(place(number), written);
    }
    changes
}
