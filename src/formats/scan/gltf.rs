//! glTF 2.0, JSON or binary → triangles, every mesh of the scene where its nodes put it.
//!
//! Units are metres, y is up and the front looks along +z, all by the standard (section 3.4). Buffers come from
//! the file itself, from data URIs or from files beside it; nothing is fetched.

use std::io;

use base64::{Engine, engine::general_purpose::STANDARD};
use glam::{DMat4, DVec3};
use gltf::{
    Accessor, Document, Node,
    accessor::{DataType, Dimensions, sparse::IndexType},
    buffer::{Source, View},
    mesh::Mode,
};

use super::{Axis, MOST_TRIANGLES, Model, ScanError, gltf_shape::shape_only};
use geom::TriMesh;

/// Millimetres in the unit of the standard.
const METRE: f64 = 1000.0;

/// Nodes in nodes go no deeper than this.
const DEEPEST: usize = 64;

/// Most nodes of a scene: no more can be shared between than a file can hold for itself.
const MOST_NODES: usize = 100_000;

/// Reads a glTF file.
pub(super) fn read(bytes: &[u8], beside: &dyn Fn(&str) -> io::Result<Vec<u8>>) -> Result<Model, ScanError> {
    let (document, blob) = shape_only(bytes)?;
    let buffers = buffers(&document, blob, beside)?;
    let mut reader = Reader { buffers, mesh: TriMesh::default(), nodes: 0, other: 0 };
    // Without a scene the file says what there is, not what is shown: everything is taken.
    let scene = document.default_scene().or_else(|| document.scenes().next());
    match scene {
        Some(scene) => scene.nodes().try_for_each(|node| reader.node(&node, DMat4::IDENTITY, 0))?,
        None => {
            let children: Vec<usize> = document
                .nodes()
                .flat_map(|node| node.children().map(|child| child.index()).collect::<Vec<_>>())
                .collect();
            document
                .nodes()
                .filter(|node| !children.contains(&node.index()))
                .try_for_each(|node| reader.node(&node, DMat4::IDENTITY, 0))?;
        }
    }
    let notes = match reader.other {
        0 => Vec::new(),
        other => vec![format!("{other} meshes of loose lines and points were left out")],
    };
    Ok(Model { mesh: reader.mesh, unit: Some(METRE), axes: (Axis::Y, Axis::Z), notes })
}

/// The bytes of every buffer.
fn buffers(
    document: &Document,
    mut blob: Option<Vec<u8>>,
    beside: &dyn Fn(&str) -> io::Result<Vec<u8>>,
) -> Result<Vec<Vec<u8>>, ScanError> {
    document
        .buffers()
        .map(|buffer| {
            let bytes = match buffer.source() {
                Source::Bin => blob.take().unwrap_or_default(),
                Source::Uri(uri) => bytes_at(uri, beside)?,
            };
            if bytes.len() < buffer.length() {
                let problem = format!(
                    "buffer {} should hold {} bytes and holds {}",
                    buffer.index(),
                    buffer.length(),
                    bytes.len()
                );
                return Err(ScanError::Damaged { format: "glTF", problem });
            }
            Ok(bytes)
        })
        .collect()
}

fn bytes_at(uri: &str, beside: &dyn Fn(&str) -> io::Result<Vec<u8>>) -> Result<Vec<u8>, ScanError> {
    if let Some(data) = uri.strip_prefix("data:") {
        let encoded = data.split_once(";base64,").map(|(_, encoded)| encoded);
        let decoded = encoded.and_then(|encoded| STANDARD.decode(encoded.trim()).ok());
        return decoded.ok_or_else(|| ScanError::Damaged {
            format: "glTF",
            problem: "a data URI is not in base64".into(),
        });
    }
    let name = unescaped(uri);
    if !stays_beside(&name) {
        return Err(ScanError::Elsewhere { name });
    }
    beside(&name).map_err(|source| ScanError::Beside { name, source })
}

/// Whether a name stays in the folder of the file that names it. Nothing with a scheme, such as "https:", and
/// no Windows drive does.
pub(super) fn stays_beside(name: &str) -> bool {
    let climbs = |part: &str| part == "..";
    !name.is_empty()
        && !name.starts_with(['/', '\\'])
        && !name.contains([':', '\0'])
        && !name.split(['/', '\\']).any(climbs)
}

