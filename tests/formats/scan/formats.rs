//! Every format gives the same solid, the right way up and the right size.

use base64::{Engine, engine::general_purpose::STANDARD};
use formats::scan::{Axis, Centre, Format, Model, Placing, Scale, ScanError, read, repaired};
use geom::TriMesh;
use glam::{DVec3, dvec3};

use super::models::{self, AS_IT_IS, read_alone, wedge};
use crate::support::assert_close;

const MM: Placing = Placing { scale: Scale::Unit(1.0), ..AS_IT_IS };

fn inline(bytes: &[u8]) -> String {
    format!("data:application/octet-stream;base64,{}", STANDARD.encode(bytes))
}

fn solid(model: &Model, placing: &Placing) -> TriMesh {
    repaired(&placing.of(model).unwrap(), &Default::default()).unwrap().mesh
}

#[track_caller]
fn assert_wedge(what: &str, mesh: &TriMesh) {
    let expected = wedge();
    mesh.check().unwrap();
    assert_eq!(mesh.len(), expected.len(), "{what}");
    for p in &expected.positions {
        let nearest = mesh.positions.iter().map(|q| q.distance(*p)).fold(f64::INFINITY, f64::min);
        assert!(nearest < 1e-4, "{what}: nothing at {p}, nearest {nearest}");
    }
    assert_close(what, mesh.volume(), expected.volume(), 1e-6);
}

#[test]
fn every_format_gives_the_same_solid() {
    let mesh = wedge();
    let stl = read_alone(&models::stl(&mesh), Format::Stl).unwrap();
    assert_wedge("STL", &solid(&stl, &MM));
    let obj = read_alone(models::obj(&mesh).as_bytes(), Format::Obj).unwrap();
    assert_wedge("OBJ", &solid(&obj, &MM));
    let (json, bytes) = models::gltf(&mesh, inline);
    assert_wedge("glTF", &solid(&read_alone(json.as_bytes(), Format::Gltf).unwrap(), &AS_IT_IS));
    let json = json.replace(&format!("\"{}\"", inline(&bytes)), "null");
    let glb = models::glb(&json.replace(",\"uri\":null", "").replace("\"uri\":null,", ""), &bytes);
    assert_wedge("GLB", &solid(&read_alone(&glb, Format::Glb).unwrap(), &AS_IT_IS));
    let threemf = read_alone(&models::threemf(&mesh, "millimeter"), Format::ThreeMf).unwrap();
    assert_wedge("3MF", &solid(&threemf, &AS_IT_IS));
}

/// Buffers beside the file come through the loader, names with spaces and all.
#[test]
fn buffers_beside_a_gltf_are_brought() {
    let (json, bytes) = models::gltf(&wedge(), |_| "a%20wedge.bin".into());
    let beside = |name: &str| if name == "a wedge.bin" { Ok(bytes.clone()) } else { models::alone(name) };
    let model = read(json.as_bytes(), Format::Gltf, &beside).unwrap();
    assert_wedge("beside", &solid(&model, &AS_IT_IS));
}

/// Units of 3MF (core specification 3.4): an inch is 25.4 mm.
#[test]
fn units_of_the_format_count() {
    let inches = TriMesh { positions: wedge().positions.iter().map(|p| *p / 25.4).collect(), ..wedge() };
    let model = read_alone(&models::threemf(&inches, "inch"), Format::ThreeMf).unwrap();
    assert_wedge("inches", &solid(&model, &AS_IT_IS));
}

