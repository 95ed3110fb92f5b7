//! The cutting sheet in every language that comes with the program: nothing runs off a page, nothing of it is English where it
//! is German, and the same figures stand on it.

use geom::progress::NoProgress;
use make::{
    kit::{self, Kit},
    language::Language,
    overview::Overview,
    report::{self, Explain, Report},
    sheets::{SheetFile, Template, cutting_sheet, templates},
};
use plan::{
    Plan,
    design::PaperSize,
    findings::FindingCode,
    support::{CheckCode, Rule},
};

use super::{EXAMPLES, SIZES, named, on, raster::text};
use crate::{
    language_words::{english_words, own_words, unquoted, words},
    plans::{example, plan},
};

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
        let screen = Overview::in_language(&plan, &german());
        let tables = report::text(&plan, &Report::new(&plan), &screen, Explain::Figures, &german());
        let tables = anstream::adapter::strip_str(&tables).to_string();
        let paper = on(&plan, PaperSize::A4);
        let templates = templates(&plan, &paper, &Template::ALL, &german()).unwrap();
        let printed = |file: &SheetFile| text("pdftotext", &["-layout"], file).unwrap_or_default();
        let pages = templates.iter().filter(|file| file.name.ends_with(".pdf")).map(printed);
        let own = own_words(&plan);
        for page in [plain, pdf, tables].into_iter().chain(pages) {
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
        let is_figure = |word: &&str| word.chars().all(|c| c.is_ascii_digit() || ".,".contains(c));
        let parts = part.split(|c: char| c.is_whitespace() || "():;×“”„".contains(c));
        let all = parts
            .map(|word| word.trim_end_matches(['.', ',']))
            .filter(is_figure)
            .filter(|word| !word.is_empty());
        // A figure has the decimal mark of its language and no other.
        let (own, other) = if language.is_english() { (".", ',') } else { (",", '.') };
        all.map(|word| {
            assert!(!word.contains(other), "{word} in {}", language.language);
            word.replace(own, ".")
        })
        .collect()
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

/// Numbers of a German page, read back, are those of the plan: every height of every layer on its template.
#[test]
fn numbers_of_german_templates_are_read_back() {
    for plan in plans() {
        let figures = Template::Layers.figures(&plan, &plan.design.paper, &german());
        let style = german().style(plan.design.style);
        let layers = plan.stack.slabs.iter().filter(|slab| slab.kind == plan::stack::SlabKind::Layer);
        for slab in layers {
            let Some(figure) = figures.iter().find(|figure| figure.title == format!("Boden: {}", slab.name))
            else {
                continue;
            };
            let said = figure.notes[0].strip_prefix("Höhen ").unwrap_or_else(|| panic!("{:?}", figure.notes));
            let (from, rest) = said.split_once(" bis ").unwrap();
            let to = rest.split(". ").next().unwrap();
            for (told, mm) in [(from, slab.bottom), (to, slab.top)] {
                assert_eq!(told, style.length_alone(mm));
                let plain = told.replace(',', ".").replace("Zoll", "in");
                let plain = plain.split(" (").next().unwrap();
                let read = plan.design.style.read_length(plain).unwrap_or_else(|| panic!("{told}"));
                assert!((read - mm).abs() < 1.0, "{told} of {mm}");
            }
        }
        assert!(plan.stack.slabs.is_empty() || !figures.is_empty());
    }
}

/// Templates in every language: no word runs off the page.
#[test]
fn no_text_of_a_template_runs_off_its_page_in_any_language() {
    for plan in plans() {
        for language in [Language::english(), &german()] {
            for size in [PaperSize::A4, PaperSize::Letter] {
                let paper = on(&plan, size);
                for file in templates(&plan, &paper, &Template::ALL, language).unwrap() {
                    if !file.name.ends_with(".pdf") {
                        continue;
                    }
                    let Some(boxes) = text("pdftotext", &["-bbox"], &file) else { return };
                    let mut page = [0.0_f64; 2];
                    for line in boxes.lines() {
                        let number = |name: &str| -> f64 {
                            let from = line.find(name).unwrap() + name.len() + 2;
                            line[from..].split('"').next().unwrap().parse().unwrap()
                        };
                        if line.contains("<page") {
                            page = ["width", "height"].map(number);
                        }
                        if !line.contains("<word") {
                            continue;
                        }
                        let inside = number("xMin") > -1.0
                            && number("yMin") > -1.0
                            && number("xMax") < page[0] + 1.0
                            && number("yMax") < page[1] + 1.0;
                        assert!(inside, "{} in {}: {line}", file.name, language.language);
                    }
                }
            }
        }
    }
}

/// The legend of the chart is read at arm's length: its words are 7 points high at least, none stands on the drawing.
#[test]
fn the_legend_of_the_chart_can_be_read() {
    for plan in plans() {
        for language in [Language::english(), &german()] {
            let Some(boxes) =
                text("pdftotext", &["-bbox-layout"], named(&sheet(&plan, PaperSize::A4, language), ".pdf"))
            else {
                return;
            };
            let word = if language.is_english() { ">passes<" } else { ">Schnitte<" };
            for page in boxes.split("<page").skip(1) {
                let lines: Vec<&str> = page.split("<line").skip(1).collect();
                let legend = lines.iter().filter(|line| line.contains(word) && line.contains(":<"));
                for line in legend {
                    let number = |name: &str| -> f64 {
                        let from = line.find(name).unwrap() + name.len() + 2;
                        line[from..].split('"').next().unwrap().parse().unwrap()
                    };
                    // A box is higher than its font's size by the ascent and descent of the face (1.164 of it).
                    let points = (number("yMax") - number("yMin")) / 1.164;
                    assert!(points > 6.9, "{points} points in {}: {line}", plan.design.name);
                }
            }
        }
    }
}

/// The list of a kit in German, but for the names of the parts, which stand on them.
#[test]
fn no_english_word_stands_on_a_german_list_of_parts() {
    let english = english_words();
    for name in ["toadstool-house", "garden-urn", "sitting-hen"] {
        let plan = example(name);
        let kit = Kit::chosen(&plan, &plan.design.printing, &NoProgress).unwrap();
        let said = kit::list(&kit, &german());
        let mut own = own_words(&plan);
        own.extend(kit.parts.iter().flat_map(|part| words(&part.full_name())));
        own.extend(kit.findings.iter().flat_map(|finding| words(&finding.about)));
        let left: Vec<String> = words(&unquoted(&said))
            .intersection(&english)
            .filter(|word| !own.contains(*word))
            .cloned()
            .collect();
        assert!(left.is_empty(), "{name}: {left:?}\n{said}");
    }
}

#[test]
fn every_rule_has_german_words() {
    for rule in Rule::ALL {
        assert_eq!(Language::english().rule(rule), (rule.says(), rule.source()));
        assert_ne!(german().rule(rule).0, rule.says(), "{rule:?}");
    }
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

/// The table of the journey stands on the pages alone.
#[test]
fn how_many_times_a_stop_is_held_has_the_decimal_mark_of_the_language() {
    let files = sheet(&example("toadstool-house"), PaperSize::A4, &german());
    let Some(printed) = text("pdftotext", &["-layout"], named(&files, ".pdf")) else { return };
    let words: Vec<&str> = printed.split_whitespace().collect();
    let times: Vec<&str> = words.windows(2).filter(|pair| pair[1] == "×").map(|pair| pair[0]).collect();
    assert!(times.iter().any(|word| word.contains(',')), "{times:?}");
    assert!(times.iter().all(|word| !word.contains('.')), "{times:?}");
}
