//! Coverings as written → coats from the outside in.

use super::Resolver;
use crate::design::{Covering, MaterialKind};
use cakefile::{Diagnostic, FieldPath, schema};

/// Where sheets are joined unless the cake file says otherwise: at the back, degrees.
const BACK: f64 = 180.0;

impl Resolver<'_> {
    pub(super) fn covering(
        &mut self,
        covering: &schema::Covering,
        index: usize,
        field: &FieldPath,
    ) -> Option<Covering> {
        use MaterialKind::{Coating, Filling, Paste};
        let material = self.material(&covering.material, &[Coating, Paste, Filling], field.key("material"));
        let thickness = self.size(&covering.thickness, field.key("thickness"));
        let colour = self.maybe(covering.colour.as_ref(), |s, c| s.colour(c, field.key("colour")));
        let seam = match &covering.seam {
            None => Some(BACK),
            Some(seam) => self.angle(Some(seam), field.key("seam")),
        };
        let mut material = material?;
        material.colour = colour?.unwrap_or(material.colour);
        if material.kind != MaterialKind::Paste {
            let given = [("way", covering.way.is_some()), ("seam", covering.seam.is_some())];
            for (key, _) in given.into_iter().filter(|(_, given)| *given) {
                self.problems.push(
                    Diagnostic::warning(
                        field.key(key),
                        format!("`{key}` has no meaning here: {} is spread, not rolled", material.name),
                    )
                    .fix(format!("take `{key}` out, or move it to the rolled covering")),
                );
            }
        }
        let seam = seam?.rem_euclid(360.0);
        if index > 0 {
            let under = [&covering.finish].into_iter().chain(covering.zones.iter().map(|zone| &zone.finish));
            let at = [field.clone()].into_iter().chain((0..).map(|zone| field.key("zone").index(zone)));
            for (finish, at) in under.zip(at) {
                self.unseen_finish(
                    finish,
                    &at,
                    "it lies under another covering",
                    "give it to the outermost covering",
                );
            }
        }
        let finishes = self.finishes(&covering.finish, field);
        Some(Covering {
            density: material.density,
            material,
            thickness: thickness?,
            way: covering.way,
            seam,
            finishes: finishes?,
            zones: Vec::new(),
            field: field.clone(),
        })
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
                    .fix("coverings are listed from the outside in: icing first, then the coating under it"),
                );
            }
        }
    }
}
