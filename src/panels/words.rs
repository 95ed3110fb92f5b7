//! What keys are called in the window.

/// The name of a key on a form: the key itself as words.
pub fn label(key: &str) -> String {
    let words = match key {
        "covering" => "coats, from the outside in",
        "detail" => "details",
        "tier" => "tiers",
        "layer" => "layers",
        "draw" => "pieces",
        "section" => "outlines from above",
        "material" => "material",
        "way" => "how it is laid",
        "cut" | "add" => key,
        _ => return capital(&key.replace('_', " ")),
    };
    capital(words)
}

/// What is done about something, unless that is a command to type: in the window there is a panel for it.
pub fn done_here(fix: &str) -> Option<&str> {
    // The key `crumbline = 2` is no command.
    let is_command = fix.contains("`crumbline ") && !fix.contains("`crumbline = ");
    (!fix.is_empty() && !is_command).then_some(fix)
}

/// The same with a capital first.
pub fn capital(text: &str) -> String {
    // The name of a file is written as it is.
    if text.split_whitespace().next().is_some_and(|word| word.trim_end_matches(':').contains('.')) {
        return text.to_owned();
    }
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |first| first.to_uppercase().chain(chars).collect())
}

/// What one thing in a list of these is called.
pub fn one_of(key: &str) -> String {
    match key {
        "covering" => "coat".into(),
        "draw" => "piece".into(),
        "points" | "path" | "at" => "point".into(),
        "pieces" => "piece".into(),
        "section" => "outline".into(),
        _ => key.replace('_', " "),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn commands_are_left_out_and_everything_else_is_said() {
        assert_eq!(done_here("let `crumbline stack CAKE` find them"), None);
        assert_eq!(done_here(""), None);
        for fix in ["write `crumbline = 2` at the top of the file", "take a larger board"] {
            assert_eq!(done_here(fix), Some(fix));
        }
    }
}
