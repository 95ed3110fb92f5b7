//! The scene as text.

use std::io::{self, Write};

use rayon::prelude::*;

use crate::{
    escape,
    export::{
        MeshF32,
        shown::{Look, Shown},
        unique_names::UniqueNames,
    },
    model::Model,
};

/// Places are whole numbers of so many to the metre.
const PER_METRE: f64 = 1e6;

/// Writes the scene.
pub(super) fn write(writer: &mut dyn Write, model: &Model, solids: &[MeshF32<'_>]) -> io::Result<()> {
    let (looks, numbers) = Look::all(model);
    writeln!(writer, "#usda 1.0")?;
    writeln!(writer, "(\n    defaultPrim = \"cake\"\n    metersPerUnit = 1\n    upAxis = \"Y\"\n)\n")?;
    writeln!(writer, "def Xform \"cake\" (")?;
    writeln!(writer, "    displayName = {}", escape::usd(&model.name))?;
    writeln!(writer, "    kind = \"component\"\n)\n{{")?;
    let mut names = Names::default();
    let scope = names.unique("materials");
    let mut of_looks = Names::default();
    let materials: Vec<String> = looks.iter().map(|look| of_looks.unique(look.material)).collect();
    let meshes: Vec<Vec<u8>> = solids.par_iter().with_max_len(1).map(mesh).collect::<io::Result<_>>()?;
    for ((part, mesh), look) in model.parts.iter().zip(&meshes).zip(numbers) {
        writeln!(writer, "    def Mesh \"{}\" (", names.unique(&part.name))?;
        writeln!(writer, "        prepend apiSchemas = [\"MaterialBindingAPI\"]")?;
        writeln!(writer, "        displayName = {}\n    )\n    {{", escape::usd(&part.name))?;
        writer.write_all(mesh)?;
        writeln!(writer, "        rel material:binding = </cake/{scope}/{}>\n    }}\n", materials[look])?;
    }
    writeln!(writer, "    def Scope \"{scope}\"\n    {{")?;
    for (look, name) in looks.iter().zip(&materials) {
        material(writer, look, name, &format!("/cake/{scope}/{name}"))?;
    }
    writeln!(writer, "    }}\n}}")
}

/// What stands in the braces of a mesh, but for its material.
fn mesh(solid: &MeshF32<'_>) -> io::Result<Vec<u8>> {
    let places = |p: glam::Vec3| p.to_array().map(|mm| (f64::from(mm) / 1000.0 * PER_METRE).round() as i64);
    let Shown { vertices, triangles } = Shown::new(solid, places);
    let (mut lo, mut hi) = ([i64::MAX; 3], [i64::MIN; 3]);
    for (place, _) in &vertices {
        for axis in 0..3 {
            lo[axis] = lo[axis].min(place[axis]);
            hi[axis] = hi[axis].max(place[axis]);
        }
    }
    let metres = |place: [i64; 3]| place.map(|steps| steps as f64 / PER_METRE);
    let mut text = Vec::new();
    list(&mut text, "float3[] extent", [lo, hi].map(metres).into_iter().map(triple))?;
    list(&mut text, "int[] faceVertexCounts", triangles.iter().map(|_| 3))?;
    list(&mut text, "int[] faceVertexIndices", triangles.as_flattened().iter())?;
    // Four decimals are 0.006° at most. Zero is added as −0 would be written with its sign.
    let normals = vertices.iter().map(|(_, normal)| normal.to_array().map(|n| (n * 1e4).round() / 1e4 + 0.0));
    list(&mut text, "normal3f[] normals", normals.map(triple))?;
    text.truncate(text.len() - 1);
    writeln!(text, " (\n            interpolation = \"vertex\"\n        )")?;
    list(&mut text, "point3f[] points", vertices.iter().map(|(place, _)| triple(metres(*place))))?;
    writeln!(text, "        uniform token subdivisionScheme = \"none\"")?;
    Ok(text)
}

fn triple([x, y, z]: [f64; 3]) -> String {
    format!("({x}, {y}, {z})")
}

/// A line that gives a list to what is declared.
fn list<T: std::fmt::Display>(
    text: &mut Vec<u8>,
    declared: &str,
    items: impl Iterator<Item = T>,
) -> io::Result<()> {
    write!(text, "        {declared} = [")?;
    for (at, item) in items.enumerate() {
        write!(text, "{}{item}", if at == 0 { "" } else { ", " })?;
    }
    writeln!(text, "]")
}

/// A material with the one shader that every reader knows.
fn material(writer: &mut dyn Write, look: &Look<'_>, name: &str, path: &str) -> io::Result<()> {
    let [r, g, b] = look.colour;
    writeln!(writer, "        def Material \"{name}\" (")?;
    writeln!(writer, "            displayName = {}\n        )\n        {{", escape::usd(look.material))?;
    writeln!(writer, "            token outputs:surface.connect = <{path}/shader.outputs:surface>\n")?;
    writeln!(writer, "            def Shader \"shader\"\n            {{")?;
    writeln!(writer, "                uniform token info:id = \"UsdPreviewSurface\"")?;
    writeln!(writer, "                color3f inputs:diffuseColor = ({r}, {g}, {b})")?;
    writeln!(writer, "                float inputs:metallic = {}", look.metal)?;
    writeln!(writer, "                float inputs:roughness = {}", look.roughness)?;
    writeln!(writer, "                token outputs:surface\n            }}\n        }}\n")
}

/// Identifiers, each given once. They keep to letters and digits of ASCII, as older readers know no others.
#[derive(Default)]
struct Names(UniqueNames);

impl Names {
    /// An identifier like `name`, with a number behind it if it was given before.
    fn unique(&mut self, name: &str) -> String {
        let plain: String = name.chars().map(|c| if c.is_ascii_alphanumeric() { c } else { '_' }).collect();
        let start = if plain.starts_with(|c: char| c.is_ascii_alphabetic()) { "" } else { "_" };
        self.0.given(format!("{start}{plain}"), '_')
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_become_identifiers_and_stay_different() {
        let mut names = Names::default();
        let given =
            ["tier 1", "tier_1", "1", "", "ケーキ", "<b>\"x\"", "tier_1_2"].map(|name| names.unique(name));
        assert_eq!(given, ["tier_1", "tier_1_2", "_1", "_", "____", "__b__x_", "tier_1_2_2"]);
    }
}
