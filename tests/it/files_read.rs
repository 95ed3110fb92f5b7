//! What is read: ordinary files of bounded size, and of those that a cake file names only what lies in its folder.

#![cfg(unix)]

use std::{
    fs,
    os::unix::fs::symlink,
    path::{Path, PathBuf},
    process::{Command, Output},
    time::{Duration, Instant},
};

use crumbline::cakefile::world::Content;
use tempfile::TempDir;

const DRAWING: &str = "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"100mm\" height=\"100mm\" viewBox=\"0 0 100 100\">\
                       <path d=\"M0 0 L50 0 L60 100 L0 100 Z\"/></svg>";

/// A folder of a maker's with a folder of orders in it.
struct Place(TempDir);

impl Place {
    fn new() -> Self {
        let place = Self(tempfile::tempdir().unwrap());
        fs::create_dir(place.orders()).unwrap();
        fs::write(place.path("secret.svg"), DRAWING).unwrap();
        place
    }

    fn path(&self, name: &str) -> PathBuf {
        self.0.path().join(name)
    }

    fn orders(&self) -> PathBuf {
        self.path("orders")
    }

    /// The cake whose outline is in `file`, by the table that names it.
    fn order(&self, kind: &str, file: &str) -> PathBuf {
        let path = self.orders().join("x.cake.toml");
        let shape = match kind {
            "scanned" => format!("[shape.scanned]\nfile = \"{file}\"\nunit = \"mm\"\n"),
            "picture" => format!("[shape.turned]\npicture = {{ file = \"{file}\", height = 100 }}\n"),
            _ => format!("[shape.turned]\nsvg = {{ file = \"{file}\" }}\n"),
        };
        let tier = "[[tier]]\nname = \"one\"\n[[tier.layer]]\npan = { round = \"6 in\" }\nheight = 100\n";
        fs::write(&path, format!("crumbline = 1\nname = \"x\"\n{shape}{tier}")).unwrap();
        path
    }
}

fn run(arguments: &[&str], path: &Path) -> Output {
    let started = Instant::now();
    let output = Command::new(env!("CARGO_BIN_EXE_crumbline")).args(arguments).arg(path).output().unwrap();
    assert!(started.elapsed() < Duration::from_secs(10), "nothing that never ends was waited for");
    output
}

fn said(output: &Output) -> String {
    unfolded(&output.stderr)
}

/// Text without the marks that it is folded with.
fn unfolded(text: &[u8]) -> String {
    let text = String::from_utf8_lossy(text);
    text.split_whitespace().filter(|word| *word != "│").collect::<Vec<_>>().join(" ")
}

#[test]
fn devices_pipes_and_large_files_are_refused_with_their_line_and_the_fix() {
    let place = Place::new();
    let orders = place.orders();
    assert!(Command::new("mkfifo").arg(orders.join("pipe")).status().unwrap().success());
    for (name, content) in
        [("large.svg", Content::Drawing), ("large.png", Content::Picture), ("large.stl", Content::Model)]
    {
        fs::File::create(orders.join(name)).unwrap().set_len(content.largest() + 1).unwrap();
    }
    symlink(orders.join("pipe"), orders.join("pipe.stl")).unwrap();
    for (kind, file, why) in [
        ("svg", "/dev/zero", "no ordinary file"),
        ("svg", "pipe", "no ordinary file"),
        ("scanned", "pipe.stl", "no ordinary file"),
        ("picture", "/dev/zero", "no ordinary file"),
        ("svg", "large.svg", "larger than any drawing (16 MiB)"),
        ("picture", "large.png", "larger than any picture (256 MiB)"),
        ("scanned", "large.stl", "larger than any model (512 MiB)"),
        ("svg", ".", "it is a folder"),
    ] {
        let output = run(&["plan", "--allow-outside"], &place.order(kind, file));
        let told = said(&output);
        assert_eq!(output.status.code(), Some(2), "{file}: {told}");
        assert!(
            told.contains("x.cake.toml:4") && told.contains(why) && told.contains("help:"),
            "{file}: {told}"
        );
    }
}

