//! Bad files: a clear error with the fix, and never more memory than the file is worth.

use std::io::{Cursor, Write};

use formats::scan::{Format, Placing, Scale, ScanError, read};
use geom::TriMesh;
use zip::{ZipWriter, write::SimpleFileOptions};

use super::models::{self, AS_IT_IS, alone, read_alone, wedge};

#[track_caller]
fn refused(bytes: &[u8], format: Format) -> String {
    let error = read_alone(bytes, format).map(|_| ()).expect_err("bad");
    assert!(!error.fix().is_empty());
    error.to_string()
}

#[test]
fn an_stl_that_says_four_billion_triangles() {
    let mut bytes = models::stl(&wedge());
    bytes[80..84].copy_from_slice(&u32::MAX.to_le_bytes());
    assert!(refused(&bytes, Format::Stl).contains("4294967295 facets"), "{}", refused(&bytes, Format::Stl));
    assert!(refused(&bytes[..60], Format::Stl).contains("60 bytes"));
    assert!(refused(b"", Format::Stl).contains("0 bytes"));
}

#[test]
fn objs_are_refused_by_their_line() {
    let missing = "v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 3\nf 1 2 9\n";
    assert_eq!(
        refused(missing.as_bytes(), Format::Obj),
        "line 5: corner 9 is named, but there are only 3 so far"
    );
    let before = "v 0 0 0\nv 1 0 0\nv 0 1 0\r\nf -1 -2 -4\n";
    assert_eq!(
        refused(before.as_bytes(), Format::Obj),
        "line 4: corner -4 is named, but there are only 3 so far"
    );
    assert_eq!(
        refused(b"v 0 0 0\nf 0 1 1\n", Format::Obj),
        "line 2: corner 0 is named, but there are only 1 so far"
    );
    assert_eq!(refused(b"v 0 0\n", Format::Obj), "line 1: a corner needs three numbers");
    assert_eq!(refused(b"v 0 nan 0\n", Format::Obj), "line 1: a corner needs three numbers");
    assert_eq!(
        refused(b"v 0 0 0\nv 1 0 0\nf 1 2\n", Format::Obj),
        "line 3: a face needs three corners or more"
    );
    assert_eq!(refused(b"v 0 0 0\nf 1/1 x 1\n", Format::Obj), "line 2: \"x\" names no corner");
    assert_eq!(refused(b"", Format::Obj), "it holds no surface");
    assert_eq!(
        refused(b"v 1e300 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 3", Format::Obj).len(),
        "a corner lies at ".len() + 301 + ", 0, 0".len()
    );
}

/// An archive of a kilobyte or so that swells to gigabytes.
#[test]
fn a_zip_bomb_is_refused_while_it_is_small() {
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    let million = vec![b' '; 1 << 20];
    zip.start_file("3D/3dmodel.model", SimpleFileOptions::default()).unwrap();
    for _ in 0..1100 {
        zip.write_all(&million).unwrap();
    }
    let bytes = zip.finish().unwrap().into_inner();
    assert!(bytes.len() < 2_000_000);
    assert_eq!(
        refused(&bytes, Format::ThreeMf),
        "unpacked it comes to more than 1024 MB, which no model needs"
    );
}

#[test]
fn names_that_climb_out_are_refused() {
    for name in ["../../etc/model.model", "/../3D/a.model", "3D\\..\\..\\a.model", "c:/3D/a.model"] {
        let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
        zip.start_file(name, SimpleFileOptions::default()).unwrap();
        zip.write_all(b"<model/>").unwrap();
        let bytes = zip.finish().unwrap().into_inner();
        let message = refused(&bytes, Format::ThreeMf);
        assert!(message.contains("which does not lie beside it"), "{name}: {message}");
    }
    let asked = std::cell::RefCell::new(Vec::new());
    let beside = |name: &str| {
        asked.borrow_mut().push(name.to_owned());
        alone(name)
    };
    for uri in [
        "../secret.bin",
        "https://example.org/a.bin",
        "file:///etc/hosts",
        "/etc/hosts",
        "%2e%2e/secret.bin",
        "a/..%2f../b",
        "C:\\a.bin",
    ] {
        let (json, _) = models::gltf(&wedge(), |_| uri.into());
        let error = read(json.as_bytes(), Format::Gltf, &beside).unwrap_err();
        assert!(matches!(error, ScanError::Elsewhere { .. }), "{uri}: {error}");
    }
    assert!(asked.borrow().is_empty(), "nothing was asked for: {asked:?}");
    let (json, _) = models::gltf(&wedge(), |_| "gone.bin".into());
    assert!(matches!(read(json.as_bytes(), Format::Gltf, &beside), Err(ScanError::Beside { .. })));
}

