//! Zones of coverings as solids and on paper.

use std::{collections::BTreeMap, fs};

use formats::{
    export::write_stl,
    model::{Part, PartKind, Rgb},
};
use geom::Tolerance;
use make::{
    language::Language,
    overview::Overview,
    report::{Explain, Report, text},
    sheets::Template,
    solids::{build_all, finished, model},
};
use plan::Plan;
use serde_json::json;

use crate::{
    assert_all_solid,
    plans::plan,
    reference::{asked, python},
    support::assert_close,
};

const FINE: f64 = 0.02;

/// A pot with a top, a foot band and a patch, and what is cut in it or not.
fn pot(shape: &str, zones: &str, details: &str) -> Plan {
    plan(&format!(
        "crumbline = 2\nname = \"pot\"\naccuracy = {{ tool = {FINE}, preview = 0.2 }}\n{shape}[[covering]]\nmaterial = \"rolled icing\"\n\
         thickness = 4\ncolour = \"#ffffff\"\n{zones}[[covering]]\nmaterial = \"ganache\"\nthickness = 6\n[[tier]]\nname = \"only\"\n\
         [[tier.layer]]\npan = {{ round = 280 }}\nheight = 130\n{details}"
    ))
}

const TURNED: &str = "[shape.turned]\npoints = [[70, 0], [100, 130], [0, 130]]\n";
const CROSSED: &str = "[shape.crossed]\nheight_tolerance = 1\nfront = { points = [[-90, 0], [90, 0], [70, 130], [-80, 130]] }\n\
                       side = { points = [[-70, 0], [75, 0], [60, 130], [-60, 130]] }\n";
const TOP: &str = "[[covering.zone]]\nname = \"top\"\ntop = true\ncolour = \"#fff1d0\"\n";
const BAND: &str = "[[covering.zone]]\nname = \"foot band\"\nbetween = [0, 30]\ncolour = \"#663388\"\n";
const PATCH: &str = "[[covering.zone]]\nname = \"patch\"\ncolour = \"#112233\"\n\
                     outline = { shape = { rectangle = [40, 30] }, height = 70, wrap = true }\n";
const CUT: &str =
    "[[detail]]\nname = \"slot\"\ncut = \"sponge\"\nbox = { centre = [0, -90, 30], size = [20, 30, 40] }\n";

fn of_kind(parts: &[Part], kind: PartKind, index: usize) -> Vec<&Part> {
    parts.iter().filter(|part| part.kind == kind && part.index == index).collect()
}

/// The parts of the icing, and of the finished cake, are solids that fill the whole, be it turned, cut or neither.
#[test]
fn zones_are_solids_that_fill_the_whole() {
    let cases = [
        (TURNED, format!("{TOP}{BAND}"), "", 3),
        (TURNED, format!("{TOP}{BAND}{PATCH}"), "", 4),
        (TURNED, format!("{TOP}{BAND}"), CUT, 3),
        (CROSSED, format!("{BAND}{PATCH}"), "", 3),
    ];
    for (shape, zones, details, count) in cases {
        let zoned = pot(shape, &zones, details);
        let tolerance = Tolerance::new(FINE).unwrap();
        let parts = model(&zoned, tolerance).unwrap();
        assert_all_solid(&parts);
        let icing = of_kind(&parts.parts, PartKind::Covering, 0);
        assert_eq!(icing.len(), count, "{shape} {zones}");
        let shown = build_all(&zoned, &finished(&zoned), tolerance).unwrap();
        assert_all_solid(&shown);
        assert_eq!(shown.parts.len(), count);
        let whole = model(&pot(shape, "", details), tolerance).unwrap();
        let volume = |parts: &[&Part]| -> f64 { parts.iter().map(|part| part.mesh.volume()).sum() };
        assert_close("icing", volume(&icing), volume(&of_kind(&whole.parts, PartKind::Covering, 0)), 1e-4);
        let all: Vec<&Part> = shown.parts.iter().collect();
        assert_close("finished", volume(&all), volume(&of_kind(&whole.parts, PartKind::Finished, 0)), 1e-6);
        let colours: BTreeMap<&str, Rgb> =
            shown.parts.iter().map(|part| (part.name.as_str(), part.colour)).collect();
        assert_eq!(colours["finished"], Rgb(255, 255, 255));
        assert_eq!(colours["finished, foot band"], Rgb(0x66, 0x33, 0x88));
        // As much of each as the plan says; with a cut in it, as a share of what is left.
        if details.is_empty() {
            for part in &icing {
                let zone =
                    zoned.design.coverings[0].zones.iter().position(|zone| part.name.ends_with(&zone.name));
                let said = zoned.zones[0].parts.iter().find(|said| said.zone == zone).unwrap();
                assert_close(&part.name, part.mesh.volume(), said.volume, 1e-2);
            }
        }
    }
}

