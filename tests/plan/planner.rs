//! A planner that remembers, and its drafts. That what it gives is what a new one gives is held where plans are reported
//! (`tests/make/planner.rs`).

use std::{
    path::Path,
    sync::{Arc, Mutex},
};

use cakefile::{
    CakeFile,
    world::{Memory, Overlay},
};
use geom::{Cancel, progress::Progress};
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

/// Keeps what it is told.
#[derive(Default)]
struct Told(Mutex<Vec<String>>);

impl Progress for Told {
    fn start(&self, what: &str, steps: u64) {
        self.0.lock().unwrap().push(format!("{what} of {steps}"));
    }

    fn step(&self, done: u64) {
        self.0.lock().unwrap().push(done.to_string());
    }

    fn finish(&self) {
        self.0.lock().unwrap().push("over".into());
    }
}

/// Whoever waits is told each stage, with how many are done before it; the last is over also where there is no plan.
#[test]
fn the_stages_are_told_in_their_order() {
    let told = |source: &Source| {
        let told = Told::default();
        let plan = Planner::new().plan_telling(source, Quality::Full, &Cancel::new(), &told);
        (plan.is_ok(), told.0.into_inner().unwrap())
    };
    let (planned, stages) = told(&example_source("sitting-hen"));
    assert!(planned);
    let [told_stages @ .., over] = &stages[..] else { panic!("nothing was told") };
    assert_eq!(over, "over");
    let done: Vec<u64> = told_stages.iter().filter_map(|told| told.parse().ok()).collect();
    assert!(done.len() >= 4 && done[0] == 0 && done.windows(2).all(|w| w[0] < w[1]), "{stages:?}");
    let names: Vec<&str> =
        told_stages.iter().filter(|told| told.contains(" of ")).map(String::as_str).collect();
    assert_eq!(names.len(), done.len(), "{stages:?}");
    assert!(names.contains(&"carving the layers of 6"), "{stages:?}");
    let wrong = Source::new(CakeFile::from_text("x", "", "crumbline = 2\n"), Arc::new(Memory::new()));
    assert_eq!(told(&wrong), (false, ["reading the shape of 6", "0", "over"].map(str::to_owned).to_vec()));
}
