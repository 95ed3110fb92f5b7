//! What a maker of carved cakes would expect.

use cakefile::CakeFile;
use geom::{Cancel, progress::NoProgress};
use plan::{
    Planner, Source,
    pantry::{PanShape, Pantry},
};
use shop::arrange::{Aim, Effort, Proposals, propose};

use crate::plans::source;

pub fn proposals(text: &str, pantry: &str) -> Proposals {
    let pantry = if pantry.is_empty() {
        Pantry::usual()
    } else {
        Pantry::usual().with_file(&CakeFile::from_text("pantry.toml", "", pantry)).unwrap()
    };
    let file = CakeFile::from_text("test.cake.toml", "", text);
    found(&source(&file).with_pantry(pantry))
}

fn found(source: &Source) -> Proposals {
    let found = propose(&Planner::new(), source, &Aim::ALL, Effort::default(), &Cancel::new(), &NoProgress);
    found.unwrap_or_else(|error| panic!("{error:?}"))
}

fn inches(shape: PanShape) -> f64 {
    match shape {
        PanShape::Round(d) | PanShape::HalfBall(d) => d / 25.4,
        PanShape::Rectangle(w, d) => w.max(d) / 25.4,
    }
}

/// A bowl on a narrow foot that closes again towards its rim.
const BOWL: &str = r#"
crumbline = 1
name = "Bowl on a narrow foot"
[shape.turned]
from = [58, 0]
draw = [{ to = [78, 62], curve = [[60, 22], [70, 45]] }, { to = [106, 120], curve = [[88, 85], [100, 100]] },
        { to = [76, 208], curve = [[111, 146], [100, 178]] }, { to = [0, 208] }]
[[covering]]
material = "rolled icing"
thickness = 3
[[covering]]
material = "ganache"
thickness = 5
"#;

const PANS: &str = r#"
crumbline = 1
[pantry]
[[pantry.board]]
thickness = 6
material = "plywood board"
[[pantry.pan]]
round = "5 in"
depth = "2 in"
level = 40
count = 2
[[pantry.pan]]
round = "6 in"
depth = "2 in"
level = 40
count = 2
[[pantry.pan]]
round = "7 in"
depth = "2 in"
level = 40
count = 2
[[pantry.pan]]
round = "8 in"
depth = "2 in"
level = 40
count = 2
[[pantry.pan]]
round = "9 in"
depth = "2 in"
level = 40
count = 2
[[pantry.pan]]
round = "10 in"
depth = "2 in"
level = 40
count = 2
"#;

/// Small, a size up, a board, the two largest, a size down on top: common practice, no source.
#[test]
fn a_bowl_on_a_narrow_foot_comes_out_in_the_usual_order() {
    // Bakes used whole or nearly so, as most makers do.
    let found = proposals(BOWL, &format!("{PANS}\n[pantry.stacking]\nthinnest = 35\noverhang = 0.45\n"));
    assert!(found.trouble.is_none(), "{:?}", found.trouble);
    let best = &found.proposals[0];
    let order: Vec<(f64, bool)> = best
        .found
        .slabs
        .iter()
        .map(|slab| (inches(best.pans[slab.pan].shape).round(), slab.board.is_some()))
        .collect();
    let sizes: Vec<f64> = order.iter().map(|(size, _)| *size).collect();
    assert_eq!(sizes.len(), 5, "{order:?}");
    assert!(sizes[0] < sizes[1] && sizes[1] < sizes[2], "small, then a size up: {order:?}");
    assert!(sizes[2] == sizes[3] && sizes[2] > sizes[4], "the two largest, a size down on top: {order:?}");
    assert_eq!(order.iter().position(|(_, board)| *board), Some(2), "a board under the largest: {order:?}");
}

/// Every proposal is a cake file that the plan accepts as it is, at what it promises.
#[test]
fn every_proposal_is_planned_as_it_is() {
    for (name, text) in [
        ("toadstool", include_str!("../../../assets/examples/toadstool-house/toadstool-house.cake.toml")),
        ("bowl", BOWL),
    ] {
        let file =
            CakeFile::from_text("x", crate::repository::root().join("assets/examples/toadstool-house"), text);
        let found = found(&source(&file));
        assert!(!found.proposals.is_empty(), "{name}");
        for proposal in &found.proposals {
            let errors: Vec<_> =
                proposal.plan.findings.iter().filter(|f| f.code.as_str() != "cake-file").collect();
            let bad = errors.iter().any(|f| f.severity == cakefile::Severity::Error);
            assert!(!bad, "{name} {:?}: {errors:?}", proposal.aims);
            assert!(proposal.plan.carving.slabs.iter().zip(&proposal.plan.stack.slabs).all(
                |(carved, slab)| {
                    slab.kind != plan::stack::SlabKind::Layer || carved.volumes.shortfall < 1.0
                }
            ));
            // The cheapest of all may fail its own check; what is proposed then is dearer by little.
            assert!(proposal.found.gap() < 0.05, "{name} {:?}: {}", proposal.aims, proposal.found.gap());
        }
    }
}

