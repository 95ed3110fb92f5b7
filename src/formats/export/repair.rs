//! Takes out what rounding has flattened, and keeps the surface closed: corners that met become one, triangles with a
//! repeated corner go, which closes the gap they leave by itself, and flat slivers are turned away.

use glam::{DVec3, Vec3};

use super::weld::Welder;
use geom::flat;

/// The same closed surface with each position once and without flat triangles, as far as they can be
/// taken out.
pub(super) fn repaired(positions: &[Vec3], triangles: &[[u32; 3]]) -> (Vec<Vec3>, Vec<[u32; 3]>) {
    let (positions, triangles) = welded(positions, triangles);
    let exact: Vec<DVec3> = positions.iter().map(|p| p.as_dvec3()).collect();
    (positions, flat::turned(&exact, triangles))
}

fn welded(positions: &[Vec3], triangles: &[[u32; 3]]) -> (Vec<Vec3>, Vec<[u32; 3]>) {
    let mut welder = Welder::for_about(positions.len());
    let numbers: Vec<u32> = positions.iter().map(|&p| welder.number(p)).collect();
    let triangles = triangles
        .iter()
        .map(|t| t.map(|v| numbers[v as usize]))
        .filter(|t| t[0] != t[1] && t[1] != t[2] && t[2] != t[0])
        .collect();
    (welder.into_positions(), triangles)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::export::MeshF32;
    use geom::TriMesh;

    /// A box with one more corner in the middle of a top edge, so near the edge that `f32` puts it on it.
    fn box_with_sliver(bulge: f64) -> TriMesh {
        let (x, y, z) = (300.0, 200.0, 100.0);
        let corner =
            |i: u32| DVec3::new(f64::from(i & 1) * x, f64::from(i >> 1 & 1) * y, f64::from(i >> 2 & 1) * z);
        let mut positions: Vec<DVec3> = (0..8).map(corner).collect();
        positions.push(DVec3::new(x / 2.0, -bulge, z));
        let triangles = vec![
            [0, 2, 3],
            [0, 3, 1],
            [4, 5, 7],
            [4, 7, 6], // bottom, top
            [4, 8, 5], // the sliver on the top edge
            [0, 1, 5],
            [0, 5, 8],
            [0, 8, 4], // front
            [2, 6, 7],
            [2, 7, 3],
            [0, 4, 6],
            [0, 6, 2],
            [1, 3, 7],
            [1, 7, 5],
        ];
        TriMesh { positions, triangles }
    }

    fn widened(solid: &MeshF32<'_>) -> TriMesh {
        TriMesh {
            positions: solid.positions().iter().map(|p| p.as_dvec3()).collect(),
            triangles: solid.triangles().to_vec(),
        }
    }

    #[test]
    fn a_flat_sliver_is_turned_away_and_the_surface_stays_closed() {
        // Far from the origin a bulge of a nanometre is lost in f32; the sliver has no area then.
        let far = DVec3::new(0.0, 1000.0, 0.0);
        let mesh = box_with_sliver(1e-6).translated(far);
        mesh.check().expect("the box is a solid in f64");
        let solid = MeshF32::new(&mesh).unwrap();
        assert_eq!(solid.triangles().len(), mesh.len(), "turning an edge keeps the number of triangles");
        let rounded = widened(&solid);
        rounded.check().expect("closed, and without a triangle that has no area");
        assert!((rounded.volume() - 6e6).abs() < 1e-3);
    }

    #[test]
    fn a_sliver_that_f32_can_hold_is_left_alone() {
        let mesh = box_with_sliver(1e-3);
        let solid = MeshF32::new(&mesh).unwrap();
        assert_eq!(solid.triangles(), mesh.triangles.as_slice());
    }

    #[test]
    fn a_step_lower_than_the_rounding_vanishes() {
        let mut mesh = box_with_sliver(50.0);
        let tip = mesh.positions[8];
        mesh.positions.push(tip + DVec3::Z * 1e-7);
        // The top ends at the upper tip, the front at the lower one; two triangles lie between.
        mesh.triangles[4] = [4, 9, 5];
        mesh.triangles.extend([[4, 8, 9], [9, 8, 5]]);
        mesh.check().expect("a solid in f64");
        let rounded = widened(&MeshF32::new(&mesh).unwrap());
        rounded.check().unwrap();
        assert_eq!(rounded.len(), mesh.len() - 2);
    }
}
