//! A file is whole or not there, whatever goes wrong.

use std::{
    fs,
    io::{self, Write},
    path::Path,
};

use formats::export::{ExportError, FileSet, write_atomic};
use tempfile::tempdir;

use crate::folders::everything_in;

fn broken(w: &mut dyn Write) -> io::Result<()> {
    w.write_all(&[1; 1 << 20])?;
    Err(io::Error::other("the pen broke"))
}

#[test]
fn folders_are_made_and_the_file_is_there() {
    let folder = tempdir().unwrap();
    let path = folder.path().join("a/b/c.txt");
    write_atomic(&path, |w| w.write_all(b"whole")).unwrap();
    assert_eq!(fs::read(&path).unwrap(), b"whole");
    assert_eq!(everything_in(folder.path()).len(), 3, "nothing but the file and its folders");
}

#[test]
fn a_failed_write_leaves_the_old_file_and_nothing_else() {
    let folder = tempdir().unwrap();
    let path = folder.path().join("old.txt");
    fs::write(&path, "old").unwrap();
    let error = write_atomic(&path, broken).unwrap_err();
    assert!(matches!(&error, ExportError::Write { source, .. } if source.to_string() == "the pen broke"));
    assert_eq!(fs::read_to_string(&path).unwrap(), "old");
    assert!(write_atomic(&folder.path().join("new/deep/file"), broken).is_err());
    assert_eq!(everything_in(folder.path()).len(), 1);
}

#[test]
fn a_panic_while_writing_leaves_nothing() {
    let folder = tempdir().unwrap();
    let path = folder.path().join("new/file");
    let panicked = std::panic::catch_unwind(|| write_atomic(&path, |_| panic!("on purpose")));
    assert!(panicked.is_err());
    assert!(everything_in(folder.path()).is_empty());
}

#[test]
fn a_set_appears_together_or_not_at_all() {
    let folder = tempdir().unwrap();
    let [one, two] = ["one", "two"].map(|name| folder.path().join(name));
    let mut set = FileSet::new();
    set.add(&one, |w| w.write_all(b"1")).unwrap();
    assert!(!one.exists(), "not before the set is whole");
    assert!(set.add(&two, broken).is_err());
    drop(set);
    assert!(everything_in(folder.path()).is_empty());

    let mut set = FileSet::new();
    set.add(&one, |w| w.write_all(b"1")).unwrap();
    set.add(&two, |w| w.write_all(b"2")).unwrap();
    assert_eq!(set.commit().unwrap(), [one.clone(), two.clone()]);
    assert_eq!((fs::read(one).unwrap(), fs::read(two).unwrap()), (b"1".to_vec(), b"2".to_vec()));
    assert_eq!(everything_in(folder.path()).len(), 2);
}

#[test]
fn a_set_whose_last_file_cannot_be_placed_puts_the_old_ones_back() {
    let folder = tempdir().unwrap();
    let [kept, fresh, blocked] = ["kept", "fresh", "blocked"].map(|name| folder.path().join(name));
    fs::write(&kept, "old").unwrap();
    let mut set = FileSet::new();
    for path in [&kept, &fresh, &blocked] {
        set.add(path, |w| w.write_all(b"new")).unwrap();
    }
    // Someone makes a folder of that name before the set is whole.
    fs::create_dir(&blocked).unwrap();
    assert!(set.commit().is_err());
    assert_eq!(fs::read_to_string(&kept).unwrap(), "old");
    assert!(!fresh.exists());
    assert_eq!(everything_in(folder.path()).len(), 2);
}

#[test]
fn folders_and_places_below_a_file_are_refused() {
    let folder = tempdir().unwrap();
    for path in [folder.path().to_owned(), folder.path().join("new/"), folder.path().join("..")] {
        let error = write_atomic(&path, |w| w.write_all(b"x")).unwrap_err();
        assert!(matches!(error, ExportError::IsFolder { .. }), "{error}");
    }
    fs::write(folder.path().join("file"), "").unwrap();
    let error = write_atomic(&folder.path().join("file/below"), |w| w.write_all(b"x")).unwrap_err();
    assert!(matches!(error, ExportError::NoFolder { .. }), "{error}");
    assert_eq!(everything_in(folder.path()).len(), 1);
}

