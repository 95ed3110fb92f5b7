//! The command line: what is printed, what a program reads, how a command ends.

use std::{
    collections::BTreeSet,
    fs,
    path::{Path, PathBuf},
    time::{Duration, Instant},
};

use assert_cmd::Command;
use serde_json::Value;

use crate::cakes::small_cake;

/// Every key of `value` with the way to it; entries of lists count as one.
fn keys(value: &Value, at: &str, found: &mut BTreeSet<String>) {
    match value {
        Value::Object(table) => {
            for (key, value) in table {
                let here = if at.is_empty() { key.clone() } else { format!("{at}.{key}") };
                keys(value, &here, found);
                found.insert(here);
            }
        }
        Value::Array(list) => list.iter().for_each(|value| keys(value, &format!("{at}[]"), found)),
        _ => {}
    }
}

/// Programs rely on these keys: some may be added, none is renamed or taken away within one version.
#[test]
fn the_keys_of_the_json_report_are_stable() {
    let folder = tempfile::tempdir().unwrap();
    let cake = written(folder.path(), "small.cake.toml", &small_cake("mm"));
    let output = crumbline().args(["plan", "--json"]).arg(cake).output().unwrap();
    let report: Value = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(report["report"], 2);
    let mut found = BTreeSet::new();
    keys(&report, "", &mut found);
    insta::assert_snapshot!("json_keys", found.into_iter().collect::<Vec<_>>().join("\n"));
    // Figures agree with their own sums.
    let ml = |entry: &Value, what: &str| entry[what]["volume_ml"].as_f64().unwrap();
    for layer in report["layers"].as_array().unwrap() {
        let sum = ml(layer, "kept") + ml(layer, "offcut");
        assert!((sum - ml(layer, "raw")).abs() < 1e-9 * sum, "{layer}");
    }
    let chart = &report["shave_chart"];
    let rows = chart["heights"].as_array().unwrap().len();
    assert!(rows > 20 && chart["depth"].as_array().unwrap().len() == rows);
}

// ── The command ─────────────────────────────────────────────────────────────────────────────────────

fn crumbline() -> Command {
    let mut command = Command::cargo_bin("crumbline").unwrap();
    // Without a screen, so that no window opens.
    command
        .env_remove("NO_COLOR")
        .env_remove("CLICOLOR_FORCE")
        .env_remove("DISPLAY")
        .env_remove("WAYLAND_DISPLAY");
    command.timeout(Duration::from_secs(60));
    command
}

fn written(folder: &Path, name: &str, text: &str) -> PathBuf {
    let path = folder.join(name);
    fs::write(&path, text).unwrap();
    path
}

/// A cake without anything to fix.
const SOUND: &str = "crumbline = 1\nname = \"Plain drum\"\n[shape.turned]\npoints = [[80, 0], [80, 90]]\n\
    [[covering]]\nmaterial = \"ganache\"\nthickness = 8\n\
    [[tier]]\nname = \"only\"\n[[tier.layer]]\npan = { round = 180 }\nheight = 90\n";

/// The same out of a pan that is much too small.
fn unsound() -> String {
    SOUND.replace("round = 180", "round = 120")
}

fn files_in(folder: &Path) -> BTreeSet<String> {
    let entries = fs::read_dir(folder).unwrap();
    entries.map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect()
}

