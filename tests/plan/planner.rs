//! A planner that remembers, and its drafts. That what it gives is what a new one gives is held where plans are reported
//! (`tests/make/planner.rs`).

use std::{path::Path, sync::Arc};

use cakefile::{
    CakeFile,
    world::{Memory, Overlay},
};
use geom::Cancel;
use plan::{Plan, Planner, Quality, Source};

use crate::plans::{example_source, full};

#[test]
fn a_drawing_that_changes_changes_the_plan() {
    const SVG: &str = r#"<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="100mm" viewBox="0 0 200 100">
        <path id="half" d="M0 100 H80 V20 H0"/></svg>"#;
    const CAKE: &str = "crumbline = 1\nname = \"x\"\n[shape.turned.svg]\nfile = \"a.svg\"\nid = \"half\"\naxis = 0\n\
                        [[tier]]\nname = \"one\"\n[[tier.layer]]\npan = { round = 180 }\nheight = 90\n";
    let world = Arc::new(Overlay::new(Memory::new().with("a.svg", SVG.as_bytes())));
    let file = CakeFile::from_text("x", "", CAKE);
    let source = Source::new(file, world.clone());
    let planner = Planner::new();
    let first = full(&planner, &source);
    let height = |plan: &Plan| plan.design.shape.size().z;
    assert!((height(&first) - 80.0).abs() < 1e-4, "{}", height(&first));
    assert!(Arc::ptr_eq(&first.design.shape, &full(&planner, &source).design.shape));
    world.set("a.svg", SVG.replace("V20", "V40").into_bytes());
    let lower = height(&full(&planner, &source));
    assert!((lower - 60.0).abs() < 1e-4, "{lower}");
    world.clear(Path::new("a.svg"));
    assert!(Arc::ptr_eq(&first.design.shape, &full(&planner, &source).design.shape));
}

/// A draft is near the plan in full, and is no worse for a turned cake.
#[test]
fn a_draft_is_near_what_it_is_a_draft_of() {
    for (name, near) in
        [("toadstool-house", 0.01), ("sitting-hen", 0.03), ("boulder", 0.03), ("pebble-lantern", 0.01)]
    {
        let (planner, source) = (Planner::new(), example_source(name));
        let draft = planner.plan(&source, Quality::Draft, &Cancel::new()).unwrap();
        let full = full(&planner, &source);
        let off = draft.carving.carved / full.carving.carved - 1.0;
        assert!(off.abs() < near, "{name}: {off}");
        assert_eq!(draft.stack.slabs, full.stack.slabs, "{name}");
    }
}
