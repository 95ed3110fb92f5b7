//! Crossed silhouettes and joined outlines, from the cake file on: volumes, lines and carving against handbook formulas.
//!
//! The law of rows, V = ∫ w_front(z)·w_side(z) dz, and the solids' formulas are in CRC Standard Mathematical Tables
//! and Formulae and in Harris and Stocker, Handbook of Mathematics and Computational Science; figures worked out
//! beside each check.

use cakefile::{CakeFile, Severity};
use geom::uncancelled;
use glam::DVec3;
use plan::{PlanError, carve::Body};

use crate::{
    cakes::{BOX, PYRAMID, crossed},
    plans::{plan, planned},
    support::assert_close,
};

/// A wall that leans as the pyramid's does moves in by d √(1 + (b/2h)²) at every height for an inset of d, so that
/// what lies inside is a pyramid of the same slope down to the board.
#[test]
fn the_lines_of_boxes_and_pyramids_are_exact() {
    let box_ = plan(&crossed(BOX, 160.0, &[50.0, 60.0], ""));
    for (volume, d) in box_.line_volumes().iter().zip([0.0, 3.0, 8.0]) {
        let exact = (120.0 - 2.0 * d) * (80.0 - 2.0 * d) * (100.0 - d);
        assert_close(&format!("box inset by {d}"), *volume, exact, 1e-9);
    }
    let pyramid = plan(&crossed(PYRAMID, 160.0, &[50.0, 60.0], ""));
    for (volume, d) in pyramid.line_volumes().iter().zip([0.0, 3.0, 8.0]) {
        let base = 100.0 - 2.0 * d * (1.0f64 + (50.0f64 / 120.0).powi(2)).sqrt();
        assert_close(&format!("pyramid inset by {d}"), *volume, 400_000.0 * (base / 100.0).powi(3), 1e-7);
    }
}

/// A pan that is too small: what it lacks is what lies outside it, (120 − 104 − …)·… of the carved box.
#[test]
fn a_pan_that_is_too_small_is_short_by_what_lies_outside_it() {
    let plan = plan(&crossed(BOX, 90.0, &[50.0, 60.0], ""));
    let lower = &plan.carving.slabs[0];
    assert_close("shortfall", lower.volumes.shortfall, (104.0 - 90.0) * 64.0 * 50.0, 1e-9);
    assert!(plan.findings.iter().any(|f| f.code.as_str() == "shortfall" && f.severity == Severity::Error));
    let round = BOX.to_owned();
    let text = crossed(&round, 90.0, &[100.0], "").replace("square = 90", "round = 90");
    let plan = crate::plans::plan(&text);
    // The carved box 104 × 64 out of a disc of radius 45: the strip of half height 32 of the disc.
    let (r, h) = (45.0f64, 32.0f64);
    let strip = 2.0 * (h * (r * r - h * h).sqrt() + r * r * (h / r).asin());
    assert_close("kept", plan.carving.slabs[0].volumes.kept, strip * 92.0, 1e-4);
}

#[test]
fn heights_that_differ_are_refused_with_the_scale_that_fixes_them() {
    let side = "side = { points = [[-40, 0], [40, 0], [40, 80], [-40, 80]] }";
    let shape = BOX.replace("side = { points = [[-40, 0], [40, 0], [40, 100], [-40, 100]] }", side);
    let text = crossed(&shape, 160.0, &[50.0, 60.0], "");
    let file = CakeFile::from_text("test.cake.toml", "", &text);
    let PlanError::CakeFile(error) = planned(&file).unwrap_err() else { panic!("no mistake of the file") };
    let message = error.render(false);
    assert!(message.contains("they differ by 20 mm") && message.contains("side_scale = 1.25"), "{message}");
    // A scale that is there already is counted in.
    let half = text.replace("[shape.crossed]\n", "[shape.crossed]\nside_scale = 0.5\n");
    let Err(PlanError::CakeFile(error)) = planned(&CakeFile::from_text("test.cake.toml", "", &half)) else {
        panic!("no mistake of the file")
    };
    assert!(error.render(false).contains("side_scale = 1.25"), "{}", error.render(false));
    let fixed = plan(&text.replace("[shape.crossed]\n", "[shape.crossed]\nside_scale = 1.25\n"));
    assert_close("volume", fixed.line_volumes()[0], 120.0 * 100.0 * 100.0, 1e-9);
}

