//! What holds for every cake: drawn at random, the seeds of past failures kept beside this file.

mod cakes;

use std::f64::consts::PI;

use crumbline::{
    carve::{Body, general_volumes, solid_volumes, turned_volumes},
    design::Printing,
    geom::{revolve::polygon_factor, uncancelled},
    kit::{Group, Kit, KitError},
    model::{Model, PartKind},
    plan::Plan,
    progress::NoProgress,
    solids,
};
use glam::DVec3;
use proptest::{prelude::*, test_runner::FileFailurePersistence};

use self::cakes::{Cake, Pan, any_cake, round_cake};
use crate::support::{assert_close, plan};

/// Raw = kept + offcut for each slab, carved = kept + shortfall for all; nothing is below zero.
fn assert_conserved(cake: &Plan) {
    for (slab, carved) in cake.stack.slabs.iter().zip(&cake.carving.slabs) {
        let v = carved.volumes;
        assert!(v.kept >= 0.0 && v.offcut >= -1e-9 * v.raw && v.shortfall >= 0.0, "{}: {v:?}", slab.name);
        assert_close(&slab.name, v.kept + v.offcut, v.raw, 1e-9);
        assert_close(&slab.name, v.raw, slab.volume(), 2e-2);
    }
    let held: f64 = cake.carving.slabs.iter().map(|s| s.volumes.kept).sum();
    assert_close("carved", held + cake.carving.shortfall(), cake.carving.carved, 1e-9);
}

fn volume_of(model: &Model, kind: PartKind, index: usize) -> f64 {
    model.parts.iter().filter(|p| p.kind == kind && p.index == index).map(|p| p.mesh.volume()).sum()
}

/// Every part bounds a solid; what is kept and what falls off are what was there.
fn assert_meshes(cake: &Plan) {
    let model = solids::model(cake, cake.design.preview).unwrap();
    crate::support::assert_all_solid(&model);
    for index in 0..cake.stack.slabs.len() {
        let raw = volume_of(&model, PartKind::RawLayer, index);
        if raw > 0.0 {
            let kept = volume_of(&model, PartKind::Kept, index);
            let offcut = volume_of(&model, PartKind::Offcut, index);
            assert_close("raw mesh", kept + offcut, raw, 1e-9);
        }
    }
    let lines = solids::lines_model(cake, cake.design.preview).unwrap();
    crate::support::assert_all_solid(&lines);
}

/// Carved inside coated inside finished, as solids with cuts and adds.
fn assert_nested(cake: &Plan) {
    let fine = cake.design.preview;
    let bodies: Vec<Body> = (0..cake.lines.all().len())
        .map(|level| uncancelled(|cancel| Body::new(&cake.design, &cake.lines, level, fine, cancel)))
        .collect();
    let n = bodies[0].meridians(fine);
    for pair in bodies.windows(2) {
        let (outer, inner) = (pair[0].solid(n), pair[1].solid(n));
        let beyond = inner.difference(&outer).volume();
        // Tools are straightened each for itself.
        let edited = !pair[0].edits.is_empty() || !pair[1].edits.is_empty();
        let allowed = if edited { fine.chord_mm() * inner.to_mesh().mass_properties().area } else { 1e-6 };
        assert!(beyond <= allowed, "{beyond} mm³ stick out");
    }
}

/// The whole kit comes out, or only a turned part is too large for the bed.
fn assert_printable(cake: &Plan, side: f64) {
    let printing = Printing { bed: DVec3::new(side, side, 900.0), ..Printing::default() };
    let mut made = 0;
    for group in Group::ALL {
        match Kit::new(cake, &printing, &[group], &NoProgress) {
            Ok(kit) => {
                made += kit.parts.len();
                for part in &kit.parts {
                    part.mesh.check().unwrap();
                    assert!(part.mesh.bounds().unwrap().0.z == 0.0);
                    assert!(part.size().truncate().max_element() <= side, "{}", part.full_name());
                }
            }
            Err(KitError::BedTooSmall { part, .. }) => {
                assert!(matches!(group, Group::Cradle | Group::FootMould), "{part} on {side} mm");
            }
            Err(error) => panic!("{error}"),
        }
    }
    // Every cake has a scraper, its foot and a comb.
    assert!(made >= 3, "{made} parts");
}

/// Few cases, since each is a whole cake; `PROPTEST_CASES` asks for more.
fn config() -> ProptestConfig {
    let default = ProptestConfig::default();
    let asked = std::env::var_os("PROPTEST_CASES").is_some();
    let seeds = FileFailurePersistence::WithSource("proptest-regressions");
    ProptestConfig {
        cases: if asked { default.cases } else { 24 },
        failure_persistence: Some(Box::new(seeds)),
        ..default
    }
}

