//! Volumes and sizes that a maker buys and charges by, against closed forms.

use std::f64::consts::PI;

use crate::{
    cakes::{DRUM, GANACHE, plain},
    plans::plan,
    support::assert_close,
};

/// Finished and carved volume, mm³.
fn volumes(text: &str) -> (f64, f64) {
    let volumes = plan(text).line_volumes();
    (volumes[0], volumes[volumes.len() - 1])
}

#[test]
fn a_drum_and_a_cone_are_exact() {
    let drum = |r: f64, h: f64| PI * r * r * h;
    let (finished, carved) = volumes(&plain(DRUM, GANACHE));
    assert_close("finished drum", finished, drum(90.0, 120.0), 1e-9);
    assert_close("carved drum", carved, drum(85.0, 115.0), 1e-9);
    let frustum = |a: f64, b: f64, h: f64| PI * h / 3.0 * (a * a + a * b + b * b);
    let (finished, carved) = volumes(&plain("points = [[90, 0], [40, 120]]", GANACHE));
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
    let (finished, _) = volumes(&plain(dome, ""));
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
        let cut = format!("[[detail]]\nname = \"cut\"\ncut = \"sponge\"\n{tool}\n");
        let (finished, _) = volumes(&plain(DRUM, &cut));
        assert_close(tool, drum - finished, round / 2.0, 1e-4);
        // Under a coat it takes as much more as the coat is thick.
        let (finished, _) = volumes(&plain(DRUM, &format!("{GANACHE}{cut}")));
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
        let plan = plan(&plain(DRUM, &format!("[[detail]]\nname = \"add\"\nadd = \"icing\"\n{tool}\n")));
        assert_close(tool, plan.bulk.adds[0].unwrap().amount, expected, within);
    }
}
