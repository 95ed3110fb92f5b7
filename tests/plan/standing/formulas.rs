//! Columns, cantilevers, plates and tipping against worked examples of textbooks.

use std::f64::consts::{PI, TAU};

use geom::Hull;
use glam::{DVec2, dvec2};
use plan::{
    design::{Footprint, FootprintShape},
    support::{
        plate::{Loads, Plate},
        share::reactions,
        strut::{
            Bar, Ends, Failure, Stuff, buckling, capacity, euler, knock_down, transition, wrinkling_stress,
        },
    },
};
use serde_json::json;

use super::turned;
use crate::{
    plans::plan,
    reference::{asked, python},
    support::{assert_close, evenly},
};

const BEECH: Stuff = Stuff { modulus: 11_859.0, strength: 50.33, poisson: 0.3 };
const BIRCH: Stuff = Stuff { modulus: 13_858.0, strength: 56.33, poisson: 0.3 };

fn rod(diameter: f64) -> Bar {
    Bar { diameter, wall: None }
}

/// Beech and yellow birch dowels of 1/4 and 1/2 in, pinned at both ends: Euler's formula with the Wood Handbook's
/// figures, worked out by hand.
#[test]
fn wooden_dowels_by_euler() {
    let quarter = rod(6.35);
    assert_close("I", quarter.second_moment(), 79.8114, 1e-5);
    assert_close("A", quarter.area(), 31.6692, 1e-5);
    assert_close("beech 100", euler(&BEECH, &quarter, 100.0, Ends::Pinned), 934.2, 1e-4);
    assert_close("beech 100, free head", euler(&BEECH, &quarter, 100.0, Ends::FreeHead), 233.6, 3e-4);
    assert_close("crushing", BEECH.strength * quarter.area(), 1593.0, 1e-3);
    assert_close("slenderness", 100.0 / quarter.gyration(), 63.0, 1e-3);
    assert_close("beech 150", euler(&BEECH, &quarter, 150.0, Ends::Pinned), 415.2, 1e-4);
    assert_close("birch 150", euler(&BIRCH, &quarter, 150.0, Ends::Pinned), 485.2, 1e-4);
    assert_close("birch 1/2 in, 300", euler(&BIRCH, &rod(12.7), 300.0, Ends::Pinned), 1940.9, 2e-4);
}

/// Mechanics of Materials, example 13.1: a pinned steel tube of 3 and 2.75 in radius, 24 ft long, E 29 000
/// ksi, buckles at 64.5 kip.
#[test]
fn a_steel_tube_of_a_textbook() {
    let (inch, kip) = (25.4, 4448.2216);
    let steel = Stuff { modulus: 29_000e3 * 0.006_894_757, strength: 36e3 * 0.006_894_757, poisson: 0.3 };
    let tube = Bar { diameter: 6.0 * inch, wall: Some(0.25 * inch) };
    assert_close("P", euler(&steel, &tube, 24.0 * 12.0 * inch, Ends::Pinned) / kip, 64.5, 2e-3);
}

/// Where Johnson's parabola meets Euler's curve both give half of the crushing stress and the same slope, by
/// definition; a stub is crushed.
#[test]
fn johnson_meets_euler() {
    let bar = rod(10.0);
    let length = transition(&BEECH) * bar.gyration();
    let half = BEECH.strength * bar.area() / 2.0;
    let at = |factor: f64| buckling(&BEECH, &bar, length * factor, Ends::Pinned);
    assert_close("just shorter", at(1.0 - 1e-9), half, 1e-6);
    assert_close("just longer", at(1.0 + 1e-9), half, 1e-6);
    let slope = |low: f64, high: f64| (at(high) - at(low)) / (high - low);
    assert_close("slope", slope(1.0 - 1e-5, 1.0 - 1e-6), slope(1.0 + 1e-6, 1.0 + 1e-5), 1e-3);
    let (stub, how) = capacity(&BEECH, &bar, 1.0, Ends::Pinned);
    assert_close("a stub", stub, BEECH.strength * bar.area(), 1e-3);
    assert!(matches!(how, Failure::Buckling | Failure::Crushing));
    assert!(transition(&BEECH) > 67.5 && transition(&BEECH) < 68.6);
}

