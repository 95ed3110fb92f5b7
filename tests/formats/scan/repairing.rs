//! Messy models become the solid that they were meant to be, and what was done is told.

use formats::scan::{self, RepairOptions, ScanError};
use geom::{DistanceField, Solid, TriMesh};
use glam::{DVec3, dvec3};

use super::models::{AS_IT_IS, ball, fix, fix_with, model, pebble, wedge};
use crate::support::{assert_close, evenly};

/// Every triangle with corners of its own.
fn soup(mesh: &TriMesh) -> TriMesh {
    let positions: Vec<DVec3> = (0..mesh.len()).flat_map(|t| mesh.corners(t)).collect();
    let triangles = (0..mesh.len() as u32).map(|t| [3 * t, 3 * t + 1, 3 * t + 2]).collect();
    TriMesh { positions, triangles }
}

fn joined(meshes: &[TriMesh]) -> TriMesh {
    let mut all = TriMesh::default();
    meshes.iter().for_each(|mesh| all.append(mesh));
    all
}

fn inside_out(mut mesh: TriMesh) -> TriMesh {
    mesh.triangles.iter_mut().for_each(|t| t.swap(1, 2));
    mesh
}

#[track_caller]
fn assert_told(notes: &[String], what: &str) {
    assert!(notes.iter().any(|note| note.contains(what)), "nothing of \"{what}\" in {notes:?}");
}

#[test]
fn a_sound_model_is_left_alone() {
    for mesh in [wedge(), pebble(4)] {
        let repaired = fix(&mesh).unwrap();
        assert!(repaired.notes.is_empty() && repaired.loose.is_empty(), "{:?}", repaired.notes);
        assert_eq!(repaired.mesh.len(), mesh.len());
        assert_close("volume", repaired.mesh.volume(), mesh.volume(), 1e-12);
    }
}

#[test]
fn seams_are_welded_and_wrong_faces_turned() {
    let clean = pebble(4);
    let mut messy = soup(&clean);
    for (p, jitter) in messy.positions.iter_mut().zip(evenly(clean.len() as u32 * 3)) {
        *p += (DVec3::from_array(jitter) - 0.5) * 0.02;
        p.z = p.z.max(0.0);
    }
    messy.triangles.iter_mut().skip(5).step_by(3).for_each(|t| t.swap(1, 2));
    let repaired = fix(&messy).unwrap();
    assert_told(&repaired.notes, "corners along open seams were joined (within 0.1 mm)");
    assert_told(&repaired.notes, "faced the wrong way");
    assert_eq!(repaired.mesh.positions.len(), clean.positions.len());
    assert_close("volume", repaired.mesh.volume(), clean.volume(), 1e-3);
}

/// Corners along a seam that lie on the edges of the other side, as when two halves are cut differently.
#[test]
fn seams_whose_sides_are_cut_differently_are_closed() {
    // A box of 60 whose top is cut into four, its sides not.
    let mut mesh = wedge();
    for p in &mut mesh.positions[4..] {
        p.z = 60.0;
    }
    mesh.triangles.retain(|t| !t.iter().all(|v| *v >= 4));
    let corner = |x: i32, y: i32| dvec3(60.0 * f64::from(x), 40.0 * f64::from(y), 60.0);
    for x in [-1, 0] {
        for y in [-1, 0] {
            let base = mesh.positions.len() as u32;
            mesh.positions.extend([corner(x, y), corner(x + 1, y), corner(x + 1, y + 1), corner(x, y + 1)]);
            mesh.triangles.extend([[base, base + 1, base + 2], [base, base + 2, base + 3]]);
        }
    }
    let repaired = fix(&mesh).unwrap();
    assert_close("volume", repaired.mesh.volume(), 120.0 * 80.0 * 60.0, 1e-12);
}

#[test]
fn what_is_there_twice_goes() {
    let clean = pebble(3);
    for twice in [
        joined(&[clean.clone(), clean.clone()]),
        joined(&[clean.clone(), inside_out(clean.clone())]),
        joined(&[clean.clone(), TriMesh { triangles: clean.triangles[..40].to_vec(), ..clean.clone() }]),
        joined(&[
            clean.clone(),
            inside_out(TriMesh { triangles: clean.triangles[7..50].to_vec(), ..clean.clone() }),
        ]),
    ] {
        let repaired = fix(&twice).unwrap();
        assert_told(&repaired.notes, "there twice");
        assert_eq!(repaired.mesh.len(), clean.len());
        assert_close("volume", repaired.mesh.volume(), clean.volume(), 1e-12);
    }
}

