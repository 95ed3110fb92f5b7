//! The `kit` command: files, names, bytes, and what it refuses.

mod outside;

use std::{fs, path::Path, time::Duration};

use assert_cmd::Command;

fn crumbline() -> Command {
    let mut command = Command::cargo_bin("crumbline").unwrap();
    command.env_remove("NO_COLOR").env_remove("CLICOLOR_FORCE").timeout(Duration::from_secs(120));
    command
}

/// Writes the kit of an example to `out`.
fn write_example(name: &str, out: &Path, more: &[&str]) -> Vec<String> {
    let cake = format!("assets/examples/{name}/{name}.cake.toml");
    let code =
        crumbline().arg("kit").arg(cake).arg("--out").arg(out).args(more).assert().get_output().status.code();
    assert!(matches!(code, Some(0 | 1)), "{code:?}");
    let mut files = files_in(out, "");
    files.sort();
    files
}

/// Every file in a folder and the folders in it, as paths from there.
fn files_in(folder: &Path, from: &str) -> Vec<String> {
    let entries = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap());
    entries
        .flat_map(|entry| {
            let path = format!("{from}{}", entry.file_name().into_string().unwrap());
            if entry.path().is_dir() { files_in(&entry.path(), &format!("{path}/")) } else { vec![path] }
        })
        .collect()
}

#[test]
fn the_same_cake_gives_the_same_bytes_on_any_number_of_threads() {
    let folder = tempfile::tempdir().unwrap();
    let (one, two) = (folder.path().join("one"), folder.path().join("two"));
    let files = write_example("garden-urn", &one, &["--all"]);
    let cake = "assets/examples/garden-urn/garden-urn.cake.toml";
    crumbline()
        .env("RAYON_NUM_THREADS", "1")
        .arg("kit")
        .arg(cake)
        .arg("--out")
        .arg(&two)
        .arg("--all")
        .assert()
        .code(0);
    assert!(files.len() > 40);
    for file in &files {
        assert!(fs::read(one.join(file)).unwrap() == fs::read(two.join(file)).unwrap(), "{file} differs");
    }
}

#[test]
fn one_command_writes_plastic_and_paper_and_each_can_be_had_alone() {
    let folder = tempfile::tempdir().unwrap();
    let (all, alone) = (folder.path().join("all"), folder.path().join("alone"));
    let everything = write_example("lopsided-bell", &all, &["--paper", "letter"]);
    for ending in
        [".stl", ".3mf", "cutting-sheet-letter.pdf", "silhouettes-letter.pdf", ".svg", "cutting-sheet.txt"]
    {
        assert!(everything.iter().any(|f| f.ends_with(ending)), "no {ending} in {everything:?}");
    }
    let mut sheet = write_example("lopsided-bell", &alone, &["--only", "cutting-sheet", "--paper", "letter"]);
    sheet.retain(|file| file != "kit.json");
    assert_eq!(sheet, ["lopsided-bell-cutting-sheet-letter.pdf", "lopsided-bell-cutting-sheet.txt"]);
    for file in &sheet {
        assert!(fs::read(all.join(file)).unwrap() == fs::read(alone.join(file)).unwrap(), "{file} differs");
    }
}

#[test]
fn file_names_say_cake_part_line_and_size() {
    let folder = tempfile::tempdir().unwrap();
    let files = write_example("lopsided-bell", folder.path(), &["--only", "scrapers,depth-gauges"]);
    let expected = [
        "beds/lopsided-bell-bed-1-of-4.3mf",
        "lopsided-bell-printed-parts.txt",
        "parts/lopsided-bell-scraper-carved-line-",
        "parts/lopsided-bell-scraper-coated-line-",
        "parts/lopsided-bell-scraper-finished-line-",
        "parts/lopsided-bell-scraper-foot-",
    ];
    for name in expected {
        assert!(files.iter().any(|f| f.starts_with(name)), "no {name} in {files:?}");
    }
    assert!(files.iter().filter(|f| f.ends_with(".stl")).all(|f| f.ends_with("mm.stl")), "{files:?}");
    let list = fs::read_to_string(folder.path().join("lopsided-bell-printed-parts.txt")).unwrap();
    for caution in [
        "not safe for food",
        "Do both: keep film",
        "food code",
        "is a pattern",
        "food-grade",
        "Count every",
        "building timber",
        "allergens",
    ] {
        assert!(list.contains(caution), "{caution}");
    }
}