/// Components of components of components: 10²⁸ of them in a file of a few lines.
#[test]
fn a_threemf_of_components_without_end_is_refused() {
    let mut package =
        lib3mf::Model::from_reader(Cursor::new(models::threemf(&wedge(), "millimeter"))).unwrap();
    for id in 2..30 {
        let mut object = lib3mf::Object::new(id);
        object.components = (0..10).map(|_| lib3mf::Component::new(id - 1)).collect();
        package.resources.objects.push(object);
    }
    package.build.items = vec![lib3mf::BuildItem::new(29)];
    let bytes = package.to_writer(Cursor::new(Vec::new())).unwrap().into_inner();
    let message = refused(&bytes, Format::ThreeMf);
    assert_eq!(
        message,
        "this is no whole 3MF file: its objects are put together from more than 1000000 parts"
    );
}

/// What a surface looks like is not read: a material that is missing is told with its place, and where the library
/// refuses the file for it, so is why.
#[test]
fn a_threemf_that_names_a_material_which_is_not_there_is_told_where() {
    let mut package =
        lib3mf::Model::from_reader(Cursor::new(models::threemf(&wedge(), "millimeter"))).unwrap();
    let bytes =
        |package: &lib3mf::Model| package.clone().to_writer(Cursor::new(Vec::new())).unwrap().into_inner();
    let mesh = package.resources.objects[0].mesh.as_mut().unwrap();
    (mesh.triangles[4].pid, mesh.triangles[4].p1) = (Some(7), Some(0));
    let told = |bytes: &[u8]| read(bytes, Format::ThreeMf, &|_| unreachable!()).map(|model| model.notes);
    let place = "triangle 5 of object 1 takes its looks from material 7, which is not in the file";
    match told(&bytes(&package)) {
        Ok(notes) => assert_eq!(notes, [format!("{place}; its shape is read all the same")]),
        Err(error) => assert_eq!(error.to_string(), place),
    }
    package.resources.objects[0].pid = Some(9);
    package.resources.objects[0].mesh.as_mut().unwrap().triangles[4].pid = None;
    let mut group = lib3mf::BaseMaterialGroup::new(3);
    group.materials.push(lib3mf::BaseMaterial::new("icing".into(), (255, 255, 255, 255)));
    package.resources.base_material_groups.push(group);
    assert_eq!(
        refused(&bytes(&package), Format::ThreeMf),
        "the whole of object 1 takes its looks from material 9, which is not in the file"
    );
    package.resources.objects[0].pid = Some(3);
    assert_eq!(told(&bytes(&package)).unwrap(), [""; 0]);
}

#[test]
fn threemf_damaged_in_all_ways() {
    let bytes = models::threemf(&wedge(), "millimeter");
    assert!(refused(&bytes[..bytes.len() / 2], Format::ThreeMf).contains("no whole 3MF file"));
    assert!(refused(b"PK\x03\x04", Format::ThreeMf).contains("no whole ZIP archive"));
    assert!(refused(b"", Format::ThreeMf).contains("no whole ZIP archive"));
}

