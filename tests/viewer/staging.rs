//! Any valid cake can be staged for a picture, at every stage, cut and pulled apart.

use proptest::{prelude::*, test_runner::RngSeed};

use crumbline::{
    Cancel, PlanError, Planner, Quality, solids,
    viewer::{Section, Showing, Stage, ViewerError, build_scene},
};

use crate::any_cake::{AnyCake, any_tape};

proptest! {
    // The same cakes every time.
    #![proptest_config(ProptestConfig {
        cases: 24, failure_persistence: None, rng_seed: RngSeed::Fixed(27), ..ProptestConfig::default()
    })]

    #[test]
    fn any_cake_is_staged(tape in any_tape()) {
        let cake = AnyCake::drawn(&tape);
        let Ok(source) = cake.source() else { return Ok(()) };
        let plan = match Planner::new().plan(&source, Quality::Full, &Cancel::new()) {
            Err(PlanError::CakeFile(_)) => return Ok(()),
            plan => plan.unwrap(),
        };
        let model = solids::model_in_stages(&plan, plan.design.preview).unwrap();
        let top = model.parts.iter().filter_map(|part| part.mesh.bounds()).map(|(_, high)| high.z).fold(0.0, f64::max);
        let sections = [
            None,
            Some(Section::Bearing(90.0)),
            Some(Section::Bearing(17.3)),
            Some(Section::Across(0.0)),
            Some(Section::Height(top / 2.0)),
            // Right where layers may meet.
            Some(Section::Height(plan.stack.slabs[0].top)),
        ];
        let stages = [Stage::Raw, Stage::Carved, Stage::Fraction(0.5), Stage::Coated, Stage::Finished];
        for section in sections {
            for stage in stages {
                for (pull_apart, loads) in [(0.0, false), (40.0, true)] {
                    let showing = Showing { stage, section, pull_apart, loads, ..Showing::default() };
                    let scene = match build_scene(&model, &showing) {
                        // A stack may end below the cut.
                        Err(ViewerError::Empty { .. }) if section.is_some() => continue,
                        scene => scene.unwrap(),
                    };
                    let finite = |piece: &crumbline::viewer::Piece| {
                        piece.surface.mesh.positions.iter().all(|p| p.is_finite())
                    };
                    prop_assert!(scene.pieces.iter().all(finite), "{showing:?}\n{}", cake.text());
                    prop_assert!(section.is_some() || scene.triangles() > 0, "{showing:?}\n{}", cake.text());
                }
            }
        }
    }
}
