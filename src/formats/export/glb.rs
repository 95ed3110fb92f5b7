//! glTF 2.0 in one binary file: what phones and pages show by a tap.
//!
//! By the specification (Khronos, glTF 2.0, chapters 3 and 4): metres, y up, the front faces +z; a JSON chunk, then a binary
//! one. Places are whole numbers of 16 bits and normals of 8 (`KHR_mesh_quantization`), a third of the size of single
//! precision; the scale and translation of its node put a part where it belongs, to 1/131 070 of its greatest extent. Each
//! part is a node with its name.

mod json;

use std::io::{self, Write};

use glam::{DVec3, Vec3};
use rayon::prelude::*;

use super::{
    MeshF32,
    shown::{Look, Shown, y_up},
};
use crate::{escape, model::Model};
use json::{Accessor, Attributes, Root, View};

/// The greatest whole number of 16 bits.
const MOST: f64 = u16::MAX as f64;

/// Bytes of a vertex: three numbers of two bytes and three of one, each beginning at a multiple of four.
const STRIDE: usize = 12;

/// Writes every part of `model` as binary glTF. `solids` are its parts, rounded to `f32`, in the same order.
///
/// # Errors
/// When `writer` fails, or the file would be larger than the 4 GiB that the format can hold.
pub fn write(writer: &mut dyn Write, model: &Model, solids: &[MeshF32<'_>]) -> io::Result<()> {
    let (looks, numbers) = Look::all(model);
    let mut root = Root::new(&model.name, &looks);
    let mut buffer = Vec::new();
    let meshes: Vec<Quantised> = solids.par_iter().with_max_len(1).map(Quantised::of).collect();
    for ((part, mesh), look) in model.parts.iter().zip(&meshes).zip(numbers) {
        let [position, normal, indices] = mesh.accessors(&mut root, &mut buffer);
        let attributes = Attributes { position, normal };
        root.add_part(&part.name, attributes, indices, look, (mesh.origin, mesh.step));
    }
    root.buffer_is(buffer.len());
    let text = serde_json::to_string(&root).map_err(io::Error::other)?;
    let mut text = escape::json(&text).into_owned().into_bytes();
    text.resize(text.len().next_multiple_of(4), b' ');
    let length = u32::try_from(12 + 8 + text.len() + 8 + buffer.len())
        .map_err(|_| io::Error::other("a GLB file holds 4 GiB at most; choose fewer parts"))?;
    writer.write_all(b"glTF")?;
    writer.write_all(&2u32.to_le_bytes())?;
    writer.write_all(&length.to_le_bytes())?;
    for (kind, chunk) in [(b"JSON", &text), (b"BIN\0", &buffer)] {
        writer.write_all(&(chunk.len() as u32).to_le_bytes())?;
        writer.write_all(kind)?;
        writer.write_all(chunk)?;
    }
    Ok(())
}

/// A solid with whole numbers for its places.
struct Quantised {
    shown: Shown<[u16; 3]>,
    /// Where the numbers begin, m.
    origin: [f32; 3],
    /// How far apart they are, m.
    step: f32,
}

impl Quantised {
    fn of(solid: &MeshF32<'_>) -> Self {
        let turned = || solid.positions().iter().map(|p| y_up(*p));
        let lo = turned().reduce(Vec3::min).unwrap_or_default().as_dvec3();
        let hi = turned().reduce(Vec3::max).unwrap_or_default().as_dvec3();
        // As they are written, so that the numbers fit what is read.
        let origin = (lo / 1000.0).as_vec3();
        let step = ((hi - lo).max_element() / MOST / 1000.0) as f32;
        let number = |p: Vec3| {
            let steps: DVec3 = (p.as_dvec3() / 1000.0 - origin.as_dvec3()) / f64::from(step);
            steps.to_array().map(|n| n.round().clamp(0.0, MOST) as u16)
        };
        Self { shown: Shown::new(solid, number), origin: origin.to_array(), step }
    }

    /// Adds the vertices and triangles to `buffer`; the numbers of the accessors for places, normals and indices.
    fn accessors(&self, root: &mut Root<'_>, buffer: &mut Vec<u8>) -> [usize; 3] {
        let Shown { vertices, triangles } = &self.shown;
        let start = buffer.len();
        for (place, normal) in vertices {
            place.iter().for_each(|n| buffer.extend_from_slice(&n.to_le_bytes()));
            buffer.extend_from_slice(&[0; 2]);
            normal.to_array().iter().for_each(|n| buffer.push((n * 127.0).round() as i8 as u8));
            buffer.push(0);
        }
        let view = root.add_view(View::vertices(start, buffer.len() - start, STRIDE));
        let places = || vertices.iter().map(|(place, _)| *place);
        let ends = |end: fn(u16, u16) -> u16| {
            places().reduce(|a, b| [0, 1, 2].map(|axis| end(a[axis], b[axis]))).unwrap_or_default()
        };
        let position = root.add(Accessor::positions(view, vertices.len(), (ends(Ord::min), ends(Ord::max))));
        let normal = root.add(Accessor::normals(view, vertices.len()));
        let start = buffer.len();
        // The greatest number of two bytes stands for the end of a strip.
        let is_short = vertices.len() <= usize::from(u16::MAX);
        for v in triangles.as_flattened() {
            if is_short {
                buffer.extend_from_slice(&(*v as u16).to_le_bytes());
            } else {
                buffer.extend_from_slice(&v.to_le_bytes());
            }
        }
        let view = root.add_view(View::indices(start, buffer.len() - start));
        buffer.resize(buffer.len().next_multiple_of(4), 0);
        let indices = root.add(Accessor::indices(view, 3 * triangles.len(), is_short));
        [position, normal, indices]
    }
}
