//! Part of a turned solid between two of its meridians.
//!
//! Where a cut or an add touches a turned solid in one place, only the part around it need go through a boolean:
//! a wedge with the meridians of the whole ([`super::revolve`]), closed by its section at both ends. A wedge runs
//! over all heights of its section; a [`super::Sector`] has a range of meridians for each band of heights.

use glam::DVec3;
use manifold_rust::{linalg::Vec2, polygon};

use super::{MeridianRange, Region, TriMesh, revolve::direction};

/// The part of `section` turned about the axis that lies within `range` of `n` meridians, as a closed mesh. Its
/// meridians are those of [`super::revolve::revolve`].
pub fn wedge(section: &Region, range: MeridianRange, n: u32) -> TriMesh {
    if range.is_full(n) {
        return super::revolve::revolve(section, n);
    }
    let directions: Vec<DVec3> =
        (0..=range.steps).map(|k| direction((range.first + k) % n, n).extend(0.0)).collect();
    let mut mesh = TriMesh::default();
    // The first vertex of each point, in the order that the triangulation counts them.
    let mut starts = Vec::new();
    for contour in section.contours() {
        let from = starts.len();
        for p in contour {
            starts.push(mesh.positions.len() as u32);
            let up = DVec3::Z * p.y;
            if p.x <= 0.0 {
                mesh.positions.push(up);
            } else {
                mesh.positions.extend(directions.iter().map(|d| *d * p.x + up));
            }
        }
        for i in 0..contour.len() {
            let j = (i + 1) % contour.len();
            join(&mut mesh, range.steps, (starts[from + i], contour[i].x), (starts[from + j], contour[j].x));
        }
    }
    close(&mut mesh, section, range.steps, &starts);
    mesh
}

/// Joins the vertices of one section point to those of the next; each is its first vertex and radius.
fn join(mesh: &mut TriMesh, steps: u32, (a, a_radius): (u32, f64), (b, b_radius): (u32, f64)) {
    for k in 0..steps {
        match (a_radius > 0.0, b_radius > 0.0) {
            (false, false) => {}
            (true, false) => mesh.triangles.push([a + k, a + k + 1, b]),
            (false, true) => mesh.triangles.push([a, b + k + 1, b + k]),
            (true, true) => {
                mesh.triangles.push([a + k, a + k + 1, b + k + 1]);
                mesh.triangles.push([a + k, b + k + 1, b + k]);
            }
        }
    }
}

/// Closes both ends of a wedge with its section.
fn close(mesh: &mut TriMesh, section: &Region, steps: u32, starts: &[u32]) {
    let points: Vec<_> = section.contours().iter().flatten().collect();
    let polygons =
        section.contours().iter().map(|c| c.iter().map(|p| Vec2::new(p.x, p.y)).collect()).collect();
    for t in polygon::triangulate(&polygons, -1.0, true) {
        let corners = [t.x, t.y, t.z].map(|i| i as usize);
        let first = corners.map(|i| starts[i]);
        let last = corners.map(|i| if points[i].x > 0.0 { starts[i] + steps } else { starts[i] });
        mesh.triangles.push(first);
        mesh.triangles.push([last[0], last[2], last[1]]);
    }
}

#[cfg(test)]
mod tests {
    use glam::dvec2;

    use super::*;
    use crate::revolve::revolve;

    /// A quarter of all meridians holds a quarter of the mesh, wherever it begins; a hole, a notch and an
    /// edge on the axis are no hindrance.
    #[test]
    fn a_wedge_holds_its_share() {
        let whole = Region::rectangle(dvec2(0.0, 0.0), dvec2(60.0, 40.0));
        let hole = whole.difference(&Region::rectangle(dvec2(20.0, 10.0), dvec2(30.0, 30.0)));
        let notch = whole.difference(&Region::rectangle(dvec2(-1.0, -1.0), dvec2(50.0, 30.0)));
        for section in [whole, hole, notch] {
            let whole = revolve(&section, 64).volume();
            for first in [0, 5, 60] {
                let part = wedge(&section, MeridianRange { first, steps: 16 }, 64);
                part.check().unwrap();
                assert!((part.volume() / whole - 0.25).abs() < 1e-12);
            }
        }
    }
}
