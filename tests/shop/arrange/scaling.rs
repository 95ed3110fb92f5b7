//! A shape scaled: everything of it, drawings beside the cake file too, and nothing else.

use cakefile::CakeFile;
use geom::{Cancel, progress::NoProgress};
use plan::{Plan, Planner};
use shop::{
    amounts::Servings,
    arrange::{Aim, Effort, propose},
    scale::{Goal, Grow, ScaleError, scale, scaled},
    serve::{Trial, serve},
};

use crate::{
    plans::{example_source, source},
    support::assert_close,
};

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
    let board = plan.design.board.as_ref().map_or(0.0, plan::design::Board::height);
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

/// A letter made to serve more grows as seen from above and keeps its height; evenly it grows in height too.
#[test]
fn a_straight_sided_shape_grows_sideways_unless_asked_otherwise() {
    let outline =
        "outline = { points = [[-100, -150], [100, -150], [100, -80], [-30, -80], [-30, 150], [-100, 150]] }";
    let text = format!(
        "crumbline = 1\nname = \"L\"\n[[shape.sections.at]]\nheight = 0\n{outline}\n[[shape.sections.at]]\nheight = 80\n\
         {outline}\n[[detail]]\nname = \"eye\"\ncut = \"sponge\"\nball = {{ centre = [60, -110, 80], diameter = 20 }}\n"
    );
    let source = source(&CakeFile::from_text("test.cake.toml", "", &text));
    let serve = |count: u32, grow: Option<Grow>| {
        let (planner, cancel) = (Planner::new(), Cancel::new());
        let made =
            serve(&planner, &source, count, grow, &[Aim::Best], Effort::default(), &cancel, &NoProgress);
        let (scaled, found) = made.unwrap_or_else(|error| panic!("{error:?}"));
        let plan = &found.proposals[0].plan;
        (scaled, plan.design.shape.size(), Servings::new(plan).served[0].by_cutting)
    };
    let (scaled, size, served) = serve(30, None);
    assert_eq!(scaled.grow, Grow::Sideways);
    assert_close("height", size.z, 80.0, 1e-9);
    assert_close("width", size.x, 200.0 * scaled.factor, 1e-4);
    assert!((30..=33).contains(&served), "{served}");
    let text = scaled.source.cake.text();
    let ball = format!("centre = [{}, {}, 80], diameter = 20", 60.0 * scaled.factor, -110.0 * scaled.factor);
    assert!(text.contains(&ball), "{ball} in\n{text}");
    let (scaled, size, _) = serve(30, Some(Grow::Evenly));
    assert_close("height", size.z, 80.0 * scaled.factor, 1e-4);
}

/// What stops it is the pan that it outgrows, and the scale is told at which it does.
#[test]
fn a_cake_that_outgrows_its_pans_says_where() {
    let (planner, source) = (Planner::new(), example_source("lopsided-bell"));
    let made =
        serve(&planner, &source, 200, None, &[Aim::Best], Effort::default(), &Cancel::new(), &NoProgress);
    let Err(ScaleError::Impossible { what, fix }) = made else { panic!("it serves 200") };
    assert!(what.contains("outgrows the 13 in × 9 in pan at 1"), "{what}");
    // The fix names the pan that is too small, and a number that can be served without it.
    let fewer: u32 = fix.split("--serve ").nth(1).unwrap().split(')').next().unwrap().parse().unwrap();
    assert!(fix.contains("larger than 13 in × 9 in") && (20..200).contains(&fewer), "{fix}");
    let again =
        serve(&planner, &source, fewer, None, &[Aim::Best], Effort::default(), &Cancel::new(), &NoProgress);
    assert!(
        again.as_ref().err().is_none_or(|error| !error.fix().contains("larger than")),
        "{fewer}: {again:?}"
    );
    // An outline that is drawn in one size for all directions cannot grow sideways alone.
    let hen = scaled(&example_source("sitting-hen"), 1.2, Grow::Sideways);
    assert!(matches!(hen, Err(ScaleError::OneSize(_) | ScaleError::Drawn { .. })), "{hen:?}");
}

/// A cake that is scaled serves as many as asked for with a stack that passes its own check, and a hundredth smaller it does
/// not. Of simple shapes each scale is searched in full too: the same scale comes out.
#[test]
fn a_cake_is_scaled_no_larger_than_it_takes() {
    let turned = |points: &str| {
        let text =
            format!("crumbline = 1\nname = \"x\"\nunit = \"mm\"\n[shape.turned]\npoints = [{points}]\n");
        source(&CakeFile::from_text("test.cake.toml", "", &text))
    };
    let cakes = [
        (turned("[0, 0], [70, 0], [70, 90], [0, 90]"), [12, 25], true),
        (turned("[0, 0], [90, 0], [90, 40], [40, 120], [0, 120]"), [9, 22], true),
        (turned("[0, 0], [60, 0], [95, 160], [70, 260], [0, 260]"), [30, 44], true),
        (example_source("garden-urn"), [14, 30], false),
        (example_source("toadstool-house"), [8, 20], false),
    ];
    for (source, counts, is_simple) in &cakes {
        let (planner, cancel) = (Planner::new(), Cancel::new());
        for &count in counts {
            let made =
                serve(&planner, source, count, None, &[Aim::Best], Effort::default(), &cancel, &NoProgress);
            let (grown, found) = made.unwrap_or_else(|error| panic!("{count}: {error:?}"));
            let best = &found.proposals[0];
            let served = |plan: &Plan| Servings::new(plan).served[0].by_cutting;
            assert!(best.fault().is_none() && best.aims.contains(&Aim::Best), "{count}: {:?}", best.fault());
            assert!(served(&best.plan) >= count, "{count}: {}", served(&best.plan));
            let hundredths = (100.0 * grown.factor).round() as u32;
            let smaller = Trial::new(&planner, source, (hundredths - 1, grown.grow), count, &cancel).unwrap();
            assert!(
                smaller.served.is_none_or(|served| served < count),
                "{count} at {hundredths} %: {smaller:?}"
            );
            if !is_simple {
                continue;
            }
            let serves_in_full = |hundredths: u32| {
                let made = scaled(source, f64::from(hundredths) / 100.0, grown.grow).unwrap().source;
                let all =
                    propose(&planner, &made, &[Aim::Best], Effort::default(), &cancel, &NoProgress).unwrap();
                all.proposals.first().is_some_and(|best| served(&best.plan) >= count)
            };
            let least = (hundredths - 5..=hundredths).find(|scale| serves_in_full(*scale));
            assert_eq!(least, Some(hundredths), "{count}");
        }
    }
}