#[test]
fn what_cannot_be_printed_is_refused_with_the_fix() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("out");
    let cake = "assets/examples/lopsided-bell/lopsided-bell.cake.toml";
    for (flags, said) in [
        (&["--nozzle", "3 mm"][..], "thinner than two widths of the 3 mm nozzle"),
        (&["--clearance", "5 mm"], "as much as the wall"),
        (&["--bed", "30x30x30"], "holds no tool"),
        (&["--scraper-edge", "9 mm"], "does not fit a plate"),
        (&["--only", "scrapers", "--all"], "cannot be used with"),
        (&["--only", "scraper"], "did you mean \"scrapers\"?"),
        (&["--bed", "wide"], "220x220x250"),
        (&["--thickness", "0"], "--thickness"),
        (&["--paper", "A9"], "Tabloid"),
    ] {
        let output = crumbline().arg("kit").arg(cake).arg("--out").arg(&out).args(flags).assert().code(2);
        let text = String::from_utf8_lossy(&output.get_output().stderr).into_owned();
        assert!(text.contains(said), "{flags:?}: {text}");
        assert!(!out.exists(), "{flags:?} left something behind");
    }
}

/// What does not fit the bed is left out and said to be; the rest is written, and the exit code is 1.
#[test]
fn what_does_not_fit_the_bed_is_left_out() {
    let folder = tempfile::tempdir().unwrap();
    let cake = "assets/examples/lopsided-bell/lopsided-bell.cake.toml";
    let out = folder.path().join("kit");
    let asked = [
        "--bed",
        "200x200x40",
        "--thickness",
        "39 mm",
        "--only",
        "cradle,foot-mould,levelling-rings,scrapers,cutting-sheet",
    ];
    let output = crumbline().arg("kit").arg(cake).arg("--out").arg(&out).args(asked).assert().code(1);
    let said = String::from_utf8_lossy(&output.get_output().stderr).into_owned();
    assert!(said.contains("left out: ") && said.contains("does not fit the bed"), "{said}");
    let files = || walk(&out).into_iter().map(|path| path.display().to_string());
    assert!(files().any(|name| name.contains("cutting-sheet")), "{:?}", files().collect::<Vec<_>>());
    let list = files().find(|name| name.ends_with("parts.txt")).expect("a list of the parts");
    assert!(std::fs::read_to_string(list).unwrap().contains("NOT IN THIS KIT"));
}

/// By default what is worth printing is written, with all paper; `--all` adds the rest, and no part of the first is
/// other than its like in the second.
#[test]
fn the_default_kit_is_a_small_part_of_all() {
    let folder = tempfile::tempdir().unwrap();
    let (some, all) = (folder.path().join("some"), folder.path().join("all"));
    let few = write_example("toadstool-house", &some, &[]);
    let everything = write_example("toadstool-house", &all, &["--all"]);
    let printed = |files: &[String]| files.iter().filter(|file| file.ends_with(".stl")).count();
    assert!(printed(&few) <= 5 && printed(&everything) > 50, "{few:?}");
    for file in few.iter().filter(|file| file.starts_with("parts/") || file.starts_with("templates/")) {
        assert!(fs::read(some.join(file)).unwrap() == fs::read(all.join(file)).unwrap(), "{file} differs");
    }
    let list = |folder: &Path| fs::read_to_string(folder.join("toadstool-house-printed-parts.txt")).unwrap();
    assert!(list(&some).contains("WORTH PRINTING") && list(&some).contains("Not worth printing"));
    assert!(!list(&all).contains("WORTH PRINTING"), "what was asked for is not argued about");
    // Whatever is taken to a printer says what a print is not.
    let stl = few.iter().find(|file| file.ends_with(".stl")).unwrap();
    let header = fs::read(some.join(stl)).unwrap()[..80].to_vec();
    assert!(String::from_utf8(header).unwrap().contains("print not food-safe"));
}

/// Every file in a folder and the folders in it.
fn walk(folder: &std::path::Path) -> Vec<std::path::PathBuf> {
    let entries = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
    entries.flat_map(|path| if path.is_dir() { walk(&path) } else { vec![path] }).collect()
}
