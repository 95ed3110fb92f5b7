//! Crossed silhouettes and joined outlines, from the cake file on: volumes, lines, carving and tools against
//! handbook formulas.
//!
//! The law of rows, V = ∫ w_front(z)·w_side(z) dz, and the solids' formulas are in CRC Standard Mathematical Tables
//! and Formulae and in Harris and Stocker, Handbook of Mathematics and Computational Science; figures worked out
//! beside each check.

use std::{collections::BTreeMap, f64::consts::PI};

use crumbline::{
    cakefile::{CakeFile, Severity},
    carve::Body,
    design::Printing,
    geom::uncancelled,
    kit::{Group, Kit},
    plan::{Plan, PlanError},
    progress::NoProgress,
    solids,
};
use glam::{DVec2, DVec3, dvec2};

use crate::support::{assert_all_solid, assert_close, plan};

/// A cake of `shape` (a table of the cake file) under 3 and 5 mm, out of `layers` square layers.
fn cake(shape: &str, side: f64, heights: &[f64], more: &str) -> String {
    let layers: String = heights
        .iter()
        .map(|h| format!("[[tier.layer]]\npan = {{ square = {side} }}\nheight = {h}\n"))
        .collect();
    format!(
        "crumbline = 1\nname = \"crossed\"\nboard = {{ square = 320, thickness = 10 }}\n{shape}\n\
         [[covering]]\nmaterial = \"rolled icing\"\nthickness = 3\n\
         [[covering]]\nmaterial = \"ganache\"\nthickness = 5\n\
         [[tier]]\nname = \"only\"\n{layers}{more}"
    )
}

const BOX: &str = "[shape.crossed]\n\
    front = { points = [[-60, 0], [60, 0], [60, 100], [-60, 100]] }\n\
    side = { points = [[-40, 0], [40, 0], [40, 100], [-40, 100]] }\n";

/// Triangles of base 100 and height 120: a pyramid, 400 000 mm³.
const PYRAMID: &str = "[shape.crossed]\n\
    front = { points = [[-50, 0], [50, 0], [0, 120]] }\n\
    side = { points = [[-50, 0], [50, 0], [0, 120]] }\n";

fn volumes(plan: &Plan) -> Vec<f64> {
    plan.line_volumes()
}

/// A wall that leans as the pyramid's does moves in by d √(1 + (b/2h)²) at every height for an inset of d, so that
/// what lies inside is a pyramid of the same slope down to the board.
#[test]
fn the_lines_of_boxes_and_pyramids_are_exact() {
    let box_ = plan(&cake(BOX, 160.0, &[50.0, 60.0], ""));
    for (volume, d) in volumes(&box_).iter().zip([0.0, 3.0, 8.0]) {
        let exact = (120.0 - 2.0 * d) * (80.0 - 2.0 * d) * (100.0 - d);
        assert_close(&format!("box inset by {d}"), *volume, exact, 1e-9);
    }
    let pyramid = plan(&cake(PYRAMID, 160.0, &[50.0, 60.0], ""));
    for (volume, d) in volumes(&pyramid).iter().zip([0.0, 3.0, 8.0]) {
        let base = 100.0 - 2.0 * d * (1.0f64 + (50.0f64 / 120.0).powi(2)).sqrt();
        assert_close(&format!("pyramid inset by {d}"), *volume, 400_000.0 * (base / 100.0).powi(3), 1e-7);
    }
}

/// What stays of every layer is the slice of the carved pyramid, h/3 (A + B + √(AB)), and what comes off is the rest.
#[test]
fn layers_keep_their_slice_and_lose_the_rest() {
    let plan = plan(&cake(PYRAMID, 160.0, &[50.0, 60.0], ""));
    let d = 8.0;
    let base = 100.0 - 2.0 * d * (1.0f64 + (50.0f64 / 120.0).powi(2)).sqrt();
    let height = 120.0 * base / 100.0;
    let side = |z: f64| base * (1.0 - z / height).max(0.0);
    for (slab, carving) in plan.stack.slabs.iter().zip(&plan.carving.slabs) {
        let (a, b) = (side(slab.bottom), side(slab.top));
        let reached = slab.top.min(height) - slab.bottom;
        let kept = reached / 3.0 * (a * a + b * b + a * b);
        assert_close(&slab.name, carving.volumes.kept, kept, 1e-7);
        assert_close(&slab.name, carving.volumes.raw, 160.0 * 160.0 * slab.height(), 1e-12);
        assert_eq!(carving.volumes.shortfall, 0.0);
        // The knife reaches the least depth where the pyramid comes nearest to the pan's side, if not to its top.
        let spare = carving.spare.unwrap();
        assert_close("spare", spare.least, 80.0 - a / 2.0, 1e-6);
    }
    assert_all_solid(&solids::model(&plan, plan.design.preview).unwrap());
}

