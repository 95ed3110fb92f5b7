//! From millimetres, `f64`, z up to scene units, `f32`, y up. This is the only place that knows both.

use bevy::{
    asset::RenderAssetUsages,
    mesh::{Indices, Mesh, PrimitiveTopology},
    prelude::{Vec2, Vec3},
};
use glam::DVec3;

use super::{Vertex, simplify::Split};

/// Millimetres in one scene unit: a cake is a few units high, which suits the renderer's defaults.
pub const MM_PER_UNIT: f64 = 100.0;

/// A point in the scene.
pub fn point(mm: DVec3) -> Vec3 {
    direction(mm / MM_PER_UNIT)
}

/// A direction in the scene.
pub fn direction(d: DVec3) -> Vec3 {
    Vec3::new(d.x as f32, d.z as f32, -d.y as f32)
}

/// A length in the scene.
pub fn length(mm: f64) -> f32 {
    (mm / MM_PER_UNIT) as f32
}

/// A point in the scene, back in mm, z up.
pub fn millimetres(point: Vec3) -> DVec3 {
    DVec3::new(point.x.into(), (-point.z).into(), point.y.into()) * MM_PER_UNIT
}

/// Bytes of a vertex as the card keeps it: position, normal, two numbers and its light, of four bytes each.
pub const VERTEX_BYTES: u64 = 4 * (3 + 3 + 2 + 4);

/// Bytes of a triangle: three indices into the vertices.
pub const TRIANGLE_BYTES: u64 = 4 * 3;

/// The mesh that the graphics card draws. The texture coordinates carry the shave depth (mm) and, as 1, whether it
/// is a cut face; the colours, if there are any, the soft light at each vertex.
pub fn mesh((vertices, triangles): Split, light: Option<Vec<glam::Vec3>>) -> Mesh {
    let mesh = unlit(&vertices, triangles);
    let Some(light) = light else { return mesh };
    let colours: Vec<[f32; 4]> = light.into_iter().map(|light| light.extend(1.0).to_array()).collect();
    mesh.with_inserted_attribute(Mesh::ATTRIBUTE_COLOR, colours)
}

fn unlit(vertices: &[Vertex], triangles: Vec<[u32; 3]>) -> Mesh {
    Mesh::new(PrimitiveTopology::TriangleList, RenderAssetUsages::default())
        .with_inserted_attribute(
            Mesh::ATTRIBUTE_POSITION,
            vertices.iter().map(|v| point(v.position)).collect::<Vec<_>>(),
        )
        .with_inserted_attribute(
            Mesh::ATTRIBUTE_NORMAL,
            vertices.iter().map(|v| direction(v.normal)).collect::<Vec<_>>(),
        )
        .with_inserted_attribute(
            Mesh::ATTRIBUTE_UV_0,
            vertices
                .iter()
                .map(|v| Vec2::new(v.depth as f32, f32::from(u8::from(v.cap))))
                .collect::<Vec<_>>(),
        )
        .with_inserted_indices(Indices::U32(triangles.into_flattened()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn up_stays_up_and_the_front_faces_the_eye() {
        assert_eq!(point(DVec3::new(0.0, 0.0, 100.0)), Vec3::Y);
        assert_eq!(point(DVec3::new(0.0, -100.0, 0.0)), Vec3::Z);
        assert_eq!(point(DVec3::new(100.0, 0.0, 0.0)), Vec3::X);
        let somewhere = DVec3::new(12.5, -37.5, 250.0);
        assert!((millimetres(point(somewhere)) - somewhere).length() < 1e-4);
    }

    #[test]
    fn handedness_is_kept() {
        let (x, y, z) = (direction(DVec3::X), direction(DVec3::Y), direction(DVec3::Z));
        assert_eq!(x.cross(y), z);
    }
}
