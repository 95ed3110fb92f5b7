//! Every control has a name, and whatever the schema knows can be added from the panels and is a right value.

use std::collections::BTreeSet;

use cakefile::{
    CakeFile, Diagnostic, FieldPath,
    edit::{Document, Edit, EditValue},
    glossary::TERMS,
};
use egui::accesskit::Role;
use egui_kittest::kittest::NodeT;
use panels::{
    form::{default_of, exclusive},
    schema::{Kind, Schema},
    workshop::{Folders, Tab},
};

use super::bench::{example, window, window_on};

/// What a screen reader stops at.
const CONTROLS: [Role; 9] = [
    Role::Button,
    Role::TextInput,
    Role::CheckBox,
    Role::ComboBox,
    Role::Slider,
    Role::SpinButton,
    Role::Link,
    Role::RadioButton,
    Role::ColorWell,
];

#[test]
fn every_control_of_every_panel_of_every_example_has_a_name() {
    for name in ["Toadstool house", "Garden urn", "Sitting hen"] {
        let mut window = window(Some(example(name)), &Folders::default());
        for tab in Tab::ALL {
            window.state_mut().workshop.show_tab(tab);
            window.run();
            let mut unnamed = BTreeSet::new();
            let mut controls = 0;
            let mut nodes = vec![window.root().accesskit_node()];
            while let Some(node) = nodes.pop() {
                nodes.extend(node.children());
                assert_our_words(&node.label().unwrap_or_default());
                if CONTROLS.contains(&node.role()) {
                    controls += 1;
                    if node.label().is_none_or(|label| label.trim().is_empty()) {
                        unnamed.insert(format!(
                            "{:?} {:?} at {:?}",
                            node.role(),
                            node.value(),
                            node.bounding_box()
                        ));
                    }
                }
            }
            assert!(unnamed.is_empty(), "{name}, {}: {unnamed:#?}", tab.name());
            assert!(controls > 5, "{name}, {}: {controls}", tab.name());
        }
    }
}

/// Panics where the glossary has another word for one of `text`: what the window says is said as everywhere.
fn assert_our_words(text: &str) {
    let spaced: String =
        text.to_lowercase().chars().map(|c| if c.is_alphabetic() { c } else { ' ' }).collect();
    let told = format!(" {} ", spaced.split_whitespace().collect::<Vec<_>>().join(" "));
    for term in TERMS {
        for other in term.instead_of {
            assert!(
                !told.contains(&format!(" {other} ")),
                "\"{other}\" instead of \"{}\" in {text}",
                term.name
            );
        }
    }
}

/// Of every table of the schema each key that is not there is added with what a panel begins it with: the file's check
/// finds nothing wrong with the form of it.
#[test]
fn whatever_a_panel_adds_is_of_the_right_form() {
    let schema = Schema::of_cakes();
    let base = "crumbline = 2\nname = \"Cone\"\n[shape.turned]\npoints = [[40, 0], [0, 80]]\n";
    for entry in &schema.top().entries {
        let document = Document::from_text("cake", base);
        if document.value(&FieldPath::root().key(&entry.key)).is_some() {
            continue;
        }
        let path = FieldPath::root().key(&entry.key);
        let value = default_of(&entry.kind, &entry.key, schema, &document);
        let document = document.apply(&Edit::Insert { path: path.clone(), value }).unwrap().document;
        check(&document, &path);
        let (path, name) = match &entry.kind {
            Kind::Table(name) => (path, name.as_str()),
            Kind::List(one) => match &**one {
                Kind::Table(name) => (path.index(0), name.as_str()),
                _ => continue,
            },
            Kind::Map(one) => match &**one {
                Kind::Table(name) => (path.key("new"), name.as_str()),
                _ => continue,
            },
            _ => continue,
        };
        each_key(&document, &path, name, 0);
    }
}

