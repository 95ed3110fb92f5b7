//! Meshes in few bytes, for a page that goes with a letter: places on one lattice, written as differences, gzip over all.
//!
//! y is up and the front faces +z, lengths in mm. The bytes of all parts follow each other. Of each part: for each axis the
//! low bytes, then the high bytes, of the difference of every vertex from the one before (the first from 0), as a whole
//! number of 16 bits with its sign in the lowest bit; then the low, middle and high bytes of the corners of the
//! triangles, each as how far its vertex lies before the first one that no corner has named yet. Vertices stand in the order
//! in which the triangles name them, so most of these numbers are small and gzip (RFC 1952) makes little of them.

use std::io::Write;

use flate2::{Compression, write::GzEncoder};
use glam::{DVec3, Vec3};
use rustc_hash::FxHashMap;

use super::shown::y_up;
use geom::TriMesh;

/// Places along the longest side of the box round all parts: 14 bits.
const MOST: f64 = ((1 << 14) - 1) as f64;

/// Several meshes on one lattice.
#[derive(Debug, Clone, PartialEq)]
pub struct Packed {
    /// Where the lattice begins, mm.
    pub origin: [f64; 3],
    /// How far its places are apart, mm: no vertex is moved by more than half of it along an axis.
    pub step: f64,
    /// Vertices and triangles of each part.
    pub counts: Vec<[usize; 2]>,
    /// The numbers, compressed.
    pub bytes: Vec<u8>,
}

impl Packed {
    /// Packs `meshes`, which are z up. Triangles of which two corners fall on one place are left out: the others close over
    /// them.
    pub fn new(meshes: &[&TriMesh]) -> Self {
        let places = || meshes.iter().flat_map(|mesh| &mesh.positions).map(|p| turned(*p));
        let lo = places().reduce(DVec3::min).unwrap_or_default();
        let hi = places().reduce(DVec3::max).unwrap_or_default();
        let step = ((hi - lo).max_element() / MOST).max(f64::MIN_POSITIVE);
        let mut counts = Vec::with_capacity(meshes.len());
        let mut numbers = Vec::new();
        for mesh in meshes {
            let (vertices, triangles) = on_lattice(mesh, lo, step);
            counts.push([vertices.len(), triangles.len() / 3]);
            add_vertices(&mut numbers, &vertices);
            add_corners(&mut numbers, &triangles);
        }
        let mut encoder = GzEncoder::new(Vec::new(), Compression::best());
        let written = encoder.write_all(&numbers).and_then(|()| encoder.finish());
        let bytes = written.expect("memory takes whatever is written");
        Self { origin: lo.to_array(), step, counts, bytes }
    }
}

/// z up with the front facing −y → y up with the front facing +z, as every format for looking at has it.
fn turned(p: DVec3) -> DVec3 {
    let Vec3 { x, y, z } = y_up(p.as_vec3());
    DVec3::new(x.into(), y.into(), z.into())
}

/// The vertices of `mesh` as places of the lattice, each once, in the order in which the corners of the triangles name them.
fn on_lattice(mesh: &TriMesh, origin: DVec3, step: f64) -> (Vec<[u16; 3]>, Vec<u32>) {
    let place =
        |p: &DVec3| ((turned(*p) - origin) / step).to_array().map(|n| n.round().clamp(0.0, MOST) as u16);
    let places: Vec<[u16; 3]> = mesh.positions.iter().map(place).collect();
    let mut first = FxHashMap::default();
    let welded: Vec<u32> = places
        .iter()
        .enumerate()
        .map(|(number, place)| *first.entry(*place).or_insert(number as u32))
        .collect();
    let triangles = mesh.triangles.iter().map(|triangle| triangle.map(|v| welded[v as usize]));
    let kept: Vec<u32> = triangles.filter(|[a, b, c]| a != b && b != c && c != a).flatten().collect();
    let mut corners = meshopt::optimize_vertex_cache(&kept, places.len());
    let vertices = meshopt::optimize_vertex_fetch(&mut corners, &places);
    (vertices, corners)
}

fn add_vertices(numbers: &mut Vec<u8>, vertices: &[[u16; 3]]) {
    for axis in 0..3 {
        let mut before = 0;
        let differences: Vec<u16> = vertices
            .iter()
            .map(|vertex| {
                let difference = vertex[axis].wrapping_sub(before) as i16;
                before = vertex[axis];
                ((difference << 1) ^ (difference >> 15)) as u16
            })
            .collect();
        for byte in 0..2 {
            numbers.extend(differences.iter().map(|difference| difference.to_le_bytes()[byte]));
        }
    }
}

fn add_corners(numbers: &mut Vec<u8>, corners: &[u32]) {
    let mut next = 0;
    let back: Vec<u32> = corners
        .iter()
        .map(|corner| {
            let back = next - corner;
            next = next.max(corner + 1);
            back
        })
        .collect();
    for byte in 0..3 {
        numbers.extend(back.iter().map(|back| back.to_le_bytes()[byte]));
    }
}
