//! Models as exporters leave them: leaning by round-off, with gaps where parts should touch, on a sheet, with
//! specks about them, and in a unit that makes no cake of them. What the boxes hold is arithmetic.

use formats::scan::{self, Format, ScanError};
use geom::{Cancel, MostCrossings, TriMesh};
use glam::{DQuat, DVec3, dvec3};
use proptest::prelude::*;

use super::models::{AS_IT_IS, ball, fix, model, read_alone};
use crate::support::assert_close;

/// A box whose lowest corner is `at`.
fn block(at: DVec3, size: DVec3) -> TriMesh {
    let mut mesh = TriMesh::default();
    for number in 0..8u32 {
        let corner = dvec3(f64::from(number & 1), f64::from(number >> 1 & 1), f64::from(number >> 2));
        mesh.positions.push(at + corner * size);
    }
    for [a, b, c, d] in [[0, 2, 3, 1], [4, 5, 7, 6], [0, 1, 5, 4], [2, 6, 7, 3], [0, 4, 6, 2], [1, 3, 7, 5]] {
        mesh.triangles.extend([[a, b, c], [a, c, d]]);
    }
    mesh
}

fn joined(meshes: &[TriMesh]) -> TriMesh {
    let mut all = TriMesh::default();
    meshes.iter().for_each(|mesh| all.append(mesh));
    all
}

/// Three boxes on each other with gaps between them.
fn stack(gap: f64) -> TriMesh {
    let storey = |size: f64, z: f64| block(dvec3(-size / 2.0, -size / 2.0, z), dvec3(size, size, 40.0));
    joined(&[storey(150.0, 0.0), storey(120.0, 40.0 + gap), storey(90.0, 80.0 + 2.0 * gap)])
}

/// What [`stack`] holds, mm³.
const STACK: f64 = (150.0 * 150.0 + 120.0 * 120.0 + 90.0 * 90.0) * 40.0;

fn leaning(mut mesh: TriMesh, by: f64, about: DVec3) -> TriMesh {
    let turn = DQuat::from_axis_angle(about.normalize(), by);
    mesh.positions.iter_mut().for_each(|p| *p = turn * *p);
    mesh
}

#[test]
fn a_foot_that_leans_by_round_off_is_levelled() {
    for by in [1e-9, 1e-7, 1e-5, 1e-3] {
        let repaired = fix(&leaning(stack(0.0), by, dvec3(1.0, 0.3, 0.0))).unwrap();
        let foot: f64 = (0..repaired.mesh.len())
            .map(|t| repaired.mesh.corners(t))
            .filter(|corners| corners.iter().all(|p| p.z == 0.0))
            .map(|[a, b, c]| (b - a).cross(c - a).length() / 2.0)
            .sum();
        assert_close("foot", foot, 150.0 * 150.0, 1e-6);
        assert_close("volume", repaired.mesh.volume(), STACK, 1e-4);
        assert!(repaired.loose.is_empty(), "{by}: {:?}", repaired.loose);
    }
    // What leans so that it can be seen is left leaning.
    let leant = fix(&leaning(stack(0.0), 0.02, DVec3::X));
    assert!(matches!(leant, Err(ScanError::NoFoot { .. })), "{leant:?}");
}

#[test]
fn a_ball_has_no_foot_however_fine_it_is() {
    for times in [3, 6] {
        let mut ball = ball(times);
        ball.positions.iter_mut().for_each(|p| *p *= 80.0);
        let refused = fix(&ball);
        assert!(matches!(refused, Err(ScanError::NoFoot { .. })), "{refused:?}");
    }
}

