//! Where things lie in the repository, whichever package asks.

// The tests of each member use their part of it.
#![allow(dead_code)]

use std::path::{Path, PathBuf};

/// The top of the repository.
pub fn root() -> PathBuf {
    let package = Path::new(env!("CARGO_MANIFEST_DIR"));
    let top = package.ancestors().find(|folder| folder.join("tests/reference").is_dir());
    top.expect("a package of the repository").to_owned()
}

/// The cake file of the example called `name`.
pub fn example(name: &str) -> PathBuf {
    root().join(format!("assets/examples/{name}/{name}.cake.toml"))
}
