//! Normals of a surface that was found on a grid, without the grid's steps.

use glam::DVec3;
use rayon::prelude::*;

use super::surface::Fans;
use geom::TriMesh;

/// Rounds of averaging: normals are levelled over about twice so many triangles.
const ROUNDS: usize = 5;

/// Faces that differ by this angle count 1/e of those that do not differ, degrees: more than a grid's steps, less than
/// an edge.
const ALIKE_DEGREES: f64 = 14.0;

/// The normals of all triangles, each drawn towards those of its neighbours that face about as it does, by their areas
/// (bilateral filtering of face normals: Zheng, Fu, Au and Tai, "Bilateral Normal Filtering for Mesh Denoising", 2011).
/// Steps of a grid go, edges stay, and a surface that is even already is not changed.
pub fn smoothed(mesh: &TriMesh, fans: &Fans, mut normals: Vec<DVec3>) -> Vec<DVec3> {
    let areas: Vec<f64> = (0..mesh.len()).into_par_iter().map(|t| area(mesh, t)).collect();
    let spread = 1.0 - ALIKE_DEGREES.to_radians().cos();
    for _ in 0..ROUNDS {
        normals = (mesh.triangles.par_iter().enumerate())
            .map(|(t, corners)| {
                let own = normals[t];
                // All that share a corner, so that it does not matter how the surface is cut into triangles; those that
                // share an edge come twice, and the triangle itself three times.
                let around = corners.iter().flat_map(|corner| fans.at(*corner as usize));
                let weighed = around.map(|(other, _)| {
                    let theirs = normals[*other as usize];
                    theirs * areas[*other as usize] * (-(1.0 - own.dot(theirs)).max(0.0) / spread).exp()
                });
                weighed.sum::<DVec3>().try_normalize().unwrap_or(own)
            })
            .collect();
    }
    normals
}

fn area(mesh: &TriMesh, triangle: usize) -> f64 {
    let [a, b, c] = mesh.corners(triangle);
    (b - a).cross(c - a).length() / 2.0
}

#[cfg(test)]
mod tests {
    use super::{super::Surface, *};
    use std::f64::consts::TAU;

    /// An open drum of 120 mm across whose radius steps by `step` from ring to ring, as a shape found on a grid does.
    fn drum(step: f64) -> TriMesh {
        let (rings, spokes) = (60u32, 240u32);
        let positions = (0..rings).flat_map(|ring| {
            let radius = 60.0 + step * f64::from(ring % 2);
            (0..spokes).map(move |spoke| {
                let (sin, cos) = (TAU * f64::from(spoke) / f64::from(spokes)).sin_cos();
                DVec3::new(radius * cos, radius * sin, 2.0 * f64::from(ring))
            })
        });
        let at = |ring: u32, spoke: u32| ring * spokes + spoke % spokes;
        let triangles = (0..rings - 1).flat_map(|r| {
            (0..spokes).flat_map(move |s| {
                [[at(r, s), at(r, s + 1), at(r + 1, s + 1)], [at(r, s), at(r + 1, s + 1), at(r + 1, s)]]
            })
        });
        TriMesh { positions: positions.collect(), triangles: triangles.collect() }
    }

    fn face_normals(mesh: &TriMesh) -> Vec<DVec3> {
        let normal = |t: usize| {
            let [a, b, c] = mesh.corners(t);
            (b - a).cross(c - a).normalize()
        };
        (0..mesh.len()).map(normal).collect()
    }

    /// The furthest that a normal is tilted up or down, well inside the rims, degrees.
    fn furthest_tilt(mesh: &TriMesh, normals: &[DVec3]) -> f64 {
        let inner = (0..mesh.len()).filter(|t| (30.0..90.0).contains(&mesh.corners(*t)[0].z));
        inner.map(|t| normals[t].z.abs().asin().to_degrees()).fold(0.0, f64::max)
    }

    #[test]
    fn steps_of_a_grid_go() {
        let mesh = drum(0.15);
        let normals = face_normals(&mesh);
        assert!(furthest_tilt(&mesh, &normals) > 4.0);
        assert!(furthest_tilt(&mesh, &smoothed(&mesh, &Fans::of(&mesh), normals)) < 0.4);
    }

    #[test]
    fn edges_stay() {
        let mesh = drum(2.0);
        let normals = face_normals(&mesh);
        let tilt = furthest_tilt(&mesh, &normals);
        assert!(
            tilt > 40.0
                && (furthest_tilt(&mesh, &smoothed(&mesh, &Fans::of(&mesh), normals)) - tilt).abs() < 3.0
        );
    }

    /// At the vertices: of the two triangles of a side each lies nearer to another neighbour.
    #[test]
    fn an_even_drum_keeps_its_normals() {
        let (vertices, _) = Surface { mesh: drum(0.0), ..Surface::default() }.split(true);
        let inner = vertices.iter().filter(|vertex| (30.0..90.0).contains(&vertex.position.z));
        let turned = inner.map(|v| v.normal.angle_between(v.position.with_z(0.0)).to_degrees());
        assert!(turned.fold(0.0, f64::max) < 0.2);
    }
}
