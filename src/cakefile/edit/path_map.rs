//! Where the values of a file are after an edit.

use serde::{Deserialize, Serialize};

use crate::{FieldPath, Step};

/// Leads from the paths of a document before an edit to the paths of the same values after it.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(transparent)]
pub struct PathMap(Vec<Shift>);

/// What one step of an edit does to paths.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
enum Shift {
    /// The value at the path is taken out; those behind it in a list move up.
    Removed(FieldPath),
    /// A value is put in at the path; those behind it in a list make room.
    Inserted(FieldPath),
    /// The value at the path is another one; what was in it is gone.
    Replaced(FieldPath),
    /// The value is elsewhere in its list, or has another key.
    Moved { from: FieldPath, to: FieldPath },
}

impl PathMap {
    /// The map of an edit that leaves every value in its place.
    pub fn unchanged() -> Self {
        Self::default()
    }

    pub(super) fn removed(path: FieldPath) -> Self {
        Self(vec![Shift::Removed(path)])
    }

    pub(super) fn inserted(path: FieldPath) -> Self {
        Self(vec![Shift::Inserted(path)])
    }

    pub(super) fn replaced(path: FieldPath) -> Self {
        Self(vec![Shift::Replaced(path)])
    }

    pub(super) fn moved(from: FieldPath, to: FieldPath) -> Self {
        Self(vec![Shift::Moved { from, to }])
    }

    /// Where the value is that was at `path`; `None` if it is gone. A value that was set anew keeps its place,
    /// what was inside of it is gone.
    pub fn map(&self, path: &FieldPath) -> Option<FieldPath> {
        self.0.iter().try_fold(path.clone(), |path, shift| shift.map(path))
    }

    /// Whether every value stays in its place.
    pub fn is_unchanged(&self) -> bool {
        self.0.is_empty()
    }

    /// This map, and then `next`.
    #[must_use]
    pub fn then(mut self, next: &Self) -> Self {
        for shift in &next.0 {
            // One value that is set again and again is set once.
            if !(matches!(shift, Shift::Replaced(_)) && self.0.last() == Some(shift)) {
                self.0.push(shift.clone());
            }
        }
        self
    }

    /// What is gone, where the map begins with something that is taken out.
    pub(super) fn gone(&self) -> Option<&FieldPath> {
        match self.0.first() {
            Some(Shift::Removed(path)) => Some(path),
            _ => None,
        }
    }

    /// How many bytes it takes, more or less.
    pub(super) fn size(&self) -> usize {
        /// A step of a path with its key.
        const STEP: usize = 40;
        let steps = |shift: &Shift| match shift {
            Shift::Removed(path) | Shift::Inserted(path) | Shift::Replaced(path) => path.0.len(),
            Shift::Moved { from, to } => from.0.len() + to.0.len(),
        };
        self.0.iter().map(|shift| STEP * (1 + steps(shift))).sum()
    }

    /// The way back.
    #[must_use]
    pub fn inverse(&self) -> Self {
        let back = |shift: &Shift| match shift.clone() {
            Shift::Removed(path) => Shift::Inserted(path),
            Shift::Inserted(path) => Shift::Removed(path),
            Shift::Replaced(path) => Shift::Replaced(path),
            Shift::Moved { from, to } => Shift::Moved { from: to, to: from },
        };
        Self(self.0.iter().rev().map(back).collect())
    }
}

impl Shift {
    fn map(&self, path: FieldPath) -> Option<FieldPath> {
        match self {
            Self::Removed(gone) if path.starts_with(gone) => None,
            Self::Removed(gone) => {
                Some(renumbered(path, gone, |index, at| if index > at { index - 1 } else { index }))
            }
            Self::Inserted(new) => {
                Some(renumbered(path, new, |index, at| if index >= at { index + 1 } else { index }))
            }
            Self::Replaced(set) if path.starts_with(set) && path != *set => None,
            Self::Replaced(_) => Some(path),
            Self::Moved { from, to } if path.starts_with(from) => {
                let mut steps = to.0.clone();
                steps.extend_from_slice(&path.0[from.0.len()..]);
                Some(FieldPath(steps))
            }
            Self::Moved { from, to } => match (from.0.last(), to.0.last()) {
                (Some(Step::Index(_)), Some(Step::Index(to))) => {
                    Some(renumbered(path, from, |index, from| match index {
                        index if from < index && index <= *to => index - 1,
                        index if *to <= index && index < from => index + 1,
                        index => index,
                    }))
                }
                _ => Some(path),
            },
        }
    }
}

/// `path` with its place in the list that `element` is in changed by `change`, which is told the place and that
/// of `element`. Paths elsewhere stay as they are.
fn renumbered(mut path: FieldPath, element: &FieldPath, change: impl Fn(usize, usize) -> usize) -> FieldPath {
    if let Some((Step::Index(at), list)) = element.0.split_last()
        && path.0.starts_with(list)
        && let Some(Step::Index(index)) = path.0.get_mut(list.len())
    {
        *index = change(*index, *at);
    }
    path
}
