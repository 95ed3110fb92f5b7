//! A name for what a maker changed, so that a new file can have the old name.

use std::path::{Path, PathBuf};

/// A name beside `path` that is not taken: "list.txt" becomes "list-yours.txt", then "list-yours-2.txt".
/// `promised` tells whether a name that is not there yet is going to be.
pub(super) fn free_name(path: &Path, promised: impl Fn(&Path) -> bool) -> PathBuf {
    let stem = path.file_stem().unwrap_or_default().to_string_lossy().into_owned();
    let ending = path.extension().map_or_else(String::new, |e| format!(".{}", e.to_string_lossy()));
    let named = |number: u32| {
        let number = if number == 1 { String::new() } else { format!("-{number}") };
        path.with_file_name(format!("{stem}-yours{number}{ending}"))
    };
    let mut names = (1..).map(named);
    let free = |name: &PathBuf| name.symlink_metadata().is_err() && !promised(name);
    names.find(free).expect("there are more numbers than files")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_first_free_name_is_taken() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("list.v2.txt");
        assert_eq!(free_name(&file, |_| false), folder.path().join("list.v2-yours.txt"));
        std::fs::write(folder.path().join("list.v2-yours.txt"), "").unwrap();
        assert_eq!(free_name(&file, |_| false), folder.path().join("list.v2-yours-2.txt"));
        assert_eq!(free_name(&folder.path().join("list"), |_| false), folder.path().join("list-yours"));
    }
}
