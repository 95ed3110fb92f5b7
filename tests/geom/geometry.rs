//! Handbook solids: volume, surface and centroid of what we turn, mesh and cut.
//!
//! Figures are from CRC Standard Mathematical Tables unless another source stands beside them, evaluated
//! with numpy and scipy. A mesh with n meridians holds sin x / x of the true volume, x = 2π/n, and a
//! profile of equal chords on a circle holds a factor of its own, so even round things agree to nine digits.

use std::f64::consts::{PI, TAU};

use geom::{
    Region, Solid, TriMesh,
    revolve::{polygon_factor, revolve, revolved_properties},
};
use glam::{DAffine3, DMat3, DVec2, DVec3, dvec2, dvec3};

use crate::{
    support::{arc, assert_close, section, tolerance},
    teapot_bowl::{BOWL, cubic},
};

/// A solid of revolution with straight sides, as the handbook has it.
struct Turned {
    name: &'static str,
    points: Vec<(f64, f64)>,
    volume: f64,
    area: f64,
    centroid: f64,
}

fn straight_sided() -> Vec<Turned> {
    let turned = |name, points: &[(f64, f64)], volume, area, centroid| Turned {
        name,
        points: points.to_vec(),
        volume,
        area,
        centroid,
    };
    vec![
        turned(
            "cylinder R 100, H 100",
            &[(0.0, 0.0), (100.0, 0.0), (100.0, 100.0), (0.0, 100.0)],
            3_141_592.653_59,
            125_663.706_14,
            50.0,
        ),
        // Lateral surface and base.
        turned(
            "cone R 100, H 300",
            &[(0.0, 0.0), (100.0, 0.0), (0.0, 300.0)],
            3_141_592.653_59,
            99_345.882_66 + PI * 1e4,
            75.0,
        ),
        turned(
            "frustum 100 → 60, H 120",
            &[(0.0, 0.0), (100.0, 0.0), (60.0, 120.0), (0.0, 120.0)],
            2_463_008.640_41,
            106_307.024_99,
            50.204_081_6,
        ),
        turned(
            "ring R 100, r 40, H 80",
            &[(40.0, 0.0), (100.0, 0.0), (100.0, 80.0), (40.0, 80.0)],
            2_111_150.263_21,
            123_150.432_02,
            40.0,
        ),
        // Pappus, 2π r̄ A and 2π r̄ L.
        turned(
            "turned rectangle",
            &[(50.0, 0.0), (70.0, 0.0), (70.0, 40.0), (50.0, 40.0)],
            301_592.894_74,
            TAU * 60.0 * 120.0,
            20.0,
        ),
        turned(
            "turned triangle",
            &[(50.0, 0.0), (80.0, 0.0), (50.0, 60.0)],
            339_292.006_59,
            TAU * (65.0 * 30.0 + 65.0 * 4500f64.sqrt() + 50.0 * 60.0),
            // ∫∫ r z dA / ∫∫ r dA with r = 50 + 30 u, z = 60 v over u + v ≤ 1.
            60.0 * (50.0 / 6.0 + 30.0 / 24.0) / (50.0 / 2.0 + 30.0 / 6.0),
        ),
    ]
}

#[test]
fn straight_sided_solids_agree_with_the_handbook() {
    for solid in straight_sided() {
        let half = section(&solid.points);
        let found = revolved_properties(&half);
        assert_close(solid.name, found.volume, solid.volume, 1e-9);
        assert_close(solid.name, found.area, solid.area, 1e-9);
        assert_close(solid.name, found.centroid.z, solid.centroid, 1e-9);
        for n in [12, 64, 360] {
            let mesh = revolve(&half, n);
            mesh.check().unwrap();
            let measured = mesh.mass_properties();
            assert_close(solid.name, measured.volume, solid.volume * polygon_factor(n), 1e-9);
            assert!((measured.centroid - DVec3::Z * solid.centroid).length() < 1e-7, "{}", solid.name);
        }
    }
}

/// Measured where the mesh was made and again far off the origin.
#[test]
fn far_from_the_origin_no_digit_is_lost() {
    for solid in straight_sided() {
        let by = dvec3(-4000.0, 2500.0, 900.0);
        let moved = revolve(&section(&solid.points), 64).translated(by).mass_properties();
        assert_close(solid.name, moved.volume, solid.volume * polygon_factor(64), 1e-9);
        assert!((moved.centroid - by - DVec3::Z * solid.centroid).length() < 1e-7, "{}", solid.name);
    }
}

