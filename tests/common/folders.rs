//! What is in folders.

// The tests of each member use their part of it.
#![allow(dead_code)]

use std::{fs, path::Path};

/// Every file and folder under `folder`.
pub fn everything_in(folder: &Path) -> Vec<String> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            found.extend(everything_in(&path));
        }
        found.push(path.display().to_string());
    }
    found
}
