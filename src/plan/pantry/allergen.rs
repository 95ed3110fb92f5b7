//! Allergens of what is bought.

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
}
