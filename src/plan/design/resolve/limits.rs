//! Limits beyond which the plan warns.

use super::{Resolver, read};
use crate::design::Limits;
use cakefile::{Diagnostic, FieldPath, schema};

impl Resolver<'_> {
    pub(super) fn limits(&mut self, limits: Option<&schema::Limits>, field: &FieldPath) -> Option<Limits> {
        let mut resolved = Limits::default();
        let Some(limits) = limits else { return Some(resolved) };
        let entries = [
            (&limits.spare, "spare", &mut resolved.spare),
            (&limits.overhang, "overhang", &mut resolved.overhang),
            (&limits.cover, "cover", &mut resolved.cover),
        ];
        for (given, key, limit) in entries {
            if let Some(value) = given {
                *limit = read!(self, value.to_mm(self.unit), field.key(key))?;
                if *limit < 0.0 {
                    self.problems.push(
                        Diagnostic::error(field.key(key), "a limit cannot be below zero")
                            .fix("0 switches it off"),
                    );
                }
            }
        }
        Some(resolved)
    }
}
