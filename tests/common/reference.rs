//! The scripts of `tests/reference`, in the Python environment that `venv.sh` makes there.

// The tests of each member use their part of it.
#![allow(dead_code)]

use std::{
    ffi::OsStr,
    path::{Path, PathBuf},
    process::Command,
};

use serde_json::Value;

use crate::repository::root;

/// Where the scripts are.
pub fn folder() -> PathBuf {
    root().join("tests/reference")
}

/// The Python of the references, if it is there.
///
/// # Panics
/// When it is not and `CRUMBLINE_REQUIRE_REFERENCE` is 1.
pub fn python() -> Option<PathBuf> {
    let venv =
        std::env::var_os("CRUMBLINE_REFERENCE_VENV").map_or_else(|| folder().join("venv"), PathBuf::from);
    let python = venv.join(if cfg!(windows) { "Scripts/python.exe" } else { "bin/python" });
    if python.exists() {
        return Some(python);
    }
    let required = std::env::var("CRUMBLINE_REQUIRE_REFERENCE").is_ok_and(|value| value == "1");
    assert!(!required, "no Python reference at {python:?}; make it with tests/reference/venv.sh");
    println!("skipped: no Python reference; make it with tests/reference/venv.sh");
    None
}

/// What a script prints, as JSON.
///
/// # Panics
/// When it fails or prints something else.
pub fn asked<A: AsRef<OsStr>>(python: &Path, script: &str, arguments: &[A]) -> Value {
    let output =
        Command::new(python).arg(folder().join(script)).args(arguments).output().expect("Python runs");
    assert!(output.status.success(), "{script}: {}", String::from_utf8_lossy(&output.stderr));
    serde_json::from_slice(&output.stdout).expect("JSON")
}

/// The number at `key`.
///
/// # Panics
/// When there is none.
pub fn number(found: &Value, key: &str) -> f64 {
    found[key].as_f64().unwrap_or_else(|| panic!("no {key} in {found}"))
}
