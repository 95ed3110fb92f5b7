//! Materials by their names, built in or the maker's own.

use std::collections::BTreeMap;

use super::Resolver;
use crate::design::{Material, MaterialKind, material};
use cakefile::{Diagnostic, FieldPath, nearest, schema};

const ALL_KINDS: &[MaterialKind] = {
    use MaterialKind::{Board, Coating, Dowel, Dummy, Filling, Firm, Paste, Sponge};
    &[Sponge, Firm, Dummy, Filling, Coating, Paste, Board, Dowel]
};

/// The built-in materials of these kinds, with the names that the trade has for them besides.
fn told(kinds: &[MaterialKind]) -> String {
    let with_others = |name: &'static str| match material::other_names(name) {
        [] => name.to_owned(),
        others => format!("{name} ({})", others.join(", ")),
    };
    fitting(kinds).into_iter().map(with_others).collect::<Vec<_>>().join(", ")
}

/// The built-in materials of these kinds.
fn fitting(kinds: &[MaterialKind]) -> Vec<&'static str> {
    let fits = |name: &&str| material::built_in(name).is_some_and(|found| kinds.contains(&found.kind));
    material::built_in_names().filter(fits).collect()
}

impl Resolver<'_> {
    pub(super) fn own_materials(&mut self, own: &BTreeMap<String, schema::Material>) {
        for (name, given) in own {
            let at = FieldPath::root().key("material").key(name);
            let like = given.like.as_deref().unwrap_or(name);
            let Some(mut made) = material::built_in(like) else {
                let problem = if given.like.is_some() {
                    self.unknown_material(like, ALL_KINDS, at.key("like"))
                } else {
                    Diagnostic::error(
                        at,
                        format!("\"{name}\" is a new material and does not say what it is like"),
                    )
                    .fix("add like = \"sponge\", or another built-in material")
                };
                self.problems.push(problem);
                continue;
            };
            made.name.clone_from(name);
            if let Some(density) = given.density {
                /// Denser than any metal that a board could be made of, g/mL.
                const MOST: f64 = 9.0;
                if density.is_finite() && density > 0.0 && density < MOST {
                    made.density = density;
                } else {
                    self.refuse(
                        at.key("density"),
                        format!("a density of {density} g/mL cannot be"),
                        "give grams per millilitre: sponge about 0.4, ganache about 1.1, rolled icing about 1.35",
                    );
                }
            }
            if let Some(colour) = &given.colour
                && let Some(rgb) = self.colour(colour, at.key("colour"))
            {
                made.colour = rgb;
            }
            self.materials.insert(name.clone(), made);
        }
    }

    /// `kinds` are those that fit there.
    fn unknown_material(&self, name: &str, kinds: &[MaterialKind], field: FieldPath) -> Diagnostic {
        let fitting = fitting(kinds);
        let own =
            self.materials.values().filter(|own| kinds.contains(&own.kind)).map(|own| own.name.as_str());
        let like = fitting.first().copied().unwrap_or("sponge");
        let help = match nearest(name, own.chain(fitting.iter().copied())) {
            Some(close) => format!(
                "did you mean \"{close}\"? What fits here: {}; or describe your own under [material.\"{name}\"]",
                fitting.join(", ")
            ),
            None => format!(
                "use one of: {}; or describe your own: [material.\"{name}\"] with like = \"{like}\"",
                told(kinds)
            ),
        };
        Diagnostic::error(field, format!("no material is called \"{name}\"")).fix(help)
    }

    pub(super) fn material(
        &mut self,
        name: &str,
        kinds: &[MaterialKind],
        field: FieldPath,
    ) -> Option<Material> {
        let Some(found) = self.materials.get(name).cloned().or_else(|| material::built_in(name)) else {
            let problem = self.unknown_material(name, kinds, field);
            self.problems.push(problem);
            return None;
        };
        if !kinds.contains(&found.kind) {
            let own = self.materials.values().filter(|own| kinds.contains(&own.kind));
            let own: Vec<String> = own.map(|own| own.name.clone()).collect();
            let fix = match own.is_empty() {
                true => format!("use one of: {}", told(kinds)),
                false => format!("use one of your own, {}, or one of: {}", own.join(", "), told(kinds)),
            };
            self.refuse(field, format!("\"{name}\" cannot be used for this"), fix);
            return None;
        }
        Some(found)
    }
}