#[test]
fn polygon_factors_are_those_of_the_inscribed_polygon() {
    // Area of the inscribed n-gon over that of the circle, n/2π · sin(2π/n).
    let table = [
        (32, 0.993_586_851_1),
        (64, 0.998_394_393_0),
        (128, 0.999_598_453_1),
        (256, 0.999_899_604_2),
        (360, 0.999_949_231_2),
    ];
    for (n, factor) in table {
        assert!((polygon_factor(n) - factor).abs() < 1e-10, "{n}");
        let disc = Region::from_simple(
            (0..n).map(|i| DVec2::from_angle(TAU * f64::from(i) / f64::from(n)) * 100.0).collect(),
        );
        assert_close("n-gon", disc.area(), PI * 1e4 * factor, 1e-9);
    }
}

/// A sphere whose profile is m equal chords holds cos²(π/2m) of the ball, for any m; half of it likewise.
#[test]
fn balls_of_equal_chords_agree_to_nine_digits() {
    let ball = 4_188_790.204_79;
    assert!(((PI / 64.0).cos().powi(2) - 0.997_592_363_4).abs() < 1e-10);
    for m in [8, 32, 64, 250] {
        let factor = (PI / (2.0 * f64::from(m))).cos().powi(2);
        let whole = section(&arc(100.0, 0.0, -90.0, 90.0, m));
        assert_close("ball", revolved_properties(&whole).volume, ball * factor, 1e-9);
        let half = revolved_properties(&hemisphere(m / 2)).volume;
        assert_close("half-ball", half, 2_094_395.102_39 * factor, 1e-9);
        let mesh = revolve(&whole, 64);
        mesh.check().unwrap();
        assert_close("meshed ball", mesh.volume(), ball * factor * polygon_factor(64), 1e-9);
    }
    // m = 64, n = 64, measured on such a mesh by trimesh.
    let mesh = revolve(&section(&arc(100.0, 0.0, -90.0, 90.0, 64)), 64);
    assert_close("m = n = 64", mesh.volume() / ball, 0.997_793_088_2, 1e-9);
}

fn hemisphere(chords: u32) -> Region {
    let mut points = arc(100.0, 0.0, 0.0, 90.0, chords);
    points.push((0.0, 0.0));
    section(&points)
}

/// A torus whose bar is an m-gon: 2π² R r² times the polygon's share (Pappus: its centroid is R).
#[test]
fn tori_of_polygons_agree_to_nine_digits() {
    for m in [12, 64, 256] {
        let bar =
            (0..m).map(|i| dvec2(80.0, 0.0) + DVec2::from_angle(TAU * f64::from(i) / f64::from(m)) * 30.0);
        let half = Region::from_simple(bar.collect());
        let found = revolved_properties(&half);
        assert_close("torus", found.volume, 1_421_223.033_76 * polygon_factor(m), 1e-9);
        // Perimeter factor at m equals the area factor at 2m.
        assert_close("torus surface", found.area, 94_748.202_25 * polygon_factor(2 * m), 1e-9);
        let mesh = revolve(&half, 96);
        mesh.check().unwrap();
        assert_close("meshed torus", mesh.volume(), found.volume * polygon_factor(96), 1e-9);
    }
}

/// Volume, area and centroid of `shape` at m chords close in on `exact` with the square of 1/m: the error
/// falls fourfold per doubling, and what it tends to is the handbook's figure.
fn assert_second_order(name: &str, exact: [f64; 3], shape: impl Fn(u32) -> Region) {
    let at = |m| {
        let found = revolved_properties(&shape(m));
        [found.volume, found.area, found.centroid.z]
    };
    let (coarse, middle, fine) = (at(128), at(256), at(512));
    for (i, figure) in ["volume", "area", "centroid"].into_iter().enumerate() {
        let limit = fine[i] + (fine[i] - middle[i]) / 3.0;
        assert_close(&format!("{name}: {figure}"), limit, exact[i], 1e-8);
        let (before, after) = (middle[i] - coarse[i], fine[i] - middle[i]);
        if before.abs() > 1e-6 * exact[i].abs() {
            assert_close(&format!("{name}: order of {figure}"), before / after, 4.0, 1e-2);
        }
    }
}

