//! `--version` tells which program it is, also where there is no history to tell it from.

use std::{path::Path, process::Command};

use assert_cmd::prelude::*;

use crate::repository::root;

fn printed(command: &mut Command) -> String {
    let output = command.output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap()
}

/// The commit that the repository stands at, as git says it.
fn head() -> Option<String> {
    let output = Command::new("git").arg("-C").arg(root()).args(["rev-parse", "HEAD"]).output().ok()?;
    output.status.success().then(|| String::from_utf8(output.stdout).unwrap().trim().to_owned())
}

#[test]
fn version_commit_and_features_are_told() {
    let program = || Command::cargo_bin("crumbline").unwrap();
    let said = printed(program().arg("--version"));
    let commit = head().map_or_else(|| "unknown".to_owned(), |head| head[..12].to_owned());
    let features = if cfg!(feature = "viewer") { "viewer" } else { "none" };
    let version = env!("CARGO_PKG_VERSION");
    assert_eq!(said, format!("crumbline {version}\ncommit: {commit}\nfeatures: {features}\n"));
    assert_eq!(printed(program().arg("-V")), format!("crumbline {version}\n"));
}

#[test]
fn an_archive_without_history_has_no_commit() {
    let folder = tempfile::tempdir().unwrap();
    let script = folder.path().join("build");
    printed(
        Command::new("rustc")
            .arg("--edition=2024")
            .arg("-o")
            .arg(&script)
            .arg(root().join("src/cli/build.rs")),
    );
    let noted = |top: &Path| {
        let said = printed(Command::new(&script).env("CARGO_MANIFEST_DIR", top));
        let line = said.lines().find_map(|line| line.strip_prefix("cargo::rustc-env=CRUMBLINE_COMMIT="));
        line.unwrap_or_else(|| panic!("{said}")).to_owned()
    };
    let archive = folder.path().join("crumbline-1");
    std::fs::create_dir(&archive).unwrap();
    assert_eq!(noted(&archive), "unknown");
    if let Some(head) = head() {
        assert_eq!(noted(&root()), head[..12]);
        // Unpacked within another repository, whose commit is none of ours.
        assert_eq!(noted(&root().join("src")), "unknown");
    }
}
