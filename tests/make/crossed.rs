//! Crossed silhouettes and joined outlines, as solids and as tools, against handbook formulas: those of the solids are
//! in CRC Standard Mathematical Tables and Formulae and in Harris and Stocker, Handbook of Mathematics and Computational
//! Science; figures worked out beside each check.

use std::{collections::BTreeMap, f64::consts::PI};

use geom::progress::NoProgress;
use glam::{DVec2, DVec3, dvec2};
use make::{
    kit::{Group, Kit},
    solids,
};
use plan::design::Printing;

use crate::{
    assert_all_solid,
    cakes::{BOX, PYRAMID, crossed},
    plans::plan,
    support::assert_close,
};

/// What stays of every layer is the slice of the carved pyramid, h/3 (A + B + √(AB)), and what comes off is the rest.
#[test]
fn layers_keep_their_slice_and_lose_the_rest() {
    let plan = plan(&crossed(PYRAMID, 160.0, &[50.0, 60.0], ""));
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

/// Cuts and adds, wrapped and straight outlines on a shape that is not turned. A ball cut out of the middle of a
/// face takes half a ball, 2/3 π r³, from every line, grown by what lies over that line.
#[test]
fn cuts_adds_and_details_lie_on_the_faces() {
    let more = "[[detail]]\nname = \"ball\"\ncut = \"sponge\"\nball = { centre = [0, -40, 50], diameter = 30 }\n\
        [[detail]]\nname = \"mark\"\ncut = \"icing\"\n\
        outline = { shape = { rectangle = [20, 10] }, height = 40, bearing = 90, depth = 2 }\n\
        [[detail]]\nname = \"plate\"\nadd = \"icing\"\n\
        outline = { shape = { rectangle = [20, 10] }, height = 40, bearing = 180, depth = 4 }\n";
    let text =
        crossed(BOX, 160.0, &[50.0, 60.0], &format!("[accuracy]\npreview = 0.01\ntool = 0.01\n{more}"));
    let plan = plan(&text);
    let found = plan.line_volumes();
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

/// Scrapers stand at the front, the back and the sides, one for alike sides; their edge is the section of the box.
#[test]
fn tools_are_drawn_from_sections_all_round() {
    let plan = plan(&crossed(BOX, 160.0, &[50.0, 60.0], ""));
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
    let plan = plan(&crossed(shape, 240.0, &[60.0, 70.0], ""));
    // Chords within 0.05 mm of a circle of radius 100 enclose 7e-4 less.
    assert_close("frustum", plan.line_volumes()[0], 2_463_008.640_41, 8e-4);
    assert_all_solid(&solids::model(&plan, plan.design.preview).unwrap());
    let shape = "[shape.sections]\nat = [\n\
        { height = 0, outline = { circle = 200 } },\n{ height = 300, tip = [0, 0] },\n]\n";
    let plan = crate::plans::plan(&crossed(shape, 240.0, &[100.0, 100.0, 100.0], ""));
    let radius = |d: f64| 100.0 - d * (1.0f64 + 1.0 / 9.0).sqrt();
    for (volume, d) in plan.line_volumes().iter().zip([0.0, 3.0, 8.0]) {
        let cone = PI * radius(d).powi(3);
        assert_close(&format!("cone inset by {d}"), *volume, cone, 1e-3);
    }
}
