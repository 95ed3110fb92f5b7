//! Details that stand in several places, and outlines on the top.

use std::f64::consts::PI;

use cakefile::Severity;
use plan::{Plan, PlanError};

use crate::{
    detailed::{CHORD, COVERINGS, cylinder, detail, taken},
    plans::{plan, planned},
    support::assert_close,
};

/// What all adds on the icing amount to, mm³.
fn added(plan: &Plan) -> f64 {
    plan.bulk.adds.iter().flatten().map(|add| add.amount).sum()
}

fn codes(plan: &Plan) -> Vec<&'static str> {
    plan.findings.iter().map(|finding| finding.code.as_str()).collect()
}

/// The problems of a cake file with this detail, with where they are.
fn refused(details: &str) -> Vec<(String, String)> {
    let text = format!(
        "crumbline = 2\nname = \"drum\"\n[shape.turned]\npoints = [[120, 0], [120, 160]]\n[[tier]]\nname = \"only\"\n\
         [[tier.layer]]\npan = {{ round = 250 }}\nheight = 160\n{details}"
    );
    match planned(&cakefile::CakeFile::from_text("test", "", text)) {
        Err(PlanError::CakeFile(error)) => error
            .problems()
            .iter()
            .map(|problem| (problem.path.to_string(), problem.message.clone()))
            .collect(),
        other => panic!("{other:?}"),
    }
}

