//! The cutting sheet in every language that comes with the program: nothing runs off a page, nothing of it is English where it
//! is German, and the same figures stand on it.

use std::collections::BTreeSet;

use make::{
    language::Language,
    overview::Overview,
    sheets::{SheetFile, cutting_sheet},
};
use plan::{Plan, design::PaperSize, findings::FindingCode, support::CheckCode};

use super::{EXAMPLES, SIZES, named, on, raster::text};
use crate::plans::{example, plan};

fn german() -> Language {
    Language::shipped("de").unwrap()
}

/// The six examples, a cake with much to fix, and a straight-sided one that is laid of pieces.
fn plans() -> Vec<Plan> {
    EXAMPLES.map(example).into_iter().chain([broken(), number()]).collect()
}

/// A layer that is too small, hangs over and has a gap under it, a board that sticks out, no presentation board.
fn broken() -> Plan {
    plan(
        "crumbline = 2\nname = \"Turm\"\n[shape.turned]\npoints = [[90, 0], [90, 250]]\n\
         [[covering]]\nmaterial = \"ganache\"\nthickness = 8\n\
         [[tier]]\nname = \"unten\"\ndowels = { count = 3, diameter = 6, circle = 165 }\n\
         [[tier.layer]]\npan = { round = 160 }\nheight = 60\n\
         [[tier]]\nname = \"oben\"\nboard = { round = 220, thickness = 4 }\n\
         [[tier.layer]]\npan = { round = 320 }\nheight = 60\n[[tier.layer]]\npan = { round = 320 }\nheight = 60\nbottom = 140\n",
    )
}

fn number() -> Plan {
    let outline =
        "outline = { points = [[-60, -120], [60, -120], [60, 120], [20, 120], [20, -80], [-60, -80]] }";
    plan(&format!(
        "crumbline = 1\nname = \"Winkel\"\n[shape.sections]\nat = [{{ height = 0, {outline} }}, {{ height = 38, \
         {outline} }}]\n[[tier]]\nname = \"Winkel\"\n[[tier.layer]]\npan = {{ rectangle = [330, 228] }}\nheight = 38\n\
         pieces = [{{ size = [132, 52], at = [0, -100] }}, {{ size = [52, 190], at = [40, 26], turn = 1 }}]\n"
    ))
}

fn sheet(plan: &Plan, size: PaperSize, language: &Language) -> Vec<SheetFile> {
    cutting_sheet(plan, &on(plan, size), language).unwrap()
}

/// The words of a text, without figures and marks.
fn words(text: &str) -> BTreeSet<String> {
    let parts = text.split(|c: char| !c.is_alphabetic() && c != '\'');
    parts.filter(|word| word.chars().count() > 1).map(str::to_lowercase).collect()
}

/// The words of a language file's texts.
fn words_of(file: &str) -> BTreeSet<String> {
    fn walk(value: &toml::Value, found: &mut BTreeSet<String>) {
        match value {
            toml::Value::String(text) => {
                // What is filled in is no word of the language.
                let plain: String =
                    text.split('{').map(|part| part.rsplit('}').next().unwrap_or(part)).collect();
                found.extend(words(&plain));
            }
            toml::Value::Array(all) => all.iter().for_each(|one| walk(one, found)),
            toml::Value::Table(table) => table.values().for_each(|one| walk(one, found)),
            _ => {}
        }
    }
    let mut found = BTreeSet::new();
    walk(&toml::Value::Table(toml::from_str(file).unwrap()), &mut found);
    found
}

/// Words of the English file that the German one does not have.
fn english_words() -> BTreeSet<String> {
    let english = words_of(include_str!("../../../assets/languages/en.toml"));
    let german = words_of(include_str!("../../../assets/languages/de.toml"));
    let only: BTreeSet<String> = english.difference(&german).cloned().collect();
    assert!(only.len() > 500 && only.contains("the") && only.contains("carve"), "{} words", only.len());
    only
}

/// Words that the maker wrote: names in the cake file.
fn own_words(plan: &Plan) -> BTreeSet<String> {
    let design = &plan.design;
    let tiers = design
        .tiers
        .iter()
        .flat_map(|tier| std::iter::once(&tier.name).chain(tier.layers.iter().map(|layer| &layer.name)));
    let details = design.details.iter().map(|detail| &detail.name);
    let all: Vec<&str> = tiers.chain(details).chain([&design.name]).map(String::as_str).collect();
    words(&all.join(" "))
}

