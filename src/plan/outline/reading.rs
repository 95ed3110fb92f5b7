//! What it takes to read something of the cake file that lies in another file.

use super::Loader;
use cakefile::{Diagnostic, FieldPath};
use geom::units::{Unit, UnitError};

/// A place in the cake file that is read, what its bare numbers mean, what brings the files that it names, and where
/// problems go.
pub(crate) struct Reading<'a> {
    pub unit: Unit,
    pub field: FieldPath,
    pub loader: &'a dyn Loader,
    pub problems: &'a mut Vec<Diagnostic>,
}

impl<'a> Reading<'a> {
    /// The reading at `field`.
    pub fn new(
        unit: Unit,
        field: FieldPath,
        loader: &'a dyn Loader,
        problems: &'a mut Vec<Diagnostic>,
    ) -> Self {
        Self { unit, field, loader, problems }
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

    /// The bytes of the file that the key `file` names.
    pub fn load(&mut self, file: &str) -> Option<Vec<u8>> {
        match self.loader.load(file) {
            Ok(bytes) => Some(bytes),
            Err(error) => {
                let message = format!("cannot read {file}: {error}");
                self.refuse("file", message, "give its place relative to the cake file")
            }
        }
    }

    /// Puts down what is wrong at a key, and how to mend it.
    pub fn refuse<T>(&mut self, key: &str, message: impl Into<String>, mend: impl Into<String>) -> Option<T> {
        self.problems.push(Diagnostic::error(self.field.key(key), message).mend(mend));
        None
    }
}
