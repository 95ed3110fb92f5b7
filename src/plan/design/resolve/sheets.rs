//! What templates are printed on.

use super::{Resolver, read};
use crate::design::Paper;
use cakefile::{Diagnostic, FieldPath, schema};

impl Resolver<'_> {
    pub(super) fn paper(&mut self, paper: Option<&schema::Paper>, field: &FieldPath) -> Option<Paper> {
        let mut resolved = Paper::usual(self.unit);
        let Some(paper) = paper else { return Some(resolved) };
        resolved.size = paper.size.unwrap_or(resolved.size);
        let entries = [
            (&paper.margin, "margin", &mut resolved.margin),
            (&paper.overlap, "overlap", &mut resolved.overlap),
            (&paper.pass, "pass", &mut resolved.pass),
        ];
        for (given, key, value) in entries {
            if let Some(given) = given {
                *value = read!(self, given.to_mm(self.unit), field.key(key))?;
            }
        }
        if let Some(ease) = &paper.ease {
            resolved.ease = Some(self.size(ease, field.key("ease"))?);
        }
        if let Some(excess) = &paper.excess {
            resolved.excess = self.length(excess, field.key("excess"))?;
        }
        match resolved.check() {
            Ok(()) => Some(resolved),
            Err(error) => {
                self.refuse(field.key(error.key()), error.told(self.style), error.mend());
                None
            }
        }
    }
}
