//! Nothing is lost: a kit that is written anew is killed, broken off or failed at every call that changes the disk, and
//! the folder holds the old kit or the new one; runs wait for each other, and tidy only after dead ones.
//!
//! The calls are caught by a library put before the system's ([`faults.c`](../files_lost/faults.c)), which needs Linux
//! and a C compiler.

#![cfg(target_os = "linux")]

use std::{
    collections::BTreeMap,
    fs,
    path::{Path, PathBuf},
    process::{Child, Command, Output, Stdio},
    sync::{
        LazyLock,
        atomic::{AtomicUsize, Ordering},
    },
    thread,
    time::{Duration, Instant},
};

use tempfile::TempDir;

const CAKE: &str = "crumbline = 1\nname = \"x\"\n[shape.turned]\npoints = [[60, 0], [60, 40]]\n[[tier]]\nname = \"one\"\n\
                    [[tier.layer]]\npan = { round = \"6 in\" }\nheight = 40\n";

/// The library, compiled once; `None` where there is no compiler.
fn faults() -> Option<&'static Path> {
    static LIBRARY: LazyLock<Option<(TempDir, PathBuf)>> = LazyLock::new(|| {
        let folder = tempfile::tempdir().unwrap();
        let library = folder.path().join("faults.so");
        let source = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/it/files_lost/faults.c");
        let compiled = Command::new("cc")
            .args(["-shared", "-fPIC", "-O1", "-o"])
            .args([&library, &source])
            .arg("-ldl")
            .status();
        compiled.is_ok_and(|status| status.success()).then_some((folder, library))
    });
    let library = LIBRARY.as_ref().map(|(_, library)| library.as_path());
    if library.is_none() {
        let required = std::env::var_os("CRUMBLINE_REQUIRE_REFERENCE").is_some();
        assert!(!required, "the test of faults needs a C compiler called cc");
        println!("skipped: there is no C compiler called cc");
    }
    library
}

/// A folder with a cake file, and a kit folder that is not there yet.
struct Bench {
    folder: TempDir,
}

impl Bench {
    fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join("x.cake.toml"), CAKE).unwrap();
        Self { folder }
    }

    fn kit(&self) -> PathBuf {
        self.folder.path().canonicalize().unwrap().join("kit")
    }

    fn command(&self, what: &[&str]) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_crumbline"));
        command.arg("kit").arg(self.folder.path().join("x.cake.toml")).arg("--out").arg(self.kit());
        command.args(["--only"]).args(what).env("RAYON_NUM_THREADS", "1").stdin(Stdio::null());
        command.stdout(Stdio::piped()).stderr(Stdio::piped());
        command
    }

    fn check(&self) -> Output {
        Command::new(env!("CARGO_BIN_EXE_crumbline")).arg("check").arg(self.kit()).output().unwrap()
    }

    /// Everything in the kit's folder, what is hidden as well; an empty folder only if it is.
    fn held(&self) -> BTreeMap<String, Vec<u8>> {
        let mut held = BTreeMap::new();
        if self.kit().exists() {
            walk(&self.kit(), "", &mut held);
        }
        held
    }

    /// Puts the kit's folder as it was.
    fn put(&self, held: &BTreeMap<String, Vec<u8>>) {
        let _ = fs::remove_dir_all(self.kit());
        for (file, bytes) in held {
            let path = self.kit().join(file);
            if file.ends_with('/') {
                fs::create_dir_all(path).unwrap();
            } else {
                fs::create_dir_all(path.parent().unwrap()).unwrap();
                fs::write(path, bytes).unwrap();
            }
        }
    }
}

fn walk(folder: &Path, from: &str, held: &mut BTreeMap<String, Vec<u8>>) {
    for entry in fs::read_dir(folder).unwrap() {
        let entry = entry.unwrap();
        let name = format!("{from}{}", entry.file_name().into_string().unwrap());
        if entry.path().is_dir() {
            walk(&entry.path(), &format!("{name}/"), held);
            if name.starts_with('.') {
                held.insert(name + "/", Vec::new());
            }
        } else {
            held.insert(name, fs::read(entry.path()).unwrap());
        }
    }
}

/// `command` with a fault at the call of that number.
fn with_fault(mut command: Command, library: &Path, bench: &Bench, at: usize, what: &str) -> Command {
    command.env("LD_PRELOAD", library).env("FAULT_UNDER", bench.kit()).env("FAULT_AT", at.to_string());
    command.env("FAULT_DO", what).env("FAULT_MARK", bench.folder.path().join("mark"));
    command
}

