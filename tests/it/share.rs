//! The client's page by command: its files, whole or none, and what the client chose in the cake file.

use std::{fs, path::Path};

use assert_cmd::Command;
use assert_cmd::assert::Assert;

use crate::{files::read, repository::example};
use crumbline::shop::share::Facts;

/// What is added to the toadstool house: an order that its check finds nothing wrong with, and an offer.
pub const ORDERED: &str = r##"
[order]
client = "Village library"
deliver = "2026-12-05 10:00"
serves = 20

[[offer.size]]
serves = 45
price = 420

[[offer.colour]]
name = "Cap and stalk"
of = ["rolled icing"]
colours = [{ name = "poppy red", colour = "#c8342c" }, { name = "moss green", colour = "#6b8f4e" }]

[[offer.colour]]
name = "Spots"
of = ["spot 1", "spot 2", "spot 3", "spot 4", "spot 5", "spot 6", "spot 7", "spot 8"]
colours = [{ name = "cream", colour = "#f6efe0" }, { name = "gold", colour = "#d8a93a" }]

[pantry.maker]
name = "The corner bakery"
address = ["1 High Street, Anytown"]
email = "orders@example.org"
"##;

/// The toadstool house with an order and prices in `folder`; where its cake file is.
pub fn ordered(folder: &Path) -> std::path::PathBuf {
    let house = example("toadstool-house");
    let cake = folder.join("house.cake.toml");
    let text = fs::read_to_string(&house).unwrap() + ORDERED;
    fs::write(&cake, text).unwrap();
    fs::copy(house.with_file_name("details.svg"), folder.join("details.svg")).unwrap();
    fs::copy("assets/examples/priced.pantry.toml", folder.join("pantry.toml")).unwrap();
    cake
}

pub fn share(cake: &Path, out: &Path, more: &[&str]) -> Assert {
    let mut command = Command::cargo_bin("crumbline").unwrap();
    command.arg("share").arg(cake).args(["--no-picture", "--today", "2026-11-20 08:00", "--out"]).arg(out);
    command.args(more).assert()
}

fn names(folder: &Path) -> Vec<String> {
    let Ok(entries) = fs::read_dir(folder) else { return Vec::new() };
    let mut names: Vec<String> =
        entries.map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned()).collect();
    names.sort();
    names
}

fn said(assert: &Assert) -> String {
    let output = assert.get_output();
    String::from_utf8_lossy(&output.stdout).into_owned() + &String::from_utf8_lossy(&output.stderr)
}

#[test]
fn the_page_comes_with_the_files_that_it_names() {
    let folder = tempfile::tempdir().unwrap();
    let (cake, out) = (ordered(folder.path()), folder.path().join("page"));
    share(&cake, &out, &[]).success();
    assert_eq!(names(&out), ["toadstool-house.glb", "toadstool-house.html", "toadstool-house.usdz"]);
    let page = fs::read_to_string(out.join("toadstool-house.html")).unwrap();
    for name in ["toadstool-house.glb", "toadstool-house.usdz"] {
        assert!(page.contains(&format!("href=\"{name}\"")), "{name}");
        assert!(fs::metadata(out.join(name)).unwrap().len() > 10_000);
    }
    assert!(page.contains("for about 45: EUR 420.00") && !page.contains("INCOMPLETE"));
    // The same cake, the same bytes; and a page of another offer tells the difference.
    let again = folder.path().join("again");
    share(&cake, &again, &[]).success();
    assert_eq!(fs::read_to_string(again.join("toadstool-house.html")).unwrap(), page);
    fs::write(&cake, fs::read_to_string(&cake).unwrap().replace("price = 420", "price = 400")).unwrap();
    let earlier = out.join("toadstool-house.html");
    share(&cake, &again, &["--since", earlier.to_str().unwrap()]).success();
    let later = fs::read_to_string(again.join("toadstool-house.html")).unwrap();
    let [before, now] = [&page, &later].map(|page| Facts::of_page(page).unwrap());
    assert_ne!(before.mark, now.mark);
    assert_eq!(now.changed_since(&before).len(), 1);
    assert!(later.contains("EUR 400.00") && later.contains("EUR 420.00"));
    let wrong = share(&cake, &again, &["--since", cake.to_str().unwrap()]).code(2);
    assert!(said(&wrong).contains("it is not a page that `crumbline share` wrote"), "{}", said(&wrong));
    let german = share(&cake, &again, &["--language", "de", "--since", earlier.to_str().unwrap()]).code(2);
    assert!(said(&german).contains("that page is in another language (en)"), "{}", said(&german));
}