#[test]
fn commands_end_with_0_where_the_cake_is_sound_and_1_where_it_is_not() {
    let folder = tempfile::tempdir().unwrap();
    let sound = written(folder.path(), "sound.toml", SOUND);
    let unsound = written(folder.path(), "unsound.toml", &unsound());
    crumbline().arg("plan").arg(&sound).assert().code(0);
    let output = crumbline().arg("plan").arg(&unsound).assert().code(1).get_output().clone();
    let said = String::from_utf8(output.stdout).unwrap();
    assert!(said.contains("1. Only 1 is too small") && said.contains("Fix: bake it at least"), "{said}");
    let stl = folder.path().join("out.stl");
    crumbline().arg("export").arg(&sound).arg(&stl).assert().code(0);
    let written = crumbline::export::stl::read(&fs::read(&stl).unwrap()).unwrap();
    // The drum: πr²h (any handbook), less what the chords of its round leave out.
    let drum = std::f64::consts::PI * 80.0_f64.powi(2) * 90.0;
    assert!((0.995..=1.0).contains(&(written.volume() / drum)), "{}", written.volume());
    crumbline().arg("export").arg(&unsound).arg(folder.path().join("out.obj")).assert().code(1);
    let printed = |arguments: &[&str]| {
        let output = crumbline().args(arguments).assert().code(0).get_output().clone();
        String::from_utf8(output.stdout).unwrap()
    };
    let solids = printed(&["solids", sound.to_str().unwrap()]);
    let names: Vec<&str> = solids.lines().map(|line| line[..32].trim()).collect();
    assert_eq!(names, ["finished", "carved", "raw only 1", "only 1", "offcut of only 1", "ganache 1"]);
    let schema: Value = serde_json::from_str(&printed(&["schema"])).unwrap();
    assert!(schema["properties"]["tier"].is_object(), "{schema}");
}

#[test]
fn a_new_cake_file_can_be_planned_at_once_and_overwrites_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("my-first.cake.toml");
    crumbline().arg("new").arg(&file).assert().code(0);
    crumbline().arg("plan").arg(&file).assert().code(0);
    let before = fs::read(&file).unwrap();
    crumbline().arg("new").arg(&file).assert().code(2);
    assert_eq!(fs::read(&file).unwrap(), before);
}

#[test]
fn the_schema_describes_what_new_writes() {
    let schema = crumbline().arg("schema").output().unwrap().stdout;
    let schema: Value = serde_json::from_slice(&schema).unwrap();
    let known = schema["properties"].as_object().unwrap();
    let starter: toml::Table = crumbline::cakefile::starter("x").parse().unwrap();
    assert!(starter.keys().all(|key| known.contains_key(key)), "{known:?}");
}

#[test]
fn plan_with_out_writes_all_its_files() {
    let folder = tempfile::tempdir().unwrap();
    let cake = written(folder.path(), "sound.toml", SOUND);
    let out = folder.path().join("out");
    fs::create_dir(&out).unwrap();
    crumbline().arg("plan").arg(&cake).arg("--out").arg(&out).assert().code(0);
    let mock_ups = ["mock-up.obj", "mock-up.mtl", "mock-up.glb", "mock-up.usdz"];
    let expected = ["report.txt", "report.json", "finished.stl", "carved.stl"].into_iter().chain(mock_ups);
    let expected: BTreeSet<String> = expected.map(|end| format!("plain-drum-{end}")).collect();
    assert_eq!(files_in(&out), expected);
    assert!(!fs::read_to_string(out.join("plain-drum-report.txt")).unwrap().contains('\u{1b}'));
}

