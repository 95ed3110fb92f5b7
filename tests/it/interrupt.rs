//! Ctrl-C while files are written.
#![cfg(unix)]

use std::{
    fs,
    path::PathBuf,
    process::{Command, Stdio},
    thread,
    time::{Duration, Instant},
};

use crumbline::{cli::interrupt, export::FileSet};
use tempfile::tempdir;

use crate::folders::everything_in;

/// Names the folder to write into, for the process that is to be broken off.
const BROKEN_OFF_IN: &str = "CRUMBLINE_TEST_BROKEN_OFF_IN";

#[test]
fn control_c_removes_what_is_unfinished() {
    let folder = tempdir().unwrap();
    let started = folder.path().join("started");
    let mut child = Command::new(std::env::current_exe().unwrap())
        .args(["--exact", "interrupt::writes_until_it_is_broken_off", "--ignored"])
        .env(BROKEN_OFF_IN, folder.path())
        .stdout(Stdio::null())
        .spawn()
        .unwrap();
    let deadline = Instant::now() + Duration::from_secs(60);
    while !started.exists() {
        assert!(Instant::now() < deadline && child.try_wait().unwrap().is_none(), "it never began to write");
        thread::sleep(Duration::from_millis(10));
    }
    assert!(everything_in(folder.path()).iter().any(|name| name.ends_with(".part")));
    assert!(Command::new("kill").args(["-INT", &child.id().to_string()]).status().unwrap().success());
    assert_eq!(child.wait().unwrap().code(), Some(130));
    assert_eq!(everything_in(folder.path()).len(), 1, "only the sign that it had begun");
}

#[test]
#[ignore = "waits to be broken off; the test above starts it"]
fn writes_until_it_is_broken_off() {
    let Some(folder) = std::env::var_os(BROKEN_OFF_IN).map(PathBuf::from) else { return };
    interrupt::install().unwrap();
    let mut set = FileSet::new();
    set.add(&folder.join("new/first"), |w| w.write_all(b"complete, but not placed")).unwrap();
    let _ = set.add(&folder.join("new/second"), |w| {
        w.write_all(&[1; 1 << 20])?;
        fs::write(folder.join("started"), "")?;
        thread::sleep(Duration::from_secs(60));
        Ok(())
    });
}