#[test]
fn what_is_open_is_said_and_nothing_written() {
    let folder = tempfile::tempdir().unwrap();
    let (cake, out) = (ordered(folder.path()), folder.path().join("page"));
    fs::write(&cake, fs::read_to_string(&cake).unwrap().replace("serves = 20", "serves = 200")).unwrap();
    let refused = share(&cake, &out, &[]).code(2);
    assert!(said(&refused).contains("the order check has 1 open"), "{}", said(&refused));
    assert_eq!(names(&out), Vec::<String>::new());
    share(&cake, &out, &["--incomplete"]).success();
    assert!(fs::read_to_string(out.join("toadstool-house.html")).unwrap().contains("INCOMPLETE"));
    // A folder that is a file.
    let file = folder.path().join("file");
    fs::write(&file, "mine").unwrap();
    share(&cake, &file, &["--incomplete"]).code(2);
    assert_eq!(fs::read_to_string(&file).unwrap(), "mine");
    // Beside the cake file unless it is said where.
    let usual = Command::cargo_bin("crumbline")
        .unwrap()
        .arg("share")
        .arg(&cake)
        .args(["--no-picture", "--incomplete"])
        .assert();
    usual.success();
    assert_eq!(names(&folder.path().join("house-page")).len(), 3);
}

#[test]
fn an_offer_that_is_wrong_is_told_with_its_place() {
    let folder = tempfile::tempdir().unwrap();
    let cake = ordered(folder.path());
    let text = fs::read_to_string(&cake).unwrap();
    for (from, to, told) in [
        ("\"spot 8\"]", "\"spot 9\"]", "no covering, zone or detail is called \"spot 9\""),
        ("serves = 45", "serves = 0", "offer.size[0].serves"),
        ("orders@example.org", "orders at example", "is not an e-mail address"),
    ] {
        fs::write(&cake, text.replace(from, to)).unwrap();
        let refused = said(&share(&cake, &folder.path().join("page"), &[]).code(2));
        assert!(refused.contains(told) && refused.contains("help:"), "{refused}");
    }
}

/// A text as the page writes it, with the mark of that page.
pub fn letter(page: &str) -> String {
    let mark = Facts::of_page(page).unwrap().mark;
    format!(
        "Yes please!\n\n[choices {mark}]\ncake: Toadstool house\nserves: 45\nCap and stalk = moss green\nSpots = gold\n\
         remarks:\n| With a bow.\n[end of choices]\n"
    )
}

#[test]
fn what_the_client_chose_goes_into_the_cake_file() {
    let folder = tempfile::tempdir().unwrap();
    let (cake, out) = (ordered(folder.path()), folder.path().join("page"));
    share(&cake, &out, &[]).success();
    let answer = folder.path().join("letter.txt");
    let written = letter(&fs::read_to_string(out.join("toadstool-house.html")).unwrap());
    let choose = |text: &str, more: &[&str]| {
        fs::write(&answer, text).unwrap();
        Command::cargo_bin("crumbline").unwrap().arg("choices").arg(&cake).arg(&answer).args(more).assert()
    };
    let text = fs::read_to_string(&cake).unwrap();
    // What is wrong leaves the file as it was.
    for (wrong, told) in [
        (written.replace("gold", "silver"), "line 7: \"silver\" is not offered for \"Spots\""),
        (written.replace("Toadstool", "Fairy"), "it is for \"Fairy house\""),
        (written.replace("[choices ", "[choices f"), "it answers the page f"),
        ("Yes!".into(), "there is no line \"[choices ...]\" in it"),
    ] {
        let refused = said(&choose(&wrong, &[]).code(2));
        assert!(
            refused.contains(told) && refused.contains("fix:") && refused.contains("letter.txt"),
            "{refused}"
        );
        assert_eq!(fs::read_to_string(&cake).unwrap(), text);
    }
    // Elsewhere first.
    let copy = folder.path().join("chosen.cake.toml");
    choose(&written, &["--out", copy.to_str().unwrap()]).success();
    assert_eq!(fs::read_to_string(&cake).unwrap(), text);
    let told = said(&choose(&written, &[]).success());
    for part in
        ["covering[0].colour: #6b8f4e instead of #c8342c", "order.serves: 45 instead of 20", "--serve 45"]
    {
        assert!(told.contains(part), "{part} in {told}");
    }
    let chosen = fs::read_to_string(&cake).unwrap();
    assert_eq!(fs::read_to_string(&copy).unwrap(), chosen);
    let now = read(&cake).unwrap().parse().document.unwrap();
    let order = now.order.unwrap();
    assert_eq!((order.serves, order.remarks.as_deref()), (Some(45), Some("With a bow.")));
    assert!(
        now.details
            .iter()
            .filter(|detail| detail.name.starts_with("spot"))
            .all(|detail| { detail.colour.as_ref().is_some_and(|colour| colour.0 == "#d8a93a") })
    );
    // Comments stay; and the same answer again changes nothing.
    for line in text.lines().filter(|line| line.contains('#') && !line.contains("colour")) {
        assert!(chosen.contains(line), "{line}");
    }
    assert!(said(&choose(&written, &[]).success()).contains("is as the client wants it already"));
    // The cake changes: then the page is an earlier one.
    fs::write(&cake, chosen.replace("thickness = 7", "thickness = 8")).unwrap();
    let earlier = said(&choose(&written, &[]).code(2));
    assert!(earlier.contains("it answers the page") && earlier.contains("--earlier"), "{earlier}");
    choose(&written, &["--earlier"]).success();
}

