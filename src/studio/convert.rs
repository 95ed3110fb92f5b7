//! From millimetres, `f64`, z up to scene units, `f32`, y up. This is the only place that knows both.

use bevy::{
    asset::RenderAssetUsages,
    mesh::{Indices, Mesh, PrimitiveTopology},
    prelude::{Vec2, Vec3},
};
use glam::DVec3;

use super::{
    Corner, Surface,
    fit::{self, Lightened},
};

/// Millimetres in one scene unit: a cake is a few units high, which suits the renderer's defaults.
pub const MM_PER_UNIT: f64 = 100.0;

/// A place in the scene.
pub fn place(mm: DVec3) -> Vec3 {
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

/// A place in the scene, back in mm, z up.
pub fn millimetres(place: Vec3) -> DVec3 {
    DVec3::new(place.x.into(), (-place.z).into(), place.y.into()) * MM_PER_UNIT
}

/// Bytes of a vertex as the card keeps it: place, normal, and two numbers of four bytes each.
pub const VERTEX_BYTES: u64 = 4 * (3 + 3 + 2);

/// Bytes of a triangle: three places in the list of vertices.
pub const TRIANGLE_BYTES: u64 = 4 * 3;

/// The mesh that the graphics card draws, no buffer of it larger than `limit` bytes, and what had to be
/// taken away for that. The texture coordinates carry the shave depth (mm) and, as 1, whether it is a cut
/// face.
pub fn mesh(surface: &Surface, limit: u64) -> (Mesh, Lightened) {
    let ((corners, triangles), lightened) = fit::split_within(surface, limit);
    (mesh_of(&corners, triangles), lightened)
}

fn mesh_of(corners: &[Corner], triangles: Vec<[u32; 3]>) -> Mesh {
    Mesh::new(PrimitiveTopology::TriangleList, RenderAssetUsages::default())
        .with_inserted_attribute(
            Mesh::ATTRIBUTE_POSITION,
            corners.iter().map(|c| place(c.position)).collect::<Vec<_>>(),
        )
        .with_inserted_attribute(
            Mesh::ATTRIBUTE_NORMAL,
            corners.iter().map(|c| direction(c.normal)).collect::<Vec<_>>(),
        )
        .with_inserted_attribute(
            Mesh::ATTRIBUTE_UV_0,
            corners.iter().map(|c| Vec2::new(c.depth as f32, f32::from(u8::from(c.cap)))).collect::<Vec<_>>(),
        )
        .with_inserted_indices(Indices::U32(triangles.into_flattened()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn up_stays_up_and_the_front_faces_the_eye() {
        assert_eq!(place(DVec3::new(0.0, 0.0, 100.0)), Vec3::Y);
        assert_eq!(place(DVec3::new(0.0, -100.0, 0.0)), Vec3::Z);
        assert_eq!(place(DVec3::new(100.0, 0.0, 0.0)), Vec3::X);
        let somewhere = DVec3::new(12.5, -37.5, 250.0);
        assert!((millimetres(place(somewhere)) - somewhere).length() < 1e-4);
    }

    #[test]
    fn handedness_is_kept() {
        let (x, y, z) = (direction(DVec3::X), direction(DVec3::Y), direction(DVec3::Z));
        assert_eq!(x.cross(y), z);
    }
}
