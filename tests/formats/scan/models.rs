//! Models as the other modules need them: a plain solid and its files.

use std::io;

use formats::scan::{Format, Model, Placing, RepairOptions, Repaired, Scale, ScanError, read, repaired};
use geom::TriMesh;
use glam::{DVec3, dvec3};

/// No file lies beside.
pub fn alone(name: &str) -> io::Result<Vec<u8>> {
    Err(io::Error::new(io::ErrorKind::NotFound, format!("{name} is not there")))
}

/// As the format has it, on its lowest point.
pub const AS_IT_IS: Placing = Placing {
    up: None,
    front: None,
    turn: 0.0,
    scale: Scale::OfFormat,
    sink: 0.0,
    centre: formats::scan::Centre::Box,
};

/// A model in millimetres, z up, stood on the board and repaired.
pub fn fix(mesh: &TriMesh) -> Result<Repaired, ScanError> {
    fix_with(mesh, &RepairOptions::default())
}

/// [`fix`] in a way of its own.
pub fn fix_with(mesh: &TriMesh, how: &RepairOptions) -> Result<Repaired, ScanError> {
    repaired(&AS_IT_IS.of(&model(mesh))?, how)
}

/// A mesh as a model in millimetres, z up.
pub fn model(mesh: &TriMesh) -> Model {
    use formats::scan::Axis;
    Model { mesh: mesh.clone(), unit: Some(1.0), axes: (Axis::Z, Axis::MinusY), notes: Vec::new() }
}

/// A file in some format, nothing beside it.
pub fn read_alone(bytes: &[u8], format: Format) -> Result<Model, ScanError> {
    read(bytes, format, &alone)
}

/// A wedge: no two of its axes look alike, so that a model turned or mirrored the wrong way is found out.
/// 120 wide, 80 deep and 60 high; low at the left and the front.
pub fn wedge() -> TriMesh {
    let positions = vec![
        dvec3(-60.0, -40.0, 0.0),
        dvec3(60.0, -40.0, 0.0),
        dvec3(60.0, 40.0, 0.0),
        dvec3(-60.0, 40.0, 0.0),
        dvec3(-60.0, -40.0, 10.0),
        dvec3(60.0, -40.0, 40.0),
        dvec3(60.0, 40.0, 60.0),
        dvec3(-60.0, 40.0, 30.0),
    ];
    let triangles = vec![
        [0, 2, 1],
        [0, 3, 2],
        [4, 5, 6],
        [4, 6, 7],
        [0, 1, 5],
        [0, 5, 4],
        [1, 2, 6],
        [1, 6, 5],
        [2, 3, 7],
        [2, 7, 6],
        [3, 0, 4],
        [3, 4, 7],
    ];
    TriMesh { positions, triangles }
}

/// A ball of even triangles that stands on the board with a cut-off foot.
pub fn pebble(times: u32) -> TriMesh {
    let ball = ball(times);
    let positions =
        ball.positions.iter().map(|p| *p * dvec3(70.0, 50.0, 40.0) + dvec3(0.0, 0.0, 25.0)).collect();
    TriMesh { positions, triangles: ball.triangles }.cut_at(&[0.0]).pop().expect("two parts")
}

/// A ball of radius 1: an octahedron whose triangles are cut in four so many times.
pub fn ball(times: u32) -> TriMesh {
    let mut positions = vec![DVec3::X, DVec3::Y, DVec3::Z, -DVec3::X, -DVec3::Y, -DVec3::Z];
    let mut triangles: Vec<[u32; 3]> =
        vec![[0, 1, 2], [1, 3, 2], [3, 4, 2], [4, 0, 2], [1, 0, 5], [3, 1, 5], [4, 3, 5], [0, 4, 5]];
    for _ in 0..times {
        let mut middles = std::collections::BTreeMap::new();
        let mut cut = Vec::with_capacity(triangles.len() * 4);
        for [a, b, c] in triangles {
            let [ab, bc, ca] = [(a, b), (b, c), (c, a)].map(|(from, to)| {
                *middles.entry((from.min(to), from.max(to))).or_insert_with(|| {
                    let middle = (positions[from as usize] + positions[to as usize]).normalize();
                    positions.push(middle);
                    (positions.len() - 1) as u32
                })
            });
            cut.extend([[a, ab, ca], [b, bc, ab], [c, ca, bc], [ab, bc, ca]]);
        }
        triangles = cut;
    }
    TriMesh { positions, triangles }
}

/// As OBJ, y up, its corners joined to polygons of four where `quads`.
pub fn obj(mesh: &TriMesh) -> String {
    let mut text = String::from("# a test\r\nmtllib none.mtl\r\no thing\r\n");
    for p in &mesh.positions {
        text += &format!("v {} {} {}\r\n", p.x, p.z, -p.y);
    }
    for t in &mesh.triangles {
        text += &format!("f {}/1/2 {}//3 {}\r\n", t[0] + 1, t[1] + 1, t[2] + 1);
    }
    text
}

