//! Volumes and sizes that a maker buys and charges by: against the surface that the program itself writes, and as the
//! report says them.

use geom::revolve::polygon_factor;
use make::{report::Report, solids};

use crate::{
    cakes::{DRUM, plain},
    plans::{example, plan},
};

/// What is told lies between the surface that is written, whose rounds are polygons inside the true ones, and what a
/// round body of it holds.
#[test]
fn examples_hold_what_their_surfaces_do() {
    for name in ["garden-urn", "lopsided-bell", "pebble-lantern", "planter-pot", "toadstool-house", "boulder"]
    {
        let plan = example(name);
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
    let handle = "[[detail]]\nname = \"handle\"\nadd = \"icing\"\nbox = { centre = [100, 0, 60], size = [40, 10, 20] }\n";
    let report = Report::new(&plan(&plain(DRUM, handle)));
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
    let off = "[[detail]]\nname = \"top\"\ncut = \"sponge\"\nhalf_space = { point = [0, 0, 100], normal = [0, 0, 1] }\n";
    let lower = plan(&plain(DRUM, off)).extent();
    assert!((lower.size().z - 100.0).abs() < 1e-6 && (lower.across - 180.0).abs() < 0.1, "{lower:?}");
}
