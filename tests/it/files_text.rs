//! Names come from anywhere; what the program writes with them is well formed, and neither a terminal nor a spreadsheet
//! does anything that a name says.

use std::{
    fs,
    path::{Path, PathBuf},
    process::Command,
};

/// Whether a terminal does something else than show it.
fn acts(c: char) -> bool {
    (c.is_control() && c != '\n') || matches!(c, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
}

/// A cake, its layers and a client whose names are made to do harm.
#[test]
fn a_cake_with_a_hostile_name_does_no_harm() {
    const NAME: &str = "a\\u001b[2J\\u001b]0;t\\u0007\\u202Eb\\u009b1m<&>\\u0000c";
    let folder = tempfile::tempdir().unwrap();
    let cake = folder.path().join("x.cake.toml");
    let text = format!(
        "crumbline = 1\nname = \"{NAME}\"\n[order]\nclient = \"=cmd|' /C calc'!A0\"\ndeliver = \"2027-03-01 10:00\"\n\
         [shape.turned]\npoints = [[60, 0], [60, 40]]\n[[tier]]\nname = \"{NAME}\"\n\
         [[tier.layer]]\npan = {{ round = \"6 in\" }}\nheight = 40\n"
    );
    fs::write(&cake, text).unwrap();
    let out = folder.path().join("out");
    let file = |name: &str| out.join(name).display().to_string();
    for arguments in [
        vec!["plan".into()],
        vec!["plan".into(), "--json".into()],
        vec!["plan".into(), "--out".into(), file("plan")],
        vec!["solids".into()],
        vec![
            "kit".into(),
            "--out".into(),
            file("kit"),
            "--only".into(),
            "silhouettes,layers,cutting-sheet,ring-gauges".into(),
        ],
        vec!["check".into()],
        vec!["amounts".into(), "--shopping".into(), file("amounts.csv")],
        vec!["quote".into(), "--json".into()],
        vec!["quote".into(), "--incomplete".into(), "--out".into(), file("quote")],
        vec!["timetable".into(), "--today".into(), "2027-02-01 08:00".into(), "--out".into(), file("x.ics")],
        vec!["export".into(), file("x.obj")],
        vec!["export".into(), file("x.glb")],
        vec!["export".into(), file("x.usdz")],
        vec!["batch".into(), "--out".into(), file("batch")],
    ] {
        let mut command = Command::new(env!("CARGO_BIN_EXE_crumbline"));
        command.arg(&arguments[0]);
        match arguments[0].as_str() {
            "check" => command.arg(out.join("kit")),
            "batch" => command.arg(folder.path()),
            _ => command.arg(&cake),
        };
        let output = command.args(&arguments[1..]).output().unwrap();
        assert!(matches!(output.status.code(), Some(0 | 1)), "{arguments:?}: {output:?}");
        for bytes in [&output.stdout, &output.stderr] {
            let text = std::str::from_utf8(bytes).unwrap();
            assert!(!text.contains(acts), "{arguments:?}: {text:?}");
        }
    }
    let mut looked = 0;
    for file in walkdir(&out) {
        let ending = file.extension().unwrap().to_string_lossy().into_owned();
        if ["txt", "svg", "csv", "ics", "obj", "mtl"].contains(&ending.as_str()) {
            let text = fs::read_to_string(&file).unwrap().replace("\r\n", "\n");
            assert!(!text.contains(acts), "{}: {text:?}", file.display());
            looked += 1;
        }
        if ending == "svg" {
            roxmltree::Document::parse(&fs::read_to_string(&file).unwrap()).unwrap();
        }
        if ending == "csv" {
            let mut reader = csv::Reader::from_path(&file).unwrap();
            for row in reader.records() {
                assert!(row.unwrap().iter().all(|cell| !cell.starts_with('=')), "{}", file.display());
            }
        }
    }
    assert!(looked > 10, "{looked}");
    python_reads(&walkdir(&out));
}

fn walkdir(folder: &Path) -> Vec<PathBuf> {
    let entries = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
    entries.flat_map(|path| if path.is_dir() { walkdir(&path) } else { vec![path] }).collect()
}

/// Expat, by way of Python, takes every drawing and every model for well formed.
fn python_reads(files: &[PathBuf]) {
    let python = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/reference/venv/bin/python");
    if !python.exists() {
        assert!(
            std::env::var_os("CRUMBLINE_REQUIRE_REFERENCE").is_none(),
            "run tests/reference/venv.sh first"
        );
        return println!("skipped: no Python environment of the references");
    }
    const READ: &str = "import sys, zipfile\nfrom xml.parsers import expat\nread = 0\n\
        for name in sys.argv[1:]:\n    if name.endswith('.svg'):\n        texts = [open(name, 'rb').read()]\n    else:\n\
        \x20       texts = [zipfile.ZipFile(name).read(part) for part in zipfile.ZipFile(name).namelist()]\n\
        \x20   for text in texts:\n        expat.ParserCreate().Parse(text, True)\n        read += 1\nprint(read)\n";
    let read = files.iter().filter(|file| file.extension().is_some_and(|end| end == "svg" || end == "3mf"));
    let output = Command::new(python).args(["-c", READ]).args(read).output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    assert!(String::from_utf8(output.stdout).unwrap().trim().parse::<u32>().unwrap() > 3);
}
