//! The tiers of a cake file replaced, everything else kept as it is written, remarks too.

use toml_edit::{DocumentMut, Item};

/// `text` with `tiers` in the place of its own; at its end where it has none. Both are cake files or parts of
/// one that were read before.
pub fn with_tiers(text: &str, tiers: &str) -> String {
    let (Ok(mut document), Ok(mut new)) = (text.parse::<DocumentMut>(), tiers.parse::<DocumentMut>()) else {
        return format!("{text}\n{tiers}");
    };
    let Some(Item::ArrayOfTables(mut tables)) = new.remove("tier") else { return text.to_owned() };
    let old = document.get("tier").and_then(Item::as_array_of_tables).and_then(|old| old.get(0));
    let place = old.and_then(toml_edit::Table::position);
    // What stands over the old tiers stays over the new ones.
    let over = old.and_then(|old| old.decor().prefix().and_then(|prefix| prefix.as_str()).map(str::to_owned));
    for (number, table) in tables.iter_mut().enumerate() {
        follow(table);
        if number == 0 {
            // Tables without a place follow the last one that has a place.
            table.set_position(place);
            table.decor_mut().set_prefix(over.clone().unwrap_or_else(|| "\n".to_owned()));
        }
    }
    document.insert("tier", Item::ArrayOfTables(tables));
    document.to_string()
}

/// Takes the places away that tables had in the text they come from.
fn follow(table: &mut toml_edit::Table) {
    table.set_position(None);
    for (_, item) in table.iter_mut() {
        match item {
            Item::Table(inner) => follow(inner),
            Item::ArrayOfTables(inner) => inner.iter_mut().for_each(follow),
            _ => {}
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn remarks_and_everything_else_stay() {
        let text = "# mine\nname = \"x\"   # its name\n\n[shape.turned]\npoints = [[1, 2]]\n\n# the stack\n[[tier]]\n\
                    name = \"old\"\n\n[[tier.layer]]\nheight = 1\n\n# details\n[[trim]]\nname = \"door\"\n";
        let tiers = "[[tier]]\nname = \"a\"\n\n[[tier.layer]]\nheight = 2\n\n[[tier]]\nname = \"b\"\n\n[[tier.layer]]\n\
                     height = 3\n";
        let made = with_tiers(text, tiers);
        let expected = "# mine\nname = \"x\"   # its name\n\n[shape.turned]\npoints = [[1, 2]]\n\n# the stack\n\
                        [[tier]]\nname = \"a\"\n\n[[tier.layer]]\nheight = 2\n\n[[tier]]\nname = \"b\"\n\n\
                        [[tier.layer]]\nheight = 3\n\n# details\n[[trim]]\nname = \"door\"\n";
        assert_eq!(made, expected);
        let bare = with_tiers("name = \"x\"\n", tiers);
        assert!(bare.starts_with("name = \"x\"\n\n[[tier]]\nname = \"a\""), "{bare}");
    }
}