/// The areas of the plan are those that trimesh measures on the finished surface between the same heights.
#[test]
fn areas_are_what_trimesh_measures() {
    let Some(python) = python() else { return };
    let round = "[shape.turned]\nfrom = [78, 0]\ndraw = [{ to = [60, 52], curve = [[74, 14], [62, 30]] }, { to = [0, 130], curve = [[58, 90], [40, 130]] }]\n";
    let bands = "[[covering.zone]]\nname = \"low\"\nbetween = [0, 30]\n[[covering.zone]]\nname = \"mid\"\nbetween = [30, 90]\n\
                 [[covering.zone]]\nname = \"high\"\nbetween = [90, 131]\n";
    for shape in [TURNED, CROSSED, round] {
        let zoned = pot(shape, bands, "");
        let tolerance = Tolerance::new(FINE).unwrap();
        let folder = tempfile::tempdir().unwrap();
        let whole = model(&pot(shape, "", ""), tolerance).unwrap();
        let surface = folder.path().join("surface.stl");
        write_stl(&[&of_kind(&whole.parts, PartKind::Finished, 0)[0].mesh], "whole", &surface).unwrap();
        let parts = model(&zoned, tolerance).unwrap();
        let mut files = Vec::new();
        for (i, part) in of_kind(&parts.parts, PartKind::Covering, 0).iter().enumerate() {
            let file = folder.path().join(format!("{i}.stl"));
            write_stl(&[&part.mesh], "part", &file).unwrap();
            files.push(file);
        }
        assert_eq!(files.len(), 3);
        let list = folder.path().join("list.json");
        let asked_for = json!({ "parts": files, "surface": surface, "heights": [0.0, 30.0, 90.0, 131.0] });
        fs::write(&list, asked_for.to_string()).unwrap();
        let found = asked(&python, "zone_areas.py", &[&list]);
        for (i, part) in zoned.zones[0].parts[1..].iter().enumerate() {
            assert_close(shape, part.area, found["surface"][i].as_f64().unwrap(), 2e-3);
            let solid = &found["parts"][i];
            assert_eq!(solid["watertight"], true, "{shape} {i}");
            assert_close(shape, part.volume, solid["volume"].as_f64().unwrap(), 5e-3);
        }
    }
}

/// The report tells each zone with its area and mass, the sum is the covering's, and each zone has its pattern.
#[test]
fn zones_are_told_and_have_patterns() {
    let zoned = pot(TURNED, &format!("{TOP}{BAND}{PATCH}"), "");
    let report = Report::new(&zoned);
    let covering = &report.coverings[0];
    let names: Vec<Option<&str>> = covering.zones.iter().map(|zone| zone.name.as_deref()).collect();
    assert_eq!(names, [None, Some("top"), Some("foot band"), Some("patch")]);
    assert_close("mass", covering.zones.iter().map(|zone| zone.mass_g).sum(), covering.mass_g, 1e-9);
    let text = text(&zoned, &report, &Overview::new(&zoned), Explain::Figures, Language::english());
    for told in ["top: 314 cm² of rolled icing", "foot band (rolled icing)", "patch (rolled icing)"] {
        assert!(text.contains(told), "no {told} in {text}");
    }
    let paper = &zoned.design.paper;
    let figures = Template::Icing.figures(&zoned, paper, Language::english());
    let titles: Vec<&str> = figures.iter().map(|figure| figure.title.as_str()).collect();
    for zone in ["Top", "Foot band", "Patch"] {
        assert!(titles.iter().any(|title| title.contains(zone)), "{titles:?}");
    }
}