#[test]
fn parts_that_nearly_touch_are_one() {
    for gap in [0.0, 1e-7, 1e-5, 1e-3, 0.05] {
        let repaired = fix(&stack(gap)).unwrap();
        assert_eq!(repaired.mesh.connected_components().1, 1, "{gap}: {:?}", repaired.notes);
        assert_close("volume", repaired.mesh.volume(), STACK + gap * (120.0 * 120.0 + 90.0 * 90.0), 1e-5);
    }
    // A gap that a spatula fits into is meant.
    assert_eq!(fix(&stack(1.0)).unwrap().loose.len(), 2);
    // Legs: each touches what it bears, and the board. One plank across another: no corner lies over the other.
    let legs = [(-60.0, -30.0), (50.0, -30.0), (-60.0, 20.0), (50.0, 20.0)]
        .map(|(x, y)| block(dvec3(x, y, 0.0), dvec3(10.0, 10.0, 50.0 - 1e-4)));
    let table = joined(&[&legs[..], &[block(dvec3(-70.0, -40.0, 50.0), dvec3(140.0, 80.0, 20.0))]].concat());
    let planks = joined(&[
        block(dvec3(-100.0, -20.0, 0.0), dvec3(200.0, 40.0, 40.0)),
        block(dvec3(-20.0, -100.0, 40.0 + 1e-4), dvec3(40.0, 200.0, 40.0)),
    ]);
    for (mesh, volume) in [(table, 4.0 * 100.0 * 50.0 + 140.0 * 80.0 * 20.0), (planks, 2.0 * 8000.0 * 40.0)] {
        let repaired = fix(&mesh).unwrap();
        assert_eq!(repaired.mesh.connected_components().1, 1, "{:?}", repaired.notes);
        assert!(repaired.loose.is_empty());
        assert_close("volume", repaired.mesh.volume(), volume, 1e-3);
    }
}

#[test]
fn specks_and_the_sheet_below_are_left_out_and_told() {
    let cake = block(dvec3(-75.0, -75.0, 10.0), dvec3(150.0, 150.0, 100.0));
    let speck = |at: DVec3| block(at, DVec3::splat(1.2));
    let flat = TriMesh {
        positions: vec![
            dvec3(-400.0, -400.0, 9.5),
            dvec3(400.0, -400.0, 9.5),
            dvec3(400.0, 400.0, 9.5),
            dvec3(-400.0, 400.0, 9.5),
        ],
        triangles: vec![[0, 1, 2], [0, 2, 3]],
    };
    let slab = block(dvec3(-300.0, -300.0, 9.0), dvec3(600.0, 600.0, 1.0));
    for (about, told) in [
        (vec![speck(DVec3::ZERO)], "a speck apart from the rest"),
        (vec![speck(DVec3::ZERO), speck(dvec3(0.0, 90.0, 190.0))], "2 specks apart from the rest"),
        (vec![flat.clone()], "the flat sheet that it stands on"),
        (vec![slab], "the flat sheet that it stands on"),
        (vec![flat, speck(dvec3(0.0, 0.0, 180.0))], "a speck apart from the rest"),
    ] {
        let repaired = fix(&joined(&[vec![cake.clone()], about].concat())).unwrap();
        assert!(repaired.notes.iter().any(|note| note.contains(told)), "{told}: {:?}", repaired.notes);
        assert_close("volume", repaired.mesh.volume(), 150.0 * 150.0 * 100.0, 1e-9);
    }
    // What is as small but sits on the rest is a part of it.
    let nose = joined(&[cake, speck(dvec3(0.0, 0.0, 109.9))]);
    let repaired = fix(&nose).unwrap();
    assert_close("nose", repaired.mesh.bounds().unwrap().1.z, 101.1, 1e-9);
}

/// The part that holds most is told as well when it floats.
#[test]
fn the_largest_part_does_not_float_untold() {
    let foot = block(dvec3(-20.0, -20.0, 0.0), dvec3(40.0, 40.0, 20.0));
    let large = block(dvec3(-60.0, -60.0, 30.0), dvec3(120.0, 120.0, 80.0));
    let repaired = fix(&joined(&[foot, large])).unwrap();
    assert_eq!(repaired.floating().len(), 1);
    assert!(repaired.floating()[0].1.contains("1152 cm³"), "{:?}", repaired.floating());
}

