//! Every fix that is a change of the cake file: applied and planned again, what it fixes is gone or holds better, and
//! nothing else is worse.

use std::collections::BTreeMap;

use cakefile::{CakeFile, Severity, edit::Document};
use plan::{
    Plan, Source,
    findings::{Finding, FindingCode},
    fix::{FileEdit, Fix},
    support::{Answer, Check},
};

use super::advice::{BOARD, CENTRE, text};
use crate::{files::read, plans::source, repository::example};

/// A plan's trouble: how bad each finding is by its code and what it is about, and how each check answers.
struct Trouble {
    findings: BTreeMap<(String, String), Severity>,
    checks: BTreeMap<(String, String), (Answer, f64)>,
}

fn key(code: &str, about: &str) -> (String, String) {
    (code.to_owned(), about.to_owned())
}

impl Trouble {
    fn of(plan: &Plan) -> Self {
        let mut findings = BTreeMap::new();
        // What the support check says is looked at check by check; remarks are on the file and not on the cake.
        let of_cake = |found: &&Finding| {
            !matches!(found.code, FindingCode::CakeFile | FindingCode::Support(_) | FindingCode::DetailLost)
        };
        for found in plan.findings.iter().filter(of_cake) {
            let worst = findings.entry(key(found.code.as_str(), &found.about)).or_insert(found.severity);
            *worst = found.severity.max(*worst);
        }
        let mut checks = BTreeMap::new();
        for check in &plan.support.checks {
            let share = check.share();
            let worst =
                checks.entry(key(check.code.as_str(), &check.about)).or_insert((check.answer(), share));
            *worst = (check.answer().max(worst.0), share.min(worst.1));
        }
        Self { findings, checks }
    }

    /// What is worse now than `before`, in words.
    fn worse_than(&self, before: &Self) -> Vec<String> {
        let findings = self.findings.iter().filter(|(key, now)| {
            before.findings.get(*key).is_none_or(|old| *now > old) && **now > Severity::Note
        });
        let checks = self
            .checks
            .iter()
            .filter(|(key, now)| now.0 > before.checks.get(*key).map_or(Answer::Yes, |old| old.0));
        let said = |(code, about): &(String, String)| format!("{code} of {about}");
        findings.map(|(key, _)| said(key)).chain(checks.map(|(key, _)| said(key))).collect()
    }
}

/// The plan after `edit` of the file of `source`.
fn after(source: &Source, edit: &FileEdit) -> (String, Plan) {
    let document = Document::new(source.cake.clone());
    let applied = document.apply(&edit.to_edit(&document));
    let text = applied.unwrap_or_else(|error| panic!("{error}: {edit:?}")).document.text().to_owned();
    let plan = Plan::new(&source.with_text(text.as_str()));
    let plan = plan.unwrap_or_else(|error| panic!("{}\n{edit:?}\n{text}", error.render()));
    (text, plan)
}

/// Applies the edits of all findings and checks of the cake, one at a time; how many there were.
fn try_all(source: &Source) -> usize {
    let plan = Plan::new(source).unwrap_or_else(|error| panic!("{}", error.render()));
    let before = Trouble::of(&plan);
    let mut tried = 0;
    for found in &plan.findings {
        let Some(edit) = found.fix.edit.as_ref().filter(|_| !matches!(found.code, FindingCode::Support(_)))
        else {
            continue;
        };
        let (text, fixed) = after(source, edit);
        let now = Trouble::of(&fixed);
        let what = format!("{} of {}: {}\n{text}", found.code, found.about, found.fix.words);
        let key = key(found.code.as_str(), &found.about);
        assert!(now.findings.get(&key) < before.findings.get(&key), "not fixed: {what}");
        assert_eq!(now.worse_than(&before), [] as [String; 0], "worse: {what}");
        tried += 1;
    }
    let wanting = |check: &&Check| check.answer() != Answer::Yes;
    for check in plan.support.checks.iter().filter(wanting) {
        let Some(edit) = &check.fix.edit else { continue };
        let (text, fixed) = after(source, edit);
        let now = Trouble::of(&fixed);
        let what = format!("{} of {}: {}\n{text}", check.code, check.about, check.fix.words);
        let key = key(check.code.as_str(), &check.about);
        let holds = now.checks.get(&key).is_none_or(|(answer, _)| *answer == Answer::Yes);
        assert!(holds, "not fixed: {what}");
        assert_eq!(now.worse_than(&before), [] as [String; 0], "worse: {what}");
        tried += 1;
    }
    tried
}

