//! Build script of the program: notes the commit that it is built from, and the features, for `--version`.

use std::{env, fs, path::Path, process::Command};

fn main() {
    let top = env::var("CARGO_MANIFEST_DIR").unwrap_or_default();
    let top = Path::new(&top);
    println!("cargo::rerun-if-changed=src/cli/build.rs");
    println!("cargo::rustc-env=CRUMBLINE_COMMIT={}", commit(top).unwrap_or_else(|| "unknown".into()));
    let on = |feature: &&str| env::var_os(format!("CARGO_FEATURE_{}", feature.to_uppercase())).is_some();
    let features: Vec<&str> = ["viewer"].into_iter().filter(on).collect();
    let features = if features.is_empty() { "none".into() } else { features.join(", ") };
    println!("cargo::rustc-env=CRUMBLINE_FEATURES={features}");
}

/// The commit that `top` stands at. `None` where git is missing, and in an archive without history, also when that was
/// unpacked within another repository.
fn commit(top: &Path) -> Option<String> {
    // Empty at the top of a repository, else the way down from there.
    if !git(top, &["rev-parse", "--show-prefix"])?.is_empty() {
        return None;
    }
    // What changes with every commit and every switch to another; the log is not kept everywhere.
    for name in ["HEAD", "logs/HEAD", "packed-refs"] {
        if let Some(file) = git(top, &["rev-parse", "--git-path", name]) {
            let file = top.join(file);
            if fs::exists(&file).unwrap_or(false) {
                println!("cargo::rerun-if-changed={}", file.display());
            }
        }
    }
    git(top, &["rev-parse", "--short=12", "HEAD"])
}

fn git(top: &Path, arguments: &[&str]) -> Option<String> {
    let output = Command::new("git").arg("-C").arg(top).args(arguments).output().ok()?;
    let text = String::from_utf8(output.stdout).ok()?;
    output.status.success().then(|| text.trim().to_owned())
}
