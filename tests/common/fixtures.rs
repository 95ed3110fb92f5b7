//! The cakes of `tests/reference/fixtures.json`, which `measure.py` builds with manifold3d and measures.

// The tests of each member use their part of it.
#![allow(dead_code)]

use std::fs;

use formats::model::{Model, PartKind};
use geom::{Cancel, TriMesh};
use glam::{DVec3, dvec3};
use make::solids;
use plan::{
    Plan,
    carve::Surface,
    design::{Operation, Tool},
};
use serde_json::Value;

use crate::{
    plans::plan,
    reference::folder,
    support::{assert_close, tolerance},
};

/// A file beside the scripts.
pub fn read(name: &str) -> Value {
    serde_json::from_slice(&fs::read(folder().join(name)).unwrap()).unwrap()
}

/// The list at `key`.
pub fn list<'a>(value: &'a Value, key: &str) -> &'a [Value] {
    value[key].as_array().map_or(&[], Vec::as_slice)
}

/// The cake file of a fixture. JSON lists and numbers are TOML's too.
fn cake_file(fixture: &Value) -> String {
    let mut text = format!(
        "crumbline = 1\nname = {name}\naccuracy = {{ tool = {chord}, preview = {chord} }}\n\
         [shape.turned]\npoints = {profile}\n[[tier]]\nname = \"only\"\n",
        name = fixture["name"],
        chord = fixture["chord"],
        profile = fixture["profile"]
    );
    for layer in list(fixture, "layers") {
        let (kind, size) = ["round", "square", "pan"]
            .into_iter()
            .find_map(|kind| layer.get(kind).map(|size| (kind, size)))
            .expect("a pan");
        let kind = if kind == "pan" { "rectangle" } else { kind };
        text += &format!("[[tier.layer]]\npan = {{ {kind} = {size} }}\nheight = {}\n", layer["height"]);
        let pieces = list(layer, "pieces").iter().map(|piece| {
            format!("{{ size = {}, at = {}, turn = {} }}", piece["size"], piece["at"], piece["turn"])
        });
        let pieces: Vec<String> = pieces.collect();
        if !pieces.is_empty() {
            text += &format!("pieces = [{}]\n", pieces.join(", "));
        }
        for key in ["offset", "turn"] {
            if let Some(value) = layer.get(key) {
                text += &format!("{key} = {value}\n");
            }
        }
    }
    for (i, detail) in list(fixture, "details").iter().enumerate() {
        let (kind, tool) = detail.as_object().and_then(|table| table.iter().next()).expect("a tool");
        let entries: Vec<String> = tool
            .as_object()
            .expect("a table")
            .iter()
            .map(|(key, value)| format!("{key} = {value}"))
            .collect();
        text += &format!(
            "[[detail]]\nname = \"detail {i}\"\ncut = \"sponge\"\n{kind} = {{ {} }}\n",
            entries.join(", ")
        );
    }
    text
}

/// The plan of a fixture, and its solids.
pub fn planned(fixture: &Value) -> (Plan, Model) {
    let plan = plan(&cake_file(fixture));
    let model = solids::model(&plan, plan.design.preview).unwrap();
    (plan, model)
}

/// The mesh of one kind made of layer `index`; without triangles if there is none.
fn mesh(model: &Model, kind: PartKind, index: usize) -> TriMesh {
    let part = model.parts.iter().find(|part| part.kind == kind && part.index == index);
    part.map(|part| part.mesh.clone()).unwrap_or_default()
}

/// Kinds of parts by their names in `expected.json`.
const KINDS: [(&str, PartKind); 4] = [
    ("raw", PartKind::RawLayer),
    ("kept", PartKind::Kept),
    ("offcut", PartKind::Offcut),
    ("shortfall", PartKind::Shortfall),
];

