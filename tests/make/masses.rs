//! Masses and their middles: against the model's own meshes as trimesh measures them, and against the report's sums.

use std::fs;

use formats::{
    export::write_stl,
    model::{Part, PartKind},
};
use geom::Tolerance;
use make::{report::Report, solids::model};
use plan::design::Detail;
use serde_json::json;

use crate::{
    plans::example,
    reference::{asked, python},
    support::assert_close,
};

const EXAMPLES: [&str; 4] = ["toadstool-house", "garden-urn", "lopsided-bell", "planter-pot"];

/// The solids that are drawn and exported, each with the density of its material, weighed by trimesh: the mass
/// and its middle are those of the support check.
#[test]
fn the_examples_weigh_what_trimesh_finds() {
    let Some(python) = python() else { return };
    for name in EXAMPLES {
        let plan = example(name);
        let folder = tempfile::tempdir().unwrap();
        let fine = model(&plan, Tolerance::new(0.02).unwrap()).unwrap();
        let coat = |name: &str| plan.design.coverings.iter().find(|c| c.material.name == name);
        let density = |part: &Part| match part.kind {
            PartKind::Kept | PartKind::Filling | PartKind::Board => {
                plan.stack.slabs[part.index].material.density
            }
            PartKind::Shortfall => plan.stack.slabs[part.index].material.density,
            PartKind::Fill => coat(&part.material).unwrap().material.density,
            PartKind::Dowel => plan.stack.dowels[part.index].material.density,
            PartKind::Covering => plan.design.coverings[part.index].material.density,
            PartKind::Add => {
                let written = |detail: &&Detail| detail.written_index() == Some(part.index);
                let zone = plan.design.details.get(part.index);
                plan.design.details.iter().find(written).or(zone).unwrap().material.as_ref().unwrap().density
            }
            _ => 0.0,
        };
        let mut parts = Vec::new();
        for (i, part) in fine.parts.iter().enumerate() {
            if density(part) > 0.0 {
                let file = folder.path().join(format!("{i}.stl"));
                write_stl(&[&part.mesh], "part", &file).unwrap();
                parts.push(json!({ "file": file, "density": density(part) }));
            }
        }
        let list = folder.path().join("parts.json");
        fs::write(&list, json!({ "parts": parts }).to_string()).unwrap();
        let found = asked(&python, "statics.py", &[&list]);
        let ours = plan.support.levels[0].level.load;
        assert_close(name, ours.amount, found["parts"]["mass"].as_f64().unwrap(), 4e-3);
        let at = ours.centroid().unwrap().to_array();
        for (k, theirs) in found["parts"]["centre"].as_array().unwrap().iter().enumerate() {
            assert!((at[k] - theirs.as_f64().unwrap()).abs() < 0.3, "{name}: {at:?} {found}");
        }
    }
}

#[test]
fn the_support_check_and_the_report_weigh_the_same() {
    for name in EXAMPLES {
        let plan = example(name);
        let report = Report::new(&plan);
        let support = &plan.support.levels[0].level;
        assert_close(name, support.load.amount, report.totals.finished_mass_g, 2e-3);
        assert_close(name, support.raw_load.amount, report.totals.raw_mass_g, 1e-9);
        let tiers: f64 = plan.support.weights.iter().map(|weight| weight.own[2]).sum();
        assert_close(name, tiers, support.load.amount, 1e-9);
    }
}
