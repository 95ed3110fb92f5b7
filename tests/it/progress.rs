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

/// On a terminal a plan says what it does while it works, and clears it away.
#[test]
fn a_plan_says_what_it_does() {
    let cake = crate::repository::example("boulder");
    let program = env!("CARGO_BIN_EXE_crumbline");
    // util-linux's `script` gives a command a terminal.
    let output = std::process::Command::new("script")
        .args(["-qec", &format!("{program} plan {}", cake.display()), "/dev/null"])
        .env("TERM", "xterm")
        .output();
    let Ok(output) = output else {
        assert!(std::env::var_os("CRUMBLINE_REQUIRE_REFERENCE").is_none(), "no `script`");
        return;
    };
    let text = String::from_utf8_lossy(&output.stdout);
    for stage in ["reading the shape", "carving the layers", "checking that it stands"] {
        assert!(text.contains(stage), "{stage}: {text}");
    }
    // The line that a bar stood on is erased before the report.
    let (bars, report) = text.rsplit_once("\u{1b}[2K").expect("a line is erased");
    assert!(bars.contains("carving the layers") && report.contains("Boulder"), "{text}");
}
