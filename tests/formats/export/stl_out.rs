//! Binary STL that every reader understands.

use std::cell::Cell;

use formats::export::{MeshF32, stl};
use geom::TriMesh;
use glam::{DVec3, Vec3};
use proptest::{
    prelude::*,
    test_runner::{TestRng, TestRunner},
};

use super::same_on_any_number_of_threads;
use crate::meshes::{any_turned, ball, cuboid, cylinder, open_edges, tetrahedron, turned};

fn bytes_of(name: &str, solids: &[&TriMesh]) -> Vec<u8> {
    let narrow: Vec<_> = solids.iter().map(|solid| MeshF32::new(solid).expect("a solid")).collect();
    let mut bytes = Vec::new();
    stl::write(&mut bytes, name, &narrow).expect("memory takes everything");
    bytes
}

/// The facets of a binary STL file: normal and three corners.
fn facets(bytes: &[u8]) -> Vec<[Vec3; 4]> {
    bytes[84..]
        .chunks(50)
        .map(|facet| {
            let number =
                |i: usize| f32::from_le_bytes(facet[4 * i..4 * i + 4].try_into().expect("four bytes"));
            [0, 3, 6, 9].map(|i| Vec3::new(number(i), number(i + 1), number(i + 2)))
        })
        .collect()
}

// Source: "STL binary format" (polytechnic Industrial Centre) and kaitai stl.ksy: 80 + 4 + 50 n bytes,
// little-endian, attribute 0; a cube has 684 bytes and a tetrahedron 284; the header must not begin with
// "solid".
#[test]
fn the_layout_is_that_of_the_format() {
    for (mesh, size) in [(cuboid(DVec3::splat(10.0)), 684), (tetrahedron(10.0), 284)] {
        let bytes = bytes_of("solid gold", &[&mesh]);
        assert_eq!(bytes.len(), size);
        assert!(!bytes.starts_with(b"solid"));
        assert_eq!(bytes[80..84], (mesh.len() as u32).to_le_bytes());
        assert!(bytes[84..].chunks(50).all(|facet| facet[48..] == [0, 0]), "attribute");
    }
}

#[test]
fn one_facet_byte_for_byte() {
    let bytes = bytes_of("t", &[&tetrahedron(2.0)]);
    // Corners 0, 2, 1 of the tetrahedron: the side on the ground, which faces down.
    let numbers: [f32; 12] = [0.0, 0.0, -1.0, 0.0, 0.0, 0.0, 0.0, 2.0, 0.0, 2.0, 0.0, 0.0];
    let expected: Vec<u8> = numbers.iter().flat_map(|n| n.to_le_bytes()).chain([0, 0]).collect();
    assert_eq!(bytes[84..134], expected);
}

#[test]
fn the_header_names_the_part_and_the_unit_in_80_ascii_bytes() {
    let short = bytes_of("former 1", &[&tetrahedron(1.0)]);
    let text = String::from_utf8(short[..80].to_vec()).expect("ASCII");
    assert!(text.contains("former 1") && text.contains("mm") && text.contains("not food-safe"), "{text}");
    let long = bytes_of(&"ö\n".repeat(200), &[&tetrahedron(1.0)]);
    assert_eq!(long.len(), 284);
    assert!(long[..80].iter().all(|b| (b' '..=b'~').contains(b)));
}

// Source: Burns, Automated Fabrication, section 6.5: unit normal outward, corners counter-clockwise seen
// from outside, and both agree.
#[test]
fn normals_are_unit_point_out_and_agree_with_the_corners() {
    for [normal, a, b, c] in facets(&bytes_of("ball", &[&ball(80.0, 24, 48)])) {
        assert!((normal.length() - 1.0).abs() < 1e-6);
        assert!(normal.dot((a + b + c) / 3.0) > 0.0, "a ball about the origin faces away from it");
        assert!(normal.dot((b - a).cross(c - a).normalize()) > 1.0 - 1e-4);
    }
}

// Source: closed forms of a cylinder (CRC Standard Mathematical Tables) times the factor of an inscribed
// 64-gon, n/2π · sin(2π/n) = 0.9983943930.
#[test]
fn a_cylinder_has_the_volume_of_its_polygon() {
    let bytes = bytes_of("cylinder", &[&cylinder(100.0, 100.0, 64)]);
    let six_volume: f64 = facets(&bytes)
        .iter()
        .map(|f| [f[1], f[2], f[3]].map(|p| p.as_dvec3()))
        .map(|[a, b, c]| a.dot(b.cross(c)))
        .sum();
    let expected = 3_141_592.653_59 * 0.998_394_393_0;
    assert!((six_volume / 6.0 / expected - 1.0).abs() < 1e-6, "{}", six_volume / 6.0);
}