#[test]
fn a_unit_that_makes_no_cake_is_asked_about() {
    let small = block(DVec3::ZERO, dvec3(6.0, 6.0, 9.0));
    let bare = scan::Model { unit: None, ..model(&small) };
    let asked = |scale, of_format: Option<f64>| {
        let placing = scan::Placing { scale, ..AS_IT_IS };
        placing.of(&scan::Model { unit: of_format, ..bare.clone() }).map(|_| ())
    };
    for (scale, of_format) in [
        (scan::Scale::OfFormat, None),
        (scan::Scale::OfFormat, Some(1000.0)),
        (scan::Scale::Unit(1.0), None),
        (scan::Scale::Unit(1000.0), None),
    ] {
        let error = asked(scale, of_format).unwrap_err();
        let told = error.to_string();
        assert!(told.contains("9 cm (unit = \"cm\") or 22.9 cm (unit = \"in\"): which?"), "{told}");
        assert!(error.fix().contains("height = \"20 cm\""), "{}", error.fix());
    }
    asked(scan::Scale::Unit(10.0), None).unwrap();
    // A height that was asked for is no mistake in a unit.
    asked(scan::Scale::Height(3000.0), None).unwrap();
}

#[test]
fn a_byte_order_mark_is_no_part_of_an_obj() {
    let mut text = String::from("\u{feff}");
    let mesh = stack(0.0);
    mesh.positions.iter().for_each(|p| text += &format!("v {} {} {}\n", p.x, p.y, p.z));
    mesh.triangles.iter().for_each(|t| text += &format!("f {} {} {}\n", t[0] + 1, t[1] + 1, t[2] + 1));
    assert_close("obj", read_alone(text.as_bytes(), Format::Obj).unwrap().mesh.volume(), STACK, 1e-12);
}

/// The same box in single precision, in whole numbers of 16 bits, and in shares of the largest; with extensions that
/// only its looks need. An extension that its shape needs is named.
#[test]
fn quantized_gltf_is_read_and_looks_do_not_matter() {
    let mesh = block(dvec3(-75.0, -75.0, 0.0), dvec3(150.0, 150.0, 100.0));
    let file = |kind: u32, normalized: bool, unit: f64, required: &str| {
        let mut bytes = Vec::new();
        for p in &mesh.positions {
            for x in [p.x, p.z, -p.y] {
                bytes.extend(((x / 1000.0 / unit).round() as i16).to_le_bytes());
            }
            bytes.extend([0, 0]);
        }
        let corners = bytes.len();
        bytes.extend(mesh.triangles.iter().flatten().flat_map(|v| v.to_le_bytes()));
        let scale = if normalized { unit * f64::from(i16::MAX) } else { unit };
        let data = base64::Engine::encode(&base64::engine::general_purpose::STANDARD, &bytes);
        serde_json::json!({
            "asset": { "version": "2.0" },
            "extensionsRequired": [required, "KHR_texture_transform"],
            "nodes": [{ "mesh": 0, "scale": [scale, scale, scale] }],
            "meshes": [{ "primitives": [{ "attributes": { "POSITION": 0 }, "indices": 1, "material": 3 }] }],
            "materials": [{ "extensions": { "KHR_materials_unlit": {} } }],
            "textures": [{ "extensions": { "KHR_texture_basisu": { "source": 0 } } }],
            "accessors": [
                { "bufferView": 0, "componentType": kind, "count": 8, "type": "VEC3", "normalized": normalized,
                  "min": [-30000, -30000, -30000], "max": [30000, 30000, 30000] },
                { "bufferView": 1, "componentType": 5125, "count": 36, "type": "SCALAR" },
            ],
            "bufferViews": [
                { "buffer": 0, "byteOffset": 0, "byteLength": corners, "byteStride": 8 },
                { "buffer": 0, "byteOffset": corners, "byteLength": bytes.len() - corners },
            ],
            "buffers": [{ "byteLength": bytes.len(),
                          "uri": format!("data:application/octet-stream;base64,{data}") }],
        })
        .to_string()
    };
    for normalized in [false, true] {
        for required in ["KHR_mesh_quantization", "KHR_materials_unlit"] {
            let text = file(5122, normalized, 1e-5, required);
            let read = read_alone(text.as_bytes(), Format::Gltf).unwrap();
            let placed = AS_IT_IS.of(&read).unwrap();
            assert_close("gltf", placed.mesh.volume(), 150.0 * 150.0 * 100.0, 1e-4);
        }
    }
    let packed = file(5122, false, 1e-5, "KHR_draco_mesh_compression");
    let refused = read_alone(packed.as_bytes(), Format::Gltf).unwrap_err();
    assert!(refused.to_string().contains("\"KHR_draco_mesh_compression\", which is not read"), "{refused}");
}

