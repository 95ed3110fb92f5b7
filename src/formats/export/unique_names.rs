//! Names that are each given once.

use std::collections::HashSet;

/// Names that were given already.
#[derive(Debug, Default)]
pub(super) struct UniqueNames {
    taken: HashSet<String>,
}

impl UniqueNames {
    /// `plain`, or with `joint` and a number behind it if it was given before.
    pub fn given(&mut self, plain: String, joint: char) -> String {
        let numbered = (2..).map(|number| format!("{plain}{joint}{number}"));
        let free = std::iter::once(plain.clone()).chain(numbered).find(|name| !self.taken.contains(name));
        let free = free.expect("there are more numbers than names");
        self.taken.insert(free.clone());
        free
    }
}
