//! Names that every reader of OBJ and MTL takes as one word.

use crate::export::unique_names::UniqueNames;

/// `name` with everything but letters and digits (of any script), `-`, `_` and `.` turned into `_`; a name
/// without a letter or digit becomes `fallback`.
pub(super) fn safe(name: &str, fallback: &str) -> String {
    if !name.chars().any(char::is_alphanumeric) {
        return fallback.to_owned();
    }
    let plain = |c: char| if c.is_alphanumeric() || matches!(c, '-' | '_' | '.') { c } else { '_' };
    name.trim().chars().map(plain).collect()
}

/// Safe names, each given once.
#[derive(Debug, Default)]
pub(super) struct Names(UniqueNames);

impl Names {
    /// A safe name like `name`, with a number behind it if it was given before.
    pub fn unique(&mut self, name: &str, fallback: &str) -> String {
        self.0.given(safe(name, fallback), '-')
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_become_one_word() {
        assert_eq!(safe("Tier 1, layer #2\n", "part"), "Tier_1__layer__2");
        assert_eq!(safe("dúfa-スポンジ.2", "part"), "dúfa-スポンジ.2");
        assert_eq!(safe(" ## ", "part"), "part");
    }

    #[test]
    fn names_stay_different() {
        let mut names = Names::default();
        let given = ["a b", "a_b", "a_b-2", "", " "].map(|name| names.unique(name, "part"));
        assert_eq!(given, ["a_b", "a_b-2", "a_b-2-2", "part", "part-2"]);
    }
}