#[test]
fn curved_solids_close_in_on_the_handbook() {
    assert_second_order("half-ball R 100", [2_094_395.102_39, 94_247.779_61, 37.5], hemisphere);
    // Height 40, its flat at 60 from the ball's middle; centroid 73.8461538 from there.
    assert_second_order(
        "cap R 100, h 40",
        [435_634.181_30, 25_132.741_23 + PI * 6400.0, 73.846_153_8],
        |m| {
            let mut points = arc(100.0, 0.0, 0.6f64.asin().to_degrees(), 90.0, m);
            points.push((0.0, 60.0));
            section(&points)
        },
    );
    let zone_ends = PI * (97.979_589_7f64.powi(2) + 86.602_540_4f64.powi(2));
    // π ∫ (R² − z²) z dz over −20 … 50, by the volume.
    let zone_centroid = PI * (1e4 * (2500.0 - 400.0) / 2.0 - (6.25e6 - 1.6e5) / 4.0) / 2_059_837.583_20;
    assert_second_order(
        "zone −20 … 50",
        [2_059_837.583_20, 43_982.297_15 + zone_ends, zone_centroid],
        |m| {
            let mut points = arc(100.0, 0.0, (-0.2f64).asin().to_degrees(), 30.0, m);
            points.extend([(0.0, 50.0), (0.0, -20.0)]);
            section(&points)
        },
    );
    assert_second_order("paraboloid R 100, H 150", [2_356_194.490_19, 71_262.437_04 + PI * 1e4, 50.0], |m| {
        let side = (0..=m).map(|i| {
            let r = 100.0 * (1.0 - f64::from(i) / f64::from(m));
            (r, 150.0 * (1.0 - r * r / 1e4))
        });
        section(&std::iter::once((0.0, 0.0)).chain(side).collect::<Vec<_>>())
    });
    assert_second_order("oblate spheroid 100, 60", [2_513_274.122_87, 93_894.383_73, 100.0], |m| {
        let side = arc(100.0, 0.0, -90.0, 90.0, m);
        section(&side.into_iter().map(|(r, z)| (r, 100.0 + 0.6 * z)).collect::<Vec<_>>())
    });
}

#[test]
fn the_teapots_bowl_holds_what_others_found() {
    for (chords, volume) in [(16, 24.280_461_93), (64, 24.290_508_31), (128, 24.291_011_08)] {
        let mut points = vec![(0.0, 2.4)];
        points.push(BOWL[0][0]);
        for curve in &BOWL {
            points.extend((1..=chords).map(|i| cubic(curve, f64::from(i) / f64::from(chords))));
        }
        assert_close("bowl", revolved_properties(&section(&points)).volume, volume, 1e-9);
    }
}

// ── Booleans ────────────────────────────────────────────────────────────────────────────────────────

fn solid(mesh: &TriMesh) -> Solid {
    Solid::from_mesh(mesh).unwrap()
}

fn ball(radius: f64, chord: f64) -> Solid {
    let half = Region::disc(DVec2::ZERO, radius, tolerance(chord)).right_half();
    solid(&revolve(&half, tolerance(chord).segments(radius)))
}

/// An upright cylinder with its corners on the circle.
fn cylinder(radius: f64, low: f64, high: f64, n: u32) -> Solid {
    solid(&revolve(&Region::rectangle(dvec2(0.0, low), dvec2(radius, high)), n))
}

/// The solid with z turned into x.
fn lying_along_x(of: &Solid) -> Solid {
    of.placed(&DAffine3::from_mat3(DMat3::from_cols(DVec3::Y, DVec3::Z, DVec3::X)))
}

/// Meshed balls stray by the chord error along their profile and again round it: the volume of what they
/// bound lies within twice that times the surface of the true one,
/// and closes in on it as the chord error shrinks.
fn assert_within_chord(name: &str, exact: f64, surface: f64, made: impl Fn(f64) -> Solid) {
    for chord in [0.5, 0.1, 0.02] {
        let made = made(chord);
        made.to_mesh().check().unwrap();
        let error = (made.volume() - exact).abs();
        assert!(error <= 2.0 * chord * surface, "{name} at {chord}: off by {error} mm³");
    }
}