proptest! {
    #![proptest_config(config())]

    #[test]
    fn volumes_add_up(cake in any_cake()) {
        assert_conserved(&plan(&cake.text()));
    }

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

    #[test]
    fn each_covering_holds_what_it_covers(cake in any_cake()) {
        assert_nested(&plan(&cake.text()));
    }

    /// The half-plane and the solids find the same, but for the share that straightening the round takes
    /// from both.
    #[test]
    fn the_half_plane_agrees_with_solids(cake in round_cake()) {
        let plan = plan(&cake.text());
        let target = &plan.carving.target;
        let fine = plan.design.tool;
        let factor = polygon_factor(target.meridians(fine));
        for slab in &plan.stack.slabs {
            let half_plane = turned_volumes(slab, target, fine).unwrap();
            let on_solids = solid_volumes(slab, target, fine);
            let general = general_volumes(slab, target, fine);
            let scale = half_plane.raw + half_plane.shortfall;
            for (a, b, c) in [
                (half_plane.raw, on_solids.raw, general.raw),
                (half_plane.kept, on_solids.kept, general.kept),
                (half_plane.offcut, on_solids.offcut, general.offcut),
                (half_plane.shortfall, on_solids.shortfall, general.shortfall),
            ] {
                prop_assert!((a * factor - b).abs() <= 1e-9 * scale, "{}: {a} × {factor} is not {b}", slab.name);
                prop_assert!((a - c).abs() <= 1e-9 * scale, "{}: {a} is not {c}", slab.name);
            }
        }
    }

    /// A cake k times as large in every length holds k³ as much.
    #[test]
    fn volumes_grow_with_the_cube(cake in any_cake(), k in prop::sample::select(vec![0.25, 0.5, 2.0, 4.0, 10.0 / 3.0])) {
        let (small, large) = (plan(&cake.text()), plan(&cake.scaled(k).text()));
        let k3 = k.powi(3);
        for (a, b) in small.carving.slabs.iter().zip(&large.carving.slabs) {
            let scale = a.volumes.raw * k3;
            prop_assert!((a.volumes.raw * k3 - b.volumes.raw).abs() <= 1e-7 * scale);
            prop_assert!((a.volumes.kept * k3 - b.volumes.kept).abs() <= 1e-7 * scale, "{:?} {:?}", a.volumes, b.volumes);
        }
        assert_close("carved", large.carving.carved, small.carving.carved * k3, 1e-7);
    }

    /// Layers and trims turned together about the axis: by quarters the meshes turn with them, otherwise
    /// within what straightening allows.
    #[test]
    fn turning_all_together_changes_nothing(cake in any_cake(), degrees in 1.0..359.0f64) {
        let as_is = plan(&cake.text());
        let surface: f64 = as_is.stack.slabs.iter().map(|s| {
            let reach = s.footprint.reach();
            2.0 * PI * reach * (s.height() + reach)
        }).sum();
        for (turn, allowed) in [(90.0, 1e-6 * surface), (degrees, 2.0 * as_is.design.tool.chord_mm() * surface)] {
            let turned = plan(&cake.turned(turn).text());
            for (a, b) in as_is.carving.slabs.iter().zip(&turned.carving.slabs) {
                let off = (a.volumes.kept - b.volumes.kept).abs();
                prop_assert!(off <= allowed, "turned by {turn}: {:?} {:?}", a.volumes, b.volumes);
            }
        }
    }

    /// A wider pan never leaves more missing, and a thicker coat never leaves more cake.
    #[test]
    fn wider_pans_miss_less_and_thicker_coats_leave_less(cake in round_cake()) {
        let as_is = plan(&cake.text());
        let mut wider = cake.clone();
        for layer in &mut wider.layers {
            if let Pan::Round(diameter) = &mut layer.pan {
                *diameter *= 1.1;
            }
        }
        prop_assert!(plan(&wider.text()).carving.shortfall() <= as_is.carving.shortfall() * (1.0 + 1e-9) + 1e-6);
        let mut thicker = cake.clone();
        thicker.coverings.push(1.5);
        prop_assert!(plan(&thicker.text()).carving.carved < as_is.carving.carved);
    }
}

/// The generator reaches what the properties are about.
#[test]
fn random_cakes_are_of_every_kind() {
    use proptest::{strategy::ValueTree, test_runner::TestRunner};
    let mut runner = TestRunner::deterministic();
    let cakes: Vec<Cake> = (0..60).map(|_| any_cake().new_tree(&mut runner).unwrap().current()).collect();
    let any = |of: &dyn Fn(&Cake) -> bool| cakes.iter().filter(|cake| of(cake)).count() > 3;
    assert!(any(&|c| c.layers.iter().any(|l| matches!(l.pan, Pan::Square(_)))));
    assert!(any(&|c| c.layers.iter().any(|l| matches!(l.pan, Pan::HalfBall { .. }))));
    assert!(any(&|c| c.layers.iter().any(|l| l.offset != [0.0, 0.0])));
    assert!(
        any(&|c| !c.trims.is_empty()) && any(&|c| c.coverings.len() > 1) && any(&|c| c.coverings.is_empty())
    );
}
