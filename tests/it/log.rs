//! `--log`: what is in it, what is not, and that it harms no other file.

use std::{
    fs,
    path::Path,
    process::{Command, Output},
};

use assert_cmd::prelude::*;

use crumbline::cakefile::starter;

fn run(folder: &Path, words: &[&str]) -> Output {
    let mut program = Command::cargo_bin("crumbline").unwrap();
    program.current_dir(folder).args(words).output().unwrap()
}

#[test]
fn a_log_tells_what_was_done_and_how_it_ended_but_no_folders() {
    let place = tempfile::tempdir().unwrap();
    let place = place.path();
    let private = place.join("jane doe/for a friend");
    fs::create_dir_all(&private).unwrap();
    fs::write(private.join("drum.cake.toml"), starter("Drum")).unwrap();
    let cake = private.join("drum.cake.toml");
    let cake = cake.to_str().unwrap();
    let above = place.join("jane doe");
    // By a path from the root and by one from here, with a log that is gone on with.
    assert_eq!(run(&above, &["plan", cake, "--log", "run.log"]).status.code(), Some(0));
    let words = ["plan", "for a friend/drum.cake.toml", "--out=for a friend/out", "-v", "--log", "run.log"];
    assert_eq!(run(&above, &words).status.code(), Some(0));
    let missing = private.join("none.cake.toml");
    assert_eq!(run(&above, &["plan", missing.to_str().unwrap(), "--log", "run.log"]).status.code(), Some(2));
    let log = fs::read_to_string(above.join("run.log")).unwrap();
    let runs: Vec<&str> = log.split("A log of crumbline ").skip(1).collect();
    assert_eq!(runs.len(), 3, "{log}");
    for (run, code) in runs.iter().zip([0, 0, 2]) {
        assert!(run.starts_with(concat!(env!("CARGO_PKG_VERSION"), ", commit ")), "{run}");
        assert!(
            run.contains(&format!("\nsystem: {} ", std::env::consts::OS))
                && run.contains("\ncommand: plan\n")
        );
        assert!(run.trim_end().ends_with(&format!("s ended with exit code {code}")), "{run}");
    }
    let size = starter("Drum").len();
    assert!(
        runs[..2].iter().all(|run| run.contains(&format!("read drum.cake.toml ({size} bytes)"))),
        "{log}"
    );
    assert!(runs[0].contains("carving the layers"), "{log}");
    assert!(runs[1].contains("wrote …/"), "{log}");
    assert!(runs[2].contains("cannot read …/none.cake.toml: there is no such"), "{log}");
    for private in ["jane", "doe", "friend", place.to_str().unwrap()] {
        assert!(!log.contains(private), "\"{private}\" in\n{log}");
    }
}

#[test]
fn notes_are_in_the_log_of_a_quiet_run() {
    let place = tempfile::tempdir().unwrap();
    let place = place.path();
    fs::write(place.join("drum.cake.toml"), starter("Drum")).unwrap();
    let output = run(place, &["plan", "drum.cake.toml", "--out", "out", "--quiet", "--log", "run.log"]);
    assert_eq!(String::from_utf8_lossy(&output.stderr), "");
    let log = fs::read_to_string(place.join("run.log")).unwrap();
    assert!(log.contains(" s wrote "), "{log}");
}

#[test]
fn a_file_that_is_no_log_stays_as_it_is() {
    let place = tempfile::tempdir().unwrap();
    let place = place.path();
    fs::write(place.join("drum.cake.toml"), starter("Drum")).unwrap();
    for log in ["drum.cake.toml", ".", "no/such/folder/run.log"] {
        let output = run(place, &["plan", "drum.cake.toml", "--log", log]);
        let said = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(output.status.code(), Some(2), "{said}");
        assert!(said.contains(log) && said.contains("fix: give --log"), "{said}");
        assert!(output.stdout.is_empty());
    }
    assert_eq!(fs::read_to_string(place.join("drum.cake.toml")).unwrap(), starter("Drum"));
}
