//! Names that some disk takes for one, and names that none does.
//!
//! Disks differ: those of Windows and macOS take "Leaf" and "leaf" for one name, macOS also the two ways in which
//! Unicode writes an accented letter. Names that are to stay apart everywhere must differ in more than that.

use std::{
    collections::HashSet,
    path::{Path, PathBuf},
};

use unicode_normalization::UnicodeNormalization;

/// The longest file name that is given, bytes. File systems take 255; encrypted ones fewer, and a maker may put a word
/// of their own before it.
pub const LONGEST: usize = 200;

/// Two paths with the same key are one file on some disk: composed, and with the difference of case taken out (small
/// letters of the capitals, so that ß and ss, which have the same capitals, are one).
pub fn same_name_key(path: &Path) -> String {
    let Some(text) = path.to_str() else {
        // Not Unicode: no disk folds it. The bytes in figures meet no name that is.
        return path.as_os_str().as_encoded_bytes().iter().map(|byte| format!("/{byte:02x}")).collect();
    };
    let text = if cfg!(windows) { text.replace('\\', "/") } else { text.to_owned() };
    let folded: String = text.nfd().flat_map(char::to_uppercase).flat_map(char::to_lowercase).collect();
    folded.nfc().collect()
}

/// Names for the files of a set, each given once.
#[derive(Debug, Default)]
pub struct FileNames {
    taken: HashSet<String>,
}

impl FileNames {
    /// No name given yet.
    pub fn new() -> Self {
        Self::default()
    }

    /// The path of a file in `folder` called `stem` and `ending` (with its dot), with a number behind the stem if
    /// there is one like it already: "leaf-a.stl", then "leaf-a-2.stl". A stem that is too long is cut between two
    /// characters.
    pub fn unique(&mut self, folder: impl AsRef<Path>, stem: &str, ending: &str) -> PathBuf {
        let named = |number: u64| {
            let number = if number == 1 { String::new() } else { format!("-{number}") };
            let room = LONGEST.saturating_sub(number.len() + ending.len());
            folder.as_ref().join(format!("{}{number}{ending}", cut(stem, room)))
        };
        let free = (1..).map(named).find(|path| self.taken.insert(same_name_key(path)));
        free.expect("there are more numbers than files")
    }
}

/// At most `bytes` of the beginning of `text`, cut between two characters.
pub fn cut(text: &str, bytes: usize) -> &str {
    &text[..text.floor_char_boundary(bytes)]
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn case_and_the_ways_to_write_an_accent_make_no_difference() {
        let key = |name: &str| same_name_key(Path::new(name));
        for (a, b) in [
            ("Leaf-A.stl", "leaf-a.stl"),
            ("caf\u{e9}", "cafe\u{301}"),
            ("CAF\u{c9}", "cafe\u{301}"),
            ("stra\u{df}e", "STRASSE"),
            ("\u{3c3}\u{3b1}\u{3c2}", "\u{3a3}\u{391}\u{3a3}"),
        ] {
            assert_eq!(key(a), key(b), "{a} {b}");
        }
        assert_ne!(key("leaf-a"), key("leaf-b"));
        assert_ne!(key("a/b"), key("ab"));
    }

    #[test]
    fn names_like_one_before_get_a_number() {
        let mut names = FileNames::new();
        let given =
            ["leaf-a", "Leaf-A", "leaf-a-2", "leaf-b"].map(|stem| names.unique("parts", stem, ".stl"));
        let expected = ["parts/leaf-a.stl", "parts/Leaf-A-2.stl", "parts/leaf-a-2-2.stl", "parts/leaf-b.stl"];
        assert_eq!(given, expected.map(PathBuf::from));
        assert_eq!(names.unique("beds", "leaf-a", ".stl"), Path::new("beds/leaf-a.stl"));
    }

    proptest! {
        #[test]
        fn any_names_stay_apart_and_short(stems in prop::collection::vec("\\PC{0,90}", 1..8)) {
            let mut names = FileNames::new();
            let mut keys = HashSet::new();
            for stem in stems.iter().chain(&stems) {
                let path = names.unique("", &stem.replace(['/', '\\'], "-"), ".stl");
                prop_assert!(path.as_os_str().len() <= LONGEST);
                prop_assert!(keys.insert(same_name_key(&path)));
            }
        }
    }
}
