//! Models of many parts: made one solid, as others make it, or refused with the place, and never without bound.

use std::fmt::Write;

use formats::scan::{Format, ScanError};
use geom::{TriMesh, real};
use glam::{DAffine3, DQuat, DVec3, dvec3};

use super::models::{ball, fix, read_alone};
use crate::{
    meshes::{cuboid, cylinder, turned},
    reference::{asked, number, python},
    support::assert_close,
};

fn joined(parts: &[TriMesh]) -> TriMesh {
    let mut all = TriMesh::default();
    parts.iter().for_each(|part| all.append(part));
    all
}

/// A box from one corner to the other.
fn from_to(lo: DVec3, hi: DVec3) -> TriMesh {
    let mesh = cuboid(hi - lo);
    let (low, _) = mesh.bounds().unwrap();
    mesh.translated(lo - low)
}

/// Cylinders that cross in one place, no two in one direction.
fn crossing_cylinders(count: u32) -> Vec<TriMesh> {
    let lie = |i: u32| {
        let axis = dvec3(1.0, 0.1 * f64::from(i % 3), 0.07 * f64::from(i)).normalize();
        let turn = DQuat::from_rotation_z(2.1 * f64::from(i)) * DQuat::from_rotation_arc(DVec3::Z, axis);
        let frame = DAffine3::from_quat(turn);
        cylinder(20.0, 160.0, 40).translated(DVec3::Z * -80.0).placed(&frame)
    };
    (0..count).map(lie).collect()
}

/// A keep, four towers with roofs at its corners, and merlons that stand on its rim.
fn castle() -> Vec<TriMesh> {
    let mut parts = vec![from_to(dvec3(-80.0, -80.0, 0.0), dvec3(80.0, 80.0, 80.0))];
    for (x, y) in [(-80.0, -80.0), (80.0, -80.0), (80.0, 80.0), (-80.0, 80.0)] {
        parts.push(cylinder(25.0, 120.0, 32).translated(dvec3(x, y, 0.0)));
        parts.push(turned(&[(0.0, 0.0), (30.0, 0.0), (0.0, 40.0)], 32).translated(dvec3(x, y, 120.0)));
    }
    for i in -3..=3 {
        let along = 20.0 * f64::from(i);
        for side in [-80.0, 80.0] {
            for middle in [dvec3(along, side, 80.0), dvec3(side, along, 80.0)] {
                parts.push(from_to(middle - dvec3(5.0, 5.0, 0.0), middle + dvec3(5.0, 5.0, 15.0)));
            }
        }
    }
    parts
}

fn objects(parts: &[TriMesh]) -> String {
    let (mut text, mut base) = (String::new(), 1);
    for (number, part) in parts.iter().enumerate() {
        let _ = writeln!(text, "o {number}");
        part.positions.iter().for_each(|p| {
            let _ = writeln!(text, "v {} {} {}", p.x, p.y, p.z);
        });
        for [a, b, c] in &part.triangles {
            let _ = writeln!(text, "f {} {} {}", a + base, b + base, c + base);
        }
        base += part.positions.len() as u32;
    }
    text
}

/// The union of `parts` by the program and by manifold3d; trimesh says whether ours is closed.
#[track_caller]
fn assert_as_others(what: &str, parts: &[TriMesh]) {
    let low = parts.iter().filter_map(TriMesh::bounds).map(|(lo, _)| lo.z).fold(f64::INFINITY, f64::min);
    let (lo, hi) = joined(parts).bounds().unwrap();
    let shift = -((lo + hi) / 2.0).with_z(low);
    let parts: Vec<TriMesh> = parts.iter().map(|part| part.clone().translated(shift)).collect();
    let repaired = fix(&joined(&parts)).unwrap_or_else(|error| panic!("{what}: {error}"));
    repaired.mesh.check().unwrap();
    let Some(python) = python() else { return };
    let folder = tempfile::tempdir().unwrap();
    let paths = ["parts.obj", "union.obj"].map(|name| folder.path().join(name));
    std::fs::write(&paths[0], objects(&parts)).unwrap();
    std::fs::write(&paths[1], objects(&[repaired.mesh])).unwrap();
    let theirs = asked(&python, "union.py", &paths);
    assert_eq!(theirs["closed"], true, "{what}");
    assert_close(&format!("{what}: volume"), number(&theirs, "our_volume"), number(&theirs, "volume"), 1e-9);
    assert_close(&format!("{what}: area"), number(&theirs, "our_area"), number(&theirs, "area"), 1e-7);
}

#[test]
fn cylinders_that_cross_are_the_union_that_others_make() {
    // Cut off where they would stand on a point.
    let foot = from_to(dvec3(-60.0, -60.0, -90.0), dvec3(60.0, 60.0, -40.0));
    let parts: Vec<TriMesh> = crossing_cylinders(10).into_iter().chain([foot]).collect();
    assert_as_others("ten cylinders", &parts);
}

#[test]
fn boxes_that_touch_or_share_planes_are_the_union_that_others_make() {
    let one = from_to(DVec3::ZERO, dvec3(80.0, 60.0, 50.0));
    let turned = one.clone().placed(&DAffine3::from_rotation_z(0.5));
    for (what, other) in [
        ("over each other on one plane", from_to(dvec3(40.0, 20.0, 0.0), dvec3(120.0, 100.0, 50.0))),
        ("face to face", from_to(dvec3(80.0, 0.0, 0.0), dvec3(120.0, 60.0, 50.0))),
        ("half a face on the other", from_to(dvec3(80.0, 30.0, 0.0), dvec3(120.0, 90.0, 50.0))),
        ("one on the other", from_to(dvec3(20.0, 10.0, 50.0), dvec3(60.0, 40.0, 90.0))),
        ("one turned", turned),
        ("the same twice over, one higher", from_to(DVec3::ZERO, dvec3(80.0, 60.0, 70.0))),
    ] {
        assert_as_others(what, &[one.clone(), other]);
    }
}

