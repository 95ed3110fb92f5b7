//! Our files in the hands of a program that is not ours: trimesh (`tests/reference/read_back.py`).

use formats::export::{write_model, write_stl};
use geom::{TriMesh, progress::NoProgress};
use serde_json::Value;

use crate::reference::{asked, number, python};

use crate::{
    meshes::{ball, turned},
    models::small_cake,
};

/// Checks one part; `turn` takes a point of ours to the axes of the file.
fn assert_same(found: &Value, mesh: &TriMesh, turn: fn([f64; 3]) -> [f64; 3]) {
    assert_eq!(found["watertight"], true, "{found}");
    assert_eq!(found["winding_consistent"], true, "{found}");
    assert_eq!(found["triangles"], mesh.len());
    assert_eq!(found["vertices"], mesh.positions.len());
    let properties = mesh.mass_properties();
    assert!((number(found, "volume") / properties.volume - 1.0).abs() < 1e-5, "{found}");
    assert!((number(found, "area") / properties.area - 1.0).abs() < 1e-5, "{found}");
    let (lo, hi) = mesh.bounds().expect("not empty");
    for (corner, ours) in [("lo", turn(lo.to_array())), ("hi", turn(hi.to_array()))] {
        for axis in 0..3 {
            // A turn may swap the ends of an axis.
            let [lo, hi] = ["lo", "hi"].map(|end| found[end][axis].as_f64().expect("a number"));
            let off = (lo - ours[axis]).abs().min((hi - ours[axis]).abs());
            assert!(off < 1e-3, "{corner} {axis}: {found}");
        }
    }
}

#[test]
fn trimesh_reads_our_stl_as_the_same_solid() {
    let Some(python) = python() else { return };
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("solid.stl");
    let vessel = turned(&[(60.0, 0.0), (85.25, 40.0), (70.0, 95.5), (90.0, 140.0)], 120);
    for mesh in [ball(100.0, 40, 80), vessel] {
        write_stl(&[&mesh], "solid", &path).unwrap();
        let found = asked(&python, "read_back.py", &[&path]);
        let parts = found.as_object().expect("parts");
        assert_eq!(parts.len(), 1);
        for found in parts.values() {
            assert_same(found, &mesh, |p| p);
        }
    }
}

#[test]
fn trimesh_reads_our_obj_part_by_part_with_its_colours() {
    let Some(python) = python() else { return };
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("small cake.obj");
    let cake = small_cake();
    write_model(&cake, &path, &NoProgress).unwrap();
    let found = asked(&python, "read_back.py", &[&path]);
    assert_eq!(found.as_object().expect("parts").len(), cake.parts.len());
    for part in &cake.parts {
        let found = &found[part.name.replace(' ', "_")];
        assert_same(found, &part.mesh, |[x, y, z]| [x, z, -y]);
        assert_eq!(found["colour"], serde_json::json!([part.colour.0, part.colour.1, part.colour.2]));
        // The normals in the file face the way the corners wind.
        assert!(number(found, "least_normal_agreement") > 0.5, "{found}");
    }
}
