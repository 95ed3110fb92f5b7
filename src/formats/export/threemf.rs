//! 3MF: solids with names, in millimetres, placed on a printer's bed.
//!
//! Written by `lib3mf` (its core writer: one object for each different solid, one build item for each place;
//! package parts, relationships and content types as the core specification of the 3MF Consortium asks). The
//! package carries no date of its own, so the same solids give the same bytes.

use std::io::{self, Cursor, Write};

use glam::DAffine3;
use lib3mf::{BuildItem, Mesh, MetadataEntry, Model, Object, Triangle, Vertex};

use super::{MeshF32, PRINTED};
use crate::escape;

/// A solid with its name and the places where it stands, mm.
#[derive(Debug, Clone)]
pub struct Item<'a> {
    /// What it is called.
    pub name: String,
    /// Its surface.
    pub solid: MeshF32<'a>,
    /// Where it stands, once for each time it is to be made.
    pub places: Vec<DAffine3>,
}

/// Writes `items` as one 3MF file called `title`, described by [`PRINTED`].
///
/// # Errors
/// When `writer` fails.
pub fn write(writer: &mut dyn Write, title: &str, items: &[Item<'_>]) -> io::Result<()> {
    let mut model = Model::new();
    model.metadata.push(MetadataEntry::new("Title".into(), escape::xml(title).into()));
    model.metadata.push(MetadataEntry::new("Description".into(), escape::xml(PRINTED).into()));
    model.metadata.push(MetadataEntry::new("Application".into(), "crumbline".into()));
    for (index, item) in items.iter().enumerate() {
        let id = index + 1;
        let mut object = Object::new(id);
        object.name = Some(escape::xml(&item.name).into());
        object.mesh = Some(mesh(&item.solid));
        model.resources.objects.push(object);
        for place in &item.places {
            let mut built = BuildItem::new(id);
            built.transform = Some(transform(place));
            model.build.items.push(built);
        }
    }
    let bytes = model.to_writer(Cursor::new(Vec::new())).map_err(io::Error::other)?;
    writer.write_all(bytes.get_ref())
}

fn mesh(solid: &MeshF32<'_>) -> Mesh {
    let mut mesh = Mesh::new();
    mesh.vertices =
        solid.positions().iter().map(|p| Vertex::new(plain(p.x), plain(p.y), plain(p.z))).collect();
    mesh.triangles = solid
        .triangles()
        .iter()
        .map(|&[a, b, c]| Triangle::new(a as usize, b as usize, c as usize))
        .collect();
    mesh
}

/// The shortest decimal number that is read back as this `f32`, as an `f64` that is written like it.
fn plain(x: f32) -> f64 {
    x.to_string().parse().unwrap_or_else(|_| f64::from(x))
}

/// The twelve numbers of a 3MF transform: a row for each of x, y, z and the translation.
fn transform(place: &DAffine3) -> [f64; 12] {
    let [x, y, z] = [place.matrix3.x_axis, place.matrix3.y_axis, place.matrix3.z_axis];
    let t = place.translation;
    // Turns by quarters leave round-off where whole numbers belong; a millionth of a millimetre is none.
    [x.x, x.y, x.z, y.x, y.y, y.z, z.x, z.y, z.z, t.x, t.y, t.z].map(|n| (n * 1e6).round() / 1e6 + 0.0)
}