#[test]
fn text_of_any_size_is_not_read() {
    let place = Place::new();
    let cake = place.order("svg", "a.svg");
    fs::File::options().write(true).open(&cake).unwrap().set_len(Content::Text.largest() + 1).unwrap();
    assert!(said(&run(&["plan"], &cake)).contains("larger than any cake file (8 MiB)"));
    assert!(said(&run(&["plan"], Path::new("/dev/zero"))).contains("no ordinary file"));
    let cake = place.order("svg", "a.svg");
    let told = said(&run(&["plan", "--pantry", "/dev/zero"], &cake));
    assert!(told.contains("no ordinary file") && told.contains("/dev/zero"), "{told}");
    let told = said(&run(&["trace", "--height", "9 in", "/dev/zero"], &place.path("out.svg")));
    assert!(told.contains("no ordinary file"), "{told}");
}

#[test]
fn a_cake_file_reads_nothing_outside_its_folder_unless_the_maker_says_so() {
    let place = Place::new();
    symlink(place.path("secret.svg"), place.orders().join("link.svg")).unwrap();
    symlink(place.0.path(), place.orders().join("up")).unwrap();
    let absolute = place.path("secret.svg").display().to_string();
    for file in ["../secret.svg", "link.svg", "up/secret.svg", &absolute, "../not-there.svg"] {
        let cake = place.order("svg", file);
        let output = run(&["plan"], &cake);
        let told = said(&output);
        assert_eq!(output.status.code(), Some(2), "{file}");
        for part in ["x.cake.toml:4", "outside the folder of the cake file", "--allow-outside"] {
            assert!(told.contains(part), "{file}: {part} in {told}");
        }
        if !file.contains("not-there") {
            assert!(matches!(run(&["plan", "--allow-outside"], &cake).status.code(), Some(0 | 1)), "{file}");
        }
    }
    // Links and detours that stay inside are as good as any name.
    fs::create_dir(place.orders().join("drawings")).unwrap();
    fs::write(place.orders().join("drawings/a.svg"), DRAWING).unwrap();
    symlink("drawings/a.svg", place.orders().join("inside.svg")).unwrap();
    for file in ["drawings/a.svg", "inside.svg", "drawings/../inside.svg", "./drawings/a.svg"] {
        assert!(matches!(run(&["plan"], &place.order("svg", file)).status.code(), Some(0 | 1)), "{file}");
    }
}

/// Orders come from others: neither an order nor what it names is read from elsewhere.
#[test]
fn a_batch_reads_only_its_folder() {
    let place = Place::new();
    fs::write(place.path("private.cake.toml"), "my own words").unwrap();
    place.order("svg", "../secret.svg");
    symlink(place.path("private.cake.toml"), place.orders().join("y.cake.toml")).unwrap();
    let output = run(&["batch"], &place.orders());
    let told = unfolded(&output.stdout);
    assert_eq!(output.status.code(), Some(1), "{told}");
    assert!(told.matches("outside the folder of the cake file").count() == 2, "{told}");
    assert!(!told.contains("my own words"), "{told}");
    fs::write(place.path("pantry.toml"), "my own words").unwrap();
    symlink(place.path("pantry.toml"), place.orders().join("pantry.toml")).unwrap();
    let told = said(&run(&["batch"], &place.orders()));
    assert!(told.contains("outside the folder") && !told.contains("my own words"), "{told}");
    // What the maker names is read wherever it lies.
    fs::write(place.path("pantry.toml"), "crumbline = 1\n[pantry]\n").unwrap();
    let pantry = place.path("pantry.toml").display().to_string();
    assert_eq!(run(&["batch", "--pantry", &pantry], &place.orders()).status.code(), Some(1));
}
