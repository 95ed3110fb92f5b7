//! The maker's files on disk.

use std::path::Path;

use cakefile::world::{Content, Disk, World};

/// Devices and pipes that never end are refused, and so is what is larger than any model.
#[cfg(unix)]
#[test]
fn only_ordinary_files_are_read() {
    let folder = tempfile::tempdir().unwrap();
    let pipe = folder.path().join("pipe");
    assert!(std::process::Command::new("mkfifo").arg(&pipe).status().unwrap().success());
    let large = folder.path().join("large.stl");
    std::fs::File::create(&large).unwrap().set_len(Content::Model.largest() + 1).unwrap();
    for (path, why) in [
        (Path::new("/dev/zero"), "no ordinary file"),
        (&pipe, "no ordinary file"),
        (&large, "larger than any model (512 MiB)"),
        (folder.path(), "folder"),
    ] {
        let error = Disk::new().read(path, Content::Model).unwrap_err().to_string();
        assert!(error.contains(why), "{}: {error}", path.display());
    }
    // Written twice within one tick of the clock, with the same size.
    let (disk, file) = (Disk::new(), folder.path().join("a"));
    for text in ["one", "two", "six"] {
        std::fs::write(&file, text).unwrap();
        assert_eq!(&*disk.read(&file, Content::Text).unwrap().bytes, text.as_bytes());
    }
}
