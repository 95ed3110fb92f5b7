//! A glTF file without its looks: materials, textures, pictures, lights, cameras and movements go before the file is
//! checked, so that none of them stands in the way of its shape, nor any extension that only they need.

use gltf::{Document, Glb, json};
use serde_json::{Map, Value};

use super::ScanError;

/// Of the whole file these say nothing about its shape.
const LOOKS: [&str; 8] =
    ["materials", "textures", "images", "samplers", "animations", "cameras", "skins", "extensions"];

/// Extensions that change how the corners are written or where meshes stand, and are read
/// (<https://github.com/KhronosGroup/glTF/tree/main/extensions/2.0/Khronos/KHR_mesh_quantization>).
const READ: [&str; 1] = ["KHR_mesh_quantization"];

/// What the names of extensions that are only about looks, light or what is known of a file begin with.
const OF_LOOKS: [&str; 11] = [
    "KHR_materials_",
    "KHR_texture_",
    "KHR_lights_",
    "KHR_xmp",
    "KHR_animation_",
    "EXT_texture_",
    "EXT_lights_",
    "MSFT_texture_",
    "MSFT_packing_",
    "AGI_",
    "ADOBE_materials_",
];

/// The document of a file with no more than its shape, and its binary part.
pub(super) fn shape_only(bytes: &[u8]) -> Result<(Document, Option<Vec<u8>>), ScanError> {
    let damaged = |problem: String| ScanError::Damaged { format: "glTF", problem };
    let (text, blob) = if bytes.starts_with(b"glTF") {
        let glb = Glb::from_slice(bytes).map_err(|error| damaged(error.to_string()))?;
        (glb.json, glb.bin.map(|bin| bin.into_owned()))
    } else {
        (bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes).into(), None)
    };
    let mut root: Value = serde_json::from_slice(&text).map_err(|error| damaged(error.to_string()))?;
    let Some(file) = root.as_object_mut() else { return Err(damaged("it holds no object".into())) };
    check_extensions(file)?;
    without_looks(file);
    let root: json::Root = serde_json::from_value(root).map_err(|error| damaged(error.to_string()))?;
    check_corners(&root)?;
    let document = Document::from_json(root).map_err(|error| damaged(error.to_string()))?;
    Ok((document, blob))
}

/// Refuses a file whose shape needs what is not read; the names of all others go.
fn check_extensions(file: &mut Map<String, Value>) -> Result<(), ScanError> {
    let required = file.remove("extensionsRequired");
    let names = required.iter().filter_map(Value::as_array).flatten().filter_map(Value::as_str);
    let is_known =
        |name: &str| READ.contains(&name) || OF_LOOKS.iter().any(|begins| name.starts_with(begins));
    match names.into_iter().find(|name| !is_known(name)) {
        Some(name) => Err(ScanError::NeedsExtension { name: name.chars().take(LONGEST_NAME).collect() }),
        None => Ok(()),
    }
}

/// Names are told up to so many characters.
const LONGEST_NAME: usize = 60;

fn without_looks(file: &mut Map<String, Value>) {
    for key in LOOKS {
        file.remove(key);
    }
    for node in objects(file, "nodes") {
        for key in ["camera", "skin", "weights", "extensions"] {
            node.remove(key);
        }
    }
    for mesh in objects(file, "meshes") {
        mesh.remove("weights");
        for primitive in objects(mesh, "primitives") {
            for key in ["material", "targets", "extensions"] {
                primitive.remove(key);
            }
            if let Some(attributes) = primitive.get_mut("attributes").and_then(Value::as_object_mut) {
                attributes.retain(|name, _| name == "POSITION");
            }
        }
    }
}

fn objects<'a>(
    within: &'a mut Map<String, Value>,
    key: &str,
) -> impl Iterator<Item = &'a mut Map<String, Value>> {
    let all = within.get_mut(key).and_then(Value::as_array_mut);
    all.into_iter().flatten().filter_map(Value::as_object_mut)
}

/// Refuses meshes whose corners are nowhere in the file: the crate's own check would stop the program over them.
fn check_corners(root: &json::Root) -> Result<(), ScanError> {
    let primitives = root.meshes.iter().flat_map(|mesh| &mesh.primitives);
    let there = |index: usize| index < root.accessors.len();
    if primitives.flat_map(|primitive| primitive.attributes.values()).all(|accessor| there(accessor.value()))
    {
        return Ok(());
    }
    Err(ScanError::Damaged {
        format: "glTF",
        problem: "a mesh names corners that the file does not hold".into(),
    })
}
