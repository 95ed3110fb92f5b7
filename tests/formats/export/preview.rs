//! Previews: lighter, still solid, and no farther off than they say.

use formats::export::{Preview, simplified};
use geom::TriMesh;
use glam::DVec3;
use proptest::prelude::*;

use super::same_on_any_number_of_threads;
use crate::meshes::{any_turned, ball, cuboid, cylinder, turned};

/// Distance from a point to a triangle, by the regions of its plane (C. Ericson, Real-Time Collision
/// Detection, section 5.1.5, from memory): another way than the one the crate takes.
fn distance(p: DVec3, [a, b, c]: [DVec3; 3]) -> f64 {
    let (ab, ac, ap) = (b - a, c - a, p - a);
    let (d1, d2) = (ab.dot(ap), ac.dot(ap));
    if d1 <= 0.0 && d2 <= 0.0 {
        return p.distance(a);
    }
    let (d3, d4) = (ab.dot(p - b), ac.dot(p - b));
    if d3 >= 0.0 && d4 <= d3 {
        return p.distance(b);
    }
    let vc = d1 * d4 - d3 * d2;
    if vc <= 0.0 && d1 >= 0.0 && d3 <= 0.0 {
        return p.distance(a + ab * (d1 / (d1 - d3)));
    }
    let (d5, d6) = (ab.dot(p - c), ac.dot(p - c));
    if d6 >= 0.0 && d5 <= d6 {
        return p.distance(c);
    }
    let vb = d5 * d2 - d1 * d6;
    if vb <= 0.0 && d2 >= 0.0 && d6 <= 0.0 {
        return p.distance(a + ac * (d2 / (d2 - d6)));
    }
    let va = d3 * d6 - d5 * d4;
    if va <= 0.0 && d4 - d3 >= 0.0 && d5 - d6 >= 0.0 {
        return p.distance(b + (c - b) * ((d4 - d3) / ((d4 - d3) + (d5 - d6))));
    }
    p.distance(a + ab * (vb / (va + vb + vc)) + ac * (vc / (va + vb + vc)))
}

/// Greatest distance of a vertex of `from` to the surface of `to`, by looking at every triangle.
fn vertex_deviation(from: &TriMesh, to: &TriMesh) -> f64 {
    let nearest =
        |p: &DVec3| (0..to.len()).map(|t| distance(*p, to.corners(t))).fold(f64::INFINITY, f64::min);
    from.positions.iter().map(nearest).fold(0.0, f64::max)
}

fn assert_promises(mesh: &TriMesh, allowed: f64, preview: &Preview) {
    preview.mesh.check().expect("closed and outward");
    assert_eq!(preview.triangles_before, mesh.len());
    assert!(preview.error_mm <= allowed);
    let measured = vertex_deviation(mesh, &preview.mesh);
    assert!(measured <= preview.error_mm + 1e-9, "{measured} mm measured, {} stated", preview.error_mm);
    let area = mesh.mass_properties().area.max(preview.mesh.mass_properties().area);
    assert!((mesh.volume() - preview.mesh.volume()).abs() <= allowed * area);
}

#[test]
fn round_solids_become_lighter_within_the_error() {
    let vessel: Vec<_> =
        (0..60).map(|i| f64::from(i) / 59.0).map(|t| (60.0 + 25.0 * (5.0 * t).sin(), 180.0 * t)).collect();
    for mesh in [ball(100.0, 50, 90), cylinder(120.0, 80.0, 400), turned(&vessel, 90)] {
        for allowed in [0.25, 1.0] {
            let preview = simplified(&mesh, allowed);
            assert!(preview.is_lighter(), "{} triangles at {allowed} mm", mesh.len());
            assert_promises(&mesh, allowed, &preview);
        }
        assert!(simplified(&mesh, 1.0).mesh.len() < mesh.len() / 3);
    }
}

/// A fine surface with many small hollows, whole and cut in level slices as layers are.
#[test]
fn fine_scans_and_their_layers_become_lighter_within_the_error() {
    let mut stone = ball(100.0, 120, 200);
    for p in &mut stone.positions {
        let n = p.normalize();
        *p *=
            1.0 + 0.03 * (5.0 * n.x + 1.0).sin() * (6.0 * n.y).cos() + 0.015 * (13.0 * n.z + 7.0 * n.x).sin();
    }
    let slices = stone.cut_at(&[-30.0, 20.0]);
    for mesh in slices.iter().chain([&stone]) {
        let preview = simplified(mesh, 0.3);
        assert!(preview.mesh.len() < mesh.len() / 3, "{} of {}", preview.mesh.len(), mesh.len());
        assert_promises(mesh, 0.3, &preview);
    }
}

#[test]
fn a_preview_far_from_the_origin_is_as_light() {
    let mesh = ball(100.0, 30, 60);
    let far = mesh.clone().translated(DVec3::new(1e6, -2e6, 5e5));
    let (near, away) = (simplified(&mesh, 0.5), simplified(&far, 0.5));
    assert!(away.is_lighter());
    assert!(away.mesh.len().abs_diff(near.mesh.len()) * 10 <= near.mesh.len());
}

#[test]
fn its_vertices_are_some_of_the_given_ones() {
    let mesh = ball(100.0, 30, 60);
    let preview = simplified(&mesh, 0.5);
    assert!(preview.mesh.positions.iter().all(|p| mesh.positions.contains(p)));
    assert!(preview.mesh.positions.len() < mesh.positions.len());
}

#[test]
fn what_cannot_be_lighter_comes_back_as_it_is() {
    let cube = cuboid(DVec3::splat(50.0));
    let ball = ball(10.0, 12, 20);
    let mut open = ball.clone();
    open.triangles.pop();
    for (mesh, allowed) in [(&cube, 1.0), (&ball, 0.0), (&ball, -1.0), (&ball, f64::NAN), (&open, 1.0)] {
        let preview = simplified(mesh, allowed);
        assert!(!preview.is_lighter());
        assert_eq!((&preview.mesh, preview.error_mm), (mesh, 0.0));
    }
}

#[test]
fn the_same_mesh_gives_the_same_preview() {
    let mesh = ball(100.0, 60, 100);
    same_on_any_number_of_threads(|| simplified(&mesh, 0.3));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(32))]

    #[test]
    fn promises_hold_for_any_turned_solid(mesh in any_turned(), share in 0.001f64..0.3) {
        let (lo, hi) = mesh.bounds().expect("not empty");
        let allowed = share * (hi - lo).length();
        assert_promises(&mesh, allowed, &simplified(&mesh, allowed));
    }
}