#[test]
fn two_balls_meet_in_a_lens() {
    // Two caps of height 40.
    let surface = 2.0 * 25_132.741_23;
    assert_within_chord("lens", 871_268.362_56, surface, |chord| {
        let one = ball(100.0, chord);
        let apart = |by: DVec3| one.placed(&DAffine3::from_translation(by));
        apart(dvec3(72.0, 96.0, 0.0)).intersection(&one)
    });
}

/// A ball drilled through to a remaining height of 120 holds π h³/6 whatever its radius.
#[test]
fn a_napkin_ring_holds_the_same_of_any_ball() {
    for radius in [61.0, 75.0, 100.0, 180.0f64] {
        let hole = (radius * radius - 3600.0).sqrt();
        let surface = TAU * radius * 120.0 + TAU * hole * 120.0;
        assert_within_chord("napkin ring", 904_778.684_23, surface, |chord| {
            let drill = cylinder(hole, -radius - 1.0, radius + 1.0, tolerance(chord).segments(hole));
            lying_along_x(&ball(radius, chord)).difference(&drill)
        });
    }
}

/// A plane that cuts a cylinder at heights from 60 to 100 leaves its mean height, for the circle as for
/// any polygon with a middle.
#[test]
fn a_slanted_cut_leaves_the_mean_height() {
    for n in [32, 100, 256] {
        let tall = cylinder(100.0, 0.0, 120.0, n);
        let slope = dvec3(-0.2, 0.0, 1.0);
        let cut = tall.difference(&tall.beyond(dvec3(0.0, 0.0, 80.0), slope));
        cut.to_mesh().check().unwrap();
        assert_close("slanted cut", cut.volume(), 2_513_274.122_87 * polygon_factor(n), 1e-9);
    }
}

/// A hoof: 2R²h/3 of the cylinder, cos²(π/n) of that for an n-gon with corners on the diameter.
#[test]
fn a_hoof_holds_two_thirds_of_its_box() {
    for n in [32, 100, 256] {
        let tall = cylinder(100.0, 0.0, 101.0, n);
        let hoof = tall.difference(&tall.beyond(DVec3::ZERO, dvec3(0.0, -1.0, 1.0)));
        hoof.to_mesh().check().unwrap();
        let factor = (PI / f64::from(n)).cos().powi(2);
        assert_close("hoof", hoof.volume(), 666_666.666_67 * factor, 1e-9);
    }
}

/// Two crossing cylinders share 16 r³/3, cos²(π/n) of it for n-gons with corners on the common upright
/// (as manifold3d 3.5.4 found for n = 32, 128 and 512).
#[test]
fn crossing_cylinders_share_a_bicylinder() {
    for (n, measured) in [(32, 660_261.760), (128, 666_265.152), (512, 666_641.567)] {
        let one = lying_along_x(&cylinder(50.0, -60.0, 60.0, n));
        let turn = DAffine3::from_rotation_z(std::f64::consts::FRAC_PI_2);
        let both = one.intersection(&one.placed(&turn));
        both.to_mesh().check().unwrap();
        let factor = (PI / f64::from(n)).cos().powi(2);
        assert_close("bicylinder", both.volume(), 666_666.666_666_666_7 * factor, 1e-9);
        assert_close("bicylinder, manifold3d", both.volume(), measured, 1e-8);
    }
}

#[test]
fn a_drilled_box_loses_the_drill() {
    let block = Solid::prism(&Region::rectangle(dvec2(-80.0, -60.0), dvec2(80.0, 60.0)), -20.0, 20.0);
    let drill = cylinder(40.0, -50.0, 50.0, 96);
    let drilled = block.difference(&drill);
    drilled.to_mesh().check().unwrap();
    let hole = PI * 1600.0 * 40.0 * polygon_factor(96);
    assert_close("drilled box", drilled.volume(), 160.0 * 120.0 * 40.0 - hole, 1e-9);
    // Off the middle the box takes part of the drill: half of it, sideways.
    let aside = drill.placed(&DAffine3::from_translation(dvec3(80.0, 0.0, 0.0)));
    assert_close("half a drill", block.intersection(&aside).volume(), hole / 2.0, 1e-9);
    assert_close("joined", block.union(&aside).volume(), 768_000.0 + 2.5 * hole - hole / 2.0, 1e-9);
}
