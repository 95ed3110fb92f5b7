//! The client's page as a browser shows it: Chromium by its DevTools protocol, without a window.

use std::{fs, path::PathBuf};

use assert_cmd::Command;
use serde_json::Value;

use crate::{
    files::read,
    reference::{asked, number, python},
    share::{ordered, share},
};

/// Chromium, if it is there.
///
/// # Panics
/// When it is not and `CRUMBLINE_REQUIRE_REFERENCE` is 1.
fn chromium() -> Option<PathBuf> {
    let path = std::env::var_os("PATH").unwrap_or_default();
    let found = std::env::split_paths(&path)
        .flat_map(|folder| ["chromium", "chromium-browser"].map(|name| folder.join(name)))
        .find(|program| program.exists());
    let required = std::env::var("CRUMBLINE_REQUIRE_REFERENCE").is_ok_and(|value| value == "1");
    assert!(found.is_some() || !required, "no chromium: install it (Debian's package is called so)");
    if found.is_none() {
        println!("skipped: no chromium");
    }
    found
}

/// Nothing was said that whoever makes the page would have to look at, and nothing but the page itself was asked for.
fn assert_quiet(told: &Value) {
    assert_eq!(told["console"], serde_json::json!([]));
    assert_eq!(told["faults"], serde_json::json!([]));
    let requests = told["requests"].as_array().unwrap();
    let asked = requests.iter().map(|url| url.as_str().unwrap());
    let elsewhere: Vec<&str> = asked.filter(|url| !url.starts_with("data:")).collect();
    assert!(elsewhere.len() == 1 && elsewhere[0].starts_with("file://"), "{elsewhere:?}");
}

/// axe-core is not among what the tests require: where it is there it finds nothing.
fn assert_accessible(told: &Value) {
    match told["violations"].as_array() {
        Some(violations) => assert!(violations.is_empty(), "{violations:#?}"),
        None => println!("skipped: no axe-core; see tests/reference/client_page.py"),
    }
}

#[test]
fn a_client_turns_the_cake_chooses_and_answers() {
    let (Some(python), Some(chromium)) = (python(), chromium()) else { return };
    let folder = tempfile::tempdir().unwrap();
    let (cake, out) = (ordered(folder.path()), folder.path().join("page"));
    // Two names that a page might take for more than text.
    let evil = fs::read_to_string(&cake).unwrap().replace("\"Spots\"", "'</script><b>\"Spots\" & שלום 🍰'");
    fs::write(&cake, evil.replace("Village library", "<img src=x onerror=alert(1)>")).unwrap();
    share(&cake, &out, &[]).success();
    let page = out.join("toadstool-house.html");
    let remarks = "  Two lines,\nand <b>\"quotes\"</b> & |[end of choices]";
    let arguments = [chromium.as_os_str(), page.as_os_str(), remarks.as_ref(), folder.path().as_os_str()];
    let told = asked(&python, "client_page.py", &arguments);

    let computer = &told["computer"];
    assert_quiet(computer);
    assert_eq!(computer["failed"], false);
    assert!(number(computer, "drawn") > 0.2);
    for (what, least) in [("turned", 0.03), ("turned_by_key", 0.01), ("nearer", 0.03), ("recoloured", 0.05)] {
        assert!(number(computer, what) > least, "{what}: {}", computer[what]);
    }
    assert_eq!(number(computer, "home_is_the_first_look"), 0.0);
    assert_eq!(
        computer["stages"],
        serde_json::json!(["Baked and stacked", "Carved", "With white ganache", "Finished"])
    );
    let between = computer["between_stages"].as_array().unwrap();
    assert!(between.iter().all(|share| share.as_f64().unwrap() > 0.05), "{between:?}");
    assert_eq!((&computer["answer_is_seen"], &computer["ends_in_width"]), (&true.into(), &true.into()));
    assert_eq!(computer["printed_pages"], 2);
    assert_accessible(computer);

    for phone in ["phone", "phone_dark"] {
        let phone = &told[phone];
        assert_quiet(phone);
        assert!(number(phone, "turned") > 0.02 && number(phone, "nearer") > 0.03, "{phone}");
        assert_eq!(phone["ends_in_width"], true);
        assert_accessible(phone);
    }

    let plain = &told["plain"];
    assert_quiet(plain);
    let texts = plain["read"].as_array().unwrap().iter().map(|text| text.as_str().unwrap());
    let told = texts.collect::<Vec<_>>().join("\n");
    for part in [
        "For: <img src=x onerror=alert(1)>",
        "The cake, seen from the front",
        "To choose, tell the maker what you want:",
        "Cap and stalk: poppy red · moss green",
        "Allergens",
        "EUR",
    ] {
        assert!(told.contains(part), "{part} in {told}");
    }
    assert!(!told.contains("This is what I want"), "{told}");

    // What the page wrote is what the program reads, by whatever way it came.
    let letter = computer["letter"].as_str().unwrap();
    let answer = folder.path().join("letter.txt");
    fs::write(&answer, letter).unwrap();
    let mail = computer["mail"].as_str().unwrap();
    assert!(mail.starts_with("mailto:orders@example.org?subject=Toadstool%20house%3A"), "{mail}");
    assert!(mail.contains("%5Bchoices%20"), "{mail}");
    Command::cargo_bin("crumbline").unwrap().arg("choices").arg(&cake).arg(&answer).assert().success();
    let chosen = read(&cake).unwrap().parse().document.unwrap();
    let order = chosen.order.unwrap();
    assert_eq!((order.serves, order.remarks.as_deref()), (Some(45), Some(remarks.trim())));
    assert_eq!(chosen.coverings[0].colour.as_ref().map(|colour| colour.0.as_str()), Some("#6b8f4e"));
}