/// A pan that is too small: what it lacks is what lies outside it, (120 − 104 − …)·… of the carved box.
#[test]
fn a_pan_that_is_too_small_is_short_by_what_lies_outside_it() {
    let plan = plan(&cake(BOX, 90.0, &[50.0, 60.0], ""));
    let lower = &plan.carving.slabs[0];
    assert_close("shortfall", lower.volumes.shortfall, (104.0 - 90.0) * 64.0 * 50.0, 1e-9);
    assert!(plan.findings.iter().any(|f| f.code.as_str() == "shortfall" && f.severity == Severity::Error));
    let round = BOX.to_owned();
    let text = cake(&round, 90.0, &[100.0], "").replace("square = 90", "round = 90");
    let plan = crate::support::plan(&text);
    // The carved box 104 × 64 out of a disc of radius 45: the strip of half height 32 of the disc.
    let (r, h) = (45.0f64, 32.0f64);
    let strip = 2.0 * (h * (r * r - h * h).sqrt() + r * r * (h / r).asin());
    assert_close("kept", plan.carving.slabs[0].volumes.kept, strip * 92.0, 1e-4);
}

#[test]
fn heights_that_differ_are_refused_with_the_scale_that_mends_them() {
    let side = "side = { points = [[-40, 0], [40, 0], [40, 80], [-40, 80]] }";
    let shape = BOX.replace("side = { points = [[-40, 0], [40, 0], [40, 100], [-40, 100]] }", side);
    let text = cake(&shape, 160.0, &[50.0, 60.0], "");
    let file = CakeFile::from_text("test.cake.toml", "", &text);
    let PlanError::CakeFile(error) = crate::planned(&file).unwrap_err() else {
        panic!("no mistake of the file")
    };
    let message = error.render(false);
    assert!(message.contains("they differ by 20.0 mm") && message.contains("side_scale = 1.25"), "{message}");
    // A scale that is there already is counted in.
    let half = text.replace("[shape.crossed]\n", "[shape.crossed]\nside_scale = 0.5\n");
    let Err(PlanError::CakeFile(error)) = crate::planned(&CakeFile::from_text("test.cake.toml", "", &half))
    else {
        panic!("no mistake of the file")
    };
    assert!(error.render(false).contains("side_scale = 1.25"), "{}", error.render(false));
    let mended =
        crate::support::plan(&text.replace("[shape.crossed]\n", "[shape.crossed]\nside_scale = 1.25\n"));
    assert_close("volume", volumes(&mended)[0], 120.0 * 100.0 * 100.0, 1e-9);
}

/// Cuts and adds, wrapped and straight outlines on a shape that is not turned. A ball cut out of the middle of a
/// face takes half a ball, 2/3 π r³, from every line, grown by what lies over that line.
#[test]
fn cuts_adds_and_details_lie_on_the_faces() {
    let more = "[[trim]]\nname = \"ball\"\ncut = \"sponge\"\nball = { centre = [0, -40, 50], diameter = 30 }\n\
        [[trim]]\nname = \"mark\"\ncut = \"icing\"\n\
        outline = { shape = { rectangle = [20, 10] }, height = 40, bearing = 90, depth = 2 }\n\
        [[trim]]\nname = \"plate\"\nadd = \"icing\"\n\
        outline = { shape = { rectangle = [20, 10] }, height = 40, bearing = 180, depth = 4 }\n";
    let text = cake(BOX, 160.0, &[50.0, 60.0], &format!("[accuracy]\npreview = 0.01\ntool = 0.01\n{more}"));
    let plan = plan(&text);
    let found = volumes(&plan);
    let whole = |d: f64| (120.0 - 2.0 * d) * (80.0 - 2.0 * d) * (100.0 - d);
    let ball = |r: f64| 2.0 / 3.0 * PI * r.powi(3);
    // On the carved line the ball has grown by 8 and its middle lies 8 outside the face: a cap of height r.
    let cap = |r: f64, h: f64| PI * h * h * (r - h / 3.0);
    let mark = 20.0 * 10.0 * 2.0;
    assert_close("finished", found[0], whole(0.0) - ball(15.0) - mark, 2e-5);
    assert_close("carved", found[2], whole(8.0) - cap(23.0, 15.0), 1e-4);
    assert_close("plate", plan.bulk.adds[2].unwrap().amount, 20.0 * 10.0 * 4.0, 1e-6);
    let model = solids::model(&plan, plan.design.preview).unwrap();
    assert_all_solid(&model);
    let plate = model.parts.iter().find(|part| part.name == "plate").unwrap();
    let (lo, hi) = plate.mesh.bounds().unwrap();
    assert!((lo - DVec3::new(-10.0, 40.0, 35.0)).length() < 1e-6, "{lo}");
    assert!((hi - DVec3::new(10.0, 44.0, 45.0)).length() < 1e-6, "{hi}");
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
            "[[trim]]\nname = \"mark\"\ncut = \"icing\"\ncolour = \"#804020\"\noutline = {{ shape = {{ points = \
             [[10, 50], [30, 50], [30, 60], [10, 60]] }}, as_drawn = \"{side}\", depth = 2 }}\n"
        );
        let plan = plan(&cake(BOX, 160.0, &[50.0, 60.0], &more));
        assert!(plan.findings.iter().all(|f| f.code.as_str() != "cut-misses"), "{:?}", plan.findings);
        assert_close(side, volumes(&plan)[0], 960_000.0 - 400.0, 1e-9);
        let body = uncancelled(|cancel| Body::new(&plan.design, &plan.lines, 0, plan.design.tool, cancel));
        let (lo, hi) = body.edits[0].solid.bounds().unwrap();
        let (lo, hi) = (lo.max(DVec3::new(-60.0, -40.0, 0.0)), hi.min(DVec3::new(60.0, 40.0, 100.0)));
        assert!((lo - low).length() < 1e-6 && (hi - high).length() < 1e-6, "{side}: {lo} {hi}");
    }
}