/// Nodes move, turn and scale meshes, one inside the other; strips and fans are surfaces like any other; a node
/// that mirrors does not turn its mesh inside out (glTF 2.0, 3.7.2.1 and 3.7.4).
#[test]
fn gltf_nodes_strips_and_fans_are_taken() {
    // A tetrahedron in each of three modes.
    let corners = [[0f32, 0.0, 0.0], [0.1, 0.0, 0.0], [0.0, 0.1, 0.0], [0.0, 0.0, 0.1]];
    let mut bytes: Vec<u8> = corners.iter().flatten().flat_map(|x| x.to_le_bytes()).collect();
    // List: four faces; strip of a closed tetrahedron; fan of three and the face opposite as a list.
    let lists: [&[u8]; 4] =
        [&[0, 2, 1, 0, 1, 3, 0, 3, 2, 1, 2, 3], &[0, 2, 1, 3, 0, 2], &[3, 0, 1, 2, 0], &[0, 2, 1]];
    let starts: Vec<usize> = lists
        .iter()
        .map(|list| {
            let start = bytes.len();
            bytes.extend_from_slice(list);
            start
        })
        .collect();
    let accessor = |i: usize| serde_json::json!({ "bufferView": i + 1, "componentType": 5121, "count": lists[i].len(), "type": "SCALAR" });
    let view =
        |i: usize| serde_json::json!({ "buffer": 0, "byteOffset": starts[i], "byteLength": lists[i].len() });
    let primitive = |i: usize, mode: u32| serde_json::json!({ "attributes": { "POSITION": 0 }, "indices": i + 1, "mode": mode });
    let json = serde_json::json!({
        "asset": { "version": "2.0" }, "scene": 0, "scenes": [{ "nodes": [0] }],
        "nodes": [
            { "children": [1, 2, 3], "scale": [2, 2, 2] },
            { "mesh": 0 },
            { "mesh": 1, "translation": [0.2, 0, 0], "scale": [-1, 1, 1] },
            { "mesh": 2, "translation": [0.4, 0, 0], "rotation": [0, 0.707_106_77, 0, 0.707_106_77] },
        ],
        "meshes": [
            { "primitives": [primitive(0, 4), { "attributes": { "POSITION": 0 }, "mode": 0 }] },
            { "primitives": [primitive(1, 5)] },
            { "primitives": [primitive(2, 6), primitive(3, 4)] },
        ],
        "accessors": [
            { "bufferView": 0, "componentType": 5126, "count": 4, "type": "VEC3", "min": [0, 0, 0], "max": [0.1, 0.1, 0.1] },
            accessor(0), accessor(1), accessor(2), accessor(3),
        ],
        "bufferViews": [{ "buffer": 0, "byteLength": 48 }, view(0), view(1), view(2), view(3)],
        "buffers": [{ "byteLength": bytes.len(), "uri": inline(&bytes) }],
    });
    let model = read_alone(json.to_string().as_bytes(), Format::Gltf).unwrap();
    assert_eq!(model.notes, ["1 meshes of loose lines and points were left out"]);
    let repaired = repaired(&AS_IT_IS.of(&model).unwrap(), &Default::default()).unwrap();
    // Each is a sixth of a cube of 200 mm.
    assert_close("three tetrahedra", repaired.mesh.volume(), 3.0 * 200f64.powi(3) / 6.0, 1e-5);
    assert_eq!(repaired.mesh.connected_components().1, 3, "{:?}", repaired.notes);
    assert!(!repaired.notes.iter().any(|note| note.contains("faced the wrong way")), "{:?}", repaired.notes);
}

/// Objects made of objects, each placed; what is a support is left out (3MF core specification 4.1 and 4.2).
#[test]
fn threemf_components_are_placed() {
    let mut package =
        lib3mf::Model::from_reader(std::io::Cursor::new(models::threemf(&wedge(), "millimeter"))).unwrap();
    let mut pair = lib3mf::Object::new(2);
    let shift = |x: f64| [1.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 1.0, x, 0.0, 0.0];
    pair.components = vec![
        lib3mf::Component::with_transform(1, shift(-100.0)),
        lib3mf::Component::with_transform(1, shift(100.0)),
    ];
    package.resources.objects.push(pair);
    package.build.items = vec![lib3mf::BuildItem::new(2)];
    let bytes = package.to_writer(std::io::Cursor::new(Vec::new())).unwrap().into_inner();
    let model = read_alone(&bytes, Format::ThreeMf).unwrap();
    let mesh = solid(&model, &AS_IT_IS);
    assert_close("two wedges", mesh.volume(), 2.0 * wedge().volume(), 1e-9);
    let (lo, hi) = mesh.bounds().unwrap();
    assert!((hi - lo - dvec3(320.0, 80.0, 60.0)).length() < 1e-9);
}

/// Ours against another reader of the same text.
#[test]
fn obj_is_read_as_tobj_reads_it() {
    let text = models::obj(&models::pebble(3));
    let ours = read_alone(text.as_bytes(), Format::Obj).unwrap().mesh;
    let options = tobj::LoadOptions { triangulate: true, ..Default::default() };
    let (theirs, _) =
        tobj::load_obj_buf(&mut text.as_bytes(), &options, |_| Err(tobj::LoadError::OpenFileFailed)).unwrap();
    let [model] = &theirs[..] else { panic!("one model") };
    assert_eq!(ours.triangles.as_flattened(), &model.mesh.indices[..]);
    for (p, q) in ours.positions.iter().zip(model.mesh.positions.as_chunks::<3>().0) {
        assert!((p.as_vec3() - glam::Vec3::from_array(*q)).length() < 1e-4);
    }
}

