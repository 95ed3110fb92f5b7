//! The JSON part of a glTF file, as much of it as is written. Fields stand in the order in which they are written, so that
//! the same model gives the same bytes.

use serde::Serialize;

use crate::export::shown::Look;

/// Numbers of the specification for the types of single values (section 3.6.2.2).
const BYTE: u32 = 5120;
const UNSIGNED_SHORT: u32 = 5123;
const UNSIGNED_INT: u32 = 5125;

/// And for what a view is used as (section 5.11.5).
const ARRAY_BUFFER: u32 = 34962;
const ELEMENT_ARRAY_BUFFER: u32 = 34963;

/// What makes whole numbers of 16 and 8 bits valid as places and normals.
const QUANTIZATION: [&str; 1] = ["KHR_mesh_quantization"];

/// The whole of it.
#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
pub(super) struct Root<'a> {
    asset: Asset,
    extensions_used: [&'static str; 1],
    extensions_required: [&'static str; 1],
    scene: usize,
    scenes: [Scene<'a>; 1],
    nodes: Vec<Node<'a>>,
    meshes: Vec<Mesh<'a>>,
    materials: Vec<Material<'a>>,
    accessors: Vec<Accessor>,
    buffer_views: Vec<View>,
    buffers: [Buffer; 1],
}

#[derive(Serialize)]
struct Asset {
    version: &'static str,
    generator: &'static str,
}

#[derive(Serialize)]
struct Scene<'a> {
    name: &'a str,
    nodes: Vec<usize>,
}

#[derive(Serialize)]
struct Node<'a> {
    name: &'a str,
    mesh: usize,
    translation: [f32; 3],
    scale: [f32; 3],
}

#[derive(Serialize)]
struct Mesh<'a> {
    name: &'a str,
    primitives: [Primitive; 1],
}

#[derive(Serialize)]
struct Primitive {
    attributes: Attributes,
    indices: usize,
    material: usize,
}

/// Numbers of the accessors of a vertex's values.
#[derive(Serialize)]
#[serde(rename_all = "UPPERCASE")]
pub(super) struct Attributes {
    pub position: usize,
    pub normal: usize,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct Material<'a> {
    name: &'a str,
    pbr_metallic_roughness: MetallicRoughness,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct MetallicRoughness {
    base_color_factor: [f64; 4],
    metallic_factor: f64,
    roughness_factor: f64,
}

/// Values in a view.
#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
pub(super) struct Accessor {
    buffer_view: usize,
    #[serde(skip_serializing_if = "is_zero")]
    byte_offset: usize,
    component_type: u32,
    #[serde(skip_serializing_if = "is_false")]
    normalized: bool,
    count: usize,
    #[serde(rename = "type")]
    shape: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    min: Option<[u16; 3]>,
    #[serde(skip_serializing_if = "Option::is_none")]
    max: Option<[u16; 3]>,
}

/// A stretch of the buffer.
#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
pub(super) struct View {
    buffer: usize,
    byte_offset: usize,
    byte_length: usize,
    #[serde(skip_serializing_if = "Option::is_none")]
    byte_stride: Option<usize>,
    target: u32,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct Buffer {
    byte_length: usize,
}

impl<'a> Root<'a> {
    /// A file called `name` without parts yet.
    pub fn new(name: &'a str, looks: &[Look<'a>]) -> Self {
        let material = |look: &Look<'a>| {
            let [r, g, b] = look.colour;
            let pbr_metallic_roughness = MetallicRoughness {
                base_color_factor: [r, g, b, 1.0],
                metallic_factor: look.metal,
                roughness_factor: look.roughness,
            };
            Material { name: look.material, pbr_metallic_roughness }
        };
        Self {
            asset: Asset { version: "2.0", generator: "crumbline" },
            extensions_used: QUANTIZATION,
            extensions_required: QUANTIZATION,
            scene: 0,
            scenes: [Scene { name, nodes: Vec::new() }],
            nodes: Vec::new(),
            meshes: Vec::new(),
            materials: looks.iter().map(material).collect(),
            accessors: Vec::new(),
            buffer_views: Vec::new(),
            buffers: [Buffer { byte_length: 0 }],
        }
    }

    /// Adds a node with a mesh; its places are whole steps from its origin, m.
    pub fn add_part(
        &mut self,
        name: &'a str,
        attributes: Attributes,
        indices: usize,
        material: usize,
        (origin, step): ([f32; 3], f32),
    ) {
        self.scenes[0].nodes.push(self.nodes.len());
        self.nodes.push(Node { name, mesh: self.meshes.len(), translation: origin, scale: [step; 3] });
        self.meshes.push(Mesh { name, primitives: [Primitive { attributes, indices, material }] });
    }

    /// The number of an accessor added.
    pub fn add(&mut self, accessor: Accessor) -> usize {
        self.accessors.push(accessor);
        self.accessors.len() - 1
    }

    /// The number of a view added.
    pub fn add_view(&mut self, view: View) -> usize {
        self.buffer_views.push(view);
        self.buffer_views.len() - 1
    }

    /// How long the binary chunk is, bytes.
    pub fn buffer_is(&mut self, length: usize) {
        self.buffers[0].byte_length = length;
    }
}

impl Accessor {
    fn new(buffer_view: usize, component_type: u32, count: usize, shape: &'static str) -> Self {
        let (byte_offset, normalized, min, max) = (0, false, None, None);
        Self { buffer_view, byte_offset, component_type, normalized, count, shape, min, max }
    }

    /// Places as whole numbers between these ends.
    pub fn positions(view: usize, count: usize, (min, max): ([u16; 3], [u16; 3])) -> Self {
        Self { min: Some(min), max: Some(max), ..Self::new(view, UNSIGNED_SHORT, count, "VEC3") }
    }

    /// Normals as shares of 127, after the places of the same view.
    pub fn normals(view: usize, count: usize) -> Self {
        Self { byte_offset: 8, normalized: true, ..Self::new(view, BYTE, count, "VEC3") }
    }

    /// Numbers of vertices, of two bytes or of four.
    pub fn indices(view: usize, count: usize, is_short: bool) -> Self {
        Self::new(view, if is_short { UNSIGNED_SHORT } else { UNSIGNED_INT }, count, "SCALAR")
    }
}

impl View {
    /// Of vertices so many bytes apart.
    pub fn vertices(byte_offset: usize, byte_length: usize, stride: usize) -> Self {
        Self { buffer: 0, byte_offset, byte_length, byte_stride: Some(stride), target: ARRAY_BUFFER }
    }

    /// Of the numbers of vertices.
    pub fn indices(byte_offset: usize, byte_length: usize) -> Self {
        Self { buffer: 0, byte_offset, byte_length, byte_stride: None, target: ELEMENT_ARRAY_BUFFER }
    }
}

fn is_zero(number: &usize) -> bool {
    *number == 0
}

fn is_false(flag: &bool) -> bool {
    !flag
}
