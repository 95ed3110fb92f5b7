//! The tiers of a cake file replaced, everything else kept as it is written, comments too.

use cakefile::{
    FieldPath,
    edit::{Document, Edit, EditError},
};

/// The edit that puts `tiers` in the place of a cake file's own; at its end where it has none. Comments above the
/// first of them stay. `tiers` is text as a cake file has it.
///
/// # Errors
/// When `tiers` cannot be read or holds no tiers.
pub fn with_tiers(tiers: &str) -> Result<Edit, EditError> {
    let path = FieldPath::root().key("tier");
    let document = Document::from_text("tiers", tiers);
    document.tree()?;
    let value = document.value(&path).cloned().ok_or_else(|| EditError::Missing { path: path.clone() })?;
    Ok(Edit::Set { path, value })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn applied(text: &str, tiers: &str) -> String {
        let document = Document::from_text("x", text);
        document.apply(&with_tiers(tiers).unwrap()).unwrap().document.text().to_owned()
    }

    #[test]
    fn comments_and_everything_else_stay() {
        let text = "# mine\nname = \"x\"   # its name\n\n[shape.turned]\npoints = [[1, 2]]\n\n# the stack\n[[tier]]\n\
                    name = \"old\"\n\n[[tier.layer]]\nheight = 1\n\n# details\n[[detail]]\nname = \"door\"\n";
        let tiers = "[[tier]]\nname = \"a\"\n\n[[tier.layer]]\nheight = 2\n\n[[tier]]\nname = \"b\"\n\n[[tier.layer]]\n\
                     height = 3\n";
        let made = applied(text, tiers);
        let expected = "# mine\nname = \"x\"   # its name\n\n[shape.turned]\npoints = [[1, 2]]\n\n# the stack\n\
                        [[tier]]\nname = \"a\"\n\n[[tier.layer]]\nheight = 2\n\n[[tier]]\nname = \"b\"\n\n\
                        [[tier.layer]]\nheight = 3\n\n# details\n[[detail]]\nname = \"door\"\n";
        assert_eq!(made, expected);
        let bare = applied("name = \"x\"\n", tiers);
        assert!(bare.starts_with("name = \"x\"\n\n[[tier]]\nname = \"a\""), "{bare}");
    }

    #[test]
    fn text_without_tiers_is_refused() {
        assert!(matches!(with_tiers("name = 1\n"), Err(EditError::Missing { .. })));
        assert!(matches!(with_tiers("[[tier"), Err(EditError::Unreadable { .. })));
    }
}
