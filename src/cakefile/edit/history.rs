//! Undo and redo: the steps by which a document came to be what it is.

use std::collections::VecDeque;

use super::{Document, Edit, EditError, PathMap, Splice};
use crate::CakeFile;

/// A document with the steps that led to it and those that were taken back.
///
/// All edits between [`History::begin`] and [`History::commit`] are one step: a drag sets a value many
/// times and is undone at once. Each step holds only the text that it changed. At most
/// [`History::MOST_STEPS`] steps and about [`History::MOST_BYTES`] bytes of changed text are held; beyond that the
/// oldest steps can no longer be undone. The latest step is held whatever its size.
#[derive(Debug, Clone)]
pub struct History {
    document: Document,
    done: VecDeque<Kept>,
    undone: Vec<Kept>,
    open: Option<Gesture>,
    most_steps: usize,
    most_bytes: usize,
}

/// One step, as the way to the other side of it.
#[derive(Debug, Clone)]
struct Kept {
    label: String,
    way: Splice,
}

/// A step that is not complete yet.
#[derive(Debug, Clone)]
struct Gesture {
    label: String,
    start: Document,
    moved: PathMap,
}

/// Why a history refused.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum HistoryError {
    /// A step was begun and is neither committed nor aborted.
    #[error("the step \"{label}\" is not complete yet")]
    StepOpen {
        /// Its label.
        label: String,
    },
    /// No step was begun.
    #[error("no step was begun")]
    NoStep,
    /// The edit was refused.
    #[error(transparent)]
    Edit(#[from] EditError),
}

impl HistoryError {
    /// How to fix it.
    pub fn fix(&self) -> String {
        match self {
            Self::StepOpen { .. } => "commit or abort it first".to_owned(),
            Self::NoStep => "begin a step first".to_owned(),
            Self::Edit(error) => error.fix(),
        }
    }
}

impl History {
    /// How many steps are held.
    pub const MOST_STEPS: usize = 1000;
    /// How many bytes of changed text are held.
    pub const MOST_BYTES: usize = 16 * 1024 * 1024;

    /// A document with no steps.
    pub fn new(document: Document) -> Self {
        Self::with_limits(document, Self::MOST_STEPS, Self::MOST_BYTES)
    }

    /// The same with other limits; one step is held at least.
    pub fn with_limits(document: Document, most_steps: usize, most_bytes: usize) -> Self {
        Self {
            document,
            done: VecDeque::new(),
            undone: Vec::new(),
            open: None,
            most_steps: most_steps.max(1),
            most_bytes,
        }
    }

    /// The document as it is now. Its revision rises with every edit, undo, redo and abort that changes it.
    pub fn document(&self) -> &Document {
        &self.document
    }

    /// From now on the document is that of the file that messages call `name`, in `folder`; its text and its steps stay.
    pub fn rename(&mut self, name: &str, folder: &std::path::Path) {
        let renamed = |document: &Document| {
            let file = CakeFile::from_text(name, folder, document.text());
            Document::new(file).with_revision(document.revision())
        };
        self.document = renamed(&self.document);
        if let Some(open) = &mut self.open {
            open.start = renamed(&open.start);
        }
    }

    /// Begins a step. `label` says in a menu what is undone, as "height of the first layer".
    ///
    /// # Errors
    /// [`HistoryError::StepOpen`] when one is begun already; that one stays open.
    pub fn begin(&mut self, label: impl Into<String>) -> Result<(), HistoryError> {
        self.closed()?;
        let start = self.document.clone();
        self.open = Some(Gesture { label: label.into(), start, moved: PathMap::unchanged() });
        Ok(())
    }

    /// Whether a step is begun and neither committed nor aborted.
    pub fn is_open(&self) -> bool {
        self.open.is_some()
    }

    /// Edits the document within the step that is begun. Says where its values are now.
    ///
    /// # Errors
    /// [`HistoryError::NoStep`] when none is begun; [`HistoryError::Edit`] when the edit is refused, which
    /// changes nothing and leaves the step open.
    pub fn apply(&mut self, edit: &Edit) -> Result<PathMap, HistoryError> {
        let open = self.open.as_mut().ok_or(HistoryError::NoStep)?;
        let applied = self.document.apply(edit)?;
        self.document = applied.document;
        open.moved = std::mem::take(&mut open.moved).then(&applied.moved);
        Ok(applied.moved)
    }