#[test]
fn an_outside_reader_finds_the_same_corners() {
    let mesh = turned(&[(30.0, 0.0), (55.5, 20.25), (12.125, 70.0)], 24);
    let read =
        stl_io::read_stl(&mut std::io::Cursor::new(bytes_of("vessel", &[&mesh]))).expect("well formed");
    assert_eq!((read.faces.len(), read.vertices.len()), (mesh.len(), mesh.positions.len()));
    read.validate().expect("closed, no facet without area");
    for (face, index) in read.faces.iter().zip(0..) {
        let corners = mesh.corners(index).map(|p| p.as_vec3().to_array());
        assert_eq!(face.vertices.map(|v| read.vertices[v].0), corners);
    }
}

#[test]
fn several_solids_follow_one_another() {
    let (one, two) = (cuboid(DVec3::ONE), tetrahedron(5.0).translated(DVec3::X * 50.0));
    let together = bytes_of("two", &[&one, &two]);
    assert_eq!(together[84..684], bytes_of("", &[&one])[84..]);
    assert_eq!(together[684..], bytes_of("", &[&two])[84..]);
    assert_eq!(together[80..84], 16u32.to_le_bytes());
}

#[test]
fn the_same_solid_gives_the_same_bytes() {
    // Big enough for several threads to share.
    let mesh = ball(120.0, 200, 300);
    same_on_any_number_of_threads(|| bytes_of("ball", &[&mesh]));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn what_is_written_is_read_back(mesh in any_turned()) {
        let bytes = bytes_of("turned", &[&mesh]);
        let back = stl::read(&bytes).expect("our own file");
        back.check().expect("still a solid");
        prop_assert!(bytes == bytes_of("turned", &[&back]), "a second round changes nothing");
        let (before, after) = (mesh.mass_properties(), back.mass_properties());
        // Corners move by half a unit in the last place of f32 at most: 2⁻²⁴ of their distance out.
        let moved = 2f64.powi(-24) * 4000.0;
        prop_assert!((before.volume - after.volume).abs() <= moved * before.area * 2.0);
    }

    #[test]
    fn rounding_never_opens_a_solid(mesh in near_the_rounding()) {
        prop_assume!(mesh.check().is_ok());
        let solid = MeshF32::new(&mesh).expect("closed solids stay closed");
        prop_assert_eq!(open_edges(solid.triangles().iter().map(|&t| places(&solid, t))), 0);
        for &t in solid.triangles() {
            let [a, b, c] = places(&solid, t);
            prop_assert!(a != b && b != c && c != a, "a triangle with a repeated corner");
        }
        prop_assert!((widened(&solid).volume() / mesh.volume() - 1.0).abs() < 1e-4);
    }
}

/// The same draws every time, as no proof says that every flat triangle can be taken out.
#[test]
fn no_triangle_is_left_flat() {
    let fixed = Cell::new(0);
    let config = ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(300) };
    let rng = TestRng::deterministic_rng(config.rng_algorithm);
    let checked = TestRunner::new_with_rng(config, rng).run(&near_the_rounding(), |mesh| {
        prop_assume!(mesh.check().is_ok());
        let solid = MeshF32::new(&mesh).expect("closed solids stay closed");
        let narrow = widened(&solid);
        let flat = (0..narrow.len())
            .map(|t| narrow.corners(t))
            .filter(|[a, b, c]| (b - a).cross(c - a) == DVec3::ZERO);
        prop_assert_eq!(flat.count(), 0);
        fixed.set(fixed.get() + usize::from(narrow.triangles != mesh.triangles));
        Ok(())
    });
    checked.unwrap();
    assert!(fixed.get() > 30, "only {} draws needed fixing", fixed.get());
}

/// Solids with rows of corners nearer to one another than `f32` can tell.
fn near_the_rounding() -> impl Strategy<Value = TriMesh> {
    let steps = prop::collection::vec((0u32..4, 0u32..4), 2..12);
    let grain = prop::sample::select(vec![1e-3, 1e-4, 3e-5, 1e-5, 1e-6]);
    let place = prop::array::uniform3(-900.0f64..900.0);
    (steps, 3u32..12, grain, place).prop_map(|(steps, sections, grain, place)| {
        let mut z = 0.0;
        let mut outline = vec![(40.0, 0.0)];
        for (out, up) in steps {
            z += grain * f64::from(up + 1);
            outline.push((40.0 + grain * f64::from(out), z));
        }
        outline.push((30.0, 50.0));
        turned(&outline, sections).translated(DVec3::from_array(place))
    })
}

/// The exact places of the corners of a triangle.
fn places(solid: &MeshF32<'_>, triangle: [u32; 3]) -> [[u32; 3]; 3] {
    triangle.map(|v| (solid.positions()[v as usize] + Vec3::ZERO).to_array().map(f32::to_bits))
}

fn widened(solid: &MeshF32<'_>) -> TriMesh {
    let positions = solid.positions().iter().map(|p| p.as_dvec3()).collect();
    TriMesh { positions, triangles: solid.triangles().to_vec() }
}