/// A size without a price is told the price of the cake that `stack --serve` makes of it, rounded up to a whole one.
#[test]
fn a_price_that_is_left_out_is_that_of_the_scaled_cake() {
    let folder = tempfile::tempdir().unwrap();
    let (cake, out) = (ordered(folder.path()), folder.path().join("page"));
    let text = fs::read_to_string(&cake).unwrap().replace("price = 420\n", "");
    fs::write(&cake, &text).unwrap();
    let told = said(&share(&cake, &out, &[]).success());
    assert!(told.contains("note: the price for 45 is worked out: EUR "), "{told}");
    let page = fs::read_to_string(out.join("toadstool-house.html")).unwrap();
    let (_, price) =
        page.split_once("for about 45: about EUR ").unwrap_or_else(|| panic!("no price: {told}"));
    let price: f64 = price.split('<').next().unwrap().replace(',', "").parse().unwrap();

    let scaled = folder.path().join("scaled.cake.toml");
    let run = |arguments: &[&std::ffi::OsStr]| {
        Command::cargo_bin("crumbline").unwrap().args(arguments).assert().get_output().clone()
    };
    run(&[
        "stack".as_ref(),
        cake.as_ref(),
        "--serve".as_ref(),
        "45".as_ref(),
        "--out".as_ref(),
        scaled.as_ref(),
    ]);
    let quoted = run(&["quote".as_ref(), scaled.as_ref(), "--json".as_ref()]);
    let quoted: serde_json::Value = serde_json::from_slice(&quoted.stdout).unwrap();
    let gross = quoted["charged"]["gross"].as_f64().unwrap() / 100.0;
    assert!(price >= gross && price - gross < 1.0, "{price} for {gross}");
    // No prices at all: nothing to work out.
    fs::remove_file(folder.path().join("pantry.toml")).unwrap();
    let told = said(&share(&cake, &out, &["--incomplete"]).success());
    assert!(!told.contains("worked out"), "{told}");
}

#[test]
fn the_makers_look_is_checked_before_anything_is_written() {
    let folder = tempfile::tempdir().unwrap();
    let (cake, out) = (ordered(folder.path()), folder.path().join("page"));
    let text = fs::read_to_string(&cake).unwrap();
    let with = |more: &str| fs::write(&cake, format!("{text}{more}")).unwrap();
    with("accent = \"#ffd400\"\nlogo = \"logo.svg\"\n");
    let refused = said(&share(&cake, &out, &[]).code(2));
    for part in ["house.cake.toml:", "logo.svg", "cannot be read", "help:"] {
        assert!(refused.contains(part), "{part} in {refused}");
    }
    assert_eq!(names(&out), Vec::<String>::new());
    let quote = Command::cargo_bin("crumbline").unwrap().arg("quote").arg(&cake).assert().code(2);
    assert!(said(&quote).contains("logo.svg"), "{}", said(&quote));
    fs::write(
        folder.path().join("logo.svg"),
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 9 9\"><path d=\"M0 0h9v9z\"/></svg>",
    )
    .unwrap();
    let told = said(&share(&cake, &out, &[]).success());
    assert!(told.contains("the maker's accent #ffd400") && told.contains("WCAG 2.2"), "{told}");
    assert!(told.contains("there is no picture sheet"), "{told}");
    let page = fs::read_to_string(out.join("toadstool-house.html")).unwrap();
    assert!(page.contains("class=\"logo\"") && page.contains("--accent:#ffd400"));
}