/// Boxes that nearly touch, lean by next to nothing, lie in one plane or are there twice.
fn nearly_touching() -> impl Strategy<Value = (TriMesh, f64)> {
    let tiny = || {
        prop_oneof![
            Just(0.0),
            (1f64..8.0).prop_map(|e| 10f64.powf(-e)),
            (1f64..8.0).prop_map(|e| -10f64.powf(-e))
        ]
    };
    (
        proptest::collection::vec((0usize..3, 1usize..4, tiny(), any::<bool>()), 1..4),
        (3f64..8.0).prop_map(|e| 10f64.powf(-e)),
        0.0..std::f64::consts::TAU,
    )
        .prop_map(|(boxes, by, about)| {
            let mut all = block(dvec3(-60.0, -60.0, 0.0), dvec3(120.0, 120.0, 40.0));
            let (mut top, mut volume) = (40.0, 120.0 * 120.0 * 40.0);
            for (shift, size, off, twice) in boxes {
                let size = 30.0 * size as f64;
                let low = top + off.clamp(-0.05, 0.05);
                let part =
                    block(dvec3(-60.0 + 14.0 * shift as f64, -size / 2.0, low), dvec3(size, size, 30.0));
                if twice {
                    all.append(&part.clone().translated(dvec3(0.0, 0.0, off.abs().min(1e-4))));
                }
                all.append(&part);
                volume += size * size * 30.0;
                top = low + 30.0;
            }
            (leaning(all, by, dvec3(about.cos(), about.sin(), 0.0)), volume)
        })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    /// Nothing panics, what comes of it is a solid of one part with a foot, and it holds what the boxes hold.
    #[test]
    fn nearly_touching_parts_become_one_sound_solid((mesh, volume) in nearly_touching()) {
        let repaired = fix(&mesh).unwrap();
        prop_assert!(repaired.mesh.check().is_ok());
        prop_assert!(repaired.loose.is_empty(), "{:?}", repaired.loose);
        prop_assert!((repaired.mesh.volume() / volume - 1.0).abs() < 5e-3, "{} of {volume}", repaired.mesh.volume());
        let inset = geom::DistanceField::new(&repaired.mesh).inset(6.0, 3.0);
        prop_assert!(inset.check().is_ok());
    }
}

/// A crumpled ball, whose depths jump from one side of its surface to the other: whatever its offset surfaces are,
/// they are closed.
#[test]
fn a_crumpled_surface_has_closed_offset_surfaces() {
    let mut crumpled = ball(3);
    let mut state = 1u64;
    for p in &mut crumpled.positions {
        let mut next = || {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            (state >> 33) as f64 / f64::from(1u32 << 31) - 0.5
        };
        *p = *p * 80.0 + dvec3(next(), next(), next()) * 60.0 + DVec3::Z * 100.0;
    }
    let crossing = crumpled.try_united(MostCrossings { between: 0, within: 100 }, &Cancel::new());
    assert!(crossing.is_err(), "it does not cross itself often");
    let field = geom::DistanceField::new(&crumpled);
    for depth in [-8.0, -1.0, 2.0, 6.0] {
        let surface = field.inset(depth, 3.0);
        let closed = surface.check();
        assert!(!matches!(closed, Err(geom::MeshDefect::NotClosed { .. })), "{depth}: {closed:?}");
    }
}