/// What is quoted from the cake file and the command line, in backticks or brackets, stays as it is.
fn unquoted(text: &str) -> String {
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

#[test]
fn no_text_runs_off_a_page_or_into_another_in_any_language() {
    for plan in plans() {
        for language in [Language::english(), &german()] {
            for size in SIZES {
                let paper = on(&plan, size);
                let files = sheet(&plan, size, language);
                let Some(boxes) = text("pdftotext", &["-bbox"], named(&files, ".pdf")) else { return };
                let margin = paper.margin * 72.0 / 25.4;
                let page = paper.sheet(false) * 72.0 / 25.4;
                let mut count = 0;
                // The boxes of the words of a page so far.
                let mut placed: Vec<[f64; 4]> = Vec::new();
                for line in boxes.lines() {
                    if line.contains("<page") {
                        placed.clear();
                    }
                    if !line.contains("<word") {
                        continue;
                    }
                    let number = |name: &str| -> f64 {
                        let from = line.find(name).unwrap() + name.len() + 2;
                        line[from..].split('"').next().unwrap().parse().unwrap()
                    };
                    count += 1;
                    let told = || format!("{} in {}: {line}", plan.design.name, language.language);
                    assert!(
                        number("xMin") > margin - 1.0 && number("xMax") < page.x - margin + 1.0,
                        "{}",
                        told()
                    );
                    let own = ["xMin", "yMin", "xMax", "yMax"].map(number);
                    // Lines of text stand closer than their boxes are high.
                    let over = |other: &[f64; 4]| {
                        let along = own[2].min(other[2]) - own[0].max(other[0]);
                        let high = own[3].min(other[3]) - own[1].max(other[1]);
                        along > 1.0 && high > 0.5 * (own[3] - own[1]).min(other[3] - other[1])
                    };
                    assert!(!placed.iter().any(over), "written over another word: {}", told());
                    placed.push(own);
                    assert!(
                        number("yMin") > margin - 3.0 && number("yMax") < page.y - margin + 3.0,
                        "{}",
                        told()
                    );
                }
                assert!(count > 300, "{count} words");
            }
        }
    }
}

#[test]
fn no_english_word_stands_on_a_german_sheet() {
    let english = english_words();
    for plan in plans() {
        let files = sheet(&plan, PaperSize::A4, &german());
        let plain = String::from_utf8(named(&files, ".txt").bytes.clone()).unwrap();
        let pdf = text("pdftotext", &["-layout"], named(&files, ".pdf")).unwrap_or_default();
        let screen = Overview::in_language(&plan, &german()).page(&plan.design.name);
        let screen = anstream::adapter::strip_str(&screen).to_string();
        let own = own_words(&plan);
        for page in [plain, pdf, screen] {
            let said = words(&unquoted(&page));
            let left: Vec<&String> =
                said.intersection(&english).filter(|word| !own.contains(*word)).collect();
            assert!(left.is_empty(), "{}: {left:?}\n{page}", plan.design.name);
        }
    }
}

/// The figures of the English sheet, in their order, stand on the German one, whatever is said between them; what is found is
/// told without figures.
#[test]
fn a_german_sheet_has_the_figures_of_the_english_one() {
    let plan = example("toadstool-house");
    let figures = |language: &Language, from: &str, to: &str| -> Vec<String> {
        let files = sheet(&plan, PaperSize::A4, language);
        let plain = String::from_utf8(named(&files, ".txt").bytes.clone()).unwrap();
        let part = &plain[plain.find(from).unwrap()..plain.find(to).unwrap()];
        let is_figure = |word: &&str| word.chars().all(|c| c.is_ascii_digit() || c == '.');
        let parts = part.split(|c: char| c.is_whitespace() || "(),:;×“”„".contains(c));
        let all =
            parts.map(|word| word.trim_end_matches('.')).filter(is_figure).filter(|word| !word.is_empty());
        all.map(str::to_owned).collect()
    };
    let english = figures(Language::english(), "Stack, from the bottom up", "Will it stand");
    let told = figures(&german(), "Stapel, von unten nach oben", "Steht sie");
    let sorted = |mut all: Vec<String>| {
        all.sort();
        all
    };
    assert!(english.len() > 150, "{}", english.len());
    assert_eq!(sorted(told), sorted(english));
}

#[test]
fn every_finding_and_check_has_german_words() {
    let findings = FindingCode::ALL.map(FindingCode::as_str);
    let checks = CheckCode::ALL.map(CheckCode::as_str);
    for code in findings.into_iter().chain(checks) {
        assert!(german().finding(code).is_some(), "{code}");
        assert!(Language::english().finding(code).is_none(), "{code}");
    }
}
