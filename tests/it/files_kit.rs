//! A kit is a set: written again it replaces the one before, touches nothing of the maker's, and can be checked.

use std::{
    collections::BTreeSet,
    fs,
    path::{Path, PathBuf},
    process::Output,
};

use assert_cmd::Command;
use crumbline::export::{ExportError, FileSet, files};
use tempfile::TempDir;

const CAKE: &str = "crumbline = 1\nname = \"x\"\n[shape.turned]\npoints = [[60, 0], [60, 40]]\n[[tier]]\nname = \"one\"\n\
                    [[tier.layer]]\npan = { round = \"6 in\" }\nheight = 40\n";

struct Bench(TempDir);

impl Bench {
    fn new(cake: &str) -> Self {
        let bench = Self(tempfile::tempdir().unwrap());
        fs::write(bench.cake(), cake).unwrap();
        bench
    }

    fn cake(&self) -> PathBuf {
        self.0.path().join("x.cake.toml")
    }

    fn folder(&self) -> PathBuf {
        self.0.path().join("kit")
    }

    fn run(&self, arguments: &[&str]) -> Output {
        let mut command = Command::cargo_bin("crumbline").unwrap();
        command.args(arguments).output().unwrap()
    }

    fn kit(&self, more: &[&str]) -> Output {
        let (cake, folder) = (self.cake(), self.folder());
        let paths = [cake.to_str().unwrap(), "--out", folder.to_str().unwrap()];
        self.run(&[&["kit"], &paths[..], more].concat())
    }

    fn check(&self, more: &[&str]) -> (Option<i32>, String) {
        let folder = self.folder();
        let output = self.run(&[&["check", folder.to_str().unwrap()], more].concat());
        (output.status.code(), format!("{}{}", said(&output.stdout), said(&output.stderr)))
    }

    fn files(&self) -> BTreeSet<String> {
        let mut found = BTreeSet::new();
        walk(&self.folder(), "", &mut found);
        found
    }
}

fn walk(folder: &Path, from: &str, found: &mut BTreeSet<String>) {
    for entry in fs::read_dir(folder).unwrap() {
        let entry = entry.unwrap();
        let name = format!("{from}{}", entry.file_name().into_string().unwrap());
        if entry.path().is_dir() {
            walk(&entry.path(), &format!("{name}/"), found)
        } else {
            found.insert(name);
        }
    }
}

fn said(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
}

const SHEETS: [&str; 2] = ["--only", "layers,cutting-sheet"];

#[test]
fn a_smaller_cake_leaves_no_file_of_the_larger_one() {
    const ONLY: [&str; 2] = ["--only", "silhouettes,cutting-sheet"];
    let bench = Bench::new(&CAKE.replace("40", "90"));
    assert!(matches!(bench.kit(&ONLY).status.code(), Some(0 | 1)));
    let before = bench.files();
    fs::write(bench.cake(), CAKE).unwrap();
    fs::write(bench.folder().join("templates/mine.svg"), "mine").unwrap();
    let output = bench.kit(&ONLY);
    assert!(said(&output.stdout).contains("Removed 1 files of the kit before"), "{output:?}");
    let after = bench.files();
    let gone: Vec<&String> = before.difference(&after).collect();
    assert_eq!(gone.len(), 1, "{gone:?}");
    assert!(gone[0].starts_with("templates/x-front-and-side-silhouette-"));
    assert!(after.contains("templates/mine.svg"));
    let (code, text) = bench.check(&["--cake", bench.cake().to_str().unwrap()]);
    assert_eq!(code, Some(0), "{text}");
    assert!(text.contains("Not of the kit, left alone:\n  templates/mine.svg\n"), "{text}");
}

