//! Volumes and sizes that a maker buys and charges by: against closed forms, and against the surface that the program
//! itself writes.

use std::f64::consts::PI;

use crumbline::{geom::revolve::polygon_factor, plan::Plan, report::Report, solids};

use crate::support::{assert_close, plan};

/// A cake of one outline with coats over it and details on it.
fn cake(outline: &str, rest: &str) -> String {
    format!(
        "crumbline = 1\nname = \"Plain\"\n[shape.turned]\n{outline}\n{rest}\n[[tier]]\nname = \"only\"\n\
         [[tier.layer]]\npan = {{ round = 300 }}\nheight = 150\n"
    )
}

const GANACHE: &str = "[[covering]]\nmaterial = \"ganache\"\nthickness = 5\n";
const DRUM: &str = "points = [[90, 0], [90, 120]]";

/// Finished and carved volume, mm³.
fn volumes(text: &str) -> (f64, f64) {
    let volumes = plan(text).line_volumes();
    (volumes[0], volumes[volumes.len() - 1])
}

#[test]
fn a_drum_and_a_cone_are_exact() {
    let drum = |r: f64, h: f64| PI * r * r * h;
    let (finished, carved) = volumes(&cake(DRUM, GANACHE));
    assert_close("finished drum", finished, drum(90.0, 120.0), 1e-9);
    assert_close("carved drum", carved, drum(85.0, 115.0), 1e-9);
    let frustum = |a: f64, b: f64, h: f64| PI * h / 3.0 * (a * a + a * b + b * b);
    let (finished, carved) = volumes(&cake("points = [[90, 0], [40, 120]]", GANACHE));
    assert_close("finished cone", finished, frustum(90.0, 40.0, 120.0), 1e-9);
    // Its side lies 5 mm further in, measured square to it.
    let slant = 50.0_f64.hypot(120.0) / 120.0 * 5.0;
    let carved_at = |z: f64| 90.0 - slant - 50.0 / 120.0 * z;
    assert_close("carved cone", carved, frustum(carved_at(0.0), carved_at(115.0), 115.0), 1e-7);
}

/// A curve is straightened to within the accuracy of tools, and the pieces lie inside it.
#[test]
fn half_a_ball_is_within_the_accuracy() {
    let dome = "from = [80, 0]\ndraw = [{ to = [0, 80], through = [56.568542, 56.568542] }]";
    let (finished, _) = volumes(&cake(dome, ""));
    let (whole, surface) = (2.0 / 3.0 * PI * 80.0_f64.powi(3), 2.0 * PI * 80.0 * 80.0);
    assert!(finished < whole && whole - finished < 0.05 * surface, "{finished} {whole}");
}

/// Rounds sunk half into a flat top take half of what they hold, and not what a polygon inside them does.
#[test]
fn half_rounds_take_half_of_the_round() {
    let drum = PI * 90.0 * 90.0 * 120.0;
    for (tool, round) in [
        ("cylinder = { from = [-40, 0, 120], to = [40, 0, 120], diameter = 30 }", PI * 225.0 * 80.0),
        ("ball = { centre = [10, 20, 120], diameter = 50 }", 4.0 / 3.0 * PI * 25.0_f64.powi(3)),
        ("ring = { centre = [0, 0, 120], diameter = 90, thickness = 24 }", 2.0 * PI * 45.0 * PI * 144.0),
    ] {
        let cut = format!("[[trim]]\nname = \"cut\"\ncut = \"sponge\"\n{tool}\n");
        let (finished, _) = volumes(&cake(DRUM, &cut));
        assert_close(tool, drum - finished, round / 2.0, 1e-4);
        // Under a coat it takes as much more as the coat is thick.
        let (finished, _) = volumes(&cake(DRUM, &format!("{GANACHE}{cut}")));
        assert_close(tool, drum - finished, round / 2.0, 1e-4);
    }
}

/// Adds beside the cake: a ball, and a straight bar with its round ends.
#[test]
fn adds_amount_to_what_they_hold() {
    for (tool, expected, within) in [
        ("ball = { centre = [150, 0, 60], diameter = 40 }", 4.0 / 3.0 * PI * 8000.0, 1e-6),
        (
            "bar = { path = [[150, 0, 30], [150, 0, 130]], diameter = 12 }",
            PI * 36.0 * 100.0 + 4.0 / 3.0 * PI * 216.0,
            2e-3,
        ),
    ] {
        let plan = plan(&cake(DRUM, &format!("[[trim]]\nname = \"add\"\nadd = \"icing\"\n{tool}\n")));
        assert_close(tool, plan.bulk.adds[0].unwrap().amount, expected, within);
    }
}

/// What is told lies between the surface that is written, whose rounds are polygons inside the true ones, and what a
/// round body of it holds.
#[test]
fn examples_hold_what_their_surfaces_do() {
    for name in ["garden-urn", "lopsided-bell", "pebble-lantern", "toadstool-house", "boulder"] {
        let file = crate::read(format!("assets/examples/{name}/{name}.cake.toml")).unwrap();
        let plan = Plan::new(&crate::source(&file)).unwrap();
        let model = solids::lines_model(&plan, plan.design.tool).unwrap();
        let round = polygon_factor(plan.design.tool.segments(plan.design.widest()));
        for (told, part) in plan.line_volumes().into_iter().zip(&model.parts) {
            let written = part.mesh.mass_properties().volume;
            let (least, most) = (written * (1.0 - 1e-9), written / round * (1.0 + 1e-4));
            assert!((least..=most).contains(&told), "{name}, {}: {told} {written} {round}", part.name);
        }
    }
}

#[test]
fn the_box_holds_what_sticks_out() {
    let handle = "[[trim]]\nname = \"handle\"\nadd = \"icing\"\nbox = { centre = [100, 0, 60], size = [40, 10, 20] }\n";
    let report = Report::new(&plan(&cake(DRUM, handle)));
    let shape = &report.shape;
    for (what, got, expected) in [
        ("width", shape.box_width_mm, 210.0),
        ("depth", shape.box_depth_mm, 180.0),
        ("height", shape.box_height_mm, 120.0),
        // From the corner of the handle through the middle to the far side.
        ("across", shape.box_across_mm, 90.0 + 120.0_f64.hypot(5.0)),
    ] {
        assert!((got - expected).abs() < 0.1, "{what}: {got} is not {expected}");
    }
    assert_eq!(shape.diameter_mm, 180.0);
    let off = "[[trim]]\nname = \"top\"\ncut = \"sponge\"\nhalf_space = { point = [0, 0, 100], normal = [0, 0, 1] }\n";
    let lower = plan(&cake(DRUM, off)).extent();
    assert!((lower.size().z - 100.0).abs() < 1e-6 && (lower.across - 180.0).abs() < 0.1, "{lower:?}");
}
