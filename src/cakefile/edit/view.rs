//! A parsed file as the parts of an edit look at it.

use super::{EditError, EditValue, find::split, layout::Layout, lines::Style};
use crate::{FieldPath, Step};

/// A text with its layout and its value.
#[derive(Debug, Clone, Copy)]
pub(super) struct View<'d> {
    pub text: &'d str,
    pub layout: &'d Layout,
    pub value: &'d EditValue,
    pub style: Style,
}

impl View<'_> {
    /// The error for a path that leads nowhere: says how far it leads.
    pub fn missing(self, path: &FieldPath) -> EditError {
        let mut at = FieldPath::root();
        for step in &path.0 {
            let Some(value) = self.value.get(&at) else { break };
            match (step, value) {
                (Step::Index(index), EditValue::Array(values)) if *index >= values.len() => {
                    return EditError::BeyondEnd { list: at, length: values.len(), index: *index };
                }
                (Step::Index(_), EditValue::Array(_)) => {}
                (Step::Index(_), _) => return EditError::NotAList { path: at },
                (Step::Key(_), value) if value.fields().is_none() => {
                    return EditError::NotATable { path: at };
                }
                (Step::Key(_), _) => {}
            }
            at.0.push(step.clone());
        }
        EditError::Missing { path: path.clone() }
    }

    /// The end of the last header or pair that begins before `at`.
    pub fn end_before(self, at: usize) -> usize {
        let mut end = 0;
        for section in &self.layout.sections {
            if let Some(header) = section.header.as_ref().filter(|header| header.span.start < at) {
                end = end.max(header.span.end);
            }
            let pairs = section.pairs.iter().filter(|pair| pair.span.start < at);
            end = pairs.fold(end, |end, pair| end.max(pair.span.end));
        }
        end
    }

    /// The keys of `path`, without places in lists: what a header there is called.
    pub fn names(path: &FieldPath) -> Vec<&str> {
        path.0
            .iter()
            .filter_map(|step| if let Step::Key(key) = step { Some(key.as_str()) } else { None })
            .collect()
    }

    /// The table or list that `path` is in, and its last step.
    ///
    /// # Errors
    /// [`EditError::WholeFile`] for the empty path.
    pub fn split(path: &FieldPath) -> Result<(FieldPath, &Step), EditError> {
        split(path).ok_or(EditError::WholeFile)
    }
}
