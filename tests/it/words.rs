//! One word for one thing: what the glossary has another word for stands in no page, list or message of any example.

use std::{fs, process::Command};

use assert_cmd::prelude::*;
use crumbline::cakefile::glossary::TERMS;

const EXAMPLES: [&str; 7] = [
    "toadstool-house",
    "garden-urn",
    "pebble-lantern",
    "planter-pot",
    "lopsided-bell",
    "sitting-hen",
    "boulder",
];

/// The same text without the commands and file names in it, which are not words of ours to choose, and in lower case.
fn words(text: &str) -> String {
    let lines = text.lines().filter(|line| !line.trim_start().starts_with('['));
    let plain: String = lines.collect::<Vec<_>>().join(" ");
    let spaced: String =
        plain.to_lowercase().chars().map(|c| if c.is_alphabetic() { c } else { ' ' }).collect();
    format!(" {} ", spaced.split_whitespace().collect::<Vec<_>>().join(" "))
}

#[test]
fn one_thing_has_one_name_in_every_output() {
    let folder = tempfile::tempdir().unwrap();
    let run = |args: &[&str]| {
        let output = Command::cargo_bin("crumbline").unwrap().args(args).output().unwrap();
        String::from_utf8_lossy(&output.stdout).into_owned() + &String::from_utf8_lossy(&output.stderr)
    };
    for name in EXAMPLES {
        let cake = format!("assets/examples/{name}/{name}.cake.toml");
        let kit = folder.path().join(name);
        let kit = kit.to_str().unwrap();
        let today = ["--today", "2026-12-01 08:00"];
        let mut said = vec![
            ("plan", run(&["plan", &cake, "--explain", today[0], today[1]])),
            ("stack", run(&["stack", &cake])),
            ("amounts", run(&["amounts", &cake])),
            ("quote", run(&["quote", &cake, today[0], today[1]])),
            ("kit", run(&["kit", &cake, "--out", kit])),
        ];
        for entry in fs::read_dir(kit).unwrap() {
            let path = entry.unwrap().path();
            if path.extension().is_some_and(|ending| ending == "txt") {
                said.push(("sheet", fs::read_to_string(path).unwrap()));
            }
        }
        for (what, text) in said {
            assert_our_words(&format!("{name}, {what}"), &text);
        }
    }
}

/// Panics where the glossary has another word for one of `text`.
fn assert_our_words(what: &str, text: &str) {
    let told = words(text);
    for term in TERMS {
        for other in term.instead_of {
            assert!(
                !told.contains(&format!(" {other} ")),
                "{what}: \"{other}\" instead of \"{}\" in\n{text}",
                term.name
            );
        }
    }
}

/// Each command explains itself within forty lines, with an example and in the words of the glossary.
#[test]
fn help_is_short() {
    let run = |args: &[&str]| {
        String::from_utf8(Command::cargo_bin("crumbline").unwrap().args(args).output().unwrap().stdout)
            .unwrap()
    };
    let all = run(&["--help"]);
    let commands: Vec<String> = all
        .lines()
        .skip_while(|line| !line.starts_with("Commands:"))
        .skip(1)
        .take_while(|line| line.starts_with("  "))
        .filter_map(|line| Some(line.strip_prefix("  ")?.split(' ').next()?.to_owned()))
        .filter(|word| !word.is_empty() && word != "help")
        .collect();
    assert!(commands.len() > 15, "{commands:?}");
    assert!(all.lines().count() <= 40, "{all}");
    for command in commands {
        let said = run(&[&command, "--help"]);
        assert!(said.lines().count() <= 40, "{command}: {} lines\n{said}", said.lines().count());
        assert!(said.contains(&format!("Example: crumbline {command}")), "{said}");
        assert_our_words(&command, &said);
    }
}

/// The language is chosen by one flag wherever a page has words in it; what is no language is refused with the fix.
#[test]
fn one_flag_chooses_the_language() {
    let folder = tempfile::tempdir().unwrap();
    let kit = folder.path().join("kit");
    let cake = "assets/examples/toadstool-house/toadstool-house.cake.toml";
    let run = |args: &[&str]| Command::cargo_bin("crumbline").unwrap().args(args).output().unwrap();
    let said = String::from_utf8(run(&["plan", cake, "--language", "de"]).stdout).unwrap();
    assert!(said.contains("Backen") && said.contains("Ofenfüllungen") && !said.contains("Bake "), "{said}");
    run(&["kit", cake, "--only", "cutting-sheet", "--language", "de", "--out", kit.to_str().unwrap()]);
    let sheet = fs::read_to_string(kit.join("toadstool-house-cutting-sheet.txt")).unwrap();
    assert!(sheet.starts_with("Toadstool house: Schnittplan"), "{sheet}");
    let refused = run(&["plan", cake, "--language", "xx"]);
    let told = String::from_utf8_lossy(&refused.stderr).into_owned();
    assert!(refused.status.code() == Some(2) && told.contains("name \"en\" or \"de\""), "{told}");
}
