//! What holds for every cake: its solids and its printed tools; the seeds of past failures kept beside this file.

use formats::model::{Model, PartKind};
use geom::progress::NoProgress;
use glam::DVec3;
use make::{
    kit::{Group, Kit, KitError},
    solids,
};
use plan::{Plan, design::Printing};
use proptest::prelude::*;

use crate::{
    assert_all_solid,
    plans::plan,
    random_cakes::{any_cake, config},
    support::assert_close,
};

fn volume_of(model: &Model, kind: PartKind, index: usize) -> f64 {
    model.parts.iter().filter(|p| p.kind == kind && p.index == index).map(|p| p.mesh.volume()).sum()
}

/// Every part bounds a solid; what is kept and what falls off are what was there.
fn assert_meshes(cake: &Plan) {
    let model = solids::model(cake, cake.design.preview).unwrap();
    assert_all_solid(&model);
    for index in 0..cake.stack.slabs.len() {
        let raw = volume_of(&model, PartKind::RawLayer, index);
        if raw > 0.0 {
            let kept = volume_of(&model, PartKind::Kept, index);
            let offcut = volume_of(&model, PartKind::Offcut, index);
            assert_close("raw mesh", kept + offcut, raw, 1e-9);
        }
    }
    let lines = solids::lines_model(cake, cake.design.preview).unwrap();
    assert_all_solid(&lines);
}

/// The whole kit comes out, or only a turned part is too large for the bed.
fn assert_printable(cake: &Plan, side: f64) {
    let printing = Printing { bed: DVec3::new(side, side, 900.0), ..Printing::default() };
    let mut made = 0;
    for group in Group::ALL {
        let kit = Kit::new(cake, &printing, &[group], &NoProgress).unwrap();
        made += kit.parts.len();
        for part in &kit.parts {
            part.mesh.check().unwrap();
            assert!(part.mesh.bounds().unwrap().0.z == 0.0);
            assert!(part.size().truncate().max_element() <= side, "{}", part.full_name());
            // What is left between a corner and the rim is no part; cutters, stamps and pegs are as small as drawn.
            let small = matches!(group, Group::Cutters | Group::Stamps) || part.name.ends_with("peg");
            let sides = part.size().to_array().iter().filter(|&&side| side < 15.0).count();
            assert!(
                small || sides < 2 || part.footprint.area() >= 225.0,
                "{}: {}",
                part.full_name(),
                part.size()
            );
        }
        for error in &kit.left_out {
            match error {
                KitError::BedTooSmall { part, .. } => {
                    assert!(matches!(group, Group::Cradle | Group::FootMould), "{part} on {side} mm");
                }
                KitError::TooNarrow { .. } => assert!(side < 200.0, "{error}"),
                error => panic!("{error}"),
            }
        }
    }
    // Every cake has a scraper, its foot and a comb.
    assert!(made >= 3, "{made} parts");
}

proptest! {
    #![proptest_config(config())]

    #[test]
    fn parts_are_solids_and_share_what_was_baked(cake in any_cake()) {
        assert_meshes(&plan(&cake.text()));
    }

    /// Random shapes make tools with slivers and near-touching corners; on a small bed they are cut as well.
    #[test]
    fn printed_tools_are_solids_that_fit_the_bed(
        cake in any_cake(), side in prop::sample::select(vec![90.0, 140.0, 220.0, 900.0]),
    ) {
        assert_printable(&plan(&cake.text()), side);
    }
}
