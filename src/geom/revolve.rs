//! Solids of revolution: measured exactly in the half-plane, meshed as a grid of meridians and parallels.
//!
//! A region of the (radius, height) half-plane turned about the axis r = 0 has, by Pappus's
//! theorems, volume 2π ∫∫ r dA; the mesh with n meridians on the true radius holds exactly
//! sin(2π/n)/(2π/n) of it ([`polygon_factor`]), since every level circle becomes a regular n-gon.

use std::f64::consts::TAU;

use glam::{DVec2, DVec3, dvec3};

use super::{MassProperties, Region, TriMesh};
use crate::real;

/// Volume, mm³, of `section` (radius ≥ 0, height) turned once about the axis.
pub fn revolved_volume(section: &Region) -> f64 {
    revolved_moments(section).0
}

/// Volume, surface and centroid of `section` turned once about the axis. Edges on the axis have no
/// surface.
pub fn revolved_properties(section: &Region) -> MassProperties {
    let (volume, moment) = revolved_moments(section);
    let area = section.edges().map(|(a, b)| TAU * (a.x + b.x) / 2.0 * a.distance(b)).sum();
    let centroid = if volume == 0.0 { DVec3::ZERO } else { dvec3(0.0, 0.0, moment / volume) };
    MassProperties { volume, area, centroid }
}

/// 2π ∫∫ r dA and 2π ∫∫ r z dA over the region, each edge contributing by Green's theorem:
/// ∫∫ r dA = ½ ∮ r² dz and ∫∫ r z dA = ½ ∮ r² z dz.
fn revolved_moments(section: &Region) -> (f64, f64) {
    let (mut first, mut second) = (0.0, 0.0);
    for (a, b) in section.edges() {
        let dz = b.y - a.y;
        first += dz * (a.x * a.x + a.x * b.x + b.x * b.x) / 6.0;
        let (aa, ab, bb) = (a.x * a.x, a.x * b.x, b.x * b.x);
        second += dz * (a.y * (3.0 * aa + 2.0 * ab + bb) + b.y * (aa + 2.0 * ab + 3.0 * bb)) / 24.0;
    }
    (TAU * first, TAU * second)
}

/// The share of a solid of revolution's volume that its mesh with `n` meridians holds.
pub fn polygon_factor(n: u32) -> f64 {
    let x = TAU / f64::from(n);
    real::sin(x) / x
}

/// Point at `radius`, `height` and `bearing` degrees: 0 at the front (−y), counter-clockwise seen
/// from above.
pub fn at_bearing(radius: f64, height: f64, bearing: f64) -> DVec3 {
    let (sin, cos) = real::sin_cos(bearing.to_radians());
    dvec3(radius * sin, -radius * cos, height)
}

/// Bearing of a point in degrees, 0 ≤ bearing < 360; 0 on the axis.
pub fn bearing_of(p: DVec2) -> f64 {
    let degrees = real::atan2(p.x, -p.y).to_degrees();
    if degrees < 0.0 { degrees + 360.0 } else { degrees + 0.0 }
}

/// Direction of meridian `k` out of `n`, the first at the front; exact at the quarters so that meshes of
/// one size meet each other and the axes without round-off.
pub(super) fn direction(k: u32, n: u32) -> DVec2 {
    let quarters = 4 * u64::from(k);
    if quarters % u64::from(n) == 0 {
        return [DVec2::NEG_Y, DVec2::X, DVec2::Y, DVec2::NEG_X][(quarters / u64::from(n)) as usize];
    }
    let (sin, cos) = real::sin_cos(TAU * f64::from(k) / f64::from(n));
    DVec2::new(sin, -cos)
}

/// Directions of all `n` meridians.
pub(super) fn directions(n: u32) -> Vec<DVec2> {
    (0..n).map(|k| direction(k, n)).collect()
}

/// Turns `section` once about the axis into a closed mesh with `n` meridians, the first at the front.
///
/// Vertices run contour by contour, point by point: one vertex for a point on the axis, `n` for any
/// other, so that values known per section point can be laid over the mesh
/// ([`spread_over_meridians`]).
pub fn revolve(section: &Region, n: u32) -> TriMesh {
    let around = directions(n);
    let n = around.len();
    let mut mesh = TriMesh::default();
    let points: usize = section.contours().iter().map(Vec::len).sum();
    mesh.positions.reserve(points * n);
    mesh.triangles.reserve(2 * points * n);
    for contour in section.contours() {
        let rings: Vec<Ring> = contour.iter().map(|p| push_ring(&mut mesh, *p, &around)).collect();
        for (i, ring) in rings.iter().enumerate() {
            let next = rings[(i + 1) % rings.len()];
            mesh.triangles.extend((0..n as u32).flat_map(|k| faces(*ring, next, k, n as u32)));
        }
    }
    mesh
}

