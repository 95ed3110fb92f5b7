//! Names come from anywhere; what is written with them is well formed, and neither a terminal nor a spreadsheet does
//! anything that a name says.

use std::{
    fs,
    io::{Cursor, Read},
    process::Command,
};

use crumbline::{
    drawing::{Drawing, Lettering, Page},
    export::{MeshF32, svg::svg, threemf, write_model},
    formats::escape,
    geom::TriMesh,
    model::{Model, Part, PartKind, Rgb},
    progress::NoProgress,
};
use glam::{DAffine3, DVec3, dvec2};
use proptest::prelude::*;
use usvg::roxmltree;

/// Any text, and much of what formats and terminals take for more than text.
fn name() -> impl Strategy<Value = String> {
    const HARD: &str = "[\\x00-\\x1f\\x7f-\\x9f\u{61c}\u{200e}\u{200f}\u{2028}-\u{202e}\u{2066}-\u{2069}\u{fffe}\u{ffff}<>&\"'=+@;,\\[\\]{}a-]{0,12}";
    prop_oneof![any::<String>(), HARD, (HARD, any::<String>()).prop_map(|(a, b)| a + &b)]
}

/// Whether a terminal does something else than show it.
fn acts(c: char) -> bool {
    (c.is_control() && c != '\n') || matches!(c, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
}

fn tetrahedron() -> TriMesh {
    let positions = vec![DVec3::ZERO, DVec3::X, DVec3::Y, DVec3::Z];
    TriMesh { positions, triangles: vec![[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]] }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn a_drawing_with_any_name_is_well_formed(name in name()) {
        let mut drawing = Drawing::default();
        drawing.text(Lettering { text: name.clone(), ..Lettering::new("", dvec2(1.0, 1.0), 4.0) });
        let mut page = Page::new(dvec2(100.0, 100.0));
        page.place(drawing, dvec2(0.0, 0.0));
        let text = svg(&name, &page);
        let document = roxmltree::Document::parse(&text).map_err(|error| TestCaseError::fail(format!("{error}: {text}")))?;
        let title = document.descendants().find(|node| node.has_tag_name("title")).unwrap();
        // The writer may fold spaces; nothing else of what can be shown is lost.
        let shown = |text: &str| text.split_whitespace().collect::<String>();
        prop_assert_eq!(shown(title.text().unwrap_or_default()), shown(&escape::xml(&name)));
        prop_assert!(!text.contains(acts));
    }

    #[test]
    fn a_printed_part_with_any_name_is_well_formed(name in name()) {
        let mesh = tetrahedron();
        let item = threemf::Item {
            name: name.clone(),
            solid: MeshF32::new(&mesh).unwrap(),
            places: vec![DAffine3::IDENTITY],
        };
        let mut bytes = Vec::new();
        threemf::write(&mut bytes, &name, &[item]).unwrap();
        let mut archive = zip::ZipArchive::new(Cursor::new(bytes)).unwrap();
        let mut parts = 0;
        for index in 0..archive.len() {
            let mut text = String::new();
            archive.by_index(index).unwrap().read_to_string(&mut text).unwrap();
            let document = roxmltree::Document::parse(&text).map_err(|error| TestCaseError::fail(format!("{error}: {text}")))?;
            parts += document.descendants().filter(|node| node.has_tag_name("object")).count();
            prop_assert!(!text.contains(|c: char| acts(c) && !matches!(c, '\r' | '\t')), "{}", text);
        }
        prop_assert_eq!(parts, 1);
    }

    #[test]
    fn a_mock_up_with_any_name_has_one_word_for_each_name(name in name()) {
        let folder = tempfile::tempdir().unwrap();
        let part = |name: &str| Part {
            name: name.into(),
            material: name.into(),
            kind: PartKind::Finished,
            colour: Rgb(1, 2, 3),
            mesh: tetrahedron(),
            shave_depth: Vec::new(),
            index: 0,
        };
        let model = Model { name: name.clone(), parts: vec![part(&name), part("b")], ..Model::default() };
        for file in write_model(&model, &folder.path().join("x.obj"), &NoProgress).unwrap() {
            let text = fs::read_to_string(file).unwrap();
            prop_assert!(!text.contains(acts), "{}", text);
            let named = text.lines().filter(|line| ["o ", "usemtl ", "newmtl ", "mtllib "].iter().any(|key| line.starts_with(key)));
            for line in named {
                prop_assert_eq!(line.split_whitespace().count(), 2, "{}", line);
            }
            let known = ["v", "vn", "f", "o", "usemtl", "newmtl", "mtllib", "s", "#", "Ka", "Kd", "Ks", "d", "illum"];
            for line in text.lines() {
                let key = line.split(' ').next().unwrap();
                prop_assert!(known.contains(&key), "{}", line);
            }
        }
    }

    #[test]
    fn a_terminal_shows_any_name_and_a_spreadsheet_runs_none(name in name()) {
        prop_assert!(!escape::lines(&name).contains(acts));
        let shown = anstream::adapter::strip_str(&escape::terminal(&name)).to_string();
        prop_assert!(!shown.contains(acts), "{:?}", shown);
        let mut writer = csv::Writer::from_writer(Vec::new());
        writer.write_record(["first", &escape::cell(&name), "last"]).unwrap();
        let bytes = writer.into_inner().unwrap();
        let mut reader = csv::ReaderBuilder::new().has_headers(false).from_reader(bytes.as_slice());
        let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
        prop_assert_eq!(rows.len(), 1);
        prop_assert_eq!(rows[0].len(), 3);
        let figure = rows[0][1].trim_start_matches(['-', '+']).chars().all(|c| c.is_ascii_digit() || c == '.');
        prop_assert!(!rows[0][1].starts_with(['=', '+', '-', '@', '\t', '\r']) || figure, "{:?}", &rows[0][1]);
    }
}

/// The same from end to end: a cake, its layers and a client whose names are made to do harm.
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
        vec!["quote".into(), "--out".into(), file("quote")],
        vec!["timetable".into(), "--today".into(), "2027-02-01 08:00".into(), "--out".into(), file("x.ics")],
        vec!["export".into(), file("x.obj")],
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

fn walkdir(folder: &std::path::Path) -> Vec<std::path::PathBuf> {
    let entries = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
    entries.flat_map(|path| if path.is_dir() { walkdir(&path) } else { vec![path] }).collect()
}

/// Expat, by way of Python, takes every drawing and every model for well formed.
fn python_reads(files: &[std::path::PathBuf]) {
    let python = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/reference/venv/bin/python");
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
