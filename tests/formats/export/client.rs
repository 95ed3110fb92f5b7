//! Files for the client, GLB and USDZ, in the hands of readers that are not ours, and of ours.

use std::{fs, path::Path, process::Command};

use formats::{
    export::{MeshF32, glb, usdz, write_model},
    model::{Model, Part, PartKind, Rgb, Stage},
    scan,
};
use geom::{TriMesh, progress::NoProgress};
use glam::{DMat4, DVec3};

use super::same_on_any_number_of_threads;
use crate::{
    meshes::{ball, cuboid, cylinder, turned},
    models::part,
    reference::{asked, folder, number, python},
};

/// How far sizes in two files may differ, mm.
const SAME: f64 = 0.05;

/// A cake with a part of most kinds, with names that formats and readers take for more than names.
fn cake() -> Model {
    let of =
        |kind, name: &str, material: &str, colour, mesh| Part { kind, ..part(name, material, colour, mesh) };
    let at = |x: f64, y: f64, z: f64| DVec3::new(x, y, z);
    let board = cylinder(160.0, 4.0, 96).translated(at(0.0, 0.0, -4.0));
    let body = turned(&[(100.0, 0.0), (120.5, 60.0), (90.0, 141.3), (110.0, 170.0)], 180);
    Model {
        name: "Torte <b>\"für\"</b> \\ ابن 🍰".to_owned(),
        parts: vec![
            of(PartKind::PresentationBoard, "board", "card", Rgb(200, 200, 205), board),
            of(PartKind::Kept, "layer 1", "sponge", Rgb(240, 214, 140), cylinder(80.0, 40.0, 64)),
            of(PartKind::Covering, "icing 1", "sugar paste", Rgb(250, 250, 250), cylinder(101.0, 40.0, 64)),
            of(PartKind::Finished, "finished", "sugar paste", Rgb(250, 20, 51), body),
            of(
                PartKind::Add,
                "\"Eye\" <1> \\",
                "sugar paste",
                Rgb(0, 0, 0),
                ball(9.0, 12, 24).translated(at(40.0, -150.0, 90.0)),
            ),
            of(
                PartKind::Add,
                "目",
                "sugar paste",
                Rgb(250, 20, 51),
                cuboid(at(3.0, 7.0, 0.4)).translated(at(-40.0, -150.0, 90.0)),
            ),
            of(
                PartKind::Offcut,
                "offcut of layer 1",
                "sponge",
                Rgb(240, 214, 140),
                cuboid(at(900.0, 9.0, 9.0)),
            ),
        ],
        ..Model::default()
    }
}

