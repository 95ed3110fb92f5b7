//! What it takes to read something of the cake file that lies in another file.

use std::sync::Arc;

use cakefile::world::{Beside, Content, fix};
use cakefile::{Diagnostic, FieldPath};
use geom::units::{Unit, UnitError};

/// A place in the cake file that is read, what its bare numbers mean, what brings the files that it names, and where
/// problems go.
pub(crate) struct Reading<'a> {
    pub unit: Unit,
    pub field: FieldPath,
    pub files: &'a Beside<'a>,
    pub problems: &'a mut Vec<Diagnostic>,
}

impl<'a> Reading<'a> {
    /// The reading at `field`.
    pub fn new(
        unit: Unit,
        field: FieldPath,
        files: &'a Beside<'a>,
        problems: &'a mut Vec<Diagnostic>,
    ) -> Self {
        Self { unit, field, files, problems }
    }

    /// The value at a key: `None` if it is wrong, `Some(None)` if there is none.
    pub fn value(&mut self, given: Option<Result<f64, UnitError>>, key: &str) -> Option<Option<f64>> {
        match given.transpose() {
            Ok(value) => Some(value),
            Err(error) => {
                self.problems.push(Diagnostic::error(self.field.key(key), error.to_string()));
                None
            }
        }
    }

    /// The bytes of the file that the key `file` names, which is to hold `content`.
    pub fn load(&mut self, file: &str, content: Content) -> Option<Arc<[u8]>> {
        self.load_at("file", file, content)
    }

    /// The bytes of the file that `key` names, which is to hold `content`.
    pub fn load_at(&mut self, key: &str, file: &str, content: Content) -> Option<Arc<[u8]>> {
        match self.files.load(file, content) {
            Ok(file) => Some(file.bytes),
            Err(error) => {
                let message = format!("cannot read {file}: {error}");
                self.refuse(key, message, fix(&error))
            }
        }
    }

    /// Puts down what is wrong at a key, and how to fix it.
    pub fn refuse<T>(&mut self, key: &str, message: impl Into<String>, fix: impl Into<String>) -> Option<T> {
        self.problems.push(Diagnostic::error(self.field.key(key), message).fix(fix));
        None
    }
}