#[test]
fn a_castle_is_the_union_that_others_make() {
    assert_as_others("castle", &castle());
}

/// 4 × 4 × 4 cubes face to face: every wall between them is there twice.
#[test]
fn blocks_in_a_grid_are_one_block() {
    let at = |i: u32| dvec3(f64::from(i % 4), f64::from(i / 4 % 4), f64::from(i / 16)) * 20.0;
    let blocks: Vec<TriMesh> = (0..64).map(|i| from_to(at(i), at(i) + 20.0)).collect();
    let repaired = fix(&joined(&blocks)).unwrap();
    assert_close("volume", repaired.mesh.volume(), real::powi(80.0, 3), 1e-12);
    assert_eq!(repaired.mesh.connected_components().1, 1);
}

/// Balls in the air are never put through a boolean, and the first few are told.
#[test]
fn parts_in_the_air_are_told_as_one() {
    let mut parts = vec![from_to(dvec3(-50.0, -50.0, 0.0), dvec3(50.0, 50.0, 50.0))];
    let speck = |i: u32| {
        let mut speck = ball(1);
        speck.positions.iter_mut().for_each(|p| *p *= 0.02);
        speck.translated(dvec3(-40.0 + f64::from(i % 20) * 4.0, -40.0 + f64::from(i / 20) * 4.0, 80.0))
    };
    parts.extend((0..300).map(speck));
    let repaired = fix(&joined(&parts)).unwrap();
    assert_eq!(repaired.loose.len(), 300);
    assert_eq!(repaired.mesh.len(), joined(&parts).len());
    let told = repaired.floating();
    assert_eq!(told.len(), 8);
    assert!(told[7].1.ends_with("; so do 292 smaller ones"), "{}", told[7].1);
}

/// Thousands of triangles at one corner lie beside each other by the million.
#[test]
fn a_fan_of_thin_triangles_is_refused_with_its_corner() {
    let cone = turned(&[(0.0, 0.0), (80.0, 0.0), (0.0, 100.0)], 12_000);
    let Err(error) = fix(&cone) else { panic!("a fan was taken") };
    assert!(matches!(error, ScanError::Thin { .. }), "{error}");
    assert!(error.to_string().contains("beside each other") && error.fix().contains("remesh"), "{error}");
    fix(&turned(&[(0.0, 0.0), (80.0, 0.0), (0.0, 100.0)], 2000)).unwrap();
}

/// Triangles that lie about, each open: no solid, and told so with the first holes.
#[test]
fn loose_triangles_are_refused() {
    let place = |i: u32| {
        let p = |k: u32, of: u32| f64::from(i.wrapping_mul(2_654_435_761).wrapping_add(k * 40_503) % of);
        [
            dvec3(p(1, 211), p(2, 197), p(3, 151)),
            dvec3(p(4, 211), p(5, 197), p(6, 151)),
            dvec3(p(7, 211), p(8, 197), p(9, 151)),
        ]
    };
    let positions: Vec<DVec3> = (0..3000).flat_map(place).collect();
    let triangles = (0..3000).map(|i| [3 * i, 3 * i + 1, 3 * i + 2]).collect();
    let Err(error) = fix(&TriMesh { positions, triangles }) else { panic!("a soup was taken") };
    assert!(matches!(error, ScanError::Holes { .. }), "{error}");
    assert!(error.to_string().len() < 1000, "{error}");
}

#[test]
fn an_obj_of_lines_that_go_on_is_read_once() {
    let solid = "v 0 0 0\nv 90 0 0\nv 0 90 0\nv 0 0 90\nf 1 3 2\nf 1 2 4\nf 2 3 4\nf 3 1 \\\n 4\n";
    let plain = read_alone(solid.as_bytes(), Format::Obj).unwrap();
    // 300 000 lines in one: copied anew for each they would come to 90 GB.
    let long = format!("{solid}l 1{}\n", " \\\n 2".repeat(300_000));
    let read = read_alone(long.as_bytes(), Format::Obj).unwrap();
    assert_eq!(read.mesh, plain.mesh);
    // What is wrong after it is still told with its own line.
    let wrong = format!("{long}f 1 2 9\n");
    let error = read_alone(wrong.as_bytes(), Format::Obj).unwrap_err().to_string();
    assert!(error.starts_with("line 300011: "), "{error}");
}

#[test]
fn polygons_of_too_many_corners_are_refused_by_their_line() {
    let ring = |count: u32| {
        let corner = |i: u32| {
            let (sin, cos) = (std::f64::consts::TAU * f64::from(i) / f64::from(count)).sin_cos();
            let radius = if i.is_multiple_of(2) { 80.0 } else { 90.0 };
            format!("v {} {} 0\n", radius * cos, radius * sin)
        };
        let named: Vec<String> = (1..=count).map(|i| i.to_string()).collect();
        format!("{}f {}\n", (0..count).map(corner).collect::<String>(), named.join(" "))
    };
    assert_eq!(read_alone(ring(500).as_bytes(), Format::Obj).unwrap().mesh.len(), 498);
    let error = read_alone(ring(50_000).as_bytes(), Format::Obj).unwrap_err();
    assert!(error.to_string().starts_with("line 50001: a face of 50000 corners"), "{error}");
    assert!(error.fix().contains("in triangles"));
}