/// The reference is every place written out by hand.
#[test]
fn what_is_repeated_is_what_is_written_out() {
    let spot = |bearing: f64, height: f64, turn: f64| {
        format!(
            "outline = {{ shape = {{ rectangle = [24, 12] }}, height = {height}, bearing = {bearing}, turn = {turn}, depth = 3, \
             wrap = true }}"
        )
    };
    let ball = |x: f64, y: f64, z: f64| format!("ball = {{ centre = [{x}, {y}, {z}], diameter = 24 }}");
    let at = |bearing: f64, z: f64| {
        let angle = bearing.to_radians();
        ball(118.0 * angle.sin(), -118.0 * angle.cos(), z)
    };
    let leaf = |x: f64, angle: f64| {
        format!(
            "outline = {{ shape = {{ points = [[0, -9], [4, 0], [0, 14]] }}, top = [{x}, 20], turn = {angle}, depth = 2 }}"
        )
    };
    type Case = (String, &'static str, Vec<String>);
    let cases: Vec<Case> = vec![
        (
            spot(10.0, 60.0, 0.0),
            "repeat = { count = 12 }",
            (0..12).map(|i| spot(10.0 + 30.0 * f64::from(i), 60.0, 0.0)).collect(),
        ),
        (
            spot(0.0, 40.0, 5.0),
            "repeat = { count = 4, first = -30, over = 90, rise = 60, turn = 20 }",
            (0..4).map(f64::from).map(|i| spot(-30.0 + 30.0 * i, 40.0 + 20.0 * i, 5.0 + 20.0 * i)).collect(),
        ),
        (
            at(0.0, 50.0),
            "repeat = { count = 5, over = 200, rise = -20 }",
            (0..5).map(|i| at(50.0 * f64::from(i), 50.0 - 5.0 * f64::from(i))).collect(),
        ),
        (at(25.0, 50.0), "mirror = true", vec![at(25.0, 50.0), at(-25.0, 50.0)]),
        (
            at(25.0, 50.0),
            "repeat = { count = 2, over = 40 }\nmirror = true",
            [25.0, 65.0, -25.0, -65.0].map(|b| at(b, 50.0)).to_vec(),
        ),
        (
            leaf(-60.0, 0.0),
            "repeat = { count = 4, along = [120, 0, 0], turn = 15 }",
            (0..4).map(f64::from).map(|i| leaf(-60.0 + 40.0 * i, 15.0 * i)).collect(),
        ),
    ];
    for (tool, how, written) in cases {
        for operation in ["add = \"icing\"", "cut = \"sponge\"", "cut = \"icing\""] {
            let once = cylinder(&detail("spot", operation, &format!("{tool}\n{how}")));
            let all: String = written
                .iter()
                .enumerate()
                .map(|(i, tool)| detail(&format!("place {i}"), operation, tool))
                .collect();
            let out = cylinder(&all);
            assert_eq!(once.design.details.len(), written.len(), "{how}");
            // Turned from the first, one does not meet the same facets of the round: the chord times what it covers.
            let close = 1e-6 * out.carving.carved + CHORD * 400.0 * written.len() as f64;
            let name = format!("{operation} {how}");
            assert!((added(&once) - added(&out)).abs() < close, "{name}: {} {}", added(&once), added(&out));
            assert!((once.carving.carved - out.carving.carved).abs() < close, "{name}");
            assert!((once.bulk.outer[0] - out.bulk.outer[0]).abs() < close, "{name}");
            assert!(once.design.details.iter().all(|copy| copy.written_name() == "spot"), "{how}");
            assert!(!codes(&once).contains(&"copies-overlap"), "{how}: {:?}", once.findings);
        }
    }
}

/// Twelve of them amount to twelve times one, to the last digit but rounding: they are one solid, turned.
#[test]
fn twelve_petals_are_one_twelve_times() {
    let petal = "outline = { shape = { circle = 30 }, height = 90, depth = 3 }";
    let one = added(&cylinder(&detail("petal", "add = \"icing\"", petal)));
    let twelve =
        cylinder(&detail("petal", "add = \"icing\"", &format!("{petal}\nrepeat = {{ count = 12 }}")));
    assert_close("twelve petals", added(&twelve), 12.0 * one, 1e-9);
    assert_eq!(twelve.design.details[4].name, "petal 5");
    assert_eq!(codes(&twelve), codes(&cylinder(&detail("petal", "add = \"icing\"", petal))));
}

/// On a level top an outline is a prism: its area times its depth, in the sponge with what the coverings add all round.
#[test]
fn an_outline_on_the_top_is_a_prism() {
    let tool = "outline = { shape = { rectangle = [50, 30] }, top = [40, -20], turn = 30, depth = 5 }";
    let raised = cylinder(&detail("plaque", "add = \"icing\"", tool));
    assert_close("raised", added(&raised), 50.0 * 30.0 * 5.0, 1e-6);
    let d = COVERINGS;
    let grown = 50.0 * 30.0 + 2.0 * 80.0 * d + PI * d * d;
    let found = taken(tool);
    assert!((found - grown * 5.0).abs() < 5.0 * CHORD * 2.0 * (80.0 + PI * d), "{found} for {}", grown * 5.0);
    // Over the axis, all of it a disc.
    let disc = cylinder(&detail(
        "disc",
        "add = \"icing\"",
        "outline = { shape = { circle = 60 }, top = [0, 0], depth = 2 }",
    ));
    assert_close("disc", added(&disc), PI * 900.0 * 2.0, 2e-3);
}

/// It lies on the uppermost surface alone, be the shape turned or not: what overhangs is not met from below.
#[test]
fn an_outline_on_the_top_stays_there() {
    let shapes = [
        "[shape.turned]\npoints = [[40, 0], [40, 80], [100, 80], [100, 130], [0, 130]]",
        "[shape.crossed]\nheight_tolerance = 1\nfront = { points = [[-100, 0], [100, 0], [100, 130], [-100, 130]] }\n\
         side = { points = [[-80, 0], [80, 0], [80, 130], [-80, 130]] }",
    ];
    for shape in shapes {
        let with = |details: &str| {
            plan(&format!(
                "crumbline = 2\nname = \"top\"\naccuracy = {{ tool = {CHORD} }}\n{shape}\n[[covering]]\nmaterial = \"rolled icing\"\n\
                 thickness = 4\n[[tier]]\nname = \"only\"\n[[tier.layer]]\npan = {{ round = 280 }}\nheight = 130\n{details}"
            ))
        };
        let tool = "outline = { shape = { rectangle = [20, 10] }, top = [70, 0], depth = 3 }";
        let raised = with(&detail("star", "add = \"icing\"", tool));
        assert_close(shape, added(&raised), 20.0 * 10.0 * 3.0, 1e-6);
        let pressed = with(&detail("star", "cut = \"icing\"", tool));
        let plain = with("");
        assert_close(shape, plain.bulk.outer[0] - pressed.bulk.outer[0], 20.0 * 10.0 * 3.0, 1e-4);
    }
}

#[test]
fn places_that_cannot_be_are_refused_where_they_are_written() {
    let ball = |repeat: &str| {
        format!(
            "[[detail]]\nname = \"b\"\nadd = \"icing\"\nball = {{ centre = [120, 0, 50], diameter = 9 }}\n{repeat}"
        )
    };
    for (details, place, message) in [
        (ball("repeat = { count = 0 }"), "detail[0].repeat.count", "in 0 places"),
        (ball("repeat = { count = 10000 }"), "detail[0].repeat.count", "in 10000 places"),
        (ball("repeat = { count = 3, over = 9, along = [1, 2, 3] }"), "detail[0].repeat.over", "both cannot be given"),
        (
            "[[detail]]\nname = \"o\"\ncut = \"icing\"\noutline = { shape = { circle = 9 }, height = 50, depth = 1 }\n\
             repeat = { count = 3, along = [9, 0, 0] }"
                .to_owned(),
            "detail[0].repeat",
            "cannot go along a straight line",
        ),
        (
            "[[detail]]\nname = \"o\"\ncut = \"icing\"\nrepeat = { count = 3 }\noutline = { shape = { points = [[0, 50], [9, 50], [0, 60]] }, \
             as_drawn = \"front\", depth = 1 }"
                .to_owned(),
            "detail[0].repeat",
            "cannot be turned round the axis",
        ),
        (
            "[[detail]]\nname = \"o\"\ncut = \"icing\"\noutline = { shape = { circle = 9 }, top = [0, 0], height = 50, depth = 1 }".to_owned(),
            "detail[0].outline.height",
            "`height` and `top` cannot both be given",
        ),
        (
            ball("repeat = { count = 2 }") + "\n[[detail]]\nname = \"b 2\"\nadd = \"icing\"\nball = { centre = [0, 0, 160], diameter = 9 }",
            "detail[1].name",
            "is also one of the places of",
        ),
    ] {
        let problems = refused(&details);
        assert!(problems.iter().any(|(at, what)| at == place && what.contains(message)), "{place}: {problems:?}");
    }
}

#[test]
fn what_overlaps_is_not_seen_or_does_not_touch_is_told_once() {
    let ball = |x: f64, how: &str| {
        detail(
            "berry",
            "add = \"icing\"",
            &format!("ball = {{ centre = [{x}, 0, 60], diameter = 30 }}\n{how}"),
        )
    };
    let told = |details: &str| {
        let plan = cylinder(details);
        let of_detail = plan.findings.iter().filter(|finding| finding.about == "berry");
        of_detail
            .map(|finding| (finding.code.as_str(), finding.severity, finding.message.clone()))
            .collect::<Vec<_>>()
    };
    assert_eq!(told(&ball(120.0, "repeat = { count = 12 }")), vec![]);
    for (x, how, code, severity, message) in [
        (120.0, "repeat = { count = 40 }", "copies-overlap", Severity::Note, "overlap, by up to"),
        (
            120.0,
            "repeat = { count = 8 }\nmirror = true",
            "copies-overlap",
            Severity::Warning,
            "more than once",
        ),
        (120.0, "repeat = { count = 3, over = 0 }", "copies-overlap", Severity::Warning, "more than once"),
        (100.0, "repeat = { count = 8 }", "add-inside", Severity::Warning, "in all its 8 places,"),
        (160.0, "repeat = { count = 8 }", "add-floats", Severity::Warning, "in all its 8 places,"),
        (
            110.0,
            "repeat = { count = 3, along = [60, 0, 0] }",
            "add-floats",
            Severity::Warning,
            "in 2 of its 3 places,",
        ),
    ] {
        let told = told(&ball(x, how));
        assert_eq!(told.len(), 1, "{how}: {told:?}");
        assert!(told[0].0 == code && told[0].1 == severity && told[0].2.contains(message), "{how}: {told:?}");
    }
}
