//! What an edit changes, line by line.

use cakefile::edit::{Document, Edit};

/// The lines that `edit` takes out (−) and puts in (+), or why it cannot be done.
pub fn changed_lines(document: &Document, edit: &Edit) -> String {
    let after = match document.apply(edit) {
        Ok(applied) => applied.document,
        Err(error) => return format!("It cannot be done now: {error}; {}", error.fix()),
    };
    let (before, after): (Vec<&str>, Vec<&str>) =
        (document.text().lines().collect(), after.text().lines().collect());
    let common = before.iter().zip(&after).take_while(|(a, b)| a == b).count();
    let rest = before.len().min(after.len()) - common;
    let same = before.iter().rev().zip(after.iter().rev()).take(rest).take_while(|(a, b)| a == b).count();
    let taken = before[common..before.len() - same].iter().map(|line| format!("− {line}"));
    let put = after[common..after.len() - same].iter().map(|line| format!("+ {line}"));
    taken.chain(put).collect::<Vec<_>>().join("\n")
}

#[cfg(test)]
mod tests {
    use super::*;
    use cakefile::FieldPath;

    #[test]
    fn only_what_changes_is_shown() {
        let document = Document::from_text("cake", "name = \"A\"\nunit = \"cm\"\nnotes = \"b\"\n");
        let unit = FieldPath::root().key("unit");
        let set = Edit::Set { path: unit.clone(), value: "mm".into() };
        assert_eq!(changed_lines(&document, &set), "− unit = \"cm\"\n+ unit = \"mm\"");
        assert_eq!(changed_lines(&document, &Edit::Remove { path: unit.clone() }), "− unit = \"cm\"");
        assert_eq!(changed_lines(&document, &Edit::nothing()), "");
        let wrong = changed_lines(&document, &Edit::Remove { path: unit.key("x") });
        assert!(wrong.starts_with("It cannot be done"), "{wrong}");
    }
}
