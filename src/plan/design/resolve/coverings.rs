//! Coverings as written → coats from the outside in.

use super::Resolver;
use crate::design::{Covering, MaterialKind};
use cakefile::{Diagnostic, FieldPath, schema};

impl Resolver<'_> {
    pub(super) fn covering(
        &mut self,
        covering: &schema::Covering,
        _: usize,
        field: &FieldPath,
    ) -> Option<Covering> {
        use MaterialKind::{Coating, Filling, Paste};
        let material = self.material(&covering.material, &[Coating, Paste, Filling], field.key("material"));
        let thickness = self.size(&covering.thickness, field.key("thickness"));
        let colour = self.maybe(covering.colour.as_ref(), |s, c| s.colour(c, field.key("colour")));
        let mut material = material?;
        material.colour = colour?.unwrap_or(material.colour);
        Some(Covering { material, thickness: thickness?, field: field.clone() })
    }

    /// Rolled icing goes outside: under a soft coat it could not be laid.
    pub(super) fn refuse_hard_coverings(&mut self, coverings: &[Covering]) {
        for pair in coverings.windows(2) {
            if pair[1].material.kind == MaterialKind::Paste && pair[0].material.kind != MaterialKind::Paste {
                self.problems.push(
                    Diagnostic::warning(
                        pair[1].field.clone(),
                        format!("{} lies under {}", pair[1].material.name, pair[0].material.name),
                    )
                    .mend("coverings are listed from the outside in: icing first, then the coating under it"),
                );
            }
        }
    }
}