/// Polygons that are not convex, corners counted from the end, lines that go on, other line ends.
#[test]
fn obj_polygons_and_relative_numbers() {
    // An L of 3 squares of 20 mm, 20 high, with its top and bottom as one polygon each.
    let l = [(0, 0), (40, 0), (40, 20), (20, 20), (20, 40), (0, 40)];
    let mut text = String::new();
    for height in [0, 20] {
        for (x, y) in l {
            text += &format!("v {x} {height} {}\n", -y);
        }
    }
    text += "f 6 5 4 3 \\\n  2 1\nf -6 -5 -4 -3 -2 -1 # the top\n";
    for i in 0..6 {
        let j = (i + 1) % 6;
        text += &format!("f {} {} {} {}\n", i + 1, j + 1, j + 7, i + 7);
    }
    text += "l 1 2 3\n";
    for text in [text.clone(), text.replace('\n', "\r\n")] {
        let model = read_alone(text.as_bytes(), Format::Obj).unwrap();
        assert_eq!(model.notes, ["1 loose lines and points were left out"]);
        let mesh = solid(&model, &MM);
        assert_close("an L", mesh.volume(), 3.0 * 20f64.powi(3), 1e-12);
        assert!(mesh.bounds().unwrap().1.distance(dvec3(20.0, 20.0, 20.0)) < 1e-12);
    }
}

/// Whichever axis is up and wherever the front looks, the same wedge stands on the board.
#[test]
fn axes_turns_and_heights() {
    let axes = [Axis::X, Axis::MinusX, Axis::Y, Axis::MinusY, Axis::Z, Axis::MinusZ];
    let mut tried = 0;
    for up in axes {
        for front in axes {
            let (u, f) = (up.direction(), front.direction());
            if u.dot(f) != 0.0 {
                continue;
            }
            // The wedge in the model's own axes.
            let right = (-f).cross(u);
            let place = |p: &DVec3| right * p.x - f * p.y + u * p.z + dvec3(7.0, -300.0, 44.0);
            let mesh = TriMesh { positions: wedge().positions.iter().map(place).collect(), ..wedge() };
            let mut model = models::model(&mesh);
            model.unit = None;
            let placing =
                Placing { up: Some(up), front: Some(front), scale: Scale::Height(60.0), ..AS_IT_IS };
            assert_wedge(&format!("{up:?} up, {front:?} front"), &solid(&model, &placing));
            tried += 1;
        }
    }
    assert_eq!(tried, 24);
    let placing = Placing { turn: 90.0, ..AS_IT_IS };
    let turned = solid(&models::model(&wedge()), &placing);
    let (lo, hi) = turned.bounds().unwrap();
    assert!((hi - lo - dvec3(80.0, 120.0, 60.0)).length() < 1e-9);
    // The high corner at the right and the back comes to the left and the back.
    assert!(turned.positions.iter().any(|p| p.distance(dvec3(-40.0, 60.0, 60.0)) < 1e-9));
}

/// What sinks is cut off level, the height counts from the board, and the foot can stand over the middle.
#[test]
fn a_slice_is_cut_off_so_that_there_is_a_foot() {
    let ball = models::ball(5);
    let model = models::model(&ball);
    let placing = Placing { scale: Scale::Height(150.0), ..AS_IT_IS };
    let error = repaired(&placing.of(&model).unwrap(), &Default::default()).unwrap_err();
    assert!(matches!(error, ScanError::NoFoot { sink } if sink == 5.0), "{error}");
    let placing = Placing { sink: 50.0, ..placing };
    let mesh = solid(&model, &placing);
    let (lo, hi) = mesh.bounds().unwrap();
    assert!(lo.z == 0.0 && (hi.z - 150.0).abs() < 1e-9);
    // A ball of radius 100 without a cap of 50: π (4 r³/3 − h² (r − h/3)), any handbook.
    let exact = std::f64::consts::PI * (4.0 / 3.0 * 1e6 - 2500.0 * (100.0 - 50.0 / 3.0));
    assert_close("a ball on its foot", mesh.volume(), exact, 3e-3);
    let lean = TriMesh {
        positions: wedge().positions.iter().map(|p| *p + dvec3(p.z, 0.0, 0.0)).collect(),
        ..wedge()
    };
    let placing = Placing { centre: Centre::Foot, ..AS_IT_IS };
    let (lo, hi) = solid(&models::model(&lean), &placing).bounds().unwrap();
    assert!((lo.x + 60.0).abs() < 1e-9 && (hi.x - 120.0).abs() < 1e-9, "{lo} {hi}");
}
