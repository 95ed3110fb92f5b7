//! Bytes of a text replaced by others.

use serde::{Deserialize, Serialize};

use super::{EditError, PathMap, layout::Bytes};

/// Parts of a text that are replaced together, and what that does to the paths of values. What an edit gives
/// back as its inverse; holds the replaced text word for word.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Splice {
    /// In the order of the text, apart from each other.
    parts: Vec<Part>,
    pub(super) moved: PathMap,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
struct Part {
    /// Where the old text begins.
    at: usize,
    old: String,
    new: String,
}

/// What is to be replaced in a text.
#[derive(Debug, Clone, Default)]
pub(super) struct Changes(Vec<(Bytes, String)>);

impl Changes {
    /// One place with other text.
    pub fn one(at: Bytes, new: impl Into<String>) -> Self {
        Self(vec![(at, new.into())])
    }

    /// Puts text in.
    pub fn insert(&mut self, at: usize, new: impl Into<String>) {
        self.replace(at..at, new);
    }

    /// Takes text out.
    pub fn remove(&mut self, at: Bytes) {
        self.replace(at, "");
    }

    /// Puts text in the place of other text.
    pub fn replace(&mut self, at: Bytes, new: impl Into<String>) {
        self.0.push((at, new.into()));
    }

    /// As a splice of `text`. Changes at one place keep their order; places may touch but not overlap.
    pub fn of(mut self, text: &str, moved: PathMap) -> Splice {
        self.0.sort_by_key(|(at, _)| (at.start, at.end));
        let part = |(at, new): (Bytes, String)| Part { at: at.start, old: text[at].to_owned(), new };
        let parts = self.0.into_iter().filter(|(at, new)| text[at.clone()] != **new).map(part);
        Splice { parts: parts.collect(), moved }
    }
}

impl Splice {
    /// What makes `new` out of `old`, as few bytes as can be. Values at the same path count as the same value.
    pub fn between(old: &str, new: &str) -> Self {
        let head = old.bytes().zip(new.bytes()).take_while(|(a, b)| a == b).count();
        let head = old.floor_char_boundary(head).min(new.floor_char_boundary(head));
        let tails = old[head..].bytes().rev().zip(new[head..].bytes().rev());
        let tail = tails.take_while(|(a, b)| a == b).count();
        let tail = (old.len() - old.ceil_char_boundary(old.len() - tail))
            .min(new.len() - new.ceil_char_boundary(new.len() - tail));
        Changes::one(head..old.len() - tail, &new[head..new.len() - tail]).of(old, PathMap::unchanged())
    }

    /// How many bytes it holds, more or less.
    pub(super) fn size(&self) -> usize {
        let text: usize = self.parts.iter().map(|part| part.old.len() + part.new.len()).sum();
        text + self.moved.size()
    }

    /// Whether it leaves every text as it is.
    pub(super) fn is_empty(&self) -> bool {
        self.parts.is_empty()
    }

    pub(super) fn with_map(self, moved: PathMap) -> Self {
        Self { moved, ..self }
    }

    /// `text` with the parts replaced, and the way back.
    ///
    /// # Errors
    /// [`EditError::OtherText`] when `text` is not the one that the splice was made for.
    pub(super) fn apply(&self, text: &str) -> Result<(String, Self), EditError> {
        let mut made = String::with_capacity(text.len());
        let mut back = Vec::with_capacity(self.parts.len());
        let mut done = 0;
        for part in &self.parts {
            let end = part.at.saturating_add(part.old.len());
            let kept = text.get(done..part.at).filter(|_| text.get(part.at..end) == Some(&part.old));
            let Some(kept) = kept else {
                let before = text.get(..part.at).unwrap_or(text);
                return Err(EditError::OtherText { line: 1 + before.matches('\n').count() });
            };
            made.push_str(kept);
            back.push(Part { at: made.len(), old: part.new.clone(), new: part.old.clone() });
            made.push_str(&part.new);
            done = end;
        }
        made.push_str(&text[done..]);
        Ok((made, Self { parts: back, moved: self.moved.inverse() }))
    }
}