/// Takes back percent-encoding (RFC 3986, 2.1).
fn unescaped(uri: &str) -> String {
    let mut bytes = Vec::with_capacity(uri.len());
    let mut rest = uri.as_bytes();
    while let [first, after @ ..] = rest {
        let hex = |digit: u8| (digit as char).to_digit(16).map(|value| value as u8);
        if let (b'%', [high, low, after @ ..]) = (first, after)
            && let (Some(high), Some(low)) = (hex(*high), hex(*low))
        {
            bytes.push(high << 4 | low);
            rest = after;
        } else {
            bytes.push(*first);
            rest = after;
        }
    }
    String::from_utf8_lossy(&bytes).into_owned()
}

struct Reader {
    buffers: Vec<Vec<u8>>,
    mesh: TriMesh,
    nodes: usize,
    /// Primitives that are no surface.
    other: usize,
}

impl Reader {
    fn node(&mut self, node: &Node, parent: DMat4, depth: usize) -> Result<(), ScanError> {
        self.nodes += 1;
        if depth > DEEPEST || self.nodes > MOST_NODES {
            let problem = "its nodes lie in each other without end".to_owned();
            return Err(ScanError::Damaged { format: "glTF", problem });
        }
        let [x, y, z, w] = node.transform().matrix().map(|column| column.map(f64::from));
        let to_scene = parent * DMat4::from_cols_array_2d(&[x, y, z, w]);
        if let Some(mesh) = node.mesh() {
            for primitive in mesh.primitives() {
                self.primitive(&primitive, &to_scene)?;
            }
        }
        node.children().try_for_each(|child| self.node(&child, to_scene, depth + 1))
    }

    fn primitive(&mut self, primitive: &::gltf::Primitive, to_scene: &DMat4) -> Result<(), ScanError> {
        let Some(accessor) = primitive.get(&::gltf::Semantic::Positions) else { return Ok(()) };
        let positions = self.points(&accessor)?;
        let order: Vec<u32> = match primitive.indices() {
            Some(indices) => self.numbers(&indices)?,
            None => (0..positions.len() as u32).collect(),
        };
        let (count, missing) = (positions.len(), order.iter().find(|i| **i as usize >= positions.len()));
        if let Some(index) = missing {
            let problem = format!("corner {index} is named, but there are only {count}");
            return Err(ScanError::Damaged { format: "glTF", problem });
        }
        let at = |i: usize| order[i];
        let ends = order.len().saturating_sub(2);
        let triangles: Vec<[u32; 3]> = match primitive.mode() {
            Mode::Triangles => order.as_chunks().0.to_vec(),
            // By the standard every other triangle of a strip is turned round.
            Mode::TriangleStrip => (0..ends).map(|i| [at(i), at(i + 1 + i % 2), at(i + 2 - i % 2)]).collect(),
            Mode::TriangleFan => (0..ends).map(|i| [at(i + 1), at(i + 2), at(0)]).collect(),
            Mode::Points | Mode::Lines | Mode::LineLoop | Mode::LineStrip => {
                self.other += 1;
                return Ok(());
            }
        };
        let all = self.mesh.len() + triangles.len();
        if all > MOST_TRIANGLES || self.mesh.positions.len() + count > 3 * MOST_TRIANGLES {
            return Err(ScanError::TooMany { triangles: all });
        }
        // A node that mirrors turns its triangles inside out, and the standard turns them back.
        let mirrored = to_scene.determinant() < 0.0;
        let base = self.mesh.positions.len() as u32;
        self.mesh.positions.extend(positions.iter().map(|p| to_scene.transform_point3(*p)));
        self.mesh.triangles.extend(
            triangles.iter().map(|&[a, b, c]| if mirrored { [a, c, b] } else { [a, b, c] }.map(|v| v + base)),
        );
        Ok(())
    }