/// As glTF with everything in the file: metres, y up.
pub fn gltf(mesh: &TriMesh, uri: impl Fn(&[u8]) -> String) -> (String, Vec<u8>) {
    let mut bytes = Vec::new();
    let mut bounds = [[f32::INFINITY; 3], [f32::NEG_INFINITY; 3]];
    for p in &mesh.positions {
        for (axis, x) in [p.x, p.z, -p.y].map(|x| (x / 1000.0) as f32).into_iter().enumerate() {
            bytes.extend(x.to_le_bytes());
            bounds[0][axis] = bounds[0][axis].min(x);
            bounds[1][axis] = bounds[1][axis].max(x);
        }
    }
    let corners = bytes.len();
    bytes.extend(mesh.triangles.iter().flatten().flat_map(|v| v.to_le_bytes()));
    let json = serde_json::json!({
        "asset": { "version": "2.0" },
        "scene": 0,
        "scenes": [{ "nodes": [0] }],
        "nodes": [{ "mesh": 0 }],
        "meshes": [{ "primitives": [{ "attributes": { "POSITION": 0 }, "indices": 1 }] }],
        "accessors": [
            { "bufferView": 0, "componentType": 5126, "count": mesh.positions.len(), "type": "VEC3",
              "min": bounds[0], "max": bounds[1] },
            { "bufferView": 1, "componentType": 5125, "count": mesh.len() * 3, "type": "SCALAR" },
        ],
        "bufferViews": [
            { "buffer": 0, "byteOffset": 0, "byteLength": corners },
            { "buffer": 0, "byteOffset": corners, "byteLength": bytes.len() - corners },
        ],
        "buffers": [{ "byteLength": bytes.len(), "uri": uri(&bytes) }],
    });
    (json.to_string(), bytes)
}

/// As one binary glTF file (glTF 2.0, section 4).
pub fn glb(json: &str, bytes: &[u8]) -> Vec<u8> {
    let mut json = json.as_bytes().to_vec();
    json.resize(json.len().next_multiple_of(4), b' ');
    let mut data = bytes.to_vec();
    data.resize(data.len().next_multiple_of(4), 0);
    let mut file = Vec::from(*b"glTF");
    let number = |n: usize| (n as u32).to_le_bytes();
    file.extend(number(2));
    file.extend(number(12 + 8 + json.len() + 8 + data.len()));
    file.extend(number(json.len()));
    file.extend(*b"JSON");
    file.extend(json);
    file.extend(number(data.len()));
    file.extend(*b"BIN\0");
    file.extend(data);
    file
}

/// As 3MF, written by the library that also reads it.
pub fn threemf(mesh: &TriMesh, unit: &str) -> Vec<u8> {
    let mut model = lib3mf::Model::new();
    model.unit = unit.into();
    let mut object = lib3mf::Object::new(1);
    let mut made = lib3mf::Mesh::new();
    made.vertices = mesh.positions.iter().map(|p| lib3mf::Vertex::new(p.x, p.y, p.z)).collect();
    let corner = |v: u32| v as usize;
    made.triangles = mesh
        .triangles
        .iter()
        .map(|t| lib3mf::Triangle::new(corner(t[0]), corner(t[1]), corner(t[2])))
        .collect();
    object.mesh = Some(made);
    model.resources.objects.push(object);
    model.build.items.push(lib3mf::BuildItem::new(1));
    model.to_writer(io::Cursor::new(Vec::new())).expect("written").into_inner()
}

/// As binary STL.
pub fn stl(mesh: &TriMesh) -> Vec<u8> {
    let mut bytes = vec![b'-'; 80];
    bytes.extend((mesh.len() as u32).to_le_bytes());
    for index in 0..mesh.len() {
        bytes.extend([0; 12]);
        bytes.extend(
            mesh.corners(index).iter().flat_map(|p| p.as_vec3().to_array()).flat_map(f32::to_le_bytes),
        );
        bytes.extend([0; 2]);
    }
    bytes
}

/// As text, with normals that nobody worked out.
pub fn ascii_stl(mesh: &TriMesh) -> String {
    let facet = |t: usize| {
        let corners = mesh.corners(t).map(|p| format!("vertex {} {} {}\n", p.x, p.y, p.z)).concat();
        format!("facet normal 0 0 0\nouter loop\n{corners}endloop\nendfacet\n")
    };
    format!("solid a\n{}endsolid a\n", (0..mesh.len()).map(facet).collect::<String>())
}