const LONG: &str = r#"
crumbline = 1
name = "Log"
[shape.turned]
points = [[40, 0], [40, 120]]
[[covering]]
material = "ganache"
thickness = 5
[[detail]]
name = "arm"
add = "sponge"
box = { centre = [40, 0, 20], size = [70, 60, 80] }
"#;

/// What reaches further to one side gets a slab that stands off the middle.
#[test]
fn an_off_centre_shape_gets_off_centre_slabs() {
    let found = proposals(LONG, PANS);
    let best = found.proposals.first().unwrap_or_else(|| panic!("{:?}", found.trouble));
    assert!(best.found.slabs.iter().any(|slab| slab.footprint.centre.x > 10.0), "{:?}", best.found.slabs);
    assert!(!best.plan.findings.iter().any(|f| f.code.as_str() == "shortfall"), "{:?}", best.plan.findings);
}

#[test]
fn pans_that_are_too_small_are_told_with_the_fix() {
    let small = PANS.split("[[pantry.pan]]\nround = \"7 in\"").next().unwrap();
    let found = proposals(BOWL, small);
    let trouble = found.trouble.expect("trouble");
    assert_eq!(trouble.code, "no-pan-large-enough");
    // The carved bowl is 106 − 8 mm at its widest, and a bulge beyond that; with 6 mm of shave 214 mm or so.
    assert!(trouble.fix.contains("% of its size"), "{}", trouble.fix);
    assert!(found.proposals.is_empty());
}

#[test]
fn a_limit_that_cannot_be_kept_is_named_and_the_nearest_stack_shown() {
    let strict = format!("{PANS}\n[pantry.stacking]\noverhang = 0.02\n");
    let found = proposals(BOWL, &strict);
    let trouble = found.trouble.expect("trouble");
    assert_eq!(trouble.code, "overhang", "{trouble:?}");
    assert!(!found.proposals.is_empty());
}

/// Heights of bakes that are packed: a split bake is counted once.
#[test]
fn two_slabs_of_one_bake_are_one_bake() {
    let found =
        proposals(BOWL, &PANS.replace("level = 40", "level = 80").replace("2 in\"\nlevel", "4 in\"\nlevel"));
    let best = &found.proposals[0];
    assert!(best.bake_count() <= best.found.slabs.len());
    let cut: usize = best.bakes.iter().flat_map(|(_, bakes)| bakes).map(|bake| bake.slabs.len()).sum();
    assert_eq!(cut, best.found.slabs.len());
    let counted: u32 = best.found.bakes.iter().sum();
    assert_eq!(counted as usize, best.bake_count(), "the packing is as good as the search says");
}

/// A cap that stands far out over its stalk: the cheapest stack of one pan size falls over while it is carved, and is not
/// proposed.
#[test]
fn a_stack_that_fails_its_own_check_is_not_proposed() {
    let file = include_str!("../../../assets/examples/lopsided-bell/lopsided-bell.cake.toml");
    let root = crate::repository::root().join("assets/examples/lopsided-bell");
    let found = found(&source(&CakeFile::from_text("x", root, file)));
    assert!(!found.proposals.is_empty() && found.proposals.iter().all(|proposal| proposal.fault().is_none()));
    let [failed] = &found.failed[..] else { panic!("{} failed", found.failed.len()) };
    assert_eq!(failed.aims, [Aim::FewestPanSizes]);
    let fault = failed.fault().expect("why");
    assert_eq!(fault.code.as_str(), "leans-while-carved");
    assert!(shop::arrange::text(&found, 0).contains(&fault.message));
}

/// A file without layers gets the pantry's filling, which is 5 mm whatever the file's unit.
#[test]
fn the_filling_of_the_pantry_is_as_thick_in_any_unit() {
    let shape = |unit: &str, points: &str| {
        format!("crumbline = 1\nname = \"Buoy\"\nunit = \"{unit}\"\n[shape.turned]\npoints = {points}\n")
    };
    for text in [
        shape("mm", "[[90, 0], [80, 150]]"),
        shape("cm", "[[9, 0], [8, 15]]"),
        shape("in", "[[3.5, 0], [3.2, 6]]"),
    ] {
        let found = found(&source(&CakeFile::from_text("x", "", &text)));
        let fillings = found.proposals[0].plan.stack.slabs.iter();
        let fillings = fillings.filter(|slab| slab.kind == plan::stack::SlabKind::Filling);
        assert!(fillings.map(|slab| slab.height()).all(|height| (height - 5.0).abs() < 1e-6), "{text}");
    }
}