    /// Completes the step. A step that changed no byte leaves none, and nothing undone is lost by it.
    ///
    /// # Errors
    /// [`HistoryError::NoStep`] when none is begun.
    pub fn commit(&mut self) -> Result<(), HistoryError> {
        let Gesture { label, start, moved } = self.open.take().ok_or(HistoryError::NoStep)?;
        let way = Splice::between(self.document.text(), start.text()).with_map(moved.inverse());
        if !way.is_empty() {
            self.undone.clear();
            self.done.push_back(Kept { label, way });
            self.forget();
        }
        Ok(())
    }

    /// Takes all edits of the step back and forgets it. Says where the values are now.
    ///
    /// # Errors
    /// [`HistoryError::NoStep`] when none is begun.
    pub fn abort(&mut self) -> Result<PathMap, HistoryError> {
        let Gesture { start, moved, .. } = self.open.take().ok_or(HistoryError::NoStep)?;
        let revision = self.document.revision() + u64::from(self.document.text() != start.text());
        self.document = start.with_revision(revision);
        Ok(moved.inverse())
    }

    /// One edit as a step of its own.
    ///
    /// # Errors
    /// As [`Self::begin`] and [`Self::apply`]; a refused edit leaves no step.
    pub fn step(&mut self, label: impl Into<String>, edit: &Edit) -> Result<PathMap, HistoryError> {
        self.begin(label)?;
        match self.apply(edit) {
            Ok(moved) => self.commit().map(|()| moved),
            Err(error) => self.abort().and(Err(error)),
        }
    }

    /// Takes the last step back. Says where the values are now; `None` if there is no step.
    ///
    /// # Errors
    /// [`HistoryError::StepOpen`] while a step is begun.
    pub fn undo(&mut self) -> Result<Option<PathMap>, HistoryError> {
        self.closed()?;
        let Some(step) = self.done.pop_back() else { return Ok(None) };
        let (moved, back) = self.go(step)?;
        self.undone.push(back);
        Ok(Some(moved))
    }

    /// Takes the step again that was last taken back. Says where the values are now; `None` if there is none.
    ///
    /// # Errors
    /// [`HistoryError::StepOpen`] while a step is begun.
    pub fn redo(&mut self) -> Result<Option<PathMap>, HistoryError> {
        self.closed()?;
        let Some(step) = self.undone.pop() else { return Ok(None) };
        let (moved, back) = self.go(step)?;
        self.done.push_back(back);
        Ok(Some(moved))
    }

    /// What [`Self::undo`] would take back.
    pub fn undo_label(&self) -> Option<&str> {
        self.done.back().map(|step| step.label.as_str())
    }

    /// What [`Self::redo`] would do again.
    pub fn redo_label(&self) -> Option<&str> {
        self.undone.last().map(|step| step.label.as_str())
    }

    /// The labels of all steps that can be undone, the last one first.
    pub fn labels(&self) -> impl Iterator<Item = &str> {
        self.done.iter().rev().map(|step| step.label.as_str())
    }

    fn closed(&self) -> Result<(), HistoryError> {
        match &self.open {
            Some(open) => Err(HistoryError::StepOpen { label: open.label.clone() }),
            None => Ok(()),
        }
    }

    /// Goes the way of a step. Gives the way back.
    fn go(&mut self, step: Kept) -> Result<(PathMap, Kept), HistoryError> {
        let (text, way) = step.way.apply(self.document.text())?;
        self.document = self.document.with_text(text);
        Ok((step.way.moved, Kept { label: step.label, way }))
    }

    /// Drops the oldest steps beyond the limits.
    fn forget(&mut self) {
        let mut bytes: usize = self.done.iter().map(|step| step.way.size() + step.label.len()).sum();
        while self.done.len() > 1 && (self.done.len() > self.most_steps || bytes > self.most_bytes) {
            if let Some(step) = self.done.pop_front() {
                bytes -= step.way.size() + step.label.len();
            }
        }
    }
}
