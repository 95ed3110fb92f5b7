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

/// Whoever starts the program with `CRUMBLINE_PROGRESS`, as the window does, hears of each step in a line, up to the
/// last; nobody else does.
#[test]
fn a_kit_tells_its_steps_in_lines_where_that_is_wanted() {
    let folder = tempfile::tempdir().unwrap();
    let run = |out: &str, lines: bool| {
        let mut command = std::process::Command::new(env!("CARGO_BIN_EXE_crumbline"));
        command
            .arg("kit")
            .arg(crate::repository::example("garden-urn"))
            .arg("--out")
            .arg(folder.path().join(out));
        if lines {
            command.env("CRUMBLINE_PROGRESS", "lines");
        }
        let output = command.output().unwrap();
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
        String::from_utf8_lossy(&output.stderr).into_owned()
    };
    assert!(!run("quiet", false).contains("progress\t"));
    let said = run("told", true);
    let last = said.lines().filter_map(|line| line.strip_prefix("progress\twriting\t")).next_back();
    let (done, steps) = last.and_then(|counts| counts.split_once('\t')).expect("the writing is told");
    assert!(done == steps && done.parse::<u32>().is_ok_and(|steps| steps > 5), "{said}");
}