#[test]
fn gltf_that_lies_about_itself() {
    let inline = |bytes: &[u8]| {
        use base64::Engine;
        format!("data:;base64,{}", base64::engine::general_purpose::STANDARD.encode(bytes))
    };
    let (json, bytes) = models::gltf(&wedge(), inline);
    let with = |from: &str, to: &str| {
        assert!(json.contains(from), "{from} in {json}");
        json.replace(from, to)
    };
    let message = |text: String| refused(text.as_bytes(), Format::Gltf);
    assert!(
        message(with("\"count\":36", "\"count\":4000000000")).contains("4000000000 values are asked for")
    );
    assert!(message(with("\"count\":8", "\"count\":2")).contains("corner"));
    assert!(message(with("\"count\":36", "\"count\":0")).contains("no"));
    assert!(message(with("\"bufferView\":1", "\"bufferView\":7")).contains("no whole glTF file"));
    assert!(
        message(with("\"byteOffset\":96", "\"byteOffset\":18446744073709551000")).contains("ends before")
    );
    assert!(
        message(with(&format!("\"byteLength\":{},\"uri\"", bytes.len()), "\"byteLength\":999999999,\"uri\""))
            .contains("should hold 999999999 bytes")
    );
    assert!(message(with("base64,", "base64,***")).contains("base64"));
    assert!(
        message(with("\"scene\":0", "\"scene\":0,\"extensionsRequired\":[\"KHR_draco_mesh_compression\"]"))
            .contains("\"KHR_draco_mesh_compression\", which is not read")
    );
    assert!(
        message(with("\"nodes\":[{\"mesh\":0}]", "\"nodes\":[{\"mesh\":0,\"children\":[0]}]"))
            .contains("without end")
    );
    let glb = models::glb(&json, &[]);
    assert!(refused(&glb[..glb.len() - 9], Format::Glb).contains("no whole glTF file"));
    assert!(
        refused(b"glTF\x02\0\0\0\xff\xff\xff\xff\xff\xff\xff\xffJSON", Format::Glb)
            .contains("no whole glTF file")
    );
}

/// A model without a unit is asked for one, and the guess is explained.
#[test]
fn units_are_asked_for() {
    let sized = |height: f64| {
        let scale = height / 60.0;
        let mut model = models::model(&TriMesh {
            positions: wedge().positions.iter().map(|p| *p * scale).collect(),
            ..wedge()
        });
        model.unit = None;
        model
    };
    let error = AS_IT_IS.of(&sized(0.2)).unwrap_err();
    assert_eq!(
        error.to_string(),
        "its format has no unit: at 1 unit = 1 mm it would be 0.2 mm tall, or 6.1 cm (unit = \"ft\") or 20 cm \
         (unit = \"m\"): which?"
    );
    assert_eq!(
        error.fix(),
        "give the height it is to have, as height = \"20 cm\", or its unit: one of unit = \"ft\", unit = \"m\""
    );
    assert!(AS_IT_IS.of(&sized(180.0)).unwrap_err().fix().contains("unit = \"mm\""));
    assert!(AS_IT_IS.of(&sized(7.5)).unwrap_err().fix().contains("unit = \"cm\""));
    assert!(!AS_IT_IS.of(&sized(1e7)).unwrap_err().fix().contains("unit ="));
    let tall = Placing { scale: Scale::Unit(1000.0), ..AS_IT_IS };
    assert_eq!(
        tall.of(&sized(60.0)).unwrap_err().to_string(),
        "it would be 60000 mm tall, which is no size for a cake, or 6 cm (unit = \"mm\") or 60 cm (unit = \"cm\"): which?"
    );
    let sunk = Placing { sink: 100.0, ..AS_IT_IS };
    assert!(matches!(sunk.of(&models::model(&wedge())), Err(ScanError::SunkAltogether { .. })));
    let mut flat = models::model(&wedge());
    flat.mesh.positions.iter_mut().for_each(|p| p.z = 3.0);
    assert!(matches!(AS_IT_IS.of(&flat), Err(ScanError::Flat)));
}

#[test]
fn unknown_endings_are_refused() {
    assert!(Format::of("a.stl").is_ok() && Format::of("a/b.c/D.GLB").is_ok());
    assert!(matches!(Format::of("stl"), Err(ScanError::UnknownFormat)));
    assert!(Format::of("model.xyz").unwrap_err().to_string().contains(".stl, .obj, .3mf, .gltf or .glb"));
}

/// Found by fuzzing: the gltf crate's own check reads past the end of the list of accessors.
#[test]
fn a_gltf_whose_mesh_names_corners_that_are_not_there() {
    let text = r#"{"asset":{"version":"2.0"},"meshes":[{"primitives":[{"attributes":{"POSITION":0}}]}]}"#;
    assert!(refused(text.as_bytes(), Format::Gltf).contains("corners that the file does not hold"));
}
