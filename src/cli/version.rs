//! Which program this is: version, commit and features, as `--version`, reports of faults and logs tell them.

/// What `--version` says behind the program's name: the version, then a line each for commit and features. The commit is
/// "unknown" where the program was built from an archive without history, the features "none" without window and
/// pictures.
pub const LONG: &str = concat!(
    env!("CARGO_PKG_VERSION"),
    "\ncommit: ",
    env!("CRUMBLINE_COMMIT"),
    "\nfeatures: ",
    env!("CRUMBLINE_FEATURES")
);

/// The same in one line.
pub const LINE: &str = concat!(
    env!("CARGO_PKG_VERSION"),
    ", commit ",
    env!("CRUMBLINE_COMMIT"),
    ", features ",
    env!("CRUMBLINE_FEATURES")
);