fn spawn(mut command: Command) -> Child {
    command.spawn().unwrap()
}

/// Kits that differ in every way: one more folder, files that go, come, and stay with other bytes.
const PLAIN: [&str; 3] = ["cutting-sheet", "--paper", "A4"];
const MORE: [&str; 3] = ["layers,cutting-sheet", "--paper", "Letter"];

/// Every fault at every call of a run that writes `new` over `old`; the maker has changed a file and added one.
fn every_fault(old: &[&str], new: &[&str], faults_at: impl Fn(usize) -> &'static str + Sync) {
    let Some(library) = faults() else { return };
    let start = Bench::new();
    assert!(start.command(old).output().unwrap().status.success());
    let changed = fs::read_dir(start.kit()).unwrap().map(|entry| entry.unwrap().path());
    let changed = changed.into_iter().find(|path| path.to_string_lossy().ends_with("a4.pdf"));
    fs::write(changed.unwrap_or_else(|| start.kit().join("x-cutting-sheet.txt")), "changed").unwrap();
    fs::write(start.kit().join("notes.txt"), "mine").unwrap();
    let before = start.held();
    assert!(start.command(new).output().unwrap().status.success());
    let after = start.held();
    assert!(before != after && after.contains_key("notes.txt"));
    assert!(after.values().any(|bytes| bytes == b"changed"), "what the maker changed is still there");
    let (next, met, ended) = (AtomicUsize::new(1), AtomicUsize::new(0), AtomicUsize::new(0));
    thread::scope(|scope| {
        for _ in 0..2 {
            scope.spawn(|| {
                let bench = Bench::new();
                while ended.load(Ordering::Relaxed) == 0 {
                    let at = next.fetch_add(1, Ordering::Relaxed);
                    bench.put(&before);
                    let mark = bench.folder.path().join("mark");
                    let _ = fs::remove_file(&mark);
                    let what = faults_at(at);
                    let output = with_fault(bench.command(new), library, &bench, at, what).output().unwrap();
                    if !mark.exists() {
                        ended.store(at, Ordering::Relaxed);
                        assert!(output.status.success());
                        return;
                    }
                    met.fetch_add(1, Ordering::Relaxed);
                    let said = String::from_utf8_lossy(&output.stderr).into_owned();
                    let straight = bench.held();
                    let checked = bench.check();
                    let held = bench.held();
                    let case = format!("{what} at call {at}: {said}");
                    assert!(held == before || held == after, "{case}: {:?}", held.keys());
                    assert!(checked.status.code().is_some_and(|code| code < 2), "{case}: {checked:?}");
                    match output.status.code() {
                        None => assert_eq!(what, "kill"),
                        // What scratch could not be removed went with the check.
                        Some(0) => assert!(held == after, "{case}"),
                        Some(2) => {
                            assert!(held == before && said.contains("because:"), "{case}");
                            assert!(straight == before || stage_only(&straight, &before), "{case}");
                        }
                        other => panic!("{case}: {other:?}"),
                    }
                }
            });
        }
    });
    assert!(met.into_inner() > 40, "faults were met");
}

/// Whether nothing but an empty stage folder was left.
fn stage_only(straight: &BTreeMap<String, Vec<u8>>, before: &BTreeMap<String, Vec<u8>>) -> bool {
    let rest = straight.iter().filter(|(file, _)| !file.starts_with(".crumbline-unfinished"));
    rest.eq(before.iter())
}

#[test]
fn a_run_that_is_killed_anywhere_leaves_the_old_kit_or_the_new_one() {
    every_fault(&PLAIN, &MORE, |_| "kill");
    every_fault(&MORE, &PLAIN, |_| "kill");
}

#[test]
fn a_write_that_fails_anywhere_leaves_the_old_kit_and_says_why() {
    // EIO, ENOSPC, EACCES, in turn.
    every_fault(&PLAIN, &MORE, |at| ["5", "28", "13"][at % 3]);
    every_fault(&MORE, &PLAIN, |at| ["5", "28", "13"][(at + 1) % 3]);
}