#[test]
fn what_the_maker_changed_is_kept_and_named() {
    let bench = Bench::new(CAKE);
    bench.kit(&SHEETS);
    let sheet = bench.folder().join("x-cutting-sheet.txt");
    fs::write(&sheet, "my notes").unwrap();
    fs::write(bench.folder().join("x-cutting-sheet-a4.pdf"), "my scan").unwrap();
    let output = bench.kit(&[&SHEETS[..], &["--paper", "Letter"]].concat());
    let told = said(&output.stderr);
    assert!(told.contains("x-cutting-sheet.txt was not as this program had written it"), "{told}");
    assert!(told.contains("x-cutting-sheet-a4.pdf is of the kit before and not of this one"), "{told}");
    assert_eq!(fs::read_to_string(bench.folder().join("x-cutting-sheet-yours.txt")).unwrap(), "my notes");
    assert_eq!(fs::read_to_string(bench.folder().join("x-cutting-sheet-a4.pdf")).unwrap(), "my scan");
    assert_ne!(fs::read_to_string(&sheet).unwrap(), "my notes");
    // A sheet of an earlier kit is a sheet to follow by mistake.
    let (code, text) = bench.check(&[]);
    assert_eq!(code, Some(1));
    assert!(text.contains("Of an earlier kit") && text.contains("  x-cutting-sheet-a4.pdf\n"), "{text}");
    // The third kit remembers it, and takes its name for itself without losing it.
    bench.kit(&SHEETS);
    assert_eq!(fs::read_to_string(bench.folder().join("x-cutting-sheet-a4-yours.pdf")).unwrap(), "my scan");
    assert_eq!(bench.check(&[]).0, Some(0));
}

#[cfg(target_os = "linux")] // Two names that differ in case are two files here.
#[test]
fn a_file_that_was_there_before_the_first_kit_is_not_written_over() {
    let bench = Bench::new(CAKE);
    fs::create_dir(bench.folder()).unwrap();
    fs::write(bench.folder().join("X-Cutting-Sheet.txt"), "other").unwrap();
    fs::write(bench.folder().join("x-cutting-sheet.txt"), "mine").unwrap();
    bench.kit(&SHEETS);
    assert_eq!(fs::read_to_string(bench.folder().join("x-cutting-sheet-yours.txt")).unwrap(), "mine");
    assert_eq!(fs::read_to_string(bench.folder().join("X-Cutting-Sheet.txt")).unwrap(), "other");
}

#[test]
fn the_kit_of_another_cake_is_not_replaced() {
    let bench = Bench::new(CAKE);
    bench.kit(&SHEETS);
    let before = bench.files();
    let other = bench.0.path().join("other.cake.toml");
    fs::write(&other, CAKE.replace("name = \"x\"", "name = \"y\"")).unwrap();
    let folder = bench.folder();
    let output = bench.run(&["kit", other.to_str().unwrap(), "--out", folder.to_str().unwrap()]);
    assert_eq!(output.status.code(), Some(2));
    assert!(said(&output.stderr).contains("holds the kit of \"x\" (x.cake.toml)"), "{output:?}");
    assert_eq!(bench.files(), before);
    // The same cake under another name, or in a renamed file, is the same cake.
    fs::write(bench.cake(), CAKE.replace("name = \"x\"", "name = \"z\"")).unwrap();
    assert!(bench.kit(&SHEETS).status.success());
    assert!(bench.files().iter().all(|file| !file.contains("x-")), "{:?}", bench.files());
}

#[test]
fn check_says_what_is_missing_changed_or_out_of_date() {
    let bench = Bench::new(&CAKE.replace("[[60, 0], [60, 40]]", "[[60, 0], [50, 40]]"));
    assert_eq!(bench.check(&[]).0, Some(2), "no folder");
    fs::create_dir(bench.folder()).unwrap();
    let (code, text) = bench.check(&[]);
    assert!(code == Some(2) && text.contains("there is no kit") && text.contains("fix: "), "{text}");
    bench.kit(&SHEETS);
    let cake = bench.cake();
    let with_cake = ["--cake", cake.to_str().unwrap()];
    let (code, text) = bench.check(&with_cake);
    assert!(code == Some(0) && text.contains("Every file of it is as it was written."), "{text}");
    // A pantry appears where none was.
    fs::write(bench.0.path().join("pantry.toml"), "crumbline = 1\n").unwrap();
    let (code, text) = bench.check(&with_cake);
    assert!(code == Some(1) && text.contains("not the same now:\n  pantry.toml\n"), "{text}");
    fs::remove_file(bench.0.path().join("pantry.toml")).unwrap();
    fs::write(&cake, CAKE).unwrap();
    let (code, text) = bench.check(&with_cake);
    assert!(code == Some(1) && text.contains("not the same now:\n  x.cake.toml\n"), "{text}");
    assert_eq!(bench.check(&[]).0, Some(0), "the files are still whole");
    fs::remove_file(bench.folder().join("x-cutting-sheet.txt")).unwrap();
    fs::write(bench.folder().join("x-cutting-sheet-a4.pdf"), "").unwrap();
    let (code, text) = bench.check(&[]);
    assert_eq!(code, Some(1));
    assert!(text.contains("Missing:\n  x-cutting-sheet.txt\n"), "{text}");
    assert!(text.contains("Changed since the kit was written:\n  x-cutting-sheet-a4.pdf\n"), "{text}");
}