#[test]
fn a_read_only_file_is_not_replaced() {
    let folder = tempdir().unwrap();
    let path = folder.path().join("mine");
    fs::write(&path, "mine").unwrap();
    let mut permissions = fs::metadata(&path).unwrap().permissions();
    permissions.set_readonly(true);
    fs::set_permissions(&path, permissions).unwrap();
    let error = write_atomic(&path, |w| w.write_all(b"x")).unwrap_err();
    assert!(matches!(error, ExportError::ReadOnly { .. }), "{error}");
    assert_eq!(fs::read_to_string(&path).unwrap(), "mine");
}

#[cfg(unix)]
mod unix {
    use std::{
        os::unix::fs::{PermissionsExt, symlink},
        path::PathBuf,
        process::Command,
    };

    use super::*;

    #[test]
    fn a_device_is_never_replaced() {
        let error = write_atomic(Path::new("/dev/null"), |w| w.write_all(b"x")).unwrap_err();
        assert!(matches!(error, ExportError::NotOrdinary { .. }), "{error}");
    }

    #[test]
    fn a_link_stays_a_link_and_its_file_is_replaced() {
        let folder = tempdir().unwrap();
        let [file, link] = ["file", "link"].map(|name| folder.path().join(name));
        fs::write(&file, "old").unwrap();
        symlink(&file, &link).unwrap();
        write_atomic(&link, |w| w.write_all(b"new")).unwrap();
        assert!(link.is_symlink());
        assert_eq!(fs::read_to_string(&file).unwrap(), "new");
    }

    #[test]
    fn permissions_are_those_of_any_new_file_or_of_the_old_one() {
        let folder = tempdir().unwrap();
        let mode = |path: &Path| fs::metadata(path).unwrap().permissions().mode() & 0o777;
        let [plain, ours] = ["plain", "ours"].map(|name| folder.path().join(name));
        fs::write(&plain, "").unwrap();
        write_atomic(&ours, |w| w.write_all(b"1")).unwrap();
        assert_eq!(mode(&ours), mode(&plain));
        fs::set_permissions(&ours, fs::Permissions::from_mode(0o640)).unwrap();
        write_atomic(&ours, |w| w.write_all(b"2")).unwrap();
        assert_eq!(mode(&ours), 0o640);
    }

    #[test]
    fn a_folder_that_takes_no_files_is_named() {
        let folder = tempdir().unwrap();
        let shut = folder.path().join("shut");
        fs::create_dir(&shut).unwrap();
        fs::set_permissions(&shut, fs::Permissions::from_mode(0o555)).unwrap();
        // Permissions do not stop the superuser; a file system mounted read-only does.
        let mounted = fs::write(shut.join("probe"), "").is_ok();
        let _mount = match mounted.then(|| Mount::at(&shut, "ro")) {
            Some(None) => {
                return println!("skipped: permissions do not bind this user, who cannot mount either");
            }
            mount => mount,
        };
        let error = write_atomic(&shut.join("cake.stl"), |w| w.write_all(b"x")).unwrap_err();
        assert!(
            matches!(&error, ExportError::FolderNotWritable { folder, .. } if *folder == shut),
            "{error}"
        );
        let error = write_atomic(&shut.join("new/cake.stl"), |w| w.write_all(b"x")).unwrap_err();
        assert!(matches!(error, ExportError::NoFolder { .. }), "{error}");
    }

    #[test]
    fn a_full_disk_is_told_and_left_as_it_was() {
        let folder = tempdir().unwrap();
        let Some(_mount) = Mount::at(folder.path(), "size=256k") else {
            return println!("skipped: this user cannot mount a small disk");
        };
        let path = folder.path().join("cake.stl");
        write_atomic(&path, |w| w.write_all(b"small")).unwrap();
        let error = write_atomic(&path, |w| w.write_all(&[7; 1 << 20])).unwrap_err();
        assert!(matches!(error, ExportError::DiskFull { .. }), "{error}");
        assert_eq!(fs::read(&path).unwrap(), b"small");
        assert_eq!(everything_in(folder.path()).len(), 1);
    }

    /// A file system in memory, for as long as this lives.
    struct Mount(PathBuf);

    impl Mount {
        /// `None` when this user, or this system, cannot.
        fn at(folder: &Path, options: &str) -> Option<Self> {
            let arguments = ["-t", "tmpfs", "-o", options, "tmpfs"];
            let output = Command::new("mount").args(arguments).arg(folder).output();
            output.is_ok_and(|output| output.status.success()).then(|| Self(folder.to_owned()))
        }
    }

    impl Drop for Mount {
        fn drop(&mut self) {
            let _ = Command::new("umount").arg(&self.0).status();
        }
    }
}
