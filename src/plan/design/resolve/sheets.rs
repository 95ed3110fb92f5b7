//! What templates are printed on, and how they are cut.

use super::{Resolver, read};
use crate::design::Paper;
use cakefile::{Diagnostic, FieldPath, schema};

impl Resolver<'_> {
    pub(super) fn paper(&mut self, cake: &schema::Cake) -> Option<Paper> {
        let root = FieldPath::root();
        let mut resolved = Paper::usual(self.unit);
        let paper = cake.paper.clone().unwrap_or_default();
        let carving = cake.carving.clone().unwrap_or_default();
        let icing = cake.icing.clone().unwrap_or_default();
        resolved.size = paper.size.unwrap_or(resolved.size);
        let entries = [
            (&paper.margin, root.key("paper").key("margin"), &mut resolved.margin),
            (&paper.overlap, root.key("paper").key("overlap"), &mut resolved.overlap),
            (&carving.pass, root.key("carving").key("pass"), &mut resolved.pass),
        ];
        for (given, field, value) in entries {
            if let Some(given) = given {
                *value = read!(self, given.to_mm(self.unit), field)?;
            }
        }
        let field = root.key("icing");
        if let Some(error) = &icing.pattern_error {
            resolved.pattern_error = Some(self.size(error, field.key("pattern_error"))?);
        }
        if let Some(allowance) = &icing.allowance {
            resolved.allowance = self.length(allowance, field.key("allowance"))?;
        }
        match resolved.check() {
            Ok(()) => Some(resolved),
            Err(error) => {
                let (table, key) = error.key();
                self.refuse(root.key(table).key(key), error.told(self.style), error.fix());
                None
            }
        }
    }
}
