//! OBJ and MTL as the format has them, and as general viewers show them best.

use std::collections::HashSet;

use formats::{
    export::{
        MeshF32,
        obj::{self, Materials},
    },
    model::{Model, Rgb},
};
use glam::DVec3;

use super::same_on_any_number_of_threads;
use crate::{
    meshes::{ball, cuboid},
    models::{part, small_cake},
};

fn texts_of(model: &Model) -> (String, String) {
    let solids: Vec<_> = model.parts.iter().map(|part| MeshF32::new(&part.mesh).expect("a solid")).collect();
    let materials = Materials::of(model);
    let (mut text, mut library) = (Vec::new(), Vec::new());
    obj::write(&mut text, model, &solids, &materials, "cake.mtl").expect("written");
    materials.write(&mut library).expect("written");
    (String::from_utf8(text).expect("UTF-8"), String::from_utf8(library).expect("UTF-8"))
}

/// The words after `key` of every line that begins with it.
fn after<'a>(text: &'a str, key: &str) -> Vec<Vec<&'a str>> {
    let lines = text.lines().map(|line| line.split(' ').collect::<Vec<_>>());
    lines.filter(|words| words[0] == key).map(|words| words[1..].to_vec()).collect()
}

fn points(text: &str, key: &str) -> Vec<DVec3> {
    let number = |word: &str| f64::from(word.parse::<f32>().expect("a number with a decimal point"));
    after(text, key)
        .iter()
        .map(|words| DVec3::new(number(words[0]), number(words[1]), number(words[2])))
        .collect()
}

/// Position and normal of each corner of each face, counted from 0.
fn faces(text: &str) -> Vec<[(usize, usize); 3]> {
    let corner = |word: &str| {
        let (v, n) = word.split_once("//").expect("v//vn");
        (v.parse::<usize>().expect("an index") - 1, n.parse::<usize>().expect("an index") - 1)
    };
    after(text, "f").iter().map(|words| [corner(words[0]), corner(words[1]), corner(words[2])]).collect()
}

fn one_part(mesh: geom::TriMesh) -> Model {
    Model {
        name: "one".to_owned(),
        parts: vec![part("only", "sponge", Rgb(1, 2, 3), mesh)],
        ..Model::default()
    }
}

// Source: "OBJ Format" course page (`v`, `vn`, `f v//vn`, `o`, `mtllib`, `usemtl`, indices from 1).
#[test]
fn a_box_line_by_line() {
    let (text, _) = texts_of(&one_part(cuboid(DVec3::new(10.0, 20.0, 0.5))));
    let expected = "\
# one
# millimetres, y up, front faces +z
# Printed plastic is not food-safe: keep a barrier film between the print and what is eaten, and use a print once.
mtllib cake.mtl
o only
usemtl sponge
s 1
v 0 0 0
v 10 0 0
v 0 0 -20
v 10 0 -20
v 0 0.5 0
v 10 0.5 0
v 0 0.5 -20
v 10 0.5 -20
vn 0 0 1
vn 0 -1 0
vn -1 0 0
vn 1 0 0
vn 0 0 -1
vn 0 1 0
";
    assert!(text.starts_with(expected), "{text}");
    assert_eq!(after(&text, "f").len(), 12);
    assert_eq!(text.lines().count(), expected.lines().count() + 12);
}

// Source: Wavefront MTL specification 4.2, from memory: `newmtl`, `Ka Kd Ks r g b` from 0 to 1, `d`, `illum`.
#[test]
fn materials_line_by_line() {
    let (_, library) = texts_of(&small_cake());
    let expected = "\
# colours are sRGB, 0 to 1
newmtl card
Ka 0 0 0
Kd 0.7843 0.7843 0.8039
Ks 0 0 0
d 1
illum 1
newmtl sponge
Ka 0 0 0
Kd 0.9412 0.8392 0.5490
Ks 0 0 0
d 1
illum 1
newmtl icing
Ka 0 0 0
Kd 1.0000 0.0000 0.2000
Ks 0 0 0
d 1
illum 1
";
    assert_eq!(library, expected);
}

