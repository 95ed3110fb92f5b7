//! Words of the files: what a key is called, and other names under which it is understood.
//!
//! One thing has one name, in files, messages and pages. Keys that were called otherwise in an older format, and
//! spellings that other makers use, are read as the key that they mean ([`super::upgrade`]).

/// Keys by another name: that name, and the key that it means wherever such a key may stand.
pub(super) const KEYS: &[(&str, &str)] = &[
    // Spellings and words of other countries.
    ("color", "colour"),
    ("center", "centre"),
    ("center_dowel", "centre_dowel"),
    ("tin", "pan"),
];

/// A key that stands in another table since a later format.
pub(super) struct Moved {
    /// The table where it stood, at the top of a cake file or under `[pantry]`.
    pub from: (&'static str, &'static str),
    /// The table where it stands, and its name there.
    pub to: (&'static str, &'static str),
}

/// Keys that stand in other tables since format 2.
pub(super) const MOVED: &[Moved] = &[];

/// The key that `name` means in a table that holds `known` keys, if it is another name of one of them.
pub(super) fn key_for(name: &str, known: impl Fn(&str) -> bool) -> Option<&'static str> {
    if known(name) {
        return None;
    }
    KEYS.iter().find(|(other, key)| *other == name && known(key)).map(|(_, key)| *key)
}
