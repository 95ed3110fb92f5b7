//! Cuts and adds: a cut in the finished shape is wider in the carve by the coverings, all round.
//!
//! The volume of a convex body grown by d is V + S d + M d² + 4/3 π d³ (Steiner's formula; M is π times the
//! mean width: a + b + c over 2 … for a box, π for each). Figures of the simple solids: CRC Standard
//! Mathematical Tables.

use std::f64::consts::PI;

use geom::{Cancel, Solid, uncancelled};
use plan::{
    Plan,
    carve::{Body, Surface},
    design::{Operation, Tool},
};

use crate::{
    detailed::{CHORD, COVERINGS, cylinder, detail, taken},
    plans::plan,
    support::{assert_close, tolerance},
};

/// The solid that the only detail takes from the carve.
fn carve_tool(tool: &str) -> Solid {
    let cut = cylinder(&detail("cut", "cut = \"sponge\"", tool));
    cut.carving.target.edits[0].solid.clone()
}

/// A grown tool holds no more than the true one, but for heights on their grid, and lacks no more than the chord
/// error times its surface, once along the profile and once round it.
fn assert_grown(name: &str, found: f64, exact: f64, surface: f64) {
    let lack = exact - found;
    assert!(lack >= -1e-8 * exact && lack <= 2.0 * CHORD * surface, "{name}: {found} for {exact}");
}

#[test]
fn a_ball_grows_by_the_coverings() {
    let radius: f64 = 15.0 + COVERINGS;
    // A tool holds what the ball holds, whatever its facets (any handbook).
    let exact = 4.0 / 3.0 * PI * radius.powi(3);
    let tool = "ball = { centre = [20, -30, 70], diameter = 30 }";
    assert_close("solid", carve_tool(tool).volume(), exact, 1e-9);
    assert_close("taken", taken(tool), exact, 1e-6);
}

#[test]
fn a_cylinder_grows_to_one_with_rounded_rims() {
    let (a, h, d) = (20.0, 50.0, COVERINGS);
    let surface = 2.0 * PI * a * (a + h);
    let exact = PI * a * a * h + surface * d + PI * (h + PI * a) * d * d + 4.0 / 3.0 * PI * d.powi(3);
    let tool = "cylinder = { from = [-30, 10, 60], to = [0, 10, 100], diameter = 40 }";
    assert_grown("cylinder", taken(tool), exact, surface + 2.0 * PI * d * (h + PI * a));
}

#[test]
fn a_box_grows_to_one_with_rounded_edges() {
    let (a, b, c, d) = (30.0, 40.0, 50.0, COVERINGS);
    let surface = 2.0 * (a * b + b * c + c * a);
    let exact = a * b * c + surface * d + PI * (a + b + c) * d * d + 4.0 / 3.0 * PI * d.powi(3);
    let tool = "box = { centre = [10, 5, 75], size = [30, 40, 50], turn = 25 }";
    assert_grown("box", taken(tool), exact, surface + 2.0 * PI * (a + b + c) * d);
}

#[test]
fn a_ring_grows_to_a_thicker_one_and_closes_its_hole() {
    let (ring, bar) = (40.0, 8.0 + COVERINGS);
    let exact = 2.0 * PI * PI * ring * bar * bar;
    let tool = "ring = { centre = [5, 0, 70], diameter = 80, thickness = 16, axis = [1, 2, 3] }";
    assert_grown("ring", taken(tool), exact, 4.0 * PI * PI * ring * bar);
    // Grown by 10 the bar of radius 8 on a ring of radius 12 meets itself. The half disc right of the axis:
    // Pappus, 2π ∫∫ r dA with the part beyond the axis left out.
    let (ring, bar) = (12.0f64, 18.0f64);
    let angle = (ring / bar).acos();
    let area = bar * bar * (PI - angle) + ring * (bar * bar - ring * ring).sqrt();
    let moment = ring * area + 2.0 / 3.0 * (bar * bar - ring * ring).powf(1.5);
    let tool = "ring = { centre = [5, 0, 70], diameter = 24, thickness = 16 }";
    assert_grown("closed ring", taken(tool), 2.0 * PI * moment, 4.0 * PI * PI * ring * bar);
}

#[test]
fn a_straight_bar_grows_to_a_thicker_capsule() {
    let (length, r) = (50.0, 6.0 + COVERINGS);
    let exact = PI * r * r * length + 4.0 / 3.0 * PI * r.powi(3);
    let tool = "bar = { path = [[-20, 0, 50], [10, 0, 90]], diameter = 12, smooth = false }";
    assert_grown("capsule", taken(tool), exact, 2.0 * PI * r * length + 4.0 * PI * r * r);
}

