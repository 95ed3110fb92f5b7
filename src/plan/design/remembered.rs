//! What was read from files and worked out before, so that an edit elsewhere does not do it again.

use std::sync::Arc;

use cakefile::{
    Diagnostic, schema,
    world::{Beside, FileRead, Recorded},
};
use geom::{Tolerance, units::Unit};

use super::Shape;
use crate::memo::Memo;

/// What a design was resolved from before.
#[derive(Debug, Default)]
pub(crate) struct Remembered {
    /// Shapes, by how they are written.
    pub shapes: FromFiles<(schema::Shape, Unit, Tolerance), Shape>,
}

/// Results that also depend on files.
#[derive(Debug)]
pub(crate) struct FromFiles<K, V>(Memo<(K, Vec<FileRead>), Made<V>>);

/// A result, and what was remarked on the way.
type Made<V> = (Arc<V>, Vec<Diagnostic>);

impl<K, V> Default for FromFiles<K, V> {
    fn default() -> Self {
        Self(Memo::default())
    }
}

impl<K: PartialEq, V> FromFiles<K, V> {
    /// What was made from `key` and the same files, or else what `make` makes of them, with what was remarked on the
    /// way. What could not be made is not kept.
    pub fn get_or(
        &self,
        key: K,
        files: &Beside<'_>,
        make: impl FnOnce(&Beside<'_>, &mut Vec<Diagnostic>) -> Option<V>,
    ) -> (Option<Arc<V>>, Vec<Diagnostic>) {
        let same = |read: &FileRead| read.holds_in(files.world());
        if let Some(found) = self.0.find(|(kept, reads), _| *kept == key && reads.iter().all(same)) {
            return (Some(found.0.clone()), found.1.clone());
        }
        let recorded = Recorded::new(files.world());
        let mut problems = Vec::new();
        let made = make(&Beside::new(&recorded, files.folder()), &mut problems).map(Arc::new);
        if let Some(made) = &made {
            let entry = Arc::new((made.clone(), problems.clone()));
            self.0.keep((key, recorded.reads()), entry);
        }
        (made, problems)
    }
}