#[test]
fn inside_out_models_are_turned() {
    let repaired = fix(&inside_out(pebble(3))).unwrap();
    assert_told(&repaired.notes, "inside out");
    assert_told(&repaired.notes, "it enclosed nothing (it faced inwards)");
    assert_close("volume", repaired.mesh.volume(), pebble(3).volume(), 1e-12);
}

/// Parts that overlap, touch in a face, or lie in each other are one solid, whichever way they face. The kernel's
/// own union is the reference; of the touching ones, arithmetic.
#[test]
fn parts_that_cross_are_joined_and_hollows_filled() {
    let (one, two) = (pebble(4), pebble(4).translated(dvec3(47.3, 11.0, 0.0)));
    let solid = |mesh: &TriMesh| Solid::from_mesh(mesh).unwrap();
    let reference = solid(&one).union(&solid(&two)).volume();
    for second in [two.clone(), inside_out(two)] {
        let repaired = fix(&joined(&[one.clone(), second])).unwrap();
        assert_told(&repaired.notes, "2 parts that cross, touch or lie in each other were joined to 1");
        assert_close("union", repaired.mesh.volume(), reference, 1e-9);
        let mended = format!("mended it encloses {:.3} l", reference / 1e6);
        assert_told(&repaired.notes, &mended);
    }
    let both = fix(&joined(&[one.clone(), pebble(4).translated(dvec3(47.3, 11.0, 0.0))])).unwrap();
    assert_told(&both.notes, &format!("as it came it enclosed {:.3} l", 2.0 * one.volume() / 1e6));
    assert!(2.0 * one.volume() > 1.05 * reference);
    let small = TriMesh {
        positions: ball(2).positions.iter().map(|p| *p * 9.0 + DVec3::Z * 20.0).collect(),
        ..ball(2)
    };
    for hollow in [small.clone(), inside_out(small)] {
        let repaired = fix(&joined(&[one.clone(), hollow])).unwrap();
        assert_close("filled", repaired.mesh.volume(), one.volume(), 1e-12);
    }
    let upright = |x: f64| {
        let mut mesh = wedge();
        mesh.positions.iter_mut().for_each(|p| p.z = if p.z > 0.0 { 60.0 } else { 0.0 });
        mesh.translated(dvec3(x, 0.0, 0.0))
    };
    let repaired = fix(&joined(&[upright(-60.0), upright(60.0)])).unwrap();
    assert_eq!(repaired.mesh.connected_components().1, 1, "{:?}", repaired.notes);
    assert_close("touching", repaired.mesh.volume(), 240.0 * 80.0 * 60.0, 1e-9);
}

/// A ribbon pushed through itself: a box whose top is pulled down through its side.
#[test]
fn what_crosses_itself_is_cleared() {
    let mut mesh = pebble(4);
    let top = mesh.bounds().unwrap().1;
    for p in &mut mesh.positions {
        // The top of the pebble sheared out and down through its flank.
        if p.z > 40.0 {
            *p = dvec3(p.x + 3.0 * (p.z - 40.0), p.y, 40.0 - 1.3 * (p.z - 40.0));
        }
    }
    assert!(mesh.intersects_itself(), "{top}");
    let repaired = fix(&mesh).unwrap();
    assert!(!repaired.mesh.intersects_itself());
    repaired.mesh.check().unwrap();
}