/// Adds each key of the table at `path` alone, and goes into what is a table again.
fn each_key(document: &Document, path: &FieldPath, name: &str, depth: usize) {
    let schema = Schema::of_cakes();
    for entry in &schema.table(name).entries {
        let at = path.key(&entry.key);
        let mut document = document.clone();
        // One of several kinds is chosen instead of the other.
        for group in exclusive(name).iter().filter(|group| group.holds(&entry.key)) {
            let to = group.choices.iter().position(|keys| keys.contains(&entry.key.as_str())).unwrap();
            let from = group.given(&document, path);
            if from != Some(to) {
                let edit = group.switched(&document, path, schema.table(name), schema, from, to);
                document = document.apply(&edit).unwrap_or_else(|error| panic!("{at}: {error}")).document;
            }
        }
        if document.value(&at).is_none() {
            let value = default_of(&entry.kind, &entry.key, schema, &document);
            let edit = Edit::Insert { path: at.clone(), value };
            document = document.apply(&edit).unwrap_or_else(|error| panic!("{at}: {error}")).document;
        }
        check(&document, &at);
        let inner = match &entry.kind {
            Kind::Table(inner) => Some((at, inner.as_str())),
            Kind::List(one) => match (&**one, document.value(&at.index(0))) {
                (Kind::Table(inner), Some(_)) => Some((at.index(0), inner.as_str())),
                _ => None,
            },
            _ => None,
        };
        if let Some((at, inner)) = inner.filter(|_| depth < 4) {
            each_key(&document, &at, inner, depth + 1);
        }
    }
}

/// The file's own check: that a table says too little or a file is missing is told only when the cake is planned.
fn check(document: &Document, path: &FieldPath) {
    let problems: Vec<Diagnostic> = CakeFile::from_text("cake", "", document.text()).parse().problems;
    assert!(problems.is_empty(), "{path}: {problems:?}\n{}", document.text());
}

/// The tables of which exactly one key may be given are those of the file's check: with two kinds it says so.
#[test]
fn exactly_one_kind_is_what_the_file_wants_too() {
    let text = "crumbline = 2\nname = \"Cone\"\n[shape.turned]\npoints = [[90, 0], [0, 120]]\n[[tier]]\nname = \"only\"\n\
                dowels = { count = 3, circle = 40, diameter = 6 }\nboard = { round = 80, thickness = 3 }\n\
                [[tier.layer]]\npan = { round = 180 }\nheight = 40\n[[detail]]\nname = \"ball\"\nadd = \"icing\"\n\
                ball = { centre = [0, 0, 120], diameter = 20 }\n";
    let tier = FieldPath::root().key("tier").index(0);
    for (path, name) in [
        (FieldPath::root().key("shape"), "Shape"),
        (FieldPath::root().key("shape").key("turned"), "Outline"),
        (FieldPath::root().key("detail").index(0), "Detail"),
        (tier.key("board"), "Board"),
        (tier.key("layer").index(0).key("pan"), "Pan"),
    ] {
        let schema = Schema::of_cakes();
        for group in exclusive(name) {
            let window = window_on(text, Tab::Look);
            assert!(window.state().outcome.problems.is_empty(), "{:?}", window.state().outcome.problems);
            let document = Document::from_text("cake", text);
            let given = group.given(&document, &path).unwrap();
            let other = (0..group.choices.len()).find(|choice| *choice != given).unwrap();
            let mut twice = document.clone();
            for key in group.choices[other] {
                let entry = schema.table(name).entries.iter().find(|entry| entry.key == *key).unwrap();
                let value: EditValue = default_of(&entry.kind, key, schema, &document);
                twice = twice.apply(&Edit::Insert { path: path.key(key), value }).unwrap().document;
            }
            let window = window_on(twice.text(), Tab::Look);
            let problems = &window.state().outcome.problems;
            assert!(!problems.is_empty(), "{path}: both {:?} are taken", group.choices[other]);
        }
    }
}
