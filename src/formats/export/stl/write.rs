//! Solids → binary STL.

use std::io::{self, Write};

use glam::Vec3;
use rayon::prelude::*;

use super::{FACET, PREAMBLE};
use crate::export::{
    MeshF32,
    mesh_f32::{corners, double_area},
};

/// Facets put into bytes at a time: some 1.6 MB, which stays in the cache until it is written.
const BATCH: usize = 1 << 15;

/// Facets put into bytes by one thread at a time.
const SHARE: usize = 1 << 12;

/// Writes solids one after the other as a binary STL file. `name` goes into the header, as far as it fits
/// and is ASCII. A facet without area has a zero normal, as there is no other to give it.
///
/// # Errors
/// When `writer` fails, or there are more facets than the format can count (2³² − 1).
pub fn write(writer: &mut dyn Write, name: &str, solids: &[MeshF32<'_>]) -> io::Result<()> {
    let facets: usize = solids.iter().map(|solid| solid.triangles().len()).sum();
    let count = u32::try_from(facets).map_err(|_| {
        io::Error::new(io::ErrorKind::InvalidInput, format!("an STL file cannot hold {facets} facets"))
    })?;
    let mut preamble = [b' '; PREAMBLE];
    fill_header(&mut preamble[..PREAMBLE - 4], name);
    preamble[PREAMBLE - 4..].copy_from_slice(&count.to_le_bytes());
    writer.write_all(&preamble)?;
    let mut bytes = vec![0; FACET * BATCH.min(facets)];
    for solid in solids {
        for batch in solid.triangles().chunks(BATCH) {
            let bytes = &mut bytes[..FACET * batch.len()];
            fill_facets(bytes, solid.positions(), batch);
            writer.write_all(bytes)?;
        }
    }
    Ok(())
}

/// What a print of the file is not, in as few letters as a header has room for.
const NOT_FOR_FOOD: &str = "crumbline, print not food-safe";

/// Many readers take a file that begins with "solid" for ASCII, so ours begins otherwise.
fn fill_header(header: &mut [u8], name: &str) {
    let text = format!("Binary STL, mm, z up, {NOT_FOR_FOOD}: {name}");
    let ascii = text.chars().map(|c| if c.is_ascii() && !c.is_ascii_control() { c as u8 } else { b'_' });
    header.iter_mut().zip(ascii).for_each(|(to, from)| *to = from);
}

fn fill_facets(bytes: &mut [u8], positions: &[Vec3], triangles: &[[u32; 3]]) {
    let (facets, _) = bytes.as_chunks_mut::<FACET>();
    facets.par_chunks_mut(SHARE).zip(triangles.par_chunks(SHARE)).for_each(|(facets, triangles)| {
        for (facet, &triangle) in facets.iter_mut().zip(triangles) {
            fill_facet(facet, corners(triangle, positions));
        }
    });
}

fn fill_facet(facet: &mut [u8; FACET], corners: [Vec3; 3]) {
    let [a, b, c] = corners;
    put(facet, 0, double_area(corners).normalize_or_zero().as_vec3());
    put(facet, 12, a);
    put(facet, 24, b);
    put(facet, 36, c);
    // The last two bytes, the attribute, are 0 and stay so.
}

fn put(facet: &mut [u8; FACET], at: usize, p: Vec3) {
    facet[at..at + 4].copy_from_slice(&p.x.to_le_bytes());
    facet[at + 4..at + 8].copy_from_slice(&p.y.to_le_bytes());
    facet[at + 8..at + 12].copy_from_slice(&p.z.to_le_bytes());
}