type Writer = fn(&mut dyn std::io::Write, &Model, &[MeshF32<'_>]) -> std::io::Result<()>;

fn bytes(model: &Model, write: Writer) -> Vec<u8> {
    let solids: Vec<_> = model.parts.iter().map(|part| MeshF32::new(&part.mesh).expect("a solid")).collect();
    let mut bytes = Vec::new();
    write(&mut bytes, model, &solids).expect("written");
    bytes
}

/// The JSON part of a GLB file.
fn json_of(glb: &[u8]) -> serde_json::Value {
    let length = u32::from_le_bytes(glb[12..16].try_into().expect("four bytes")) as usize;
    serde_json::from_slice(&glb[20..20 + length]).expect("JSON")
}

/// The ends of a mesh with y up.
fn ends(mesh: &TriMesh) -> [DVec3; 2] {
    let (lo, hi) = mesh.bounds().expect("not empty");
    [DVec3::new(lo.x, lo.z, -hi.y), DVec3::new(hi.x, hi.z, -lo.y)]
}

#[test]
fn a_client_sees_the_finished_cake_and_nothing_inside_it() {
    let names = |stage| cake().at(stage).parts.into_iter().map(|part| part.name).collect::<Vec<_>>();
    assert_eq!(names(Stage::default()), ["board", "finished", "\"Eye\" <1> \\", "目"]);
    assert_eq!(names(Stage::Carved), ["board", "layer 1"]);
    assert_eq!(names(Stage::Raw), ["board"]);
}

#[test]
fn the_same_cake_gives_the_same_bytes() {
    let model = cake();
    for write in [glb::write as Writer, usdz::write] {
        same_on_any_number_of_threads(|| bytes(&model, write));
    }
}

/// trimesh and OpenUSD find each part of each file where it is, as large as it is, closed and in its colour; OpenUSD's
/// validators find nothing.
#[test]
fn other_readers_find_the_same_sizes() {
    let Some(python) = python() else { return };
    let folder = tempfile::tempdir().unwrap();
    let model = cake().at(Stage::Finished);
    let files = ["obj", "glb", "usdz"].map(|ending| folder.path().join(format!("cake.{ending}")));
    files.iter().for_each(|file| drop(write_model(&model, file, &NoProgress).unwrap()));
    let found = asked(&python, "client_files.py", &files);
    assert_eq!(found["usdz"]["faults"], serde_json::json!([]));
    for ending in ["obj", "glb", "usdz"] {
        let parts = found[ending]["parts"].as_object().expect("parts");
        assert_eq!(parts.len(), model.parts.len(), "{ending}: {parts:?}");
        for part in &model.parts {
            // OBJ has words, not names.
            let word = |c: char| if c.is_alphanumeric() { c } else { '_' };
            let name =
                if ending == "obj" { part.name.chars().map(word).collect() } else { part.name.clone() };
            let found = &parts[&name];
            for (end, ours) in ["lo", "hi"].into_iter().zip(ends(&part.mesh)) {
                for (axis, ours) in ours.to_array().into_iter().enumerate() {
                    let off = (found[end][axis].as_f64().expect("a number") - ours).abs();
                    assert!(off < SAME, "{ending}, {name}: {found}");
                }
            }
            assert!(
                (number(found, "volume") / part.mesh.volume() - 1.0).abs() < 2e-3,
                "{ending}, {name}: {found}"
            );
            assert_eq!(found["watertight"], true, "{ending}, {name}: {found}");
            assert_eq!(found["winding_consistent"], true, "{ending}, {name}: {found}");
            if ending != "obj" {
                let roughness = if part.kind == PartKind::PresentationBoard { 0.9 } else { 0.4 };
                assert!((number(found, "roughness") - roughness).abs() < 1e-6, "{ending}, {name}: {found}");
            }
        }
    }
}

/// gltf-rs, which reads whole numbers as places where its own check, which knows no such extension, is left out.
#[test]
fn gltf_rs_finds_the_same_sizes_and_colours() {
    let model = cake();
    let bytes = bytes(&model, glb::write);
    let file = gltf::Gltf::from_slice_without_validation(&bytes).expect("glTF");
    let scene = file.default_scene().expect("a scene");
    let json = json_of(&bytes);
    assert_eq!(json["scenes"][0]["name"], model.name);
    assert_eq!(scene.nodes().count(), model.parts.len());
    for (node, part) in scene.nodes().zip(&model.parts) {
        assert_eq!(json["nodes"][node.index()]["name"], part.name);
        let to_scene =
            DMat4::from_cols_array_2d(&node.transform().matrix().map(|column| column.map(f64::from)));
        let primitive = node.mesh().expect("a mesh").primitives().next().expect("a primitive");
        let positions = primitive.get(&gltf::Semantic::Positions).expect("places");
        let end = |value: Option<gltf::json::Value>| {
            let values = value.expect("an end");
            let at = |axis: usize| values[axis].as_f64().expect("a number");
            to_scene.transform_point3(DVec3::new(at(0), at(1), at(2))) * 1000.0
        };
        for (found, ours) in [end(positions.min()), end(positions.max())].into_iter().zip(ends(&part.mesh)) {
            assert!((found - ours).abs().max_element() < SAME, "{}: {found} {ours}", part.name);
        }
        let material = primitive.material();
        let number = material.index().expect("a number");
        assert_eq!(json["materials"][number]["name"], part.material);
        let [r, g, b, a] = material.pbr_metallic_roughness().base_color_factor();
        // Back by the curve of sRGB.
        let seen = [r, g, b].map(|light| {
            let value =
                if light <= 0.003_130_8 { 12.92 * light } else { 1.055 * light.powf(1.0 / 2.4) - 0.055 };
            (value * 255.0).round() as u8
        });
        assert_eq!((seen, a), ([part.colour.0, part.colour.1, part.colour.2], 1.0), "{}", part.name);
    }
}

/// Our own reader takes the file for the same solids.
#[test]
fn what_is_written_is_read_again() {
    let model = cake();
    let read = scan::read(&bytes(&model, glb::write), scan::Format::Glb, &|_| unreachable!());
    let mesh = read.expect("read").mesh;
    assert_eq!(mesh.len(), model.parts.iter().map(|part| part.mesh.len()).sum::<usize>());
}

/// More vertices than two bytes can count, and a part so thin that corners fall together.
#[test]
fn large_and_thin_parts_stay_whole() {
    let Some(node) = validator(&bytes(&cake(), glb::write)) else { return };
    assert_clean(&node);
    let sheet = cuboid(DVec3::new(300.0, 300.0, 1e-3));
    let large = Model {
        name: "large".to_owned(),
        parts: vec![
            part("ball", "icing", Rgb(1, 2, 3), ball(200.0, 400, 400)),
            part("sheet", "icing", Rgb(1, 2, 3), sheet),
        ],
        ..Model::default()
    };
    assert!(large.parts[0].mesh.positions.len() > usize::from(u16::MAX));
    assert_clean(&validator(&bytes(&large, glb::write)).expect("it was there before"));
}

fn assert_clean(found: &serde_json::Value) {
    assert_eq!((&found["numErrors"], &found["numWarnings"]), (&0.into(), &0.into()), "{found}");
}

/// What Khronos' validator finds, where node and the validator are there.
fn validator(glb: &[u8]) -> Option<serde_json::Value> {
    let own = tempfile::tempdir().unwrap();
    let file = own.path().join("cake.glb");
    fs::write(&file, glb).unwrap();
    let output = Command::new("node").arg(folder().join(Path::new("validate_gltf.cjs"))).arg(&file).output();
    match output {
        Ok(output) if output.status.code() == Some(0) => {
            Some(serde_json::from_slice(&output.stdout).expect("JSON"))
        }
        Err(error) if error.kind() != std::io::ErrorKind::NotFound => panic!("{error}"),
        Ok(output) if output.status.code() != Some(3) => panic!("{output:?}"),
        _ => {
            println!("skipped: no node with gltf-validator; see tests/reference/validate_gltf.cjs");
            None
        }
    }
}
