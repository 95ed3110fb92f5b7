//! What is baked, bought, charged and done when, in German: no word of it is English, and the figures are those of the English
//! lists.

use cakefile::CakeFile;
use formats::export::svg::svg;
use make::language::Language;
use plan::{Plan, pantry::Pantry};
use shop::{
    amounts::{self, Amounts},
    order_check::{self, OrderCheck},
    quote::{self, ClientPage, Quote, Side},
    timetable::{self, Timetable},
};

use crate::{
    language_words::{english_words, own_words, unquoted, words},
    orders_text::PRICES,
    plans::source,
    repository,
};

const EXAMPLES: [&str; 7] = [
    "toadstool-house",
    "garden-urn",
    "pebble-lantern",
    "planter-pot",
    "lopsided-bell",
    "sitting-hen",
    "boulder",
];
const TODAY: &str = "2026-11-20T08:00";

/// An example that is to be delivered, by a pantry with prices.
fn ordered(name: &str) -> Plan {
    let folder = repository::root().join("assets/examples").join(name);
    let text = std::fs::read_to_string(folder.join(format!("{name}.cake.toml"))).unwrap();
    let order = "\n[order]\ndeliver = \"2026-12-05 10:00\"\nserves = 20\ntravel = 45\n";
    let file = CakeFile::from_text("x.cake.toml", folder, text + order);
    let pantry = Pantry::usual().with_file(&CakeFile::from_text("prices.toml", "", PRICES)).unwrap();
    Plan::new(&source(&file).with_pantry(pantry)).unwrap()
}

/// Amounts, quote, order check, timetable and bench page in `language`.
fn said(plan: &Plan, language: &Language) -> Vec<String> {
    let today = TODAY.parse().unwrap();
    let amounts = Amounts::new(plan);
    let quote = Quote::new(plan, &amounts, 120.0).unwrap();
    let check = OrderCheck::new(plan, &amounts, Ok(&quote), today);
    let times = Timetable::in_language(plan, &amounts, today, language).unwrap();
    let page = ClientPage { language: language.clone(), ..Default::default() };
    let pages = quote::pages(&quote, &check, &plan.design.paper, Side::Bench, &page);
    let bench: Vec<String> = svg("", &pages[0])
        .split('<')
        .filter_map(|part| part.strip_prefix("text")?.split_once('>'))
        .map(|(_, text)| text.to_owned())
        .collect();
    vec![
        amounts::text(&amounts, plan, language),
        quote::text(&quote, language),
        order_check::text(&check, language),
        timetable::text(&times),
        bench.join("\n"),
    ]
}

#[test]
fn no_english_word_stands_on_a_german_list() {
    let (english, german) = (english_words(), Language::shipped("de").unwrap());
    for name in EXAMPLES {
        let plan = ordered(name);
        let own = own_words(&plan);
        for text in said(&plan, &german) {
            let left: Vec<String> = words(&unquoted(&text))
                .intersection(&english)
                .filter(|word| !own.contains(*word))
                .cloned()
                .collect();
            assert!(left.is_empty() && text.len() > 20, "{name}: {left:?}\n{text}");
        }
    }
}

fn from<'a>(text: &'a str, mark: &str) -> &'a str {
    &text[text.find(mark).unwrap_or_else(|| panic!("no {mark} in {text}"))..]
}

/// Every figure of the English lists stands on the German ones, with its decimal comma.
#[test]
fn german_lists_have_the_figures_of_the_english_ones() {
    let figures = |text: &str, own: char, other: char| -> Vec<String> {
        let is_figure = |c: char| c.is_ascii_digit() || c == '.' || c == ',';
        let parts = text.split(|c: char| !is_figure(c)).map(|part| part.trim_matches(['.', ',']));
        let parts = parts.filter(|part| !part.is_empty());
        let mut all: Vec<String> = parts
            .map(|part| {
                assert!(!part.contains(other), "{part} in {text}");
                part.replace(own, ".")
            })
            .collect();
        all.sort();
        all
    };
    let german = Language::shipped("de").unwrap();
    for name in EXAMPLES {
        let plan = ordered(name);
        let (told, own) = (said(&plan, Language::english()), said(&plan, &german));
        // Amounts: the list of what to bake, mix and buy.
        // What the pantry lacks is told without figures in German.
        let (told, own) = (from(&told[0], "\nBakes:"), from(&own[0], "\nZu backen:"));
        let (told, own) = (figures(told, '.', ','), figures(own, ',', '.'));
        assert!(told.len() > 80, "{name}: {}", told.len());
        assert_eq!(told, own, "{name}");
    }
}

/// The bench page keeps to its paper in every language.
#[test]
fn nothing_runs_off_the_bench_page() {
    for name in EXAMPLES {
        let plan = ordered(name);
        let amounts = Amounts::new(&plan);
        let quote = Quote::new(&plan, &amounts, 120.0).unwrap();
        let check = OrderCheck::new(&plan, &amounts, Ok(&quote), TODAY.parse().unwrap());
        for code in ["en", "de"] {
            let page = ClientPage { language: Language::shipped(code).unwrap(), ..Default::default() };
            let page = &quote::pages(&quote, &check, &plan.design.paper, Side::Bench, &page)[0];
            // The word across an unfinished page reaches from corner to corner.
            for placed in page.placed.iter().filter(|placed| placed.at != page.size / 2.0) {
                let (low, high) = placed.drawing.bounds().unwrap();
                let (low, high) = (placed.at + low, placed.at + high);
                assert!(
                    low.min_element() > 9.0 && (page.size - high).min_element() > 9.0,
                    "{name}, {code}: {low} {high}"
                );
            }
        }
    }
}
