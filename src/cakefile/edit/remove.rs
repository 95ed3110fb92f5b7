//! Takes a value out of a text.

use super::{
    EditError, PathMap,
    find::{Found, Piece, split},
    layout::{Bytes, Node, NodeKind},
    lines::{before_blank_lines, is_blank, line_end, line_start, past_blank_lines, whole_lines},
    splice::Changes,
    view::View,
};
use crate::FieldPath;

/// Takes the value at `path` out, with its key or header and the comma or line end that belongs to it. Comments
/// above it and behind it stay. A table that no part of the text names once the value is gone goes with it.
pub(super) fn remove(view: View, path: &FieldPath) -> Result<(Changes, PathMap), EditError> {
    View::split(path)?;
    let found = view.layout.find(path);
    if found.is_missing() {
        return Err(view.missing(path));
    }
    let mut changes = Changes::default();
    remove_found(view, &found, &mut changes);
    Ok((changes, PathMap::removed(view.emptied(path, &found))))
}

impl View<'_> {
    /// The outermost value that is gone when all of `found`, which is at `path`, is.
    fn emptied(self, path: &FieldPath, found: &Found) -> FieldPath {
        let mut gone = path.clone();
        while let Some((outer, _)) = split(&gone).filter(|(outer, _)| !outer.0.is_empty()) {
            let holder = self.layout.find(&outer);
            if holder.node.is_some() || holder.pieces != found.pieces {
                break;
            }
            gone = outer;
        }
        gone
    }
}

/// Takes out all that makes up a value.
pub(super) fn remove_found(view: View, found: &Found, changes: &mut Changes) {
    for run in runs(view, &found.pieces) {
        changes.remove(with_gap(view, run));
    }
    for piece in &found.pieces {
        match *piece {
            Piece::Section(_) => {}
            Piece::Pair { section, pair } => {
                changes.remove(pair_with_line(view, &view.layout.sections[section].pairs[pair].span));
            }
            Piece::Entry { .. } | Piece::Element { .. } => {}
        }
    }
    let slots = |piece: &Piece| match *piece {
        Piece::Entry { slot, .. } | Piece::Element { slot, .. } => Some(slot),
        _ => None,
    };
    let gone: Vec<usize> = found.pieces.iter().filter_map(slots).collect();
    if let Some(Piece::Entry { table: node, .. } | Piece::Element { list: node, .. }) = found.pieces.first() {
        remove_slots(view.text, node, &gone, changes);
    }
}

/// The sections among `pieces`, as the lines that they take up; such that follow each other as one.
pub(super) fn runs(view: View, pieces: &[Piece]) -> Vec<Bytes> {
    let mut runs: Vec<(usize, Bytes)> = Vec::new();
    for piece in pieces {
        let Piece::Section(number) = *piece else { continue };
        let section = &view.layout.sections[number];
        let lines = line_start(view.text, section.start())..line_end(view.text, section.end());
        match runs.last_mut() {
            Some((last, run)) if *last + 1 == number => {
                *last = number;
                run.end = lines.end;
            }
            _ => runs.push((number, lines)),
        }
    }
    runs.into_iter().map(|(_, run)| run).collect()
}

/// Whole lines, with the empty lines behind them; those before them at the end of the file.
pub(super) fn with_gap(view: View, lines: Bytes) -> Bytes {
    let end = past_blank_lines(view.text, lines.end);
    if end < view.text.len() {
        return lines.start..end;
    }
    before_blank_lines(view.text, lines.start, view.end_before(lines.start))..end
}

/// A pair of a section with its line; a comment behind it stays in its place.
fn pair_with_line(view: View, span: &Bytes) -> Bytes {
    let lines = whole_lines(view.text, span);
    match view.layout.comment_in(span.end..lines.end) {
        Some(comment) => span.start..comment.start,
        None => lines,
    }
}

/// Takes elements out of a list or a table in braces, with their commas.
fn remove_slots(text: &str, node: &Node, gone: &[usize], changes: &mut Changes) {
    let slots = node.slots();
    let stays = |slot: &usize| !gone.contains(slot);
    let last_kept = (0..slots.len()).rev().find(stays);
    for &number in gone {
        let (span, comma) = &slots[number];
        remove_slot(text, span, *comma, changes);
    }
    // TOML 1.0 has no comma before the closing brace, and a list keeps the habit that it has.
    let trailing = slots.last().is_some_and(|(_, comma)| comma.is_some());
    if let Some(last) = last_kept.filter(|&last| last + 1 < slots.len() && !trailing)
        && let Some(comma) = slots[last].1
    {
        let next = &slots[last + 1].0;
        // The blanks between the comma and the next element go with that one, if it is on the same line.
        let on_line = is_blank(&text[comma + 1..next.start]) && !text[comma..next.start].contains('\n');
        changes.remove(comma..if on_line { next.start } else { comma + 1 });
    }
}

/// Takes one element out: its line where it has one to itself, or else itself and the blanks up to the next.
fn remove_slot(text: &str, span: &Bytes, comma: Option<usize>, changes: &mut Changes) {
    let lines = whole_lines(text, span);
    let end = comma.filter(|&comma| is_blank(&text[span.end..comma])).map_or(span.end, |comma| comma + 1);
    let alone = is_blank(&text[lines.start..span.start]) && end <= lines.end;
    if alone && is_blank(&text[end..lines.end]) && text[end..lines.end].ends_with('\n') {
        changes.remove(lines);
    } else {
        let rest = &text[end..];
        let blanks = rest.len() - rest.trim_start_matches([' ', '\t']).len();
        let next_is_close = rest[blanks..].starts_with([']', '}', '\r', '\n']);
        changes.remove(span.start..if next_is_close { end } else { end + blanks });
    }
    if let Some(comma) = comma.filter(|&comma| comma >= end) {
        changes.remove(comma..comma + 1);
    }
}

/// Whether each element of a list begins a line and nothing but its comma and a comment follows it there.
pub(super) fn is_one_a_line(text: &str, node: &Node) -> bool {
    let NodeKind::Array(slots) = &node.kind else { return false };
    !slots.is_empty()
        && slots.iter().all(|slot| {
            let span = &slot.content.span;
            let lines = whole_lines(text, span);
            let comma = slot.comma.filter(|&comma| is_blank(&text[span.end..comma]));
            let rest = &text[comma.map_or(span.end, |comma| comma + 1)..lines.end];
            comma.is_some() == slot.comma.is_some()
                && lines.end <= node.span.end
                && is_blank(&text[lines.start..span.start])
                && (is_blank(rest) || rest.trim_start_matches([' ', '\t']).starts_with('#'))
        })
}