/// Polypropylene tubes: Euler, the classical stress of a thin cylinder and NASA SP-8007's share of it, by hand.
#[test]
fn straws_and_tubes() {
    let plastic = Stuff { modulus: 1300.0, strength: 31.0, poisson: 0.4 };
    let straw = Bar { diameter: 12.0, wall: Some(0.3) };
    assert_close("I", straw.second_moment(), 188.810, 1e-5);
    assert_close("Euler", euler(&plastic, &straw, 120.0, Ends::Pinned), 168.2, 1e-3);
    let stress = wrinkling_stress(&plastic, &straw).unwrap();
    assert_close("classical", stress, 41.996, 1e-4);
    assert_close("load", stress * straw.area(), 463.1, 1e-3);
    assert_close("share", knock_down(&straw).unwrap(), 0.7827, 1e-4);
    let thin = Bar { diameter: 8.0, wall: Some(0.2) };
    assert_close("thin I", thin.second_moment(), 37.2957, 1e-5);
    assert_close("thin Euler", euler(&plastic, &thin, 120.0, Ends::Pinned), 33.2, 2e-3);
    let load = wrinkling_stress(&plastic, &thin).unwrap() * knock_down(&thin).unwrap() * thin.area();
    assert_close("thin, real", load, 161.1, 1e-3);
    assert_eq!(capacity(&plastic, &thin, 120.0, Ends::Pinned).1, Failure::Buckling);
    // Very thin and very short: the wall goes first.
    let foil = Bar { diameter: 40.0, wall: Some(0.05) };
    assert_eq!(capacity(&plastic, &foil, 20.0, Ends::Pinned).1, Failure::Wrinkling);
}

fn tips(points: &str, layers: &[f64]) -> f64 {
    plan(&turned(points, layers)).support.levels[0].tipping.unwrap().least
}

/// Bodies of one density on their base, tan θ = radius / height of the centroid: centroids of any handbook
/// (cylinder H/2, cone H/4, frustum, hemisphere 3R/8, paraboloid H/3).
#[test]
fn solids_of_a_handbook_tip_where_they_should() {
    let close = |what, got, expected| assert_close(what, got, expected, 3e-3);
    close("cylinder 200 × 400", tips("[[100, 0], [100, 400]]", &[100.0; 4]), 26.565_051);
    close("cylinder 200 × 200", tips("[[100, 0], [100, 200]]", &[100.0; 2]), 45.0);
    close("cone", tips("[[100, 0], [0, 300]]", &[100.0; 3]), 53.130_102);
    close("frustum on its big face", tips("[[100, 0], [60, 120]]", &[60.0; 2]), 63.341_481);
    close("frustum on its small face", tips("[[60, 0], [100, 120]]", &[60.0; 2]), 40.683_972);
    let point = |r: f64, z: f64| format!("[{r:.6}, {z:.6}]");
    let ball: Vec<String> = (0..=64)
        .map(|i| PI / 2.0 * f64::from(i) / 64.0)
        .map(|t| point(100.0 * t.cos(), 100.0 * t.sin()))
        .collect();
    close("hemisphere", tips(&format!("[{}]", ball.join(", ")), &[50.0; 2]), 69.443_955);
    let bowl: Vec<String> =
        (0..=64).map(f64::from).map(|i| point(100.0 * (1.0 - i / 64.0).sqrt(), 150.0 * i / 64.0)).collect();
    close("paraboloid", tips(&format!("[{}]", bowl.join(", ")), &[50.0; 3]), 63.434_949);
}

/// A square prism 200 × 200 × 400 over an edge 26.565°, over a corner 35.264° (statics).
#[test]
fn a_square_tips_over_its_edge_before_its_corner() {
    let hull = Hull::of(
        [(-100.0, -100.0), (100.0, -100.0), (100.0, 100.0), (-100.0, 100.0)].map(|(x, y)| dvec2(x, y)),
    );
    let angle = |reach: f64| reach.atan2(200.0).to_degrees();
    assert_close("edge", angle(hull.nearest_edge(DVec2::ZERO).unwrap().0), 26.565_051, 1e-7);
    assert_close("corner", angle(hull.reach(DVec2::ZERO, dvec2(1.0, 1.0).normalize())), 35.264_390, 1e-7);
}

/// The same out of a cake file, by two crossed silhouettes: 26.565° to every side; a square foot.
#[test]
fn a_square_cake_tips_like_a_square_prism() {
    let square = "points = [[-100, 0], [100, 0], [100, 400], [-100, 400]]";
    let text = turned("[]", &[100.0; 4]).replace(
        "[shape.turned]\npoints = []",
        &format!("[shape.crossed]\nfront = {{ {square} }}\nside = {{ {square} }}"),
    );
    let tipping = plan(&text).support.levels[0].tipping.unwrap();
    assert_close("least", tipping.least, 26.565_051, 1e-6);
    for side in tipping.sides {
        assert_close("side", side, 26.565_051, 1e-6);
    }
}