#[test]
fn a_detail_drawn_beside_the_shape_is_told_to_miss_it() {
    let more = "[[trim]]\nname = \"mark\"\ncut = \"icing\"\noutline = { shape = { points = \
        [[80, 50], [90, 50], [90, 60], [80, 60]] }, as_drawn = \"front\", depth = 2 }\n";
    let plan = plan(&cake(BOX, 160.0, &[50.0, 60.0], more));
    assert!(plan.findings.iter().any(|f| f.code.as_str() == "cut-misses"), "{:?}", plan.findings);
}

/// A board inside a shape that is not round must lie inside its outline, and a dowel under its surface.
#[test]
fn boards_and_dowels_are_held_against_the_true_outline() {
    let tiers = "[[tier]]\nname = \"upper\"\nboard = { rectangle = [100, 70], thickness = 4 }\n\
        [[tier.layer]]\npan = { square = 160 }\nheight = 50\n";
    let dowels = "dowels = { at = [[40, 20], [-45, 28], [0, 0]], diameter = 6 }\n[[tier.layer]]";
    let text = cake(BOX, 160.0, &[50.0], tiers).replacen("[[tier.layer]]", dowels, 1);
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

/// Scrapers stand at the front, the back and the sides, one for alike sides; their edge is the section of the box.
#[test]
fn tools_are_drawn_from_sections_all_round() {
    let plan = plan(&cake(BOX, 160.0, &[50.0, 60.0], ""));
    let groups = [Group::Scrapers, Group::Combs, Group::RingGauges];
    let kit = Kit::new(&plan, &Printing::default(), &groups, &NoProgress).unwrap();
    let mut names: BTreeMap<&str, usize> = BTreeMap::new();
    for part in &kit.parts {
        *names.entry(part.name.as_str()).or_default() += 1;
    }
    for line in ["finished", "coated", "carved"] {
        assert!(names.contains_key(format!("scraper, {line} line, at 0° and 180°").as_str()), "{names:?}");
        assert!(names.contains_key(format!("scraper, {line} line, at 90° and 270°").as_str()), "{names:?}");
    }
    let gauge =
        kit.parts.iter().find(|p| p.name == "outline gauge, carved line, front, height 50 mm").unwrap();
    let plate = gauge.plate.as_ref().unwrap().footprint();
    // A U round the carved outline, 104 wide and 32 deep to the middle: 14 mm of plate beside it, corners rounded.
    let (lo, hi) = plate.bounds().unwrap();
    assert_close("width", hi.x - lo.x, 104.0 + 28.0, 1e-3);
    let inside: DVec2 = (lo + hi) / 2.0 * dvec2(1.0, 0.0) + dvec2(0.0, hi.y - 1.0);
    assert!(!plate.contains(inside), "the gauge is open towards the middle");
}

/// Frustum and cone out of two circles and a tip: h/3 π (R² + Rr + r²), and the cone's lines are cones.
#[test]
fn joined_outlines_hold_what_the_handbook_says() {
    let shape = "[shape.sections]\nat = [\n\
        { height = 0, outline = { circle = 200 } },\n{ height = 120, outline = { circle = 120 } },\n]\n";
    let plan = plan(&cake(shape, 240.0, &[60.0, 70.0], ""));
    // Chords within 0.05 mm of a circle of radius 100 enclose 7e-4 less.
    assert_close("frustum", volumes(&plan)[0], 2_463_008.640_41, 8e-4);
    assert_all_solid(&solids::model(&plan, plan.design.preview).unwrap());
    let shape = "[shape.sections]\nat = [\n\
        { height = 0, outline = { circle = 200 } },\n{ height = 300, tip = [0, 0] },\n]\n";
    let plan = crate::support::plan(&cake(shape, 240.0, &[100.0, 100.0, 100.0], ""));
    let radius = |d: f64| 100.0 - d * (1.0f64 + 1.0 / 9.0).sqrt();
    for (volume, d) in volumes(&plan).iter().zip([0.0, 3.0, 8.0]) {
        let cone = PI * radius(d).powi(3);
        assert_close(&format!("cone inset by {d}"), *volume, cone, 1e-3);
    }
}