/// A plane cuts the carve where it lies the coverings further in.
#[test]
fn a_half_space_moves_in_by_the_coverings() {
    // Slanted through the carved cylinder (radius 110, height 150) at a mean height of 120 − 10/cos.
    let tool = "half_space = { point = [0, 0, 120], normal = [0.3, 0, 1] }";
    let mean = 120.0 - COVERINGS * 1.09f64.sqrt();
    // Highest point of the plane: 0.3 · 110 above the mean, below the top.
    assert!(mean + 33.0 < 150.0);
    // Half of what lies above is a mesh's, half the half-plane's: bounded by the chord.
    let exact = PI * 110.0 * 110.0 * (150.0 - mean);
    assert!((taken(tool) - exact).abs() < CHORD * 2.0 * PI * 110.0 * 150.0, "{} for {exact}", taken(tool));
}

/// Wrapped round a cylinder an outline keeps its area: what it takes is an annular sector, A/R ∫ r dr.
#[test]
fn a_wrapped_outline_takes_an_annular_sector() {
    let (w, h, press) = (60.0, 40.0, 5.0);
    let d = COVERINGS;
    let outline = w * h + 2.0 * (w + h) * d + PI * d * d;
    let (outer, inner) = (110.0f64, 110.0 - press);
    let exact = outline / 120.0 * (outer * outer - inner * inner) / 2.0;
    let tool =
        "outline = { shape = { rectangle = [60, 40] }, height = 70, bearing = 30, depth = 5, wrap = true }";
    let surface = 2.0 * outline + 2.0 * (w + h + PI * d) * press;
    assert!((taken(tool) - exact).abs() <= 2.0 * CHORD * surface, "{} for {exact}", taken(tool));
}

/// Pressed straight in it takes its area from the round surface to one parallel to it: for an outline that
/// is narrow beside the radius, area × depth, more by at most the mean of 1/cos over its width.
#[test]
fn a_straight_outline_takes_its_area_times_its_depth() {
    let (w, h, press) = (30.0, 40.0, 5.0);
    let d = COVERINGS;
    let outline = w * h + 2.0 * (w + h) * d + PI * d * d;
    let tool = "outline = { shape = { rectangle = [30, 40] }, height = 70, bearing = -70, depth = 5 }";
    // Half width 25 on radius 105: the outermost column is 1/cos(asin(25/105)) as deep.
    let steepest = 1.0 / (1.0 - (25.0f64 / 105.0).powi(2)).sqrt();
    let found = taken(tool) / (outline * press);
    assert!(found > 1.0 && found < steepest, "{found} for at most {steepest}");
}

#[test]
fn an_outline_pressed_into_the_icing_leaves_the_carve_alone() {
    let tool = "outline = { shape = { circle = 40 }, height = 70, depth = 2, wrap = true }";
    let plain = cylinder("").carving;
    let pressed = cylinder(&detail("cut", "cut = \"icing\"", tool)).carving;
    assert_eq!(plain.slabs, pressed.slabs);
}

/// An add in the sponge is smaller in the carve by the coverings, so that they cover it.
#[test]
fn an_add_in_the_sponge_shrinks_by_the_coverings() {
    // A ball wholly above the top: 30 − 10 is left of its radius.
    let added =
        cylinder(&detail("add", "add = \"sponge\"", "ball = { centre = [0, 0, 215], diameter = 60 }"));
    let grown = added.carving.carved - cylinder("").carving.carved;
    assert_grown("ball", grown, 4.0 / 3.0 * PI * 8000.0, 4.0 * PI * 400.0);
    let finished = uncancelled(|cancel| Body::new(&added.design, &added.lines, 0, tolerance(CHORD), cancel));
    let plain = Body::plain(&added.design, &added.lines);
    let outside = finished.volume(tolerance(CHORD)) - plain.volume(tolerance(CHORD));
    assert_grown("finished ball", outside, 4.0 / 3.0 * PI * 27_000.0, 4.0 * PI * 900.0);
}

