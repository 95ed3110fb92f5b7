//! When the program itself fails: one plain sentence, an exit code of its own, and a report.
//!
//! The boundary round every command is run in a process of its own: this test program again, with one test that fails on
//! purpose within it.

use std::{
    env, fs, io,
    path::{Path, PathBuf},
    process::{Command, Output},
    sync::Arc,
};

use cakefile::{
    CakeFile,
    world::{Content, FileBytes, Memory, World},
};
use crumbline::cli::{
    error::CliError,
    fault::{FAULT, Job, guarded},
    run::Outcome,
};
use geom::{Cancel, progress::NoProgress};
use plan::{Source, pantry::Pantry};
use rayon::prelude::*;
use shop::batch::Batch;

use crate::cakes::small_cake;

const HOW: &str = "CRUMBLINE_TEST_FAULT";
const CAKE: &str = "CRUMBLINE_TEST_CAKE";

/// Run by the others in a process of its own.
#[test]
#[ignore = "fails on purpose: run by the other tests in a process of its own"]
fn within_the_boundary() {
    let (Ok(how), Ok(cake)) = (env::var(HOW), env::var(CAKE)) else { return };
    let output = Path::new(&cake).with_file_name("out");
    let job = Job { command: "plan", cake: Some(Path::new(&cake)), output: Some(&output) };
    let code = guarded(job, || fails(&how));
    std::process::exit(code.into());
}

fn fails(how: &str) -> Result<Outcome, CliError> {
    match how {
        "panics" => panic!("on purpose"),
        "out of bounds" => {
            let none: Vec<u32> = Vec::new();
            print!("{}", none[how.len()]);
        }
        "on a worker" => (0..1000).into_par_iter().for_each(|i| assert!(i != 777, "on purpose")),
        "on all workers" => (0..1000).into_par_iter().for_each(|_| panic!("on purpose")),
        "on a thread" => {
            let done = std::thread::scope(|scope| scope.spawn(|| panic!("on purpose")).join());
            done.unwrap_or_else(|fault| std::panic::resume_unwind(fault));
        }
        _ => return Err(CliError::Usage { what: "a wrong flag".into(), fix: "leave it out".into() }),
    }
    Ok(Outcome::Sound)
}

fn run(how: &str, cake: &Path, folder: &Path) -> Output {
    Command::new(env::current_exe().unwrap())
        .args(["faults::within_the_boundary", "--exact", "--ignored", "--nocapture"])
        .env(HOW, how)
        .env(CAKE, cake)
        .env("RUST_BACKTRACE", "full")
        .env("TMPDIR", folder)
        .output()
        .unwrap()
}

fn reports(folder: &Path) -> Vec<PathBuf> {
    let all = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
    all.filter(|path| path.file_name().unwrap().to_string_lossy().starts_with("crumbline-report-")).collect()
}

#[test]
fn a_panic_is_one_sentence_an_exit_code_and_a_report() {
    for how in ["panics", "out of bounds", "on a worker", "on all workers", "on a thread"] {
        let folder = tempfile::tempdir().unwrap();
        let cake = folder.path().join("secret-client.cake.toml");
        fs::write(&cake, small_cake("mm")).unwrap();
        let done = run(how, &cake, folder.path());
        let said = String::from_utf8(done.stderr).unwrap();
        assert_eq!(done.status.code(), Some(i32::from(FAULT)), "{how}: {said}");
        assert_eq!(said.lines().count(), 1, "{how}: {said}");
        for rust in ["panicked", "backtrace", "unwrap", "src/"] {
            assert!(!said.contains(rust), "{how}: {said}");
        }
        let found = reports(folder.path());
        let [report] = &found[..] else { panic!("{how}: {found:?}") };
        assert!(said.contains(&report.display().to_string()), "{how}: {said}");
        let text = fs::read_to_string(report).unwrap();
        assert!(text.contains(env!("CARGO_PKG_VERSION")) && text.contains(env::consts::OS), "{how}: {text}");
        assert!(text.contains("faults.rs:"), "{how}: {text}");
        assert!(text.ends_with(&small_cake("mm")), "{how}: {text}");
        assert!(!text.contains("secret-client"), "{how}: {text}");
        assert!(text.matches("on purpose").count() <= 20, "{how}: {text}");
    }
}

/// Where nothing can be written beside the output, the report lies in the temporary folder.
#[test]
fn a_report_finds_a_place() {
    let folder = tempfile::tempdir().unwrap();
    let cake = folder.path().join("not there").join("a.cake.toml");
    let done = run("panics", &cake, folder.path());
    let said = String::from_utf8(done.stderr).unwrap();
    assert_eq!(done.status.code(), Some(i32::from(FAULT)), "{said}");
    if cfg!(unix) {
        let found = reports(folder.path());
        assert_eq!(found.len(), 1, "{said}");
        assert!(fs::read_to_string(&found[0]).unwrap().contains("cannot be read again"), "{said}");
    }
}

#[test]
fn what_is_not_the_programs_fault_makes_no_report() {
    let folder = tempfile::tempdir().unwrap();
    let done = run("refused", &folder.path().join("a.cake.toml"), folder.path());
    assert_eq!(done.status.code(), Some(2));
    assert_eq!(String::from_utf8(done.stderr).unwrap(), "error: a wrong flag\n  fix: leave it out\n");
    assert!(reports(folder.path()).is_empty());
}

/// Files in memory, one of which makes the program fail.
#[derive(Debug)]
struct Failing(Memory);

impl World for Failing {
    fn read(&self, path: &Path, content: Content) -> io::Result<FileBytes> {
        assert!(!path.ends_with("fails.svg"), "on purpose");
        self.0.read(path, content)
    }
}

#[test]
fn an_order_that_fails_stops_none_of_the_others() {
    let world: Arc<dyn World> = Arc::new(Failing(Memory::new()));
    let drawn = |file: &str| {
        let drawing = format!("[shape.turned]\nsvg = {{ file = \"{file}\" }}\n");
        let (before, after) =
            small_cake("mm").split_once("[shape.turned]").map(|(a, b)| (a.to_owned(), b.to_owned())).unwrap();
        let rest = after.find("\n[").map_or("", |at| &after[at..]).to_owned();
        before + &drawing + &rest
    };
    let texts = [
        small_cake("mm"),
        drawn("fails.svg"),
        "crumbline = 1\n".into(),
        drawn("missing.svg"),
        small_cake("mm"),
    ];
    let orders: Vec<Source> = (0..)
        .zip(&texts)
        .map(|(i, text)| Source::new(CakeFile::from_text(format!("{i}.cake.toml"), "", text), world.clone()))
        .collect();
    let batch = Batch::new(&orders, &Pantry::usual(), &Cancel::new(), &NoProgress).unwrap();
    let made: Vec<&str> = batch.rows.iter().map(|row| row.file.as_str()).collect();
    assert_eq!(made, ["0.cake.toml", "4.cake.toml"]);
    assert_eq!(batch.faults, ["1.cake.toml"]);
    let failed: Vec<&str> = batch.failed.iter().map(|(file, _)| file.as_str()).collect();
    assert_eq!(failed, ["1.cake.toml", "2.cake.toml", "3.cake.toml"]);
    assert!(batch.failed[0].1.contains("the program's fault"), "{:?}", batch.failed[0]);
}
