//! Meshes in few bytes: read again they are the same triangles, within half a step of the lattice.

use std::io::Read;

use flate2::read::GzDecoder;
use formats::export::packed::Packed;
use geom::TriMesh;
use glam::{DVec3, dvec3};
use proptest::prelude::*;

use crate::meshes::{cuboid, turned};

/// The meshes of `packed`, z up, read by the description at the head of its module.
fn unpacked(packed: &Packed) -> Vec<TriMesh> {
    let mut bytes = Vec::new();
    GzDecoder::new(packed.bytes.as_slice()).read_to_end(&mut bytes).expect("gzip");
    let mut rest = bytes.as_slice();
    let mut take = |count: usize| {
        let (taken, after) = rest.split_at(count);
        rest = after;
        taken.to_vec()
    };
    let mut meshes = Vec::new();
    for [vertices, triangles] in &packed.counts {
        let mut positions = vec![DVec3::ZERO; *vertices];
        for axis in 0..3 {
            let (low, high) = (take(*vertices), take(*vertices));
            let mut place = 0_i32;
            for ((position, low), high) in positions.iter_mut().zip(low).zip(high) {
                let number = i32::from(u16::from_le_bytes([low, high]));
                place += (number >> 1) ^ -(number & 1);
                position[axis] = packed.origin[axis] + packed.step * f64::from(place);
            }
        }
        let planes = [take(3 * triangles), take(3 * triangles), take(3 * triangles)];
        let mut next = 0;
        let corners: Vec<u32> = (0..3 * triangles)
            .map(|i| {
                let back = u32::from_le_bytes([planes[0][i], planes[1][i], planes[2][i], 0]);
                let corner = next - back;
                next += u32::from(back == 0);
                corner
            })
            .collect();
        let upright = positions.into_iter().map(|p| dvec3(p.x, -p.z, p.y)).collect();
        meshes.push(TriMesh { positions: upright, triangles: corners.as_chunks::<3>().0.to_vec() });
    }
    assert!(rest.is_empty(), "{} bytes are left", rest.len());
    meshes
}

/// Triangles by their corners, each begun at its least corner, sorted: the order in which they stand does not count.
fn places(mesh: &TriMesh, packed: &Packed) -> Vec<[[i64; 3]; 3]> {
    let [x, y, z] = packed.origin;
    let place = |p: DVec3| ((p - dvec3(x, -z, y)) / packed.step).round().to_array().map(|n| n as i64);
    let triangle = |corners: &[u32; 3]| {
        let mut corners = corners.map(|v| place(mesh.positions[v as usize]));
        let first = (0..3).min_by_key(|i| corners[*i]).unwrap();
        corners.rotate_left(first);
        corners
    };
    let mut all: Vec<_> = mesh.triangles.iter().map(triangle).collect();
    all.retain(|[a, b, c]| a != b && b != c && c != a);
    all.sort_unstable();
    all
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn meshes_come_out_as_they_went_in(
        size in prop::array::uniform3(0.01_f64..400.0),
        radii in prop::collection::vec(0.5_f64..150.0, 2..6),
        sections in 3_u32..90,
        at in prop::array::uniform3(-300.0_f64..300.0),
    ) {
        let outline: Vec<(f64, f64)> = radii.iter().enumerate().map(|(i, r)| (*r, 25.0 * i as f64)).collect();
        let mut block = cuboid(DVec3::from(size));
        block.positions.iter_mut().for_each(|p| *p += DVec3::from(at));
        let meshes = [block, turned(&outline, sections)];
        let packed = Packed::new(&meshes.each_ref());
        let read = unpacked(&packed);
        for (mesh, read) in meshes.iter().zip(&read) {
            // The nearest place of the lattice; where two are as near, either: then the triangles are compared by count alone.
            let [ours, theirs] = [mesh, read].map(|mesh| places(mesh, &packed));
            prop_assert_eq!(ours.len(), theirs.len());
            let off = ours.iter().flatten().flatten().zip(theirs.iter().flatten().flatten()).map(|(a, b)| (a - b).abs()).max();
            prop_assert!(off.unwrap_or(0) <= 1, "{:?}", off);
        }
    }
}

#[test]
fn no_place_is_moved_by_more_than_half_a_step() {
    let mesh = turned(&[(40.0, 0.0), (55.0, 30.0), (12.0, 90.0)], 200);
    let packed = Packed::new(&[&mesh]);
    assert!((packed.step - 110.0 / 16383.0).abs() < 1e-3, "{}", packed.step);
    let read = unpacked(&packed).remove(0);
    for p in &read.positions {
        let nearest = mesh.positions.iter().map(|other| (*other - *p).abs().max_element()).reduce(f64::min);
        // Half a step, and the rounding of single precision.
        assert!(nearest.unwrap() <= 0.5 * packed.step + 1e-4, "{p}");
    }
    assert_eq!(read.len(), mesh.len());
    assert!(read.check().is_ok());
}

#[test]
fn a_mesh_without_triangles_takes_no_numbers() {
    let packed = Packed::new(&[&TriMesh::default()]);
    assert_eq!(packed.counts, [[0, 0]]);
    assert_eq!(unpacked(&packed)[0].len(), 0);
}
