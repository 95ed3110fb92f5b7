//! From the path of a value to the places in the text that make it up.

use super::layout::{Layout, Node, NodeKind, Pair, Section};
use crate::{FieldPath, Step};

/// A part of the text that makes up a value or a piece of one.
#[derive(Debug, Clone, Copy)]
pub(super) enum Piece<'l> {
    /// A section of the file, as its number.
    Section(usize),
    /// A key of a section with its value.
    Pair { section: usize, pair: usize },
    /// A key of a table in braces with its value; `keys` are in the path of that table.
    Entry { table: &'l Node, keys: usize, slot: usize },
    /// An element of a list in brackets.
    Element { list: &'l Node, slot: usize },
}

impl PartialEq for Piece<'_> {
    fn eq(&self, other: &Self) -> bool {
        match (self, other) {
            (Self::Section(a), Self::Section(b)) => a == b,
            (Self::Pair { section: a, pair: x }, Self::Pair { section: b, pair: y }) => (a, x) == (b, y),
            (Self::Entry { table: a, slot: x, .. }, Self::Entry { table: b, slot: y, .. })
            | (Self::Element { list: a, slot: x }, Self::Element { list: b, slot: y }) => {
                (&a.span, x) == (&b.span, y)
            }
            _ => false,
        }
    }
}

/// What was found at a path.
#[derive(Debug, Clone, Default)]
pub(super) struct Found<'l> {
    /// The value, if it stands in one place, behind `=` or in a list.
    pub node: Option<&'l Node>,
    /// All that makes it up, in the order of the text; nothing if there is no such value.
    pub pieces: Vec<Piece<'l>>,
}

impl Found<'_> {
    pub fn is_missing(&self) -> bool {
        self.pieces.is_empty()
    }
}

impl Layout {
    /// What makes up the value at `path`, which is not the top of the file.
    pub(super) fn find(&self, path: &FieldPath) -> Found<'_> {
        let mut found = Found::default();
        for (number, section) in self.sections.iter().enumerate() {
            if section.path.starts_with(path) {
                found.pieces.push(Piece::Section(number));
            } else if path.starts_with(&section.path) {
                for (pair, content) in section.pairs.iter().enumerate() {
                    match Way::of(content, &section.path, path) {
                        Way::Apart => {}
                        Way::Part => found.pieces.push(Piece::Pair { section: number, pair }),
                        Way::Whole => {
                            let pieces = vec![Piece::Pair { section: number, pair }];
                            return Found { node: Some(&content.value), pieces };
                        }
                        Way::Inside(table) => return inside(&content.value, table, path),
                    }
                }
            }
        }
        found
    }

    /// The section whose keys are those of the table at `path`.
    pub fn section(&self, path: &FieldPath) -> Option<(usize, &Section)> {
        self.sections.iter().enumerate().find(|(_, section)| section.path == *path)
    }
}

/// What a pair is to a path.
enum Way {
    Apart,
    /// The pair is a part of the table at the path.
    Part,
    /// The value of the pair is the one at the path.
    Whole,
    /// The path leads into the value of the pair, whose own path this is.
    Inside(FieldPath),
}

impl Way {
    fn of(pair: &Pair, table: &FieldPath, path: &FieldPath) -> Self {
        let rest = &path.0[table.0.len()..];
        let same =
            |(step, word): (&Step, &super::layout::Word)| matches!(step, Step::Key(key) if *key == word.name);
        if !rest.iter().zip(&pair.words).all(same) {
            return Self::Apart;
        }
        match rest.len().cmp(&pair.words.len()) {
            std::cmp::Ordering::Less => Self::Part,
            std::cmp::Ordering::Equal => Self::Whole,
            std::cmp::Ordering::Greater => Self::Inside(pair.path(table)),
        }
    }
}

/// What makes up the value at `path`, which leads into `node` at `at`.
fn inside<'l>(node: &'l Node, at: FieldPath, path: &FieldPath) -> Found<'l> {
    match (&node.kind, &path.0[at.0.len()]) {
        (NodeKind::Array(slots), Step::Index(index)) => match slots.get(*index) {
            Some(slot) if path.0.len() == at.0.len() + 1 => {
                Found { node: Some(&slot.content), pieces: vec![Piece::Element { list: node, slot: *index }] }
            }
            Some(slot) => inside(&slot.content, at.index(*index), path),
            None => Found::default(),
        },
        (NodeKind::Inline(slots), Step::Key(_)) => {
            let mut found = Found::default();
            for (number, slot) in slots.iter().enumerate() {
                let piece = Piece::Entry { table: node, keys: key_count(&at), slot: number };
                match Way::of(&slot.content, &at, path) {
                    Way::Apart => {}
                    Way::Part => found.pieces.push(piece),
                    Way::Whole => return Found { node: Some(&slot.content.value), pieces: vec![piece] },
                    Way::Inside(value) => return inside(&slot.content.value, value, path),
                }
            }
            found
        }
        _ => Found::default(),
    }
}

/// How many keys are in a path; places in lists do not count, as headers do not write them.
pub(super) fn key_count(path: &FieldPath) -> usize {
    path.0.iter().filter(|step| matches!(step, Step::Key(_))).count()
}

/// The table or list that the value at `path` is in, and its key or place there.
pub(super) fn split(path: &FieldPath) -> Option<(FieldPath, &Step)> {
    path.0.split_last().map(|(last, outer)| (FieldPath(outer.to_vec()), last))
}