const EXAMPLES: [&str; 7] = [
    "boulder",
    "garden-urn",
    "lopsided-bell",
    "pebble-lantern",
    "planter-pot",
    "sitting-hen",
    "toadstool-house",
];

#[test]
fn fixes_of_the_examples_fix() {
    let mut tried = BTreeMap::new();
    for name in EXAMPLES {
        tried.insert(name, try_all(&source(&read(example(name)).unwrap())));
    }
    assert!(tried.values().sum::<usize>() >= 3, "{tried:?}");
}

/// One cake for each kind of trouble that has a clear fix: made wrong, fixed, planned again.
#[test]
fn fixes_of_cakes_made_wrong_fix() {
    let dowels = "dowels = { count = 4, diameter = 6, circle = 100 }";
    let straws = "dowels = { count = 4, diameter = 6, circle = 110, material = \"bubble tea straw\" }";
    let narrow = "dowels = { count = 4, diameter = 6, circle = 40 }";
    let short = "dowels = { count = 5, diameter = 8, circle = 110, length = 92 }";
    let card = "board = { round = 150, thickness = 2, hole = 14, material = \"card board\" }";
    let wide = "board = { round = 190, thickness = 4, hole = 14, material = \"plywood board\" }";
    let bored = "board = { round = 150, thickness = 4, hole = 8, material = \"plywood board\" }";
    let warm = format!("{CENTRE}[support]\nroom = 33\n");
    let slippery = format!("{CENTRE}[support]\nmat = false\n");
    let seal = "[[detail]]\nname = \"seal\"\ncut = \"icing\"\noutline = { shape = { circle = 30 }, height = 60, depth = 9 }\n";
    let small = |text: String| text.replacen("round = 200", "round = 160", 1);
    let cakes = [
        ("dowel-overloaded", text(straws, BOARD, CENTRE)),
        ("tips", text(narrow, BOARD, CENTRE)),
        ("board-without-dowels", text("", BOARD, CENTRE)),
        ("dowel-too-short", text(short, BOARD, CENTRE)),
        ("board-sags", text("dowels = { count = 4, diameter = 6, circle = 130 }", card, CENTRE)),
        ("tier-slides-off", text(dowels, BOARD, "")),
        ("coat-slumps", text(dowels, BOARD, &warm)),
        ("slides-in-car", text(dowels, BOARD, &slippery)),
        ("board-too-wide", text(dowels, wide, CENTRE)),
        ("board-without-hole", text(dowels, bored, CENTRE)),
        ("shortfall", small(text(dowels, BOARD, CENTRE))),
        ("pressed-through", text(dowels, BOARD, &format!("{CENTRE}{seal}"))),
        ("overlap", text(dowels, BOARD, CENTRE).replacen("height = 120", "height = 120\nbottom = 96", 1)),
    ];
    for (code, cake) in cakes {
        let file = CakeFile::from_text("test.cake.toml", "", cake.as_str());
        let source = source(&file);
        let plan = Plan::new(&source).unwrap();
        let edited = |fix: &Fix| fix.edit.is_some();
        let found = plan.findings.iter().any(|found| found.code.as_str() == code && edited(&found.fix));
        assert!(found, "{code} has no fix: {:?}", plan.findings);
        try_all(&source);
    }
}

/// A length in a fix is written as its neighbours are.
#[test]
fn lengths_are_in_the_makers_unit() {
    let cake = text(
        "",
        "board = { round = \"6 in\", thickness = 4, hole = 14, material = \"plywood board\" }",
        CENTRE,
    )
    .replace("height = 100", "height = \"4 in\"")
    .replacen("crumbline = 1", "crumbline = 1\nunit = \"mm\"", 1)
    .replacen("round = 200", "round = \"6 1/2 in\"", 1);
    let file = CakeFile::from_text("test.cake.toml", "", cake.as_str());
    let source = source(&file);
    let plan = Plan::new(&source).unwrap();
    let fix = |code: &str| {
        let found = plan.findings.iter().find(|found| found.code.as_str() == code);
        found
            .and_then(|found| found.fix.edit.clone())
            .unwrap_or_else(|| panic!("{code}: {:?}", plan.findings))
    };
    let (pan, _) = after(&source, &fix("shortfall"));
    assert!(pan.contains("pan = { round = \"7.") || pan.contains("pan = { round = \"7 "), "{pan}");
    let (dowels, _) = after(&source, &fix("board-without-dowels"));
    let line = dowels.lines().find(|line| line.contains("circle")).unwrap();
    assert!(line.contains(" in\""), "{line}");
}
