//! Masses and their middles by hand, and what is looked at for them.

use geom::Tolerance;
use glam::DVec2;
use plan::support::{Question, weight};

use super::check;
use crate::{
    plans::{example, plan},
    support::assert_close,
};

/// Two bare drums of sponge on one axis, D 200 H 100 under D 160 H 80, a board of 150 × 4 on four dowels of 6 mm.
///
/// By hand: the upper drum 0.415 · π · 80² · 80 / 1000 = 667.520 g, the board 0.7 · π · 75² · 4 / 1000 = 49.480 g:
/// 717.000 g on the dowels, 179.250 g on each, 358.500 g on two of them if one is a hair short. The lower drum
/// carries itself alone: 0.415 g/mL · 100 mm = 4.15 g/cm² = 406.98 Pa.
#[test]
fn two_drums_by_hand() {
    let cake = plan(
        "crumbline = 1\nname = \"Drums\"\n[shape.turned]\npoints = [[100, 0], [100, 104], [80, 104], [80, 184]]\n\
         [[tier]]\nname = \"lower\"\ndowels = { count = 4, diameter = 6, circle = 100 }\n\
         [[tier.layer]]\npan = { round = 200 }\nheight = 100\n\
         [[tier]]\nname = \"upper\"\nboard = { round = 150, thickness = 4 }\n\
         [[tier.layer]]\npan = { round = 160 }\nheight = 80\n[limits]\nspare = 0\n",
    );
    let carried = &cake.support.levels[1];
    // What is missing beside the board is filled with nothing: there is no covering.
    assert_close("load", carried.level.load.amount, 717.000, 2e-5);
    assert_eq!(carried.level.carriers.len(), 4);
    for push in &carried.level.pushes {
        assert_close("push", *push, weight(179.25), 1e-4);
    }
    assert_close("one short", carried.level.worst_push, weight(358.5), 1e-4);
    // Tipping on the dowels' circle: heads of 6 mm at 50 mm, bearings in the corners of a square.
    let up = (667.520 * 44.0 + 49.480 * 2.0) / 717.0;
    let inside = 50.0 / 2.0_f64.sqrt() + 3.0;
    assert_close("tilt", carried.tipping.unwrap().least, inside.atan2(up).to_degrees(), 5e-3);
    // The lower drum: its lowest place looked at lies 0.5 mm up.
    assert_close("pressure", cake.support.levels[0].pressure.unwrap(), 406.98, 0.02);
    assert!(check(&cake, "dowel-overloaded").said.contains("179 g"));
    assert_eq!(check(&cake, "dowel-overloaded").question, Question::Bench);
}

/// A level cut put together from edited sectors holds as much as one through the whole solid.
#[test]
fn outlines_among_bays_are_those_of_the_solid() {
    let plan = example("toadstool-house");
    let tolerance = Tolerance::PREVIEW;
    for (body, edited) in
        plan.bulk.bodies.iter().map(|(b, e)| (b, e)).chain([(&plan.carving.target, &plan.carving.edited)])
    {
        let (low, high) = body.heights();
        for k in 0..24 {
            let z = low + (high - low) * (f64::from(k) + 0.37) / 24.0;
            let (ours, whole) = (body.outline_among(z, tolerance, edited), body.outline_at(z, tolerance));
            // Rounds are straightened in different places: a quarter of a millimetre all round.
            let stray = 0.3 * (4.0 * std::f64::consts::PI * whole.area()).sqrt();
            let apart = ours.difference(&whole).area() + whole.difference(&ours).area();
            assert!(apart < stray, "at {z}: {apart} mm² of {}", whole.area());
            // In one piece, without seams that would look like the skin of the cake.
            assert_eq!(ours.pieces().len(), whole.pieces().len(), "at {z}");
            assert!((ours.depth(DVec2::ZERO) - whole.depth(DVec2::ZERO)).abs() < 0.3, "at {z}");
        }
    }
}

/// In the stalk of the toadstool the carve is what limits the dowels' circle: 10 mm of cake stay over them.
#[test]
fn dowels_asked_for_in_a_narrow_stalk_stay_under_the_carve() {
    let plan = example("toadstool-house");
    let advised = plan.support.levels[1].advised.clone().unwrap();
    assert_eq!(advised.count, 4);
    let narrowest = (1..140)
        .map(|z| plan.carving.target.outline_at(f64::from(z), Tolerance::TOOL))
        .flat_map(|outline| advised.at.iter().map(move |at| outline.depth(*at)).collect::<Vec<_>>())
        .fold(f64::INFINITY, f64::min);
    let cover = narrowest - advised.diameter / 2.0;
    assert!((9.5..12.0).contains(&cover), "{cover}");
    assert!(advised.circle < advised.trade_circle);
}