// Source: the turn from z up to y up of glTF 2.0 (Khronos Specification.adoc §3.4), (x, y, z) → (x, z, −y),
// here without its metres.
#[test]
fn z_up_becomes_y_up_and_the_front_faces_plus_z() {
    let (text, _) = texts_of(&one_part(cuboid(DVec3::new(10.0, 20.0, 30.0))));
    assert!(points(&text, "v").contains(&DVec3::new(10.0, 30.0, -20.0)));
    assert!(!text.contains("-0 ") && !text.contains("-0\n"), "no negative zero");
}

#[test]
fn indices_run_on_from_part_to_part() {
    let cake = small_cake();
    let (text, _) = texts_of(&cake);
    let (positions, normals, faces) = (points(&text, "v"), points(&text, "vn"), faces(&text));
    assert_eq!(positions.len(), cake.parts.iter().map(|part| part.mesh.positions.len()).sum::<usize>());
    let mut face = faces.iter();
    for part in &cake.parts {
        for index in 0..part.mesh.len() {
            let corners = face.next().expect("a face for each triangle");
            for (&(v, n), p) in corners.iter().zip(part.mesh.corners(index)) {
                let expected = DVec3::new(p.x, p.z, -p.y).as_vec3().as_dvec3();
                assert_eq!(positions[v], expected, "every digit of the f32 is written");
                assert!((normals[n].length() - 1.0).abs() < 2e-4);
            }
        }
    }
    assert!(face.next().is_none());
    assert_eq!(after(&text, "o"), [["board"], ["layer_1"], ["layer_2"], ["box"]]);
    assert_eq!(after(&text, "usemtl"), [["card"], ["sponge"], ["sponge"], ["icing"]]);
}

#[test]
fn normals_agree_with_the_winding_and_are_smooth_on_a_ball() {
    let (text, _) = texts_of(&one_part(ball(50.0, 30, 60)));
    let (positions, normals) = (points(&text, "v"), points(&text, "vn"));
    let rim = positions.iter().map(|p| p.y).fold(f64::MIN, f64::max);
    for corners in faces(&text) {
        let [a, b, c] = corners.map(|(v, _)| positions[v]);
        let face_normal = (b - a).cross(c - a).normalize();
        for (v, n) in corners {
            assert!(face_normal.dot(normals[n]) > 0.9);
            // Away from the flat ends the normal of a ball points straight out.
            if positions[v].y.abs() < rim - 1.0 {
                assert!(normals[n].dot(positions[v].normalize()) > 1.0 - 1e-3);
            }
        }
    }
}

#[test]
fn names_are_safe_and_stay_different() {
    let mut cake = small_cake();
    for (part, name) in cake.parts.iter_mut().zip(["top tier", "top\ttier", "#", "top\ntier"]) {
        part.name = name.to_owned();
    }
    cake.parts[1].material = "vanilla sponge".to_owned();
    cake.parts[2].material = "vanilla_sponge".to_owned();
    cake.name = "two\nlines".to_owned();
    let (text, library) = texts_of(&cake);
    assert_eq!(after(&text, "o"), [["top_tier"], ["top_tier-2"], ["part"], ["top_tier-3"]]);
    let used: HashSet<_> = after(&text, "usemtl").into_iter().flatten().collect();
    let defined: HashSet<_> = after(&library, "newmtl").into_iter().flatten().collect();
    assert_eq!(used, defined);
    assert_eq!(used.len(), 4, "two materials whose names look alike stay two");
}

#[test]
fn one_material_in_two_colours_is_two() {
    let mut cake = small_cake();
    cake.parts[2].colour = Rgb(90, 60, 30);
    let (text, library) = texts_of(&cake);
    assert_eq!(after(&text, "usemtl")[1..3], [["sponge"], ["sponge-2"]]);
    assert!(library.contains("newmtl sponge-2\nKa 0 0 0\nKd 0.3529 0.2353 0.1176\n"));
}

#[test]
fn the_same_model_gives_the_same_text() {
    let model = one_part(ball(90.0, 150, 200));
    same_on_any_number_of_threads(|| texts_of(&model));
}
