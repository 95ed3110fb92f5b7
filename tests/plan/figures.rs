//! Figures in messages: in the maker's own unit, as far as they can be read, and compared as they are printed.

use std::sync::Arc;

use cakefile::{CakeFile, world::Memory};
use plan::{Plan, Source};

fn planned(text: &str) -> Result<Plan, String> {
    let file = CakeFile::from_text("figures", "", text);
    Plan::new(&Source::new(file, Arc::new(Memory::new()))).map_err(|error| error.render())
}

fn half_ball(unit: &str, diameter: &str, height: &str) -> String {
    format!(
        "crumbline = 1\nname = \"f\"\nunit = \"{unit}\"\n[shape.turned]\n\
         points = [[\"60 mm\", 0], [\"60 mm\", \"50 mm\"], [0, \"50 mm\"]]\n[[tier]]\nname = \"only\"\n[[tier.layer]]\n\
         pan = {{ half_ball = {diameter}, dome = \"down\" }}\nheight = {height}\n"
    )
}

/// No number with more than `places` digits after its point.
#[track_caller]
fn assert_short(said: &str, places: usize) {
    for word in said.split(|c: char| !c.is_ascii_digit() && c != '.') {
        let after = word.split_once('.').map_or(0, |(_, after)| after.len());
        assert!(after <= places, "{word} in {said}");
    }
}

/// Half of what was typed, rounded as it was typed, is half.
#[test]
fn a_half_ball_may_be_as_high_as_half_its_diameter_is_typed() {
    for (unit, diameter, height) in [
        ("mm", "219.153", "109.577"),
        ("mm", "219.15", "109.58"),
        ("in", "8.625", "4.313"),
        ("cm", "21.91", "10.955"),
    ] {
        let plan = planned(&half_ball(unit, diameter, height)).unwrap_or_else(|error| panic!("{error}"));
        let told = plan.design.tiers[0].layers[0].height;
        let half: f64 = diameter.parse::<f64>().unwrap() / 2.0 * plan.design.unit.in_mm();
        assert!(told <= half + 1e-9 && told > half - 0.01, "{told} {half}");
    }
}

#[test]
fn a_half_ball_that_is_too_high_is_told_in_figures_that_differ() {
    let said = planned(&half_ball("in", "8.625", "4.5")).unwrap_err();
    assert!(said.contains("a half-ball of 8.625 in is at most 4.312 in high, not 4.5 in"), "{said}");
    let said = planned(&half_ball("mm", "124.72521910293149", "62.4")).unwrap_err();
    assert!(said.contains("a half-ball of 124.73 mm is at most 62.36 mm high, not 62.4 mm"), "{said}");
    // An excerpt of the file shows what was typed.
    assert_short(said.lines().next().unwrap_or_default(), 2);
}

#[test]
fn outlines_and_settings_are_told_in_short_figures() {
    let cake = |shape: &str, more: &str| {
        format!(
            "crumbline = 1\nname = \"f\"\nunit = \"in\"\n{shape}\n[[tier]]\nname = \"only\"\n[[tier.layer]]\n\
             pan = {{ round = 10 }}\nheight = 5\n{more}"
        )
    };
    let square = "[shape.turned]\npoints = [[4, 0], [4, 4], [0, 4]]";
    for (text, told) in [
        (
            cake(
                "[shape.turned]\npoints = [[\"23.862235293273283 mm\", \"1.23456789 mm\"], [2, 4], [0, 4]]",
                "",
            ),
            "lies above the board, at height 0.049 in",
        ),
        (
            cake(square, "[[covering]]\nmaterial = \"ganache\"\nthickness = 4.123456789\n"),
            "are 4.123 in thick, and nothing of the shape is left",
        ),
        (cake(square, "[accuracy]\ngrid = 9.000001\n"), "a step of 9 in cannot be used"),
        (
            cake(square, "[printing]\nthickness = 0.0123456789\n"),
            "a plate 0.31 mm thick is thinner than two widths",
        ),
        (
            cake(square, "[carving]\npass = 0.00123456789\n"),
            "a pass of 0.001 in is thinner than a knife can take",
        ),
    ] {
        let said = planned(&text).expect_err(told);
        assert!(said.contains(told), "{told} in {said}");
    }
}

/// Front and side that print the same height are as high as each other.
#[test]
fn views_as_high_as_each_other_in_print_are_not_told_apart() {
    let crossed = |front: f64, side: f64| {
        let view = |name: &str, height: f64| {
            format!("[shape.crossed.{name}]\npoints = [[-50, 0], [50, 0], [50, {height}], [-50, {height}]]\n")
        };
        format!(
            "crumbline = 1\nname = \"f\"\n{}{}[[tier]]\nname = \"only\"\n[[tier.layer]]\npan = {{ square = 120 }}\n\
             height = 168\n",
            view("front", front),
            view("side", side)
        )
    };
    let remarks = |front, side| {
        let plan = planned(&crossed(front, side)).unwrap_or_else(|error| panic!("{error}"));
        plan.findings.iter().map(|finding| finding.message.clone()).collect::<Vec<_>>().join("\n")
    };
    assert!(!remarks(168.0, 168.003).contains("so that they agree"));
    let told = remarks(168.0, 168.4);
    assert!(told.contains("the front is 168 mm high and the side 168.4 mm: the side is made"), "{told}");
}