/// A cut on the seam takes from both layers what it takes.
#[test]
fn a_cut_on_the_seam_is_shared_between_its_layers() {
    let tool = "ball = { centre = [0, 0, 80], diameter = 60 }";
    let (plain, cut) = (cylinder(""), cylinder(&detail("cut", "cut = \"sponge\"", tool)));
    let ball =
        Surface { lines: &cut.lines, depth: COVERINGS, tolerance: tolerance(CHORD), cancel: &Cancel::new() }
            .solid(&Tool::Ball { centre: glam::dvec3(0.0, 0.0, 80.0), radius: 30.0 }, Operation::Cut)
            .unwrap()
            .volume();
    for (before, after) in plain.carving.slabs.iter().zip(&cut.carving.slabs) {
        assert_close("half of the ball", before.volumes.kept - after.volumes.kept, ball / 2.0, 1e-6);
    }
}

/// A cut in the icing or the coating stays there, however deep its tool reaches: what lies under it is not
/// cut, so it takes no more than the coverings hold.
#[test]
fn a_cut_in_a_covering_spares_what_lies_under_it() {
    let tool = "ball = { centre = [0, -110, 70], diameter = 60 }";
    let (plain, fine) = (cylinder(""), tolerance(CHORD));
    let volume = |cake: &Plan, level| {
        uncancelled(|cancel| Body::new(&cake.design, &cake.lines, level, fine, cancel)).volume(fine)
    };
    for (depth, spared) in [("icing", 1), ("coating", 2)] {
        let cut = cylinder(&detail("cut", &format!("cut = \"{depth}\""), tool));
        let lost = volume(&plain, 0) - volume(&cut, 0);
        assert!(lost > 0.0 && lost < volume(&plain, 0) - volume(&plain, spared));
        for level in spared..3 {
            assert_eq!(volume(&cut, level), volume(&plain, level), "{depth}, line {level}");
        }
        let solid = |level| {
            let body = uncancelled(|cancel| Body::new(&cut.design, &cut.lines, level, fine, cancel));
            body.solid(body.meridians(fine))
        };
        let beyond = solid(spared).difference(&solid(0)).volume();
        assert!(beyond < 1.0, "{beyond} mm³ of what should be spared are cut");
    }
}

/// An add under the icing is given as it is seen: 3 mm of icing lie over it on both sides.
#[test]
fn an_add_that_the_icing_would_swallow_is_told() {
    let told = |detail: &str| {
        let plan = plan(&format!(
            "crumbline = 2\nname = \"brow\"\n[shape.turned]\npoints = [[100, 0], [100, 120]]\n[[covering]]\nmaterial = \"rolled icing\"\n\
             thickness = 3\n[[covering]]\nmaterial = \"ganache\"\nthickness = 5\n[[tier]]\nname = \"one\"\n[[tier.layer]]\n\
             pan = {{ round = 220 }}\nheight = 120\n[[detail]]\nname = \"brow\"\n{detail}\n"
        ));
        let found = plan.findings.iter().find(|found| found.code.as_str() == "nothing-to-build");
        // Without the inches in brackets.
        let plain = |text: &str| -> String {
            text.split(" (").map(|part| part.split_once(')').map_or(part, |(_, rest)| rest)).collect()
        };
        found.map(|found| (plain(&found.message), plain(&found.fix.words)))
    };
    let bar = |depth: &str, thick: f64| {
        format!(
            "add = \"{depth}\"\nbar = {{ path = [[-20, -99, 70], [0, -102, 74], [20, -99, 70]], diameter = {thick} }}"
        )
    };
    // 5 − 2 × 3 < 0; 6.5 − 6 = 0.5; 8 − 6 = 2.
    let (message, fix) = told(&bar("coating", 5.0)).unwrap();
    assert!(
        message.contains("5 mm thick as it is seen; with 3 mm of the icing on both sides nothing is left"),
        "{message}"
    );
    assert!(fix.contains("at least 8 mm thick"), "{fix}");
    assert!(told(&bar("coating", 6.5)).unwrap().0.contains("only 0.5 mm are left"));
    assert_eq!(told(&bar("coating", 8.0)), None);
    assert_eq!(told(&bar("icing", 5.0)), None);
    // On the sponge the ganache lies over it as well: 16 − 2 × 8 = 0.
    assert!(told(&bar("sponge", 16.0)).is_some() && told(&bar("sponge", 18.0)).is_none());
    let patch = |wide: f64| {
        format!(
            "add = \"coating\"\noutline = {{ shape = {{ rectangle = [40, {wide}] }}, height = 60, depth = 4 }}"
        )
    };
    assert!(told(&patch(6.0)).is_some() && told(&patch(9.0)).is_none());
}
