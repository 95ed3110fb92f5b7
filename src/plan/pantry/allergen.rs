//! Allergens of what is bought: one of them, and what is declared of a thing.

use std::fmt;

use serde::{Serialize, Serializer};

/// An allergen, in the words that the local law asks for.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Allergen {
    /// What it is.
    pub name: String,
    /// Whether there may be traces of it only.
    pub traces: bool,
}

/// What is declared of a thing. That nothing is declared never means that nothing is in it.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub enum Declared {
    /// Nobody has written down what its label says.
    #[default]
    Nothing,
    /// The label names no allergen.
    NoAllergen,
    /// The label names these.
    Contains(Vec<Allergen>),
}

/// What stands behind an allergen of which there may be traces only.
const TRACES: &str = " (traces)";

impl Allergen {
    /// Reads an allergen as a pantry file writes it: "soya", "milk (traces)".
    pub fn read(text: &str) -> Self {
        match text.trim().strip_suffix(TRACES) {
            Some(name) => Self { name: name.to_owned(), traces: true },
            None => Self { name: text.trim().to_owned(), traces: false },
        }
    }
}

impl Declared {
    /// Reads the list of a pantry file; an empty one declares that there is no allergen.
    pub fn read(list: &[String]) -> Self {
        if list.is_empty() {
            return Self::NoAllergen;
        }
        Self::Contains(list.iter().map(|text| Allergen::read(text)).collect())
    }

    /// The allergens that are named.
    pub fn named(&self) -> &[Allergen] {
        match self {
            Self::Contains(list) => list,
            Self::Nothing | Self::NoAllergen => &[],
        }
    }
}

impl fmt::Display for Allergen {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.name)?;
        f.write_str(if self.traces { TRACES } else { "" })
    }
}

impl Serialize for Allergen {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

/// As a list; as null where nothing is declared.
impl Serialize for Declared {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        match self {
            Self::Nothing => serializer.serialize_none(),
            Self::NoAllergen | Self::Contains(_) => serializer.collect_seq(self.named()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_allergen_reads_back() {
        for (text, name, traces) in [("soya", "soya", false), ("milk (traces)", "milk", true)] {
            let read = Allergen::read(text);
            assert_eq!((read.name.as_str(), read.traces, read.to_string().as_str()), (name, traces, text));
        }
    }

    #[test]
    fn none_and_not_declared_are_not_the_same() {
        assert_eq!(Declared::default(), Declared::Nothing);
        assert_eq!(Declared::read(&[]), Declared::NoAllergen);
        assert_eq!(serde_json::to_string(&Declared::Nothing).unwrap(), "null");
        assert_eq!(serde_json::to_string(&Declared::NoAllergen).unwrap(), "[]");
        let read = Declared::read(&["egg".into(), "milk (traces)".into()]);
        assert_eq!(serde_json::to_string(&read).unwrap(), "[\"egg\",\"milk (traces)\"]");
    }
}