/// Without more a client's file holds what is seen of the finished cake; a stage before, or a part, when it is asked for.
#[test]
fn files_for_the_client_hold_what_is_asked_for() {
    let folder = tempfile::tempdir().unwrap();
    let cake = written(folder.path(), "sound.toml", SOUND);
    let names = |file: &str, flags: &[&str]| -> BTreeSet<String> {
        let path = folder.path().join(file);
        crumbline().arg("export").arg(&cake).arg(&path).args(flags).assert().code(0);
        let bytes = fs::read(&path).unwrap();
        let length = u32::from_le_bytes(bytes[12..16].try_into().unwrap()) as usize;
        let json: serde_json::Value = serde_json::from_slice(&bytes[20..20 + length]).unwrap();
        json["nodes"]
            .as_array()
            .unwrap()
            .iter()
            .map(|node| node["name"].as_str().unwrap().to_owned())
            .collect()
    };
    let finished = names("a.glb", &[]);
    assert!(
        finished.contains("finished") && !finished.iter().any(|name| name.contains("layer")),
        "{finished:?}"
    );
    assert_eq!(names("a.glb", &["--stage", "finished"]), finished);
    assert_eq!(names("a.glb", &["--solid", "carved"]), BTreeSet::from(["carved".to_owned()]));
    let (raw, carved) = (names("a.glb", &["--stage", "raw"]), names("a.glb", &["--stage", "carved"]));
    assert!(raw.iter().any(|name| name.starts_with("raw ")), "{raw:?}");
    for raw in raw.iter().filter_map(|name| name.strip_prefix("raw ")) {
        assert!(carved.contains(raw), "{carved:?}");
    }
    crumbline().arg("export").arg(&cake).arg(folder.path().join("a.usdz")).assert().code(0);
    let bytes = fs::read(folder.path().join("a.usdz")).unwrap();
    assert_eq!((&bytes[..4], &bytes[64..74]), (&b"PK\x03\x04"[..], &b"#usda 1.0\n"[..]));
    let [export, stl, stage] = ["export", "a.stl", "--stage"].map(Path::new);
    let flags = [export, &cake, &folder.path().join(stl), stage, Path::new("raw")];
    refused(folder.path(), &flags, &["--stage goes with .glb and .usdz", "--solid"]);
}

/// Text that goes to a file or a pipe carries no escape sequences, whatever NO_COLOR says.
#[test]
fn no_colours_where_no_one_sees_them() {
    let folder = tempfile::tempdir().unwrap();
    let cakes =
        [written(folder.path(), "a.toml", &unsound()), written(folder.path(), "b.toml", "crumbline = ")];
    for cake in cakes {
        for no_colour in [None, Some("1")] {
            let mut command = crumbline();
            no_colour.map(|value| command.env("NO_COLOR", value));
            let output = command.arg("plan").arg(&cake).output().unwrap();
            assert!(!output.stdout.contains(&0x1b) && !output.stderr.contains(&0x1b));
        }
    }
}

/// Runs a command that cannot be done: it ends with 2, names the trouble and the fix, prints no report,
/// panics nowhere and leaves no file behind.
fn refused(folder: &Path, arguments: &[&Path], words: &[&str]) {
    let before = files_in(folder);
    let start = Instant::now();
    let output = crumbline().args(arguments).assert().code(2).get_output().clone();
    assert!(start.elapsed() < Duration::from_secs(10), "{arguments:?} took {:?}", start.elapsed());
    let said = String::from_utf8(output.stderr).unwrap();
    assert!(!said.contains("panicked"), "{said}");
    for word in words {
        assert!(said.contains(word), "{arguments:?} does not say {word:?}: {said}");
    }
    assert_eq!(files_in(folder), before, "{arguments:?}");
}

#[test]
fn wrong_files_are_refused() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path();
    let plan = Path::new("plan");
    refused(path, &[plan, &path.join("missing.toml")], &["there is no such file", "check the name"]);
    refused(path, &[plan, path], &["it is a folder"]);
    refused(path, &[plan, &written(path, "empty.toml", "")], &["crumbline"]);
    refused(path, &[plan, &written(path, "no-toml.toml", "cake: yes\n")], &["no-toml.toml:1"]);
    fs::write(path.join("binary.toml"), [0xff, 0xfe, 0, 1, 2]).unwrap();
    refused(path, &[plan, &path.join("binary.toml")], &["UTF-8"]);
    for (size, word) in [
        ("-90", "above zero"),
        ("0", "above zero"),
        ("1e9", "10 m"),
        ("nan", "finite"),
        ("\"9 parsecs\"", "parsecs"),
    ] {
        let text = SOUND.replace("height = 90", &format!("height = {size}"));
        refused(path, &[plan, &written(path, "size.toml", &text)], &["height", word]);
    }
    let nothing_left = SOUND.replace("thickness = 8", "thickness = 85");
    refused(path, &[plan, &written(path, "thick.toml", &nothing_left)], &["ganache", "thinner"]);
    let no_layers = SOUND.split("[[tier]]").next().unwrap();
    refused(path, &[plan, &written(path, "none.toml", no_layers)], &["no layers", "[[tier.layer]]"]);
}

