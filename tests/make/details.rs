//! Cuts and adds in awkward places: every part bounds a solid.

use std::f64::consts::PI;

use formats::model::PartKind;
use make::solids;
use plan::carve::Carving;

use crate::{
    assert_all_solid,
    detailed::{CHORD, cylinder, detail, taken},
    support::assert_close,
};

#[test]
fn an_add_on_the_icing_never_changes_the_carve() {
    let plain = cylinder("").carving;
    for tool in [
        "ball = { centre = [0, -118, 70], diameter = 30 }",
        "box = { centre = [0, 0, 160], size = [30, 40, 50] }",
        "bar = { path = [[100, 0, 50], [150, 0, 80], [100, 0, 110]], diameter = 12 }",
        "outline = { shape = { circle = 40 }, height = 70, depth = 2 }",
    ] {
        let added = cylinder(&detail("add", "add = \"icing\"", tool));
        let Carving { slabs, carved, .. } = Carving::clone(&added.carving);
        assert_eq!((slabs, carved), (plain.slabs.clone(), plain.carved), "{tool}");
        let model = solids::model(&added, added.design.preview).unwrap();
        assert_all_solid(&model);
        assert!(model.parts.iter().any(|part| part.kind == PartKind::Add), "{tool}");
    }
}

/// Whatever the placement, volumes add up (or there is no plan) and every part bounds a solid.
fn assert_sound(details: &str) {
    let cake = cylinder(details);
    for (slab, carved) in cake.stack.slabs.iter().zip(&cake.carving.slabs) {
        let v = carved.volumes;
        assert!(v.kept >= 0.0 && v.offcut >= 0.0 && v.shortfall >= 0.0, "{}: {v:?}", slab.name);
        assert_close(&slab.name, v.kept + v.offcut, v.raw, 1e-9);
    }
    let held: f64 = cake.carving.slabs.iter().map(|s| s.volumes.kept).sum();
    let both = held + cake.carving.shortfall();
    assert!((both - cake.carving.carved).abs() <= 1e-9 * 160.0 * PI * 14_400.0, "{both}");
    assert_all_solid(&solids::model(&cake, cake.design.preview).unwrap());
    assert_all_solid(&solids::lines_model(&cake, cake.design.preview).unwrap());
}

#[test]
fn tools_that_touch_the_surface_leave_solids() {
    for tool in [
        // From outside, from inside, and through the axis of the cake.
        "ball = { centre = [0, -140, 70], diameter = 40 }",
        "ball = { centre = [0, -100, 70], diameter = 40 }",
        "cylinder = { from = [0, 0, 0], to = [0, 0, 160], diameter = 40 }",
        "cylinder = { from = [0, 0, -5], to = [0, 0, 165], diameter = 240 }",
        "cylinder = { from = [-130, 0, 160], to = [130, 0, 160], diameter = 40 }",
        "ring = { centre = [0, 0, 160], diameter = 240, thickness = 20 }",
    ] {
        assert_sound(&detail("cut", "cut = \"sponge\"", tool));
        assert_sound(&detail("cut", "cut = \"icing\"", tool));
    }
}

#[test]
fn faces_in_one_plane_leave_solids() {
    for tool in [
        // Top of the shape, of the coated and of the carved line; the board; the layers' boundary.
        "box = { centre = [60, 0, 140], size = [80, 80, 40] }",
        "box = { centre = [60, 0, 136], size = [80, 80, 40] }",
        "box = { centre = [60, 0, 150], size = [80, 80, 20] }",
        "box = { centre = [60, 0, 20], size = [80, 80, 40] }",
        "box = { centre = [60, 0, 100], size = [80, 80, 40] }",
        "box = { centre = [60, 0, 60], size = [80, 80, 40] }",
        "box = { centre = [60, 0, 110], size = [80, 80, 40] }",
        "half_space = { point = [0, 0, 80], normal = [0, 0, 1] }",
        "half_space = { point = [0, 0, 90], normal = [0, 0, 1] }",
        "half_space = { point = [0, 0, 0], normal = [1, 0, 0] }",
        "half_space = { point = [10, 0, 0], normal = [1, 0, 0] }",
        "cylinder = { from = [20, 0, 80], to = [20, 0, 130], diameter = 40 }",
    ] {
        assert_sound(&detail("cut", "cut = \"sponge\"", tool));
        assert_sound(&detail("cut", "cut = \"coating\"", tool));
    }
    for tool in [
        "box = { centre = [110, 0, 120], size = [60, 60, 60] }",
        "box = { centre = [0, 0, 175], size = [90, 90, 30] }",
    ] {
        assert_sound(&detail("add", "add = \"sponge\"", tool));
        assert_sound(&detail("add", "add = \"icing\"", tool));
    }
}

#[test]
fn a_tool_larger_than_the_cake_leaves_what_it_leaves() {
    let whole = "ball = { centre = [0, 0, 80], diameter = 600 }";
    let gone = cylinder(&detail("cut", "cut = \"sponge\"", whole));
    // The half-plane's round is finer than the mesh that is cut away: the chord error of the side is left.
    let side = 2.0 * PI * 110.0 * 150.0;
    assert!(gone.carving.carved.abs() < CHORD * side, "{}", gone.carving.carved);
    assert_sound(&detail("cut", "cut = \"sponge\"", whole));
    assert_sound(&detail("cut", "cut = \"sponge\"", "box = { centre = [0, 0, 80], size = [500, 500, 60] }"));
    // Wider than the way round: it covers the side once, not twice.
    let belt = "outline = { shape = { rectangle = [900, 30] }, height = 70, depth = 5, wrap = true }";
    assert_sound(&detail("cut", "cut = \"sponge\"", belt));
    let exact = PI * (110.0f64.powi(2) - 105.0f64.powi(2)) * 50.0;
    assert!(taken(belt) <= exact * (1.0 + 1e-3), "{} for {exact}", taken(belt));
}

#[test]
fn many_trims_over_each_other_leave_solids() {
    let mut details = String::new();
    for i in 0..24 {
        let turn = f64::from(i) * 15.0;
        let (sin, cos) = turn.to_radians().sin_cos();
        let (x, y) = (110.0 * sin, -110.0 * cos);
        let z = 40.0 + 4.0 * f64::from(i);
        let tool = match i % 3 {
            0 => format!("ball = {{ centre = [{x}, {y}, {z}], diameter = 46 }}"),
            1 => format!("box = {{ centre = [{x}, {y}, {z}], size = [50, 50, 50], turn = {turn} }}"),
            _ => format!("cylinder = {{ from = [0, 0, {z}], to = [{x}, {y}, {z}], diameter = 20 }}"),
        };
        let operation =
            ["cut = \"sponge\"", "cut = \"icing\"", "add = \"sponge\"", "cut = \"coating\""][i as usize % 4];
        details += &detail(&format!("detail {i}"), operation, &tool);
    }
    assert_sound(&details);
}

/// The same cut written twice is one cut.
#[test]
fn a_cut_made_twice_is_a_cut_made_once() {
    let tool = "ball = { centre = [0, -110, 80], diameter = 60 }";
    let once = cylinder(&detail("one", "cut = \"sponge\"", tool)).carving.carved;
    let twice = detail("one", "cut = \"sponge\"", tool) + &detail("two", "cut = \"sponge\"", tool);
    assert_close("twice", cylinder(&twice).carving.carved, once, 1e-12);
    assert_sound(&twice);
}
