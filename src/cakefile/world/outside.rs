//! Files that a cake file may not name: orders come from others, and what lies elsewhere on the maker's disk is none of
//! their business.

use std::{
    fmt, io,
    path::{Component, Path},
};

/// A file that a cake file names lies outside its folder.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct OutsideFolder;

impl fmt::Display for OutsideFolder {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("it lies outside the folder of the cake file")
    }
}

impl std::error::Error for OutsideFolder {}

impl From<OutsideFolder> for io::Error {
    fn from(outside: OutsideFolder) -> Self {
        Self::new(io::ErrorKind::PermissionDenied, outside)
    }
}

/// Whether `name` goes only down from where it starts.
pub(super) fn goes_down(name: &Path) -> bool {
    name.components().all(|part| matches!(part, Component::Normal(_) | Component::CurDir))
}

/// What a maker can do about a file that a cake file names and that cannot be read.
pub fn fix(error: &io::Error) -> &'static str {
    if error.get_ref().is_some_and(|inner| inner.is::<OutsideFolder>()) {
        return "copy it into the folder of the cake file, or allow it with --allow-outside if you trust this cake file";
    }
    match error.kind() {
        io::ErrorKind::NotFound => "give its place relative to the cake file",
        io::ErrorKind::IsADirectory => "name the file in it",
        io::ErrorKind::FileTooLarge => "make it smaller, or check that it is the file you mean",
        io::ErrorKind::InvalidInput => "name an ordinary file: save what you need as one",
        io::ErrorKind::PermissionDenied => "check who may read the file",
        _ => "give its place relative to the cake file, and check the file and the disk",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_that_go_up_or_start_elsewhere_do_not_go_down() {
        for (name, down) in [
            ("a.svg", true),
            ("drawings/a.svg", true),
            ("./a.svg", true),
            ("../a.svg", false),
            ("a/../../b.svg", false),
            ("/a.svg", false),
        ] {
            assert_eq!(goes_down(Path::new(name)), down, "{name}");
        }
    }
}