#[test]
fn a_manifest_that_is_none_or_leads_elsewhere_stops_the_kit() {
    let bench = Bench::new(CAKE);
    bench.kit(&SHEETS);
    let manifest = bench.folder().join("kit.json");
    let whole = fs::read_to_string(&manifest).unwrap();
    for wrong in [
        "",
        "{}",
        &whole.replace("x-cutting-sheet.txt", "../x.cake.toml"),
        &whole.replace("_kit\": 1", "_kit\": 9"),
    ] {
        fs::write(&manifest, wrong).unwrap();
        let output = bench.kit(&SHEETS);
        assert_eq!(output.status.code(), Some(2), "{wrong}");
        assert!(said(&output.stderr).contains("is not the list of a kit"), "{output:?}");
        assert_eq!(fs::read_to_string(&manifest).unwrap(), wrong);
        assert_eq!(bench.check(&[]).0, Some(2), "{wrong}");
    }
    assert!(bench.cake().exists());
}

/// Names that are equal once they are file names, and names longer than any file name, in any script.
#[test]
fn names_that_look_alike_or_are_long_still_make_a_whole_kit() {
    let press = |name: &str, at: f64| {
        let shape = format!("{{ points = [[-4, -4], [4, -4], [0, {}]] }}", 4.0 + 0.01 * at);
        format!(
            "[[detail]]\nname = \"{name}\"\ncut = \"icing\"\n\
             outline = {{ shape = {shape}, height = 20, bearing = {at}, depth = 2, wrap = true }}\n"
        )
    };
    let details =
        [("Leaf A", 0.0), ("leaf-a", 60.0), ("LEAF A", 120.0)].map(|(name, at)| press(name, at)).concat();
    let long = [("葉".repeat(120), 180.0), (format!("{}枝", "葉".repeat(120)), 240.0)];
    let details = details + &long.map(|(name, at)| press(&name, at)).concat();
    let name = "Süßer Kuchen เค้ก ".repeat(20);
    let bench = Bench::new(&(CAKE.replace("name = \"x\"", &format!("name = \"{name}\"")) + &details));
    let output = bench.kit(&["--all"]);
    assert!(matches!(output.status.code(), Some(0 | 1)), "{output:?}");
    let files = bench.files();
    let told = said(&output.stdout);
    assert!(told.contains(&format!("Wrote {} files", files.len() - 1)), "{told}: {files:?}");
    assert!(files.iter().any(|file| file.contains("leaf-a") && file.ends_with("-2.svg")), "{files:#?}");
    assert!(files.iter().all(|file| file.rsplit('/').next().unwrap().len() <= 200), "{files:#?}");
    assert_eq!(bench.check(&[]).0, Some(0));
}

#[test]
fn a_set_takes_no_name_twice_and_none_outside_its_folder() {
    let folder = tempfile::tempdir().unwrap();
    let path = |name: &str| folder.path().join(name);
    for (one, other) in
        [("leaf.stl", "Leaf.STL"), ("caf\u{e9}", "cafe\u{301}"), ("a/b", "a/b"), ("stra\u{df}e", "strasse")]
    {
        let mut set = FileSet::in_folder(folder.path(), &|_| {}).unwrap();
        set.add(&path(one), |w| w.write_all(b"1")).unwrap();
        let error = set.add(&path(other), |w| w.write_all(b"2")).unwrap_err();
        assert!(matches!(error, ExportError::SameName { .. }), "{error}");
        let error = set.add(&path("../outside"), |w| w.write_all(b"2")).unwrap_err();
        assert!(matches!(error, ExportError::OutsideFolder { .. }), "{error}");
    }
    #[cfg(unix)]
    {
        let elsewhere = tempfile::tempdir().unwrap();
        std::os::unix::fs::symlink(elsewhere.path(), path("link")).unwrap();
        let mut set = FileSet::in_folder(folder.path(), &|_| {}).unwrap();
        let error = set.add(&path("link/file"), |w| w.write_all(b"2")).unwrap_err();
        assert!(matches!(error, ExportError::OutsideFolder { .. }), "{error}");
    }
    assert!(files::check(folder.path(), &|_| {}).unwrap().is_none());
    assert_eq!(
        fs::read_dir(folder.path()).unwrap().filter(|e| e.as_ref().unwrap().path().is_file()).count(),
        0
    );
}