#[test]
fn a_kit_in_a_new_folder_is_there_or_the_folder_is_empty() {
    let Some(library) = faults() else { return };
    let bench = Bench::new();
    let mut at = 1;
    loop {
        bench.put(&BTreeMap::new());
        let _ = fs::remove_file(bench.folder.path().join("mark"));
        let output = with_fault(bench.command(&PLAIN), library, &bench, at, "kill").output().unwrap();
        if output.status.success() {
            break;
        }
        if bench.kit().exists() {
            bench.check();
            let held = bench.held();
            assert!(held.is_empty() || held.len() == 3, "call {at}: {:?}", held.keys());
        }
        at += 1;
    }
    assert!(at > 10 && bench.held().len() == 3, "{at}");
}

/// Starts a run that stops for ever while it writes its first file, and waits until it is there.
fn stopped(bench: &Bench, library: &Path) -> Child {
    // The folder, the stage and its lock, the folder of new files, the file; then its first bytes.
    let mut child = spawn(with_fault(bench.command(&PLAIN), library, bench, 6, "wait"));
    let deadline = Instant::now() + Duration::from_secs(30);
    while !bench.folder.path().join("mark").exists() {
        assert!(Instant::now() < deadline && child.try_wait().unwrap().is_none(), "it never came to write");
        thread::sleep(Duration::from_millis(5));
    }
    child
}

/// The exit code of a run that is about to end.
fn ended(child: &mut Child) -> Option<i32> {
    let deadline = Instant::now() + Duration::from_secs(30);
    loop {
        if let Some(status) = child.try_wait().unwrap() {
            return status.code();
        }
        if Instant::now() > deadline {
            child.kill().unwrap();
            panic!("it did not end");
        }
        thread::sleep(Duration::from_millis(5));
    }
}

#[test]
fn a_second_run_waits_for_the_first_and_tidies_after_it_once_it_is_dead() {
    let Some(library) = faults() else { return };
    let bench = Bench::new();
    let mut first = stopped(&bench, library);
    let staged = bench.held();
    assert!(staged.keys().any(|file| file.ends_with(".part")), "{:?}", staged.keys());
    let mut second = spawn(bench.command(&MORE));
    thread::sleep(Duration::from_millis(500));
    assert!(second.try_wait().unwrap().is_none(), "it waits");
    assert_eq!(bench.held(), staged, "and leaves alone what belongs to a run that lives");
    first.kill().unwrap();
    first.wait().unwrap();
    let output = second.wait_with_output().unwrap();
    assert!(output.status.success());
    assert!(
        String::from_utf8_lossy(&output.stderr).contains("waiting: another run is writing"),
        "{output:?}"
    );
    assert!(bench.held().keys().all(|file| !file.starts_with('.')), "{:?}", bench.held().keys());
    assert_eq!(bench.check().status.code(), Some(0));
}

#[test]
fn runs_that_are_asked_to_end_leave_nothing() {
    let Some(library) = faults() else { return };
    for signal in ["INT", "TERM", "HUP"] {
        let bench = Bench::new();
        let mut child = stopped(&bench, library);
        let id = child.id().to_string();
        assert!(Command::new("kill").args([&format!("-{signal}"), &id]).status().unwrap().success());
        assert_eq!(ended(&mut child), Some(130), "{signal}");
        assert!(!bench.kit().exists(), "{signal}: {:?}", bench.held().keys());
    }
}

#[test]
fn each_folder_is_flushed_once_and_so_is_the_one_that_a_new_folder_lies_in() {
    let bench = Bench::new();
    let mut traced = Command::new("strace");
    let log = bench.folder.path().join("calls");
    traced.args(["-f", "-y", "-e", "trace=fsync", "-o"]).arg(&log).arg(env!("CARGO_BIN_EXE_crumbline"));
    traced.args(["kit", "--only", "layers,cutting-sheet", "--out"]).arg(bench.kit());
    traced.arg(bench.folder.path().join("x.cake.toml")).stdout(Stdio::null());
    if !traced.status().is_ok_and(|status| status.success()) {
        return println!("skipped: there is no strace");
    }
    let calls = fs::read_to_string(log).unwrap();
    let count = |path: &Path| calls.matches(&format!("<{}>", path.display())).count();
    let kit = bench.kit();
    assert_eq!(count(kit.parent().unwrap()), 1, "{calls}");
    assert_eq!(count(&kit.join("templates")), 1, "{calls}");
    // Once so that the stage is found, once for the names in it.
    assert_eq!(count(&kit), 2, "{calls}");
}