/// Whoever reads the report may stop reading: `plan CAKE | head -1`.
#[cfg(unix)]
#[test]
fn a_reader_that_goes_away_is_no_error() {
    let folder = tempfile::tempdir().unwrap();
    let cake = written(folder.path(), "sound.toml", SOUND);
    let closed = || {
        let (reader, writer) = std::io::pipe().unwrap();
        drop(reader);
        writer
    };
    let ended = |arguments: &[&Path]| {
        std::process::Command::new(env!("CARGO_BIN_EXE_crumbline"))
            .args(arguments)
            .stdout(closed())
            .stderr(closed())
            .status()
            .unwrap()
            .code()
    };
    assert_eq!(ended(&[Path::new("plan"), &cake]), Some(0));
    assert_eq!(ended(&[Path::new("plan"), &folder.path().join("none.toml")]), Some(2));
    let file = folder.path().join("cake.stl");
    assert_eq!(ended(&[Path::new("export"), &cake, &file]), Some(0));
    assert!(file.exists());
}

#[test]
fn wrong_commands_are_refused() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path();
    let cake = written(path, "sound.toml", SOUND);
    let export = Path::new("export");
    refused(path, &[export, &cake, &path.join("cake.xyz")], &["xyz", ".stl"]);
    refused(path, &[export, &cake, &path.join("cake")], &[".stl"]);
    let solid = Path::new("--solid");
    refused(
        path,
        &[export, &cake, &path.join("a.stl"), solid, Path::new("finishd")],
        &["did you mean \"finished\""],
    );
    refused(path, &[export, &cake, &path.join("a.stl"), solid, Path::new("qqqqqqqq")], &["choose from"]);
    for flag in ["--chord=0", "--chord=-1 mm", "--error=soft", "--error=0 mm"] {
        let word = flag.split('=').next().unwrap();
        refused(path, &[export, &cake, &path.join("a.obj"), Path::new(flag)], &[word]);
    }
    refused(path, &[export, &cake, &cake.join("a.stl")], &["sound.toml", "may write"]);
    refused(path, &[Path::new("plan"), &cake, Path::new("--out"), &cake], &["sound.toml"]);
    refused(path, &[Path::new("bake")], &["bake"]);
    refused(path, &[], &[]);
}

/// What cannot be written is told, and nothing half-written is left: a folder without write permission
/// (which does not stop root), and on Linux as root a disk of 64 KiB.
#[test]
fn places_that_cannot_be_written_are_told() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path();
    let cake = written(path, "sound.toml", SOUND);
    let out = path.join("out");
    fs::create_dir(&out).unwrap();
    let fine = [Path::new("--chord"), Path::new("0.0002 mm")];
    if small_disk(&out) {
        let said = crumbline().arg("export").arg(&cake).arg(out.join("a.stl")).args(fine).assert().code(2);
        let left = files_in(&out);
        unmount(&out);
        assert_eq!(left, BTreeSet::new());
        let said = String::from_utf8(said.get_output().stderr.clone()).unwrap();
        assert!(said.contains("a.stl"), "{said}");
        return;
    }
    let mut permissions = fs::metadata(&out).unwrap().permissions();
    permissions.set_readonly(true);
    fs::set_permissions(&out, permissions).unwrap();
    if fs::write(out.join("probe"), "").is_err() {
        refused(&out, &[Path::new("export"), &cake, &out.join("a.stl")], &["a.stl"]);
    }
}

/// Mounts a disk of 64 KiB on `folder`, where the system and the user may.
fn small_disk(folder: &Path) -> bool {
    let mount = std::process::Command::new("mount")
        .args(["-t", "tmpfs", "-o", "size=64k", "tmpfs"])
        .arg(folder)
        .output();
    cfg!(target_os = "linux") && mount.is_ok_and(|output| output.status.success())
}

fn unmount(folder: &Path) {
    let _ = std::process::Command::new("umount").arg(folder).status();
}