/// An outline that lies as drawn goes straight in where its coordinates say, on each side: a block 20 × 10 wide and 2
/// deep is 400 mm³, at its place on the face.
#[test]
fn details_lie_where_they_are_drawn() {
    for (side, low, high) in [
        ("front", DVec3::new(10.0, -40.0, 50.0), DVec3::new(30.0, -38.0, 60.0)),
        ("back", DVec3::new(10.0, 38.0, 50.0), DVec3::new(30.0, 40.0, 60.0)),
        ("right", DVec3::new(58.0, 10.0, 50.0), DVec3::new(60.0, 30.0, 60.0)),
        ("left", DVec3::new(-60.0, 10.0, 50.0), DVec3::new(-58.0, 30.0, 60.0)),
    ] {
        let more = format!(
            "[[detail]]\nname = \"mark\"\ncut = \"icing\"\ncolour = \"#804020\"\noutline = {{ shape = {{ points = \
             [[10, 50], [30, 50], [30, 60], [10, 60]] }}, as_drawn = \"{side}\", depth = 2 }}\n"
        );
        let plan = plan(&crossed(BOX, 160.0, &[50.0, 60.0], &more));
        assert!(plan.findings.iter().all(|f| f.code.as_str() != "cut-misses"), "{:?}", plan.findings);
        assert_close(side, plan.line_volumes()[0], 960_000.0 - 400.0, 1e-9);
        let body = uncancelled(|cancel| Body::new(&plan.design, &plan.lines, 0, plan.design.tool, cancel));
        let (lo, hi) = body.edits[0].solid.bounds().unwrap();
        let (lo, hi) = (lo.max(DVec3::new(-60.0, -40.0, 0.0)), hi.min(DVec3::new(60.0, 40.0, 100.0)));
        assert!((lo - low).length() < 1e-6 && (hi - high).length() < 1e-6, "{side}: {lo} {hi}");
    }
}

#[test]
fn a_detail_drawn_beside_the_shape_is_told_to_miss_it() {
    let more = "[[detail]]\nname = \"mark\"\ncut = \"icing\"\noutline = { shape = { points = \
        [[80, 50], [90, 50], [90, 60], [80, 60]] }, as_drawn = \"front\", depth = 2 }\n";
    let plan = plan(&crossed(BOX, 160.0, &[50.0, 60.0], more));
    assert!(plan.findings.iter().any(|f| f.code.as_str() == "cut-misses"), "{:?}", plan.findings);
}

/// A board inside a shape that is not round must lie inside its outline, and a dowel under its surface.
#[test]
fn boards_and_dowels_are_held_against_the_true_outline() {
    let tiers = "[[tier]]\nname = \"upper\"\nboard = { rectangle = [100, 70], thickness = 4 }\n\
        [[tier.layer]]\npan = { square = 160 }\nheight = 50\n";
    let dowels = "dowels = { at = [[40, 20], [-45, 28], [0, 0]], diameter = 6 }\n[[tier.layer]]";
    let text = crossed(BOX, 160.0, &[50.0], tiers).replacen("[[tier.layer]]", dowels, 1);
    let plan = plan(&text);
    let board = plan.findings.iter().find(|f| f.code.as_str() == "board-too-wide").unwrap();
    // The carved outline is 104 × 64: the board's corners stick out 3 mm in depth only.
    assert!(board.message.contains("3 mm"), "{}", board.message);
    let near: Vec<&str> = plan
        .findings
        .iter()
        .filter(|f| f.code.as_str() == "dowel-near-surface")
        .map(|f| f.message.as_str())
        .collect();
    // Centres 12 and 4 mm from the carved wall at y = 32, less the radius of 3: 9 and 1 mm of sponge.
    assert_eq!(near.len(), 2, "{near:?}");
    assert!(near[0].contains("9 mm") && near[1].contains("1 mm"), "{near:?}");
}