/// Lays one value per section point over the vertices of the mesh that [`revolve`] makes of it.
pub fn spread_over_meridians(section: &Region, n: u32, mut value: impl FnMut(DVec2) -> f64) -> Vec<f64> {
    let mut values = Vec::new();
    for p in section.contours().iter().flatten() {
        let copies = if p.x <= 0.0 { 1 } else { n as usize };
        values.extend(std::iter::repeat_n(value(*p), copies));
    }
    values
}

/// The vertices that one section point becomes.
#[derive(Clone, Copy)]
pub(super) enum Ring {
    /// A single vertex on the axis.
    Pole(u32),
    /// As many vertices as meridians, from this one on.
    Circle(u32),
}

pub(super) fn push_ring(mesh: &mut TriMesh, p: DVec2, around: &[DVec2]) -> Ring {
    let first = mesh.positions.len() as u32;
    if p.x <= 0.0 {
        mesh.positions.push(dvec3(0.0, 0.0, p.y));
        return Ring::Pole(first);
    }
    mesh.positions.extend(around.iter().map(|d| dvec3(p.x * d.x, p.x * d.y, p.y)));
    Ring::Circle(first)
}

/// The triangles between two rings and between meridian `k` and the next, out of `n`.
pub(super) fn faces(low: Ring, high: Ring, k: u32, n: u32) -> impl Iterator<Item = [u32; 3]> {
    let next = if k + 1 == n { 0 } else { k + 1 };
    let (first, second) = match (low, high) {
        (Ring::Pole(_), Ring::Pole(_)) => (None, None),
        (Ring::Circle(a), Ring::Pole(top)) => (Some([a + k, a + next, top]), None),
        (Ring::Pole(bottom), Ring::Circle(b)) => (Some([bottom, b + next, b + k]), None),
        (Ring::Circle(a), Ring::Circle(b)) => {
            (Some([a + k, a + next, b + next]), Some([a + k, b + next, b + k]))
        }
    };
    first.into_iter().chain(second)
}

#[cfg(test)]
mod tests {
    use glam::dvec2;

    use super::*;

    /// Frustum R 100 → 60, H 120: V 2463008.64041, lateral 63581.36490, total 106307.02499, centroid
    /// 50.2040816 above the big face (CRC Standard Mathematical Tables, evaluated with scipy).
    #[test]
    fn a_frustum_agrees_with_the_handbook() {
        let section = Region::from_simple(vec![
            dvec2(0.0, 0.0),
            dvec2(100.0, 0.0),
            dvec2(60.0, 120.0),
            dvec2(0.0, 120.0),
        ]);
        let exact = revolved_properties(&section);
        assert!((exact.volume / 2_463_008.640_41 - 1.0).abs() < 1e-11);
        assert!((exact.area / 106_307.024_99 - 1.0).abs() < 1e-10);
        assert!((exact.centroid.z - 50.204_081_6).abs() < 1e-7);
        for n in [12, 64, 256] {
            let mesh = revolve(&section, n);
            mesh.check().unwrap();
            let measured = mesh.mass_properties();
            assert!((measured.volume / (exact.volume * polygon_factor(n)) - 1.0).abs() < 1e-12, "{n}");
            assert!((measured.centroid - exact.centroid).length() < 1e-9);
        }
    }

    #[test]
    fn bearings_run_counter_clockwise_from_the_front() {
        assert!((at_bearing(2.0, 3.0, 0.0) - dvec3(0.0, -2.0, 3.0)).length() < 1e-12);
        assert!((at_bearing(2.0, 3.0, 90.0) - dvec3(2.0, 0.0, 3.0)).length() < 1e-12);
        for bearing in [0.0, 10.0, 90.0, 200.0, 359.0] {
            let p = at_bearing(7.0, 0.0, bearing);
            assert!((bearing_of(p.truncate()) - bearing).abs() < 1e-9);
        }
    }
}