/// Two drums of one density, D 250 and D 150, each 100 high, the upper one 30 mm off: centroid 76.470588 up and
/// 7.941176 aside (statics).
#[test]
fn a_tier_off_the_middle_pulls_the_centre_of_mass_with_it() {
    let cake = plan(
        "crumbline = 1\nname = \"Off\"\n[shape.turned]\npoints = [[60, 0], [60, 200]]\n\
         [[tier]]\nname = \"lower\"\n[[tier.layer]]\npan = { round = 250 }\nheight = 100\n\
         [[tier]]\nname = \"upper\"\n[[tier.layer]]\npan = { round = 150 }\nheight = 100\noffset = [30, 0]\n",
    );
    let raw = cake.support.levels[0].level.raw_load.centroid().unwrap();
    assert_close("up", raw.z, 76.470_588, 1e-7);
    assert_close("aside", raw.x, 7.941_176, 1e-6);
    assert!(raw.y.abs() < 1e-9);
}

/// Dowels that push and do not pull under a stiff board: scipy finds the least sum of squares that balances the
/// load, which is the same thing (Castigliano).
#[test]
fn dowels_share_a_load_as_scipy_says() {
    let Some(python) = python() else { return };
    let folder = tempfile::tempdir().unwrap();
    let mut boards: Vec<(Vec<DVec2>, f64, DVec2)> = Vec::new();
    for (k, p) in evenly(24).enumerate() {
        let n = 3 + k % 6;
        let at = (0..n).map(|i| {
            let turn = TAU * (i as f64 + p[0]) / n as f64;
            (60.0 + 20.0 * (7.0 * turn).sin()) * DVec2::from_angle(turn)
        });
        boards.push((at.collect(), 5.0 + 30.0 * p[1], 26.0 * p[2] * DVec2::from_angle(TAU * p[1])));
    }
    let asked_for: Vec<_> = boards
        .iter()
        .map(|(at, load, centre)| {
            json!({ "at": at.iter().map(DVec2::to_array).collect::<Vec<_>>(), "load": load, "centre": centre.to_array() })
        })
        .collect();
    let file = folder.path().join("boards.json");
    std::fs::write(&file, json!({ "boards": asked_for }).to_string()).unwrap();
    let found = asked(&python, "statics.py", &[&file]);
    let mut compared = 0;
    for ((at, load, centre), theirs) in boards.iter().zip(found["boards"].as_array().unwrap()) {
        let ours = reactions(at, *load, *centre);
        assert_eq!(ours.is_none(), theirs.is_null(), "{at:?} {centre}");
        for (a, b) in ours.unwrap_or_default().iter().zip(theirs.as_array().into_iter().flatten()) {
            let b = b.as_f64().unwrap();
            assert!((a - b).abs() < 1e-3 * load, "{at:?} {centre}: {a} {b}");
            compared += 1;
        }
    }
    assert!(compared > 60, "{compared}");
}

/// A small frame solved by hand: an evenly loaded beam over two equal spans pushes on its supports with 3/8, 10/8
/// and 3/8 of the load of one span (any handbook; three moments: M = q l² / 8 over the middle, so the end carries
/// q l / 2 − M / l = 3/8 q l). scipy's finite elements say the same, and so does our plate, long and narrow.
#[test]
fn a_board_over_three_rows_of_dowels_is_a_beam_over_two_spans() {
    let (span, load) = (150.0, 12.0);
    let by_hand = [3.0 / 8.0, 10.0 / 8.0, 3.0 / 8.0].map(|share| share * load / 2.0);
    let plate = Plate {
        footprint: Footprint {
            shape: FootprintShape::Rectangle { width: 2.0 * span, depth: 16.0 },
            centre: DVec2::ZERO,
            turn: 0.0,
        },
        hole: 0.0,
        thickness: 4.0,
        modulus: 4000.0,
        poisson: 0.0,
    };
    let rows = [-span, 0.0, span].map(|x| [dvec2(x, -6.0), dvec2(x, 6.0)]).concat();
    let bent = plate.bent(&rows, &Loads { spread: load, ..Loads::default() }).unwrap();
    for (k, expected) in by_hand.iter().enumerate() {
        assert_close("a row", bent.pushes[2 * k] + bent.pushes[2 * k + 1], *expected, 0.02);
    }
    let Some(python) = python() else { return };
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("beam.json");
    let beam = json!({
        "length": 2.0 * span, "supports": [0.0, span, 2.0 * span], "load": load / (2.0 * span),
        "EI": 4000.0 * 16.0 * 64.0 / 12.0,
    });
    std::fs::write(&file, json!({ "beam": beam }).to_string()).unwrap();
    let found = asked(&python, "statics.py", &[&file]);
    for (theirs, expected) in found["beam"].as_array().unwrap().iter().zip(by_hand) {
        assert_close("scipy", theirs.as_f64().unwrap(), expected, 1e-6);
    }
}
