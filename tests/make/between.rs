//! What a cake looks like between its stages: the real surface, moved a stated distance.
//!
//! The part above the board of a drum of radius r and height h grown by d is a drum of radius r + d, and
//! over its top a rounded slab of π r² d + π² r d² / 2 + 2/3 π d³ (Steiner's formula for a disc, the upper
//! half; CRC Standard Mathematical Tables for the parts).

use std::f64::consts::PI;

use formats::model::{Between, Model, Part, PartKind};
use make::solids;
use plan::Plan;

use crate::{
    plans::plan,
    support::{assert_close, tolerance},
};

const CHORD: f64 = 0.05;

/// A drum of radius 80 and height 90 when carved, under 4 mm of icing and 6 mm of ganache, out of two
/// layers of radius 140 and 70 mm height, with these keys for the second and these details.
fn drum(second: &str, details: &str) -> Plan {
    plan(&format!(
        "crumbline = 1\nname = \"drum\"\naccuracy = {{ tool = {CHORD}, preview = {CHORD} }}\n\
         [shape.turned]\npoints = [[90, 0], [90, 100]]\n\
         [[covering]]\nmaterial = \"rolled icing\"\nthickness = 4\n\
         [[covering]]\nmaterial = \"ganache\"\nthickness = 6\n\
         [[tier]]\nname = \"only\"\n[[tier.layer]]\npan = {{ round = 280 }}\nheight = 70\n\
         [[tier.layer]]\npan = {{ round = 280 }}\nheight = 70\n{second}\n{details}"
    ))
}

fn staged(plan: &Plan) -> Model {
    solids::model_in_stages(plan, tolerance(CHORD)).unwrap()
}

fn volume(parts: &[Part], kind: PartKind) -> f64 {
    parts.iter().filter(|part| part.kind == kind).map(|part| part.mesh.volume()).sum()
}

fn between(model: &Model) -> &dyn Between {
    model.between.as_deref().expect("a planned cake knows what lies between its stages")
}

#[test]
fn the_offcut_left_is_as_thick_as_the_knife_is_off_the_line() {
    let model = staged(&drum("", ""));
    let (r, h) = (80.0, 90.0);
    for d in [20.0, 8.0, 1.0] {
        let side = PI * ((r + d) * (r + d) - r * r) * h;
        let top = PI * r * r * d + PI * PI * r * d * d / 2.0 + 2.0 / 3.0 * PI * d * d * d;
        let left = between(&model).offcuts(d);
        // Straightening a round moves its surface by up to the chord error.
        let moved = 2.0 * CHORD * (2.0 * PI * (r + d) * (h + d) + PI * (r + d) * (r + d));
        let off = volume(&left, PartKind::Offcut) - (side + top);
        assert!(off.abs() < moved, "{d} mm off: {off} mm³ of {}", side + top);
        for part in &left {
            part.mesh.check().unwrap_or_else(|e| panic!("{}: {e}", part.name));
            assert_eq!(part.shave_depth.len(), part.mesh.positions.len());
        }
    }
}

/// The way in starts with all that is to be shaved off and ends with nothing, whether slabs share the axis
/// or not and whether the sponge is cut or not.
#[test]
fn the_offcut_thins_from_all_of_it_to_nothing() {
    let cut =
        "[[detail]]\nname = \"step\"\ncut = \"sponge\"\nbox = { centre = [70, 0, 90], size = [80, 60, 60] }";
    let slope = "[[detail]]\nname = \"slope\"\ncut = \"sponge\"\nhalf_space = { point = [0, 0, 60], normal = [1, 0, 1] }";
    for (second, details) in [("", ""), ("offset = [12, 5]", ""), ("", cut), ("offset = [9, 0]", slope)] {
        let model = staged(&drum(second, details));
        let all = volume(&model.parts, PartKind::Offcut);
        let between = between(&model);
        let start = between.start();
        let left: Vec<f64> = [1.0, 0.75, 0.5, 0.25, 0.1, 0.001]
            .iter()
            .map(|share| volume(&between.offcuts(start * share), PartKind::Offcut))
            .collect();
        assert_close(&format!("at the start {second} {details}"), left[0], all, 1e-6);
        assert!(left.windows(2).all(|w| w[1] < w[0]), "{left:?} {second} {details}");
        assert!(left[5] < 0.01 * all, "{left:?} {second} {details}");
    }
}

#[test]
fn a_coat_half_on_is_half_as_thick() {
    let model = staged(&drum("", ""));
    let between = between(&model);
    // Ganache 3 of 6 mm over a drum of 80 by 90, then icing 1 of 4 mm over one of 86 by 96. The shape has
    // sharp rims, and so has every coat.
    for (index, laid, r, h) in [(1, 3.0, 80.0, 90.0), (0, 1.0, 86.0, 96.0)] {
        let coat = between.coat(index, laid).expect("some of it is on");
        let exact = PI * ((r + laid) * (r + laid) * (h + laid) - r * r * h);
        assert_close("coat", coat.mesh.volume(), exact, 2e-3);
        coat.mesh.check().unwrap();
        let whole = between.coat(index, between.thickness(index)).expect("all of it is on");
        let part = model.parts.iter().find(|p| p.kind == PartKind::Covering && p.index == index).unwrap();
        assert_close("all of the coat", whole.mesh.volume(), part.mesh.volume(), 1e-9);
    }
    assert!(between.coat(1, 0.0).is_none());
}

/// Room beside boards and fillings is in the model, as much as the report says.
#[test]
fn fills_hold_what_the_report_says() {
    let plan = plan(
        "crumbline = 1\nname = \"post\"\naccuracy = { tool = 0.02, preview = 0.02 }\n\
         [shape.turned]\npoints = [[60, 0], [60, 100]]\n[[covering]]\nmaterial = \"ganache\"\nthickness = 5\n\
         [[tier]]\nname = \"low\"\n[[tier.layer]]\npan = { round = 130 }\nheight = 50\n\
         [[tier]]\nname = \"high\"\nboard = { round = 90, thickness = 4, material = \"card board\" }\n\
         [[tier.layer]]\npan = { round = 130 }\nheight = 60\n",
    );
    let model = solids::model(&plan, tolerance(0.02)).unwrap();
    let fill = model.parts.iter().filter(|p| p.kind == PartKind::Fill).map(|p| p.mesh.volume());
    // The carve has radius 55 at the board of radius 45, 4 mm thick.
    let ring = PI * (55.0f64.powi(2) - 45.0f64.powi(2)) * 4.0;
    assert_close("fill", fill.sum(), ring, 1e-3);
    let report = make::report::Report::new(&plan);
    assert_close("report", report.totals.beside_boards_and_fillings_ml * 1000.0, ring, 1e-9);
}
