//! STL from anywhere: the right answer or a clear error, never a panic and never more memory than the file.

use std::time::{Duration, Instant};

use formats::export::{
    MeshF32,
    stl::{self, StlError},
};
use glam::DVec3;
use proptest::prelude::*;

use crate::meshes::{ball, cuboid};

fn binary_cube() -> Vec<u8> {
    let mut bytes = Vec::new();
    let cube = cuboid(DVec3::splat(20.0));
    stl::write(&mut bytes, "cube", &[MeshF32::new(&cube).expect("a solid")]).expect("written");
    bytes
}

/// The cube as ASCII, in the words of the format (Burns, Automated Fabrication, section 6.5).
fn ascii_cube() -> String {
    let cube = cuboid(DVec3::splat(20.0));
    let mut text = String::from("solid cube\n");
    for index in 0..cube.len() {
        text += "  facet normal 0 0 0\n    outer loop\n";
        for p in cube.corners(index) {
            text += &format!("      vertex {:e} {} {}\n", p.x, p.y, p.z);
        }
        text += "    endloop\n  endfacet\n";
    }
    text + "endsolid cube\n"
}

fn assert_cube(bytes: &[u8]) {
    let mesh = stl::read(bytes).expect("a cube");
    mesh.check().expect("closed");
    assert_eq!((mesh.len(), mesh.positions.len()), (12, 8));
    assert_eq!(mesh.volume(), 8000.0);
}

#[test]
fn binary_and_ascii_give_the_same_welded_solid() {
    assert_cube(&binary_cube());
    assert_cube(ascii_cube().as_bytes());
    assert_eq!(stl::read(&binary_cube()).unwrap(), stl::read(ascii_cube().as_bytes()).unwrap());
}

#[test]
fn ascii_in_capitals_without_a_name_with_other_line_ends_and_bytes_that_are_no_text() {
    assert_cube(ascii_cube().to_uppercase().as_bytes());
    assert_cube(ascii_cube().replace(" cube", "").as_bytes());
    assert_cube(ascii_cube().replace('\n', "\r\n").as_bytes());
    assert_cube(format!("\n  {}", ascii_cube()).as_bytes());
    let mut latin = ascii_cube().into_bytes();
    latin.splice(6..6, [0xe9, b' ']);
    assert_cube(&latin);
}

#[test]
fn every_solid_of_an_ascii_file_is_read() {
    let two = ascii_cube() + &ascii_cube().replace("2e1", "9e1");
    assert_eq!(stl::read(two.as_bytes()).unwrap().len(), 24);
}

#[test]
fn a_binary_file_may_begin_with_solid() {
    let mut bytes = binary_cube();
    bytes[..11].copy_from_slice(b"solid facet");
    assert_cube(&bytes);
}

#[test]
fn what_another_library_writes_is_read() {
    let mesh = ball(30.0, 12, 20);
    let facets: Vec<_> = (0..mesh.len())
        .map(|index| stl_io::Triangle {
            normal: stl_io::Normal::default(),
            vertices: mesh.corners(index).map(|p| stl_io::Vertex::new(p.as_vec3().to_array())),
        })
        .collect();
    let mut bytes = Vec::new();
    stl_io::write_stl(&mut bytes, facets.iter()).expect("written");
    let back = stl::read(&bytes).expect("read");
    back.check().expect("closed");
    assert_eq!((back.len(), back.positions.len()), (mesh.len(), mesh.positions.len()));
}

#[test]
fn a_count_that_lies_is_told_at_once() {
    let mut bytes = binary_cube();
    bytes[80..84].copy_from_slice(&u32::MAX.to_le_bytes());
    let start = Instant::now();
    let error = stl::read(&bytes).unwrap_err();
    // Room for four thousand million facets would take 200 GB, and far longer.
    assert!(start.elapsed() < Duration::from_secs(1));
    assert!(matches!(error, StlError::WrongCount { claimed: u32::MAX, present: 12, bytes: 684 }));
    assert!(error.to_string().contains("4294967295 facets"), "{error}");
    bytes[80..84].copy_from_slice(&3u32.to_le_bytes());
    assert!(matches!(stl::read(&bytes), Err(StlError::WrongCount { claimed: 3, present: 12, .. })));
}

#[test]
fn a_few_bytes_after_the_last_facet_do_no_harm() {
    let mut bytes = binary_cube();
    bytes.extend([b'\n'; 49]);
    assert_cube(&bytes);
    bytes.push(b'\n');
    assert!(matches!(stl::read(&bytes), Err(StlError::WrongCount { claimed: 12, present: 13, .. })));
}

#[test]
fn files_that_are_no_surface() {
    assert!(matches!(stl::read(b""), Err(StlError::TooShort { bytes: 0 })));
    assert!(matches!(stl::read(&[0; 84]), Err(StlError::Empty)));
    assert!(matches!(stl::read(b"solid nothing\nendsolid nothing\n"), Err(StlError::Empty)));
    assert!(matches!(stl::read(&[7; 1000]), Err(StlError::WrongCount { .. })));
    // One facet with all corners in one place.
    let point = "solid\nfacet normal 0 0 1\nouter loop\nvertex 1 1 1\nvertex 1 1 1\nvertex 1 1 1\nendloop\nendfacet\nendsolid";
    assert!(matches!(stl::read(point.as_bytes()), Err(StlError::Empty)));
}

#[test]
fn numbers_that_are_none_are_named_by_facet() {
    let mut bytes = binary_cube();
    bytes[84 + 5 * 50 + 16..][..4].copy_from_slice(&f32::NAN.to_le_bytes());
    assert!(matches!(stl::read(&bytes), Err(StlError::NotFinite { facet: 6 })));
    for bad in ["nan", "inf", "1e999", "2,5", "twelve", ""] {
        let text = ascii_cube().replacen("vertex 2e1", &format!("vertex {bad}"), 1);
        assert!(matches!(stl::read(text.as_bytes()), Err(StlError::Ascii { .. })), "{bad:?}");
    }
}

#[test]
fn an_ascii_file_cut_short_says_where() {
    let text = ascii_cube();
    let cut = text.match_indices("facet normal").nth(7).expect("twelve facets").0;
    let error = stl::read(&text.as_bytes()[..cut]).unwrap_err();
    assert!(matches!(error, StlError::Ascii { facet: 7, .. }), "{error}");
}

proptest! {
    #[test]
    fn no_cut_and_no_noise_makes_it_panic(
        cut in 0usize..700,
        noise in prop::collection::vec((0usize..1600, any::<u8>()), 0..12),
        ascii in any::<bool>(),
    ) {
        let mut bytes = if ascii { ascii_cube().into_bytes() } else { binary_cube() };
        for (at, byte) in noise {
            if let Some(place) = bytes.get_mut(at) {
                *place = byte;
            }
        }
        bytes.truncate(if ascii { 2 * cut } else { cut });
        if let Ok(mesh) = stl::read(&bytes) {
            prop_assert!(!mesh.is_empty());
            prop_assert!(mesh.positions.iter().all(|p| p.is_finite()));
        }
    }

    #[test]
    fn any_bytes_at_all(bytes in prop::collection::vec(any::<u8>(), 0..400)) {
        let _ = stl::read(&bytes);
    }
}
