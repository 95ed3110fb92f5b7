//! Who may know whom. Cargo holds the one direction between members; here stands what Cargo cannot hold.

use std::{
    collections::BTreeMap,
    fs,
    path::{Path, PathBuf},
};

/// The members from the bottom up; each may name only those before it.
const MEMBERS: [&str; 8] = ["geom", "cakefile", "formats", "plan", "make", "shop", "panels", "studio"];

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// Every file of Rust under `src`, by its path from there.
fn sources() -> BTreeMap<String, String> {
    fn walk(folder: &Path, found: &mut Vec<PathBuf>) {
        for entry in fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                walk(&path, found);
            } else if path.extension().is_some_and(|ending| ending == "rs") {
                found.push(path);
            }
        }
    }
    let (src, mut found) = (root().join("src"), Vec::new());
    walk(&src, &mut found);
    assert!(found.len() > 300, "{} files", found.len());
    let name = |path: &PathBuf| path.strip_prefix(&src).unwrap().to_string_lossy().replace('\\', "/");
    found.iter().map(|path| (name(path), fs::read_to_string(path).unwrap())).collect()
}

/// The text without what only tests compile, and without comments.
fn code(text: &str) -> String {
    let before_tests = text.split("#[cfg(test)]\nmod tests").next().unwrap_or(text);
    before_tests.lines().filter(|line| !line.trim_start().starts_with("//")).collect::<Vec<_>>().join("\n")
}

#[test]
fn members_name_only_those_below_them() {
    for (place, member) in MEMBERS.iter().enumerate() {
        let manifest = fs::read_to_string(root().join(format!("src/{member}/Cargo.toml"))).unwrap();
        let manifest: toml::Table = manifest.parse().unwrap();
        let named = manifest["dependencies"].as_table().unwrap();
        for above in &MEMBERS[place..] {
            assert!(!named.contains_key(*above), "{member} names {above}");
        }
        assert_eq!(manifest["lints"]["workspace"].as_bool(), Some(true), "{member}");
    }
}

#[test]
fn only_the_studio_names_bevy() {
    for (file, text) in sources() {
        if !file.starts_with("studio/") {
            let code = code(&text);
            assert!(!code.contains("bevy"), "{file}");
            assert!(file.starts_with("panels/") || !code.contains("egui"), "{file}");
        }
    }
    for member in MEMBERS.iter().filter(|member| **member != "studio") {
        let manifest = fs::read_to_string(root().join(format!("src/{member}/Cargo.toml"))).unwrap();
        assert!(!manifest.contains("bevy"), "{member}");
    }
}

/// Disk, clock, screen and environment are the program's and the window's; the rest is handed what it needs.
#[test]
fn nothing_below_the_program_touches_disk_clock_or_screen() {
    /// Where files are read and written, for whoever asks; and what the window keeps and runs for its user.
    const FILES: [&str; 14] = [
        "cakefile/world/disk.rs",
        "formats/export/files",
        "panels/files.rs",
        "panels/maker.rs",
        "panels/pages.rs",
        "panels/pantry_panel.rs",
        "panels/recovery.rs",
        "panels/saving.rs",
        "panels/settings.rs",
        "panels/stack/finder.rs",
        "panels/system_dialog.rs",
        "panels/workshop/dialogs.rs",
        "panels/workshop/doing.rs",
        "panels/workshop/keep.rs",
    ];
    const TOUCHES: [&str; 8] = [
        "std::fs",
        "File::",
        "SystemTime",
        "Instant::",
        "std::env",
        "println!",
        "eprintln!",
        "Timestamp::now",
    ];
    let mut looked = 0;
    for (file, text) in sources() {
        // Modules that only tests compile have such names.
        let tests = file.split('/').any(|part| part == "tests" || part.starts_with("test_"));
        let above = ["studio/", "cli/", "main.rs", "lib.rs"].iter().any(|room| file.starts_with(room));
        if tests || above || FILES.iter().any(|room| file.starts_with(room)) {
            continue;
        }
        looked += 1;
        let code = code(&text);
        for touch in TOUCHES {
            // `CakeFile::` and the like end in the same letters.
            let found = code.match_indices(touch).any(|(at, _)| {
                let before = code[..at].chars().next_back().unwrap_or(' ');
                !before.is_alphanumeric() && before != '_'
            });
            assert!(!found, "{file} names {touch}");
        }
    }
    assert!(looked > 200, "{looked} files");
}
