//! Names come from anywhere; what is written with them is well formed, and neither a terminal nor a spreadsheet does
//! anything that a name says.

use std::{
    fs,
    io::{Cursor, Read},
};

use formats::{
    drawing::{Drawing, Lettering, Page},
    escape,
    export::{MeshF32, svg::svg, threemf, write_model},
    model::{Model, Part, PartKind, Rgb},
};
use geom::{TriMesh, progress::NoProgress};
use glam::{DAffine3, DVec3, dvec2};
use proptest::prelude::*;

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

/// How many lines of a scene give a name to show.
fn shown_count(scene: &str) -> usize {
    scene.lines().filter(|line| line.trim_start().starts_with("displayName = ")).count()
}

/// A model with two parts, one called `name`, as is all that it is made of.
fn named(name: &str) -> Model {
    let part = |called: &str| Part {
        name: called.into(),
        material: name.into(),
        kind: PartKind::Finished,
        colour: Rgb(1, 2, 3),
        mesh: tetrahedron(),
        tints: Vec::new(),
        shave_depth: Vec::new(),
        index: 0,
    };
    Model { name: name.into(), parts: vec![part(name), part("b")], ..Model::default() }
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
            let described = |node: &roxmltree::Node| node.attribute("name") == Some("Description");
            let description = document.descendants().find(described).and_then(|node| node.text());
            prop_assert!(!text.contains("<object") || description.is_some_and(|words| words.contains("not food-safe")));
            prop_assert!(!text.contains(|c: char| acts(c) && !matches!(c, '\r' | '\t')), "{}", text);
        }
        prop_assert_eq!(parts, 1);
    }

    #[test]
    fn a_mock_up_with_any_name_has_one_word_for_each_name(name in name()) {
        let folder = tempfile::tempdir().unwrap();
        let model = named(&name);
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

    /// glTF holds any name as it is, escaped; what looks at the file itself shows no more than its text.
    #[test]
    fn a_client_file_with_any_name_is_well_formed(name in name()) {
        let folder = tempfile::tempdir().unwrap();
        let model = named(&name);
        let glb = folder.path().join("x.glb");
        write_model(&model, &glb, &NoProgress).unwrap();
        let bytes = fs::read(glb).unwrap();
        let length = u32::from_le_bytes(bytes[12..16].try_into().unwrap()) as usize;
        let text = std::str::from_utf8(&bytes[20..20 + length]).unwrap();
        prop_assert!(!text.contains(acts), "{}", text);
        let json: serde_json::Value = serde_json::from_str(text).unwrap();
        prop_assert_eq!(&json["nodes"][0]["name"], &name);
        prop_assert_eq!(&json["materials"][0]["name"], &name);

        let usdz = folder.path().join("x.usdz");
        write_model(&model, &usdz, &NoProgress).unwrap();
        let mut archive = zip::ZipArchive::new(Cursor::new(fs::read(usdz).unwrap())).unwrap();
        let mut text = String::new();
        archive.by_index(0).unwrap().read_to_string(&mut text).unwrap();
        prop_assert!(!text.contains(acts), "{}", text);
        let mut shown = text.lines().filter_map(|line| line.trim().strip_prefix("displayName = "));
        // A quote that is not escaped ends the string, and nothing comes after it.
        prop_assert!(shown.by_ref().all(|quoted| {
            let inside = quoted.strip_prefix('"').and_then(|rest| rest.strip_suffix('"')).unwrap();
            !inside.replace("\\\\", "").replace("\\\"", "").contains(['"', '\\'])
        }), "{}", text);
        prop_assert_eq!(shown_count(&text), 4);
    }

    /// A page shows the name, and nothing of it is markup, in text and in an attribute's quotes alike; data that a script
    /// reads is the same after its own escapes.
    #[test]
    fn a_page_shows_any_name_and_takes_none_for_markup(name in name()) {
        let shown = escape::html(&name);
        prop_assert!(!shown.contains(['<', '>', '"', '\'', '\n']) && !shown.contains(acts), "{}", shown);
        // A reader of XML knows the same five escapes, and U+FFFE and U+FFFF are the only characters that it has not.
        let written = format!("<p title=\"{shown}\">{shown}</p>").replace(['\u{fffe}', '\u{ffff}'], "\u{fffd}");
        let document = roxmltree::Document::parse(&written).map_err(|error| TestCaseError::fail(format!("{error}: {written}")))?;
        let element = document.root_element();
        let told = escape::xml(&name);
        prop_assert_eq!(element.text().unwrap_or_default(), &told);
        prop_assert_eq!(element.attribute("title"), Some(&*told));
        let json = escape::html_json(&serde_json::json!({ "name": name }).to_string());
        prop_assert!(!json.contains('<') && !json.contains("-->"), "{}", json);
        let read: serde_json::Value = serde_json::from_str(&json).unwrap();
        prop_assert_eq!(read["name"].as_str(), Some(name.as_str()));
    }

    #[test]
    fn a_terminal_shows_any_name_and_a_spreadsheet_runs_none(name in name()) {
        prop_assert!(!escape::lines(&name).contains(acts));
        let shown = escape::terminal(&name);
        let mut between = shown.split('\u{1b}');
        prop_assert!(!between.next().unwrap_or_default().contains(acts), "{:?}", shown);
        for after in between {
            let (figures, rest) = after.strip_prefix('[').and_then(|after| after.split_once('m')).unwrap();
            prop_assert!(figures.chars().all(|c| c.is_ascii_digit() || c == ';'), "{:?}", shown);
            prop_assert!(!rest.contains(acts), "{:?}", shown);
        }
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
