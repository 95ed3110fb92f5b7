//! Words that several of the lists here need.

use std::fmt::Display;

/// Names one after the other, with commas between.
pub fn listed(names: &[impl Display]) -> String {
    names.iter().map(ToString::to_string).collect::<Vec<_>>().join(", ")
}
