//! Bars of progress.

use crumbline::{cli::progress::ProgressBars, export::write_model};

use crate::models::small_cake;

/// Says that this process is the one to be listened to.
const SHOWS_BARS: &str = "CRUMBLINE_TEST_SHOWS_BARS";

#[test]
fn bars_print_nothing_into_a_pipe() {
    let output = std::process::Command::new(std::env::current_exe().unwrap())
        .args(["--exact", "progress::shows_bars", "--ignored", "--nocapture"])
        .env(SHOWS_BARS, "1")
        .output()
        .unwrap();
    assert!(output.status.success());
    assert!(String::from_utf8_lossy(&output.stdout).contains("1 passed"), "it ran");
    assert_eq!(String::from_utf8_lossy(&output.stderr), "");
}

#[test]
#[ignore = "draws on standard error; the test above starts it"]
fn shows_bars() {
    if std::env::var_os(SHOWS_BARS).is_some() {
        let folder = tempfile::tempdir().unwrap();
        write_model(&small_cake(), &folder.path().join("cake.obj"), &ProgressBars::new()).unwrap();
    }
}
