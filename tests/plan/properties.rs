//! What holds for every cake: drawn at random, the seeds of past failures kept beside this file.

use std::f64::consts::PI;

use geom::{revolve::polygon_factor, uncancelled};
use plan::{
    Plan,
    carve::{Body, general_volumes, solid_volumes, turned_volumes},
};
use proptest::prelude::*;

use crate::{
    plans::plan,
    random_cakes::{Cake, Pan, any_cake, config, round_cake},
    support::assert_close,
};

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

proptest! {
    #![proptest_config(config())]

    #[test]
    fn volumes_add_up(cake in any_cake()) {
        assert_conserved(&plan(&cake.text()));
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

    /// Layers and details turned together about the axis: by quarters the meshes turn with them, otherwise
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
        any(&|c| !c.details.is_empty())
            && any(&|c| c.coverings.len() > 1)
            && any(&|c| c.coverings.is_empty())
    );
}
