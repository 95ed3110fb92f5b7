//! File names made from what a maker calls things.

/// Letters and figures of `name` in lower case, words joined by dashes; "cake" where that leaves nothing.
pub fn slug(name: &str) -> String {
    let plain: String = name.chars().map(|c| if c.is_alphanumeric() { c } else { ' ' }).collect();
    let words: Vec<String> = plain.split_whitespace().map(str::to_lowercase).collect();
    if words.is_empty() { "cake".into() } else { words.join("-") }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_become_file_names() {
        assert_eq!(slug("Toadstool house"), "toadstool-house");
        assert_eq!(slug("../../etc/Café: \"Nº 5\""), "etc-café-nº-5");
        assert_eq!(slug("///"), "cake");
    }
}
