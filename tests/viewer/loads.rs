//! What carries what, as it is seen: boards and dowels by load, the cake as a ghost round them, and the marks.

use std::sync::Arc;

use crumbline::{
    cakefile::{CakeFile, world::Memory},
    model::PartKind,
    plan::{Plan, Source},
    solids,
    viewer::{LoadLevel, Look, Showing, build_scene},
};

fn loads(dowels: &str) -> (crumbline::model::Model, crumbline::viewer::Scene) {
    let text = format!(
        "crumbline = 1\nname = \"two tiers\"\nboard = {{ round = 300, thickness = 12 }}\n\
         [shape.turned]\npoints = [[100, 0], [100, 200]]\n\
         [[tier]]\nname = \"lower\"\n{dowels}\nlayer = [{{ pan = {{ round = 230 }}, height = 96 }}]\n\
         [[tier]]\nname = \"upper\"\nboard = {{ round = 180, thickness = 4 }}\n\
         layer = [{{ pan = {{ round = 230 }}, height = 100 }}]\n"
    );
    let plan = Plan::new(&Source::new(
        CakeFile::from_text("two-tiers.cake.toml", "", &text),
        Arc::new(Memory::new()),
    ))
    .unwrap();
    let model = solids::model_in_stages(&plan, plan.design.preview).unwrap();
    let scene = build_scene(&model, &Showing { loads: true, ..Showing::default() }).unwrap();
    (model, scene)
}

#[test]
fn boards_and_dowels_have_the_colour_of_their_load_and_the_cake_is_a_ghost() {
    let (model, scene) = loads("dowels = { count = 6, circle = 100, diameter = 6 }");
    let shown = |kind| scene.pieces.iter().filter(|piece| model.parts[piece.part].kind == kind).count();
    assert_eq!([PartKind::Kept, PartKind::Dowel, PartKind::Board].map(shown), [2, 6, 1]);
    for piece in &scene.pieces {
        let part = &model.parts[piece.part];
        match part.kind {
            PartKind::Kept => assert_eq!(piece.look, Look::Ghost),
            PartKind::Dowel | PartKind::Board => {
                assert_eq!(piece.look, Look::Hardware);
                let bearing = model.bearing.iter().find(|b| b.kind == part.kind && b.index == part.index);
                let share = bearing.unwrap_or_else(|| panic!("{} has no load", part.name)).share;
                assert_eq!(piece.colour, LoadLevel::of(share).colour(), "{} carries {share}", part.name);
            }
            PartKind::PresentationBoard | PartKind::Mark => assert_eq!(piece.look, Look::Hardware),
            other => panic!("{other:?} is shown"),
        }
    }
    // Six dowels stand evenly round the middle: each carries a sixth.
    let dowels: Vec<f64> =
        model.bearing.iter().filter(|b| b.kind == PartKind::Dowel).map(|b| b.share).collect();
    assert_eq!(dowels.len(), 6);
    assert!(dowels.iter().all(|share| (share / dowels[0] - 1.0).abs() < 1e-6), "{dowels:?}");
}

/// A cylinder's centre of mass stands on its axis, half way up what it is made of; the plumb line hangs from it.
#[test]
fn the_marks_are_where_the_mass_is() {
    let (model, _) = loads("dowels = { count = 6, circle = 100, diameter = 6 }");
    let mark = |start: &str| {
        let found = model.parts.iter().find(|p| p.kind == PartKind::Mark && p.name.starts_with(start));
        found.unwrap_or_else(|| panic!("no {start}")).mesh.bounds().unwrap()
    };
    let (lo, hi) = mark("centre of mass of what stands on presentation board");
    let centre = (lo + hi) / 2.0;
    assert!(centre.truncate().length() < 0.01, "{centre}");
    assert!((centre.z - 100.0).abs() < 3.0, "{centre}");
    let (lo, hi) = mark("plumb line on presentation board");
    assert!((hi.z - centre.z - 1.2).abs() < 0.05 && (lo.z + 1.2).abs() < 0.05, "{lo} {hi}");
}
