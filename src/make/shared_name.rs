//! One name for several things that are alike.

use crate::language::{Language, filled};
use plan::design::Detail;

/// The longest name that is written whole, letters.
const LONGEST: usize = 40;

/// What `names` are called together: "petal × 12" for "petal 1" to "petal 12", "wing × 2" for "right wing" and "left
/// wing", both names where they share no word and are short, else the first and how many more.
pub fn shared_name(names: &[&str], language: &Language) -> String {
    let [first, others @ ..] = names else { return String::new() };
    if others.is_empty() {
        return (*first).to_owned();
    }
    let words = |name: &str| name.split_whitespace().map(str::to_owned).collect::<Vec<_>>();
    let all: Vec<Vec<String>> = names.iter().map(|name| words(name)).collect();
    let shared = |from_end: bool| {
        let word = |name: &[String], i: usize| {
            let at = if from_end { name.len().checked_sub(i + 1)? } else { i };
            name.get(at).cloned()
        };
        let count = (0..all[0].len())
            .take_while(|&i| all.iter().all(|name| word(name, i) == word(&all[0], i)))
            .count();
        let kept = if from_end { &all[0][all[0].len() - count..] } else { &all[0][..count] };
        kept.join(" ").trim_end_matches([',', ':']).to_owned()
    };
    let common = [shared(false), shared(true)].into_iter().find(|name| name.chars().any(char::is_alphabetic));
    match common {
        Some(common) => format!("{common} × {}", names.len()),
        None => {
            let both = filled(&language.join.both, &[("first", first), ("last", others[0])]);
            if others.len() == 1 && both.chars().count() <= LONGEST {
                return both;
            }
            filled(&language.join.more, &[("first", first), ("count", &others.len().to_string())])
        }
    }
}

/// What `details` are called together; those of one detail that stands in several places count as so many of its name.
pub fn shared_name_of(details: &[&Detail], language: &Language) -> String {
    let names: Vec<&str> = details.iter().map(|detail| detail.name.as_str()).collect();
    match details {
        [first, others @ ..] if !others.is_empty() && others.iter().all(|other| other.is_copy_of(first)) => {
            format!("{} × {}", first.written_name(), details.len())
        }
        _ => shared_name(&names, language),
    }
}

/// `names` with those that differ by a number only called together, in the order of the first of each.
pub fn listed(names: &[&str], language: &Language) -> String {
    let stem = |name: &str| name.trim_end_matches(|c: char| c.is_ascii_digit() || c == ' ').to_owned();
    let mut alike: Vec<(String, Vec<&str>)> = Vec::new();
    for &name in names {
        match alike.iter_mut().find(|(other, _)| *other == stem(name)) {
            Some((_, all)) => all.push(name),
            None => alike.push((stem(name), vec![name])),
        }
    }
    alike.iter().map(|(_, all)| shared_name(all, language)).collect::<Vec<_>>().join(", ")
}

#[cfg(test)]
mod tests {
    use super::listed;
    use crate::language::Language;

    #[test]
    fn a_list_names_what_is_alike_once() {
        assert_eq!(
            listed(&["spot 1", "door", "spot 2", "spot 3", "left eye"], Language::english()),
            "spot × 3, door, left eye"
        );
        assert_eq!(listed(&[], Language::english()), "");
    }

    fn shared_name(names: &[&str]) -> String {
        super::shared_name(names, Language::english())
    }

    #[test]
    fn names_that_differ_by_a_number_or_a_side_are_one_name() {
        let petals: Vec<String> = (1..=12).map(|i| format!("petal {i}")).collect();
        let petals: Vec<&str> = petals.iter().map(String::as_str).collect();
        assert_eq!(shared_name(&petals), "petal × 12");
        assert_eq!(shared_name(&["left window", "right window"]), "window × 2");
        assert_eq!(shared_name(&["door"]), "door");
        assert_eq!(shared_name(&["eye", "button"]), "eye and button");
        assert_eq!(shared_name(&["1", "2", "3"]), "1 and 2 more");
        assert_eq!(shared_name(&["a", "b", "c"]), "a and 2 more");
        let long = "a leaf of the wreath about the foot";
        assert_eq!(shared_name(&[long, "its stalk, bent towards the back"]), format!("{long} and 1 more"));
    }
}