#[test]
fn small_holes_and_the_underside_are_closed_and_larger_ones_refused_with_their_place() {
    let clean = pebble(5);
    let within = |at: DVec3, reach: f64| {
        let mut mesh = clean.clone();
        mesh.triangles.retain(|t| t.iter().any(|v| mesh.positions[*v as usize].distance(at) > reach));
        mesh
    };
    let side = dvec3(0.0, -50.0, 25.0);
    let repaired = fix(&within(side, 8.0)).unwrap();
    assert_told(&repaired.notes, "1 holes with rims up to 60 mm were filled flat");
    assert_close("filled", repaired.mesh.volume(), clean.volume(), 2e-3);
    let large = within(side, 20.0);
    match fix(&large) {
        Err(ScanError::Holes { holes, .. }) => {
            assert_eq!(holes.len(), 1);
            assert!(holes[0].on_cake.distance(side) < 4.0, "{holes:?}");
            assert!(holes[0].rim > 80.0 && holes[0].rim < 200.0, "{holes:?}");
            let placed = AS_IT_IS.of(&model(&large)).unwrap();
            assert!(placed.to_cake.transform_point3(holes[0].in_model).distance(holes[0].on_cake) < 1e-9);
        }
        other => panic!("{other:?}"),
    }
    fix_with(&large, &RepairOptions { fill: 300.0, ..RepairOptions::default() }).unwrap();
    let mut open = clean.clone();
    open.triangles.retain(|t| t.iter().any(|v| open.positions[*v as usize].z > 0.0));
    let repaired = fix(&open).unwrap();
    assert_told(&repaired.notes, "open underneath");
    // It stands on the board, which closes it.
    assert_told(&repaired.notes, &format!("as it came it enclosed {:.3} l", clean.volume() / 1e6));
    assert_close("closed below", repaired.mesh.volume(), clean.volume(), 1e-12);
}

#[test]
fn parts_in_the_air_are_told() {
    let repaired = fix(&joined(&[
        pebble(3),
        ball(2).translated(dvec3(0.0, 0.0, 90.0)),
        ball(2).translated(dvec3(90.0, 0.0, 9.0)),
    ]))
    .unwrap();
    assert_eq!(repaired.loose.len(), 2);
    assert_eq!(repaired.floating().len(), 2);
    assert!(repaired.floating()[0].1.contains("hangs in the air"), "{:?}", repaired.floating());
}

/// A Möbius strip has no inside.
#[test]
fn a_strip_with_one_side_is_refused() {
    let mut mesh = TriMesh::default();
    for i in 0..24 {
        let turn = std::f64::consts::TAU * f64::from(i) / 24.0;
        let across =
            dvec3(turn.cos() * (turn / 2.0).cos(), turn.sin() * (turn / 2.0).cos(), (turn / 2.0).sin())
                * 20.0;
        let middle = dvec3(turn.cos(), turn.sin(), 0.0) * 80.0;
        mesh.positions.extend([middle - across, middle + across]);
    }
    for i in 0..24u32 {
        let (a, b) = (2 * i, 2 * i + 1);
        let (c, d) = if i == 23 { (1, 0) } else { (a + 2, b + 2) };
        mesh.triangles.extend([[a, c, b], [b, c, d]]);
    }
    assert!(matches!(fix(&mesh), Err(ScanError::OneSided { .. })));
}

/// A knife reaches all of a box, and the flank under a cap by a straight cut; it does not reach round the corner
/// inside a narrow-mouthed jar.
#[test]
fn undercuts_are_told_with_their_place() {
    let told = |mesh: &TriMesh| scan::undercuts(mesh, &DistanceField::new(mesh));
    assert_eq!(told(&wedge()), None);
    let turned = |outline: &[(f64, f64)]| geom::revolve::revolve(&crate::support::section(outline), 96);
    assert_eq!(
        told(&turned(&[(0.0, 0.0), (30.0, 0.0), (30.0, 60.0), (60.0, 60.0), (60.0, 90.0), (0.0, 90.0)])),
        None
    );
    // A jar, 100 wide inside, with a mouth of 10.
    let jar = turned(&[
        (0.0, 0.0),
        (60.0, 0.0),
        (60.0, 110.0),
        (5.0, 110.0),
        (5.0, 100.0),
        (50.0, 100.0),
        (50.0, 10.0),
        (0.0, 10.0),
    ]);
    let hidden = told(&jar).expect("the inside of the jar");
    let inside = std::f64::consts::TAU * 50.0 * 90.0 + 2.0 * std::f64::consts::PI * 2500.0;
    let outside =
        std::f64::consts::TAU * 60.0 * 110.0 + std::f64::consts::PI * 3600.0 + std::f64::consts::TAU * 50.0;
    let most = inside / (inside + outside);
    // All of the inside but the middle of its floor.
    assert!(hidden.share > 0.8 * most && hidden.share < most, "{hidden:?} of {most}");
    assert!(hidden.at.truncate().length() < 51.0 && hidden.at.z > 5.0 && hidden.at.z < 105.0, "{hidden:?}");
}