/// Compares the parts of every cake with what manifold3d made of it: the same meshes, so the same figures.
pub fn assert_cakes(expected: &Value) {
    let fixtures = read("fixtures.json");
    let (cakes, found) = (list(&fixtures, "cakes"), list(expected, "cakes"));
    assert!(cakes.len() == found.len() && cakes.len() >= 4);
    for (fixture, theirs) in cakes.iter().zip(found) {
        let (_, model) = planned(fixture);
        for (i, layer) in list(theirs, "layers").iter().enumerate() {
            for (name, kind) in KINDS {
                let what = format!("{}, layer {}, {name}", fixture["name"], i + 1);
                assert_part(
                    &what,
                    &mesh(&model, kind, i),
                    &layer[name],
                    layer["raw"]["volume"].as_f64().unwrap(),
                );
            }
        }
    }
}

fn assert_part(what: &str, ours: &TriMesh, theirs: &Value, scale: f64) {
    assert_eq!(theirs["watertight"], true, "{what}");
    let volume = theirs["volume"].as_f64().unwrap();
    let measured = ours.mass_properties();
    assert!((measured.volume - volume).abs() <= 1e-8 * scale, "{what}: {} and {volume}", measured.volume);
    if volume < 1e-6 * scale {
        return;
    }
    assert_close(&format!("surface of {what}"), measured.area, theirs["area"].as_f64().unwrap(), 1e-6);
    let centroid = DVec3::from([0, 1, 2].map(|k| theirs["centroid"][k].as_f64().unwrap()));
    assert!((measured.centroid - centroid).length() < 1e-5, "{what}: {} and {centroid}", measured.centroid);
}

fn tool_of(fixture: &Value) -> Tool {
    let number = |kind: &str, key: &str| fixture[kind][key].as_f64().unwrap();
    let has = |kind: &str| fixture.get(kind).is_some();
    match () {
        () if has("ball") => Tool::Ball { centre: DVec3::ZERO, radius: number("ball", "radius") },
        () if has("box") => {
            let size = [0, 1, 2].map(|i| fixture["box"]["size"][i].as_f64().unwrap());
            Tool::Box { centre: DVec3::ZERO, size: DVec3::from(size), turn: 0.0 }
        }
        () if has("cylinder") => Tool::Cylinder {
            from: DVec3::ZERO,
            to: dvec3(0.0, 0.0, number("cylinder", "length")),
            from_radius: number("cylinder", "radius"),
            to_radius: number("cylinder", "radius"),
        },
        () if has("bar") => {
            let end = dvec3(0.0, 0.0, number("bar", "length"));
            let radius = number("bar", "radius");
            Tool::Bar { stations: vec![(DVec3::ZERO, radius), (end, radius)] }
        }
        () => Tool::Ring {
            centre: DVec3::ZERO,
            axis: DVec3::Z,
            radius: number("ring", "radius"),
            bar_radius: number("ring", "bar"),
        },
    }
}

/// Compares tools grown by coverings with the Minkowski sums that manifold3d found.
pub fn assert_grown(expected: &Value) {
    let fixtures = read("fixtures.json");
    let any = plan(&cake_file(&list(&fixtures, "cakes")[0]));
    let (tools, found) = (list(&fixtures, "grown"), list(expected, "grown"));
    assert!(tools.len() == found.len() && tools.len() >= 7);
    for (fixture, theirs) in tools.iter().zip(found) {
        let by = fixture["by"].as_f64().unwrap();
        let surface =
            Surface { lines: &any.lines, depth: by, tolerance: tolerance(0.01), cancel: &Cancel::new() };
        let ours = surface.solid(&tool_of(fixture), Operation::Cut).unwrap().volume();
        let lack = 1.0 - theirs["volume"].as_f64().unwrap() / ours;
        let allowed = if fixture.get("ring").is_some() { 0.03 } else { 0.015 };
        assert!((-1e-3..allowed).contains(&lack), "{}: {ours}, they lack {lack}", fixture["name"]);
    }
}
