//! "Give exactly one of ...", the rule that tables without a `kind` key live by.

use super::{Diagnostic, FieldPath};

/// The name of the one key that is given; each key comes with whether it is.
///
/// # Errors
/// A diagnostic at `path` when none or several are given.
///
/// ```
/// use cakefile::{FieldPath, exactly_one};
/// let path = FieldPath::root().key("pan");
/// assert_eq!(exactly_one(&[("round", true), ("square", false)], &path).unwrap(), "round");
/// let problem = exactly_one(&[("round", true), ("square", true)], &path).unwrap_err();
/// assert_eq!(problem.message, "`round` and `square` are both given, but only one of them can be");
/// ```
pub fn exactly_one<'a>(keys: &[(&'a str, bool)], path: &FieldPath) -> Result<&'a str, Diagnostic> {
    let given: Vec<&str> = keys.iter().filter(|(_, given)| *given).map(|(key, _)| *key).collect();
    match given[..] {
        [one] => Ok(one),
        [] => {
            let fix = format!("give {}", listed(keys.iter().map(|(key, _)| in_backticks(key)), "or"));
            Err(Diagnostic::error(path.clone(), "nothing here says what kind it is").fix(fix))
        }
        [_, _] => Err(too_many(path, &given, "both")),
        _ => Err(too_many(path, &given, "all")),
    }
}

fn too_many(path: &FieldPath, given: &[&str], all: &str) -> Diagnostic {
    let list = |and| listed(given.iter().copied().map(in_backticks), and);
    let message = format!("{} are {all} given, but only one of them can be", list("and"));
    Diagnostic::error(path.clone(), message).fix(format!("keep {}", list("or")))
}

/// A key as it is shown in a message.
pub(super) fn in_backticks(key: &str) -> String {
    format!("`{key}`")
}

/// Words as prose: "a, b and c".
pub(super) fn listed(words: impl IntoIterator<Item = String>, and: &str) -> String {
    let words: Vec<String> = words.into_iter().collect();
    match &words[..] {
        [first @ .., last] if !first.is_empty() => format!("{} {and} {last}", first.join(", ")),
        words => words.concat(),
    }
}
