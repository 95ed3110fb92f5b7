//! Names that must be given once only.

use super::Resolver;
use crate::design::Tier;
use cakefile::FieldPath;

impl Resolver<'_> {
    pub(super) fn refuse_repeats<'n>(&mut self, key: &str, names: impl Iterator<Item = &'n str>) {
        let mut seen = std::collections::HashMap::new();
        for (i, name) in names.enumerate() {
            if let Some(first) = seen.insert(name, i) {
                self.refuse(
                    FieldPath::root().key(key).index(i).key("name"),
                    format!(
                        "there are two {key}s called \"{name}\": number {} and number {}",
                        first + 1,
                        i + 1
                    ),
                    "give each its own name",
                );
            }
        }
    }

    pub(super) fn refuse_repeated_layers(&mut self, tiers: &[Tier]) {
        let mut seen = std::collections::HashSet::new();
        for layer in tiers.iter().flat_map(|t| &t.layers) {
            if !seen.insert(layer.name.as_str()) {
                self.refuse(
                    layer.field.clone(),
                    format!("there are two layers called \"{}\"", layer.name),
                    "give each its own name",
                );
            }
        }
    }
}