    fn points(&self, accessor: &Accessor) -> Result<Vec<DVec3>, ScanError> {
        if accessor.dimensions() != Dimensions::Vec3 {
            let problem = "its corners are not given as three numbers each".to_owned();
            return Err(ScanError::Damaged { format: "glTF", problem });
        }
        let (kind, normalized) = (accessor.data_type(), accessor.normalized());
        let size = kind.size();
        let point = |bytes: &[u8]| {
            let coordinate = |i: usize| coordinate(&bytes[i * size..(i + 1) * size], kind, normalized);
            DVec3::new(coordinate(0), coordinate(1), coordinate(2))
        };
        let mut points = match accessor.view() {
            Some(view) => {
                self.elements(&view, accessor.offset(), accessor.count(), 3 * size)?.map(point).collect()
            }
            // Corners without a buffer are all at the origin until sparse ones take their places.
            None if accessor.count() <= MOST_TRIANGLES => vec![DVec3::ZERO; accessor.count()],
            None => return Err(ScanError::TooMany { triangles: accessor.count() }),
        };
        if let Some(sparse) = accessor.sparse() {
            let (indices, values) = (sparse.indices(), sparse.values());
            let index_size = match indices.index_type() {
                IndexType::U8 => 1,
                IndexType::U16 => 2,
                IndexType::U32 => 4,
            };
            let at =
                self.elements(&indices.view(), indices.offset(), sparse.count(), index_size)?.map(number);
            let values = self.elements(&values.view(), values.offset(), sparse.count(), 3 * size)?.map(point);
            for (at, value) in at.zip(values) {
                let count = points.len();
                let place = points.get_mut(at as usize).ok_or_else(|| ScanError::Damaged {
                    format: "glTF",
                    problem: format!("sparse corner {at} is given, but there are only {count}"),
                })?;
                *place = value;
            }
        }
        Ok(points)
    }

    fn numbers(&self, accessor: &Accessor) -> Result<Vec<u32>, ScanError> {
        let size = match accessor.data_type() {
            DataType::U8 => 1,
            DataType::U16 => 2,
            DataType::U32 => 4,
            _ => {
                let problem = "the numbers of its corners are not whole numbers".to_owned();
                return Err(ScanError::Damaged { format: "glTF", problem });
            }
        };
        let (Some(view), Dimensions::Scalar, None) =
            (accessor.view(), accessor.dimensions(), accessor.sparse())
        else {
            let problem = "the numbers of its corners are not a plain list".to_owned();
            return Err(ScanError::Damaged { format: "glTF", problem });
        };
        Ok(self.elements(&view, accessor.offset(), accessor.count(), size)?.map(number).collect())
    }

    /// `count` elements of `size` bytes each, all of them there.
    fn elements<'a>(
        &'a self,
        view: &View<'_>,
        offset: usize,
        count: usize,
        size: usize,
    ) -> Result<impl Iterator<Item = &'a [u8]> + use<'a>, ScanError> {
        let stride = view.stride().unwrap_or(size).max(size);
        let bytes = self.buffers.get(view.buffer().index()).map_or(&[][..], Vec::as_slice);
        let of_view = view.offset().checked_add(view.length()).and_then(|end| bytes.get(view.offset()..end));
        let length =
            count.checked_sub(1).and_then(|n| n.checked_mul(stride)).and_then(|n| n.checked_add(size));
        let end = length.and_then(|length| offset.checked_add(length));
        let all = of_view.zip(end).and_then(|(view, end)| view.get(offset..end));
        let all = if count == 0 { Some(&[][..]) } else { all };
        let all = all.ok_or_else(|| ScanError::Damaged {
            format: "glTF",
            problem: format!("{count} values are asked for, and its buffer ends before"),
        })?;
        Ok(all.chunks(stride).map(move |chunk| &chunk[..size]))
    }
}

/// A coordinate: single precision, or a whole number as KHR_mesh_quantization has it, which is a share of the largest
/// one where it is `normalized` (glTF 2.0, section 3.6.2.2).
fn coordinate(bytes: &[u8], kind: DataType, normalized: bool) -> f64 {
    let bits = number(bytes);
    let (value, most) = match kind {
        DataType::F32 => return f64::from(f32::from_bits(bits)),
        DataType::U32 => return f64::from(bits),
        DataType::I8 => (f64::from(bits as u8 as i8), f64::from(i8::MAX)),
        DataType::U8 => (f64::from(bits), f64::from(u8::MAX)),
        DataType::I16 => (f64::from(bits as u16 as i16), f64::from(i16::MAX)),
        DataType::U16 => (f64::from(bits), f64::from(u16::MAX)),
    };
    if normalized { (value / most).max(-1.0) } else { value }
}

/// A whole number of one, two or four bytes.
fn number(bytes: &[u8]) -> u32 {
    bytes.iter().rev().fold(0, |number, byte| number << 8 | u32::from(*byte))
}
