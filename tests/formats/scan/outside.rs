//! Against trimesh and manifold3d.

use std::fs;

use formats::scan::{Format, Placing, RepairOptions, Scale, repaired};
use geom::{DistanceField, TriMesh};
use glam::{DVec3, dvec3};

use super::models::{self, AS_IT_IS, pebble, read_alone};
use crate::{
    reference::{asked, folder, number, python},
    support::{assert_close, evenly},
};

/// Newell's teapot as npm three 0.187.0 has it: patches that only touch, a lid laid on, spout and handle that run
/// open into the bowl. Made one solid, its volume and level sections are those that trimesh and manifold3d find.
#[test]
fn the_teapot_is_the_solid_that_others_make_of_it() {
    let path = folder().join("models/teapot.obj");
    let model = read_alone(&fs::read(&path).unwrap(), Format::Obj).unwrap();
    // Its bottom is round.
    let placing = Placing { scale: Scale::Unit(1.0), sink: 2.0, ..AS_IT_IS };
    // The spout's rim inside the bowl is 90 mm long.
    let how = RepairOptions { fill: 100.0, ..RepairOptions::default() };
    let teapot = repaired(&placing.of(&model).unwrap(), &how).unwrap();
    assert!(teapot.notes.iter().any(|note| note.contains("3 parts")), "{:?}", teapot.notes);
    assert_eq!(teapot.mesh.connected_components().1, 1);
    let Some(python) = python() else { return };
    let heights = ["5", "30", "50", "70", "85", "95"];
    let path = path.to_string_lossy();
    let arguments: Vec<&str> = [path.as_ref(), "2"].into_iter().chain(heights).collect();
    let theirs = asked(&python, "teapot.py", &arguments);
    // Bowl and lid are welded half-way by them and onto the bowl by us: 3 µm on a rim of 280 mm.
    assert_close("volume", teapot.mesh.volume(), number(&theirs, "volume"), 1e-5);
    for (height, area) in heights.iter().zip(theirs["areas"].as_array().unwrap()) {
        let ours = teapot.mesh.section(height.parse::<f64>().unwrap() - 2.0).area();
        assert_close(&format!("section at {height}"), ours, area.as_f64().unwrap(), 1e-4);
    }
}

/// Distances to a pebble, those beside its foot left out: trimesh counts the foot as surface.
#[test]
fn depths_are_those_of_trimesh() {
    let Some(python) = python() else { return };
    let mesh = pebble(3);
    let folder = tempfile::tempdir().unwrap();
    let (stl, json) = (folder.path().join("pebble.stl"), folder.path().join("points.json"));
    // As STL has it, in `f32`, for both.
    fs::write(&stl, models::stl(&mesh)).unwrap();
    let mesh = read_alone(&models::stl(&mesh), Format::Stl).unwrap().mesh;
    let depths = DistanceField::new(&mesh);
    let points: Vec<DVec3> = evenly(600)
        .map(|p| dvec3(180.0 * p[0] - 90.0, 140.0 * p[1] - 70.0, 80.0 * p[2]))
        .filter(|p| depths.nearest(*p).point.z > 0.0 && p.z > depths.at(*p).abs())
        .collect();
    assert!(points.len() > 200);
    fs::write(
        &json,
        serde_json::to_string(&points.iter().map(|p| p.to_array()).collect::<Vec<_>>()).unwrap(),
    )
    .unwrap();
    let theirs = asked(&python, "depths.py", &[&stl, &json]);
    let found = theirs["depths"].as_array().unwrap();
    assert_eq!(found.len(), points.len());
    for (p, theirs) in points.iter().zip(found) {
        let theirs = theirs.as_f64().unwrap();
        assert!((depths.at(*p) - theirs).abs() < 1e-8, "{p}: {} is not {theirs}", depths.at(*p));
    }
}

/// A pebble in loose triangles that do not quite meet, some the wrong way round, some twice, with a pea pressed
/// into it: the volume is that which trimesh gives the clean one.
#[test]
fn a_messy_pebble_has_the_volume_of_the_clean_one() {
    let Some(python) = python() else { return };
    let clean = pebble(4);
    let folder = tempfile::tempdir().unwrap();
    let (stl, json) = (folder.path().join("clean.stl"), folder.path().join("points.json"));
    fs::write(&stl, models::stl(&clean)).unwrap();
    fs::write(&json, "[[0, 0, 9]]").unwrap();
    let theirs = asked(&python, "depths.py", &[&stl, &json]);
    assert_eq!(theirs["watertight"], true);
    let mut messy = TriMesh::default();
    for (t, jitter) in (0..clean.len()).zip(evenly(clean.len() as u32)) {
        let by = (DVec3::from_array(jitter) - 0.5).with_z(0.0) * 0.03;
        let [a, b, c] = clean.corners(t).map(|p| p + by);
        let base = messy.positions.len() as u32;
        messy.positions.extend(if t % 5 == 0 { [a, c, b] } else { [a, b, c] });
        messy.triangles.push([base, base + 1, base + 2]);
        if t % 11 == 0 {
            messy.triangles.push([base, base + 1, base + 2]);
        }
    }
    let pea = models::ball(2);
    messy.append(&TriMesh {
        positions: pea.positions.iter().map(|p| *p * 8.0 + DVec3::Z * 30.0).collect(),
        ..pea
    });
    let repaired = models::fix(&messy).unwrap();
    assert_close("volume", repaired.mesh.volume(), number(&theirs, "volume"), 1e-4);
}
