//! Which words of a text are English, where it has to be German.

use std::collections::BTreeSet;

use plan::Plan;

/// The words of a text, without figures and marks.
pub fn words(text: &str) -> BTreeSet<String> {
    let parts = text.split(|c: char| !c.is_alphabetic() && c != '\'');
    parts.filter(|word| word.chars().count() > 1).map(str::to_lowercase).collect()
}

/// The words of a language file's texts.
pub fn words_of(file: &str) -> BTreeSet<String> {
    fn walk(value: &toml::Value, found: &mut BTreeSet<String>) {
        match value {
            toml::Value::String(text) => {
                // What is filled in is no word of the language, nor is what is quoted.
                let plain: String =
                    text.split('{').map(|part| part.rsplit('}').next().unwrap_or(part)).collect();
                found.extend(words(&unquoted(&plain)));
            }
            toml::Value::Array(all) => all.iter().for_each(|one| walk(one, found)),
            toml::Value::Table(table) => table.values().for_each(|one| walk(one, found)),
            _ => {}
        }
    }
    let mut found = BTreeSet::new();
    let mut file: toml::Table = toml::from_str(file).unwrap();
    // The titles of sources stay in their own language.
    file.remove("rules");
    // Three letters of a longer word at the edge of a glued sheet are no month.
    let is_english = file.get("language").and_then(toml::Value::as_str) == Some("en");
    if let (true, Some(toml::Value::Table(date))) = (is_english, file.get_mut("date")) {
        date.remove("short_months");
        date.remove("short_weekdays");
    }
    walk(&toml::Value::Table(file), &mut found);
    found
}

/// Words of the English file that the German one does not have.
pub fn english_words() -> BTreeSet<String> {
    let english = words_of(include_str!("../../assets/languages/en.toml"));
    let german = words_of(include_str!("../../assets/languages/de.toml"));
    let only: BTreeSet<String> = english.difference(&german).cloned().collect();
    assert!(only.len() > 500 && only.contains("the") && only.contains("carve"), "{} words", only.len());
    only
}

/// Words that the maker wrote: names in the cake file.
pub fn own_words(plan: &Plan) -> BTreeSet<String> {
    let design = &plan.design;
    let tiers = design
        .tiers
        .iter()
        .flat_map(|tier| std::iter::once(&tier.name).chain(tier.layers.iter().map(|layer| &layer.name)));
    let details = design.details.iter().map(|detail| &detail.name);
    let zones = design.coverings.iter().flat_map(|covering| &covering.zones).map(|zone| &zone.name);
    let all: Vec<&str> =
        tiers.chain(details).chain(zones).chain([&design.name]).map(String::as_str).collect();
    words(&all.join(" "))
}

/// What is quoted from the cake file and the command line, in backticks or brackets, stays as it is.
pub fn unquoted(text: &str) -> String {
    let outside: String = text.split('`').step_by(2).collect();
    let mut plain = String::new();
    let mut depth = 0_u32;
    for c in outside.chars() {
        match c {
            '[' => depth += 1,
            ']' => depth = depth.saturating_sub(1),
            _ if depth == 0 => plain.push(c),
            _ => {}
        }
    }
    plain
}
