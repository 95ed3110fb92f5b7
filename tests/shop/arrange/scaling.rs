//! A shape scaled: everything of it, drawings beside the cake file too, and nothing else.

use geom::Cancel;
use plan::{Plan, Planner};
use shop::scale::{Goal, Grow, ScaleError, scale, scaled};

use crate::{plans::example_source, support::assert_close};

/// Finished volume without what is added grows with the cube of the scale, whether the shape is typed, drawn in an
/// SVG drawing or taken from a picture.
#[test]
fn shapes_that_are_drawn_beside_the_cake_file_grow_with_it() {
    for name in ["toadstool-house", "sitting-hen", "pebble-lantern"] {
        let source = example_source(name);
        let before = Plan::new(&source).unwrap();
        let after = Plan::new(&scaled(&source, 1.25, Grow::Evenly).unwrap().source).unwrap();
        let sizes = |plan: &Plan| plan.design.shape.size();
        assert_close(name, sizes(&after).z, 1.25 * sizes(&before).z, 2e-3);
        assert_close(name, sizes(&after).x, 1.25 * sizes(&before).x, 2e-3);
        let volume = |plan: &Plan| plan.line_volumes()[0];
        assert_close(name, volume(&after), 1.25f64.powi(3) * volume(&before), 0.01);
        for (a, b) in after.design.coverings.iter().zip(&before.design.coverings) {
            assert_eq!(a.thickness, b.thickness, "{name}");
        }
    }
}

#[test]
fn a_cake_is_scaled_to_a_height_and_into_a_space() {
    let (planner, source) = (Planner::new(), example_source("toadstool-house"));
    let scale = |goal| scale(&planner, &source, goal, Grow::Evenly, &Cancel::new()).unwrap().source;
    let tall = Plan::new(&scale(Goal::Height(300.0))).unwrap();
    assert_close("height", tall.design.shape.size().z, 300.0, 1e-4);
    let plan = Plan::new(&scale(Goal::Fit([400.0, 400.0, 250.0]))).unwrap();
    let size = plan.design.shape.size();
    let board = plan.design.board.as_ref().map_or(0.0, |board| board.thickness);
    assert!(size.x.max(size.y) <= 400.001 && size.z + board <= 250.001, "{size}");
    assert!(
        (size.x.max(size.y) - 400.0).abs().min((size.z + board - 250.0).abs()) < 0.01,
        "as large as fits: {size}"
    );
}

/// The size of a model without a height in the cake file is its own.
#[test]
fn a_model_without_a_height_is_told_by_its_name() {
    match scaled(&example_source("boulder"), 2.0, Grow::Evenly) {
        Err(ScaleError::Drawn { what, .. }) => assert_eq!(what, "boulder.stl"),
        other => panic!("{other:?}"),
    }
}
