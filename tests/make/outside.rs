//! Our solids against the same cakes built by manifold3d, measured by it and by trimesh.
//!
//! `tests/reference/fixtures.json` says what is built, `measure.py` builds it, and `expected.json` keeps what it
//! found, so that this needs no Python. Where the environment of `venv.sh` is at hand our files are read by trimesh as
//! well; that the script still finds the same is held by `tests/it/reference_today.rs`, since it takes a while.

use formats::export::write_model;
use geom::progress::NoProgress;

use crate::{
    fixtures::{assert_cakes, assert_grown, list, planned, read},
    reference::{asked, python},
    support::assert_close,
};

#[test]
fn cakes_are_what_manifold3d_makes_of_them() {
    assert_cakes(&read("expected.json"));
}

/// The plan's own figures are those of the round cake: within the chord error of what the meshes hold.
#[test]
fn figures_lie_within_the_chord_error_of_the_meshes() {
    let (fixtures, expected) = (read("fixtures.json"), read("expected.json"));
    for (fixture, theirs) in list(&fixtures, "cakes").iter().zip(list(&expected, "cakes")) {
        let (plan, _) = planned(fixture);
        let chord = fixture["chord"].as_f64().unwrap();
        for (carving, layer) in plan.carving.slabs.iter().zip(list(theirs, "layers")) {
            for (name, ours) in [("kept", carving.volumes.kept), ("shortfall", carving.volumes.shortfall)] {
                let area = layer["raw"]["area"].as_f64().unwrap();
                let off = (ours - layer[name]["volume"].as_f64().unwrap()).abs();
                assert!(off <= chord * area, "{}, {name}: off by {off} mm³", fixture["name"]);
            }
        }
    }
}

/// A cut grown by the coverings is the tool with a ball of their thickness added to every point of it, as
/// manifold3d's Minkowski sum finds. That is coarser than ours: it lacks up to 1.5 %, rings up to 3 %.
#[test]
fn grown_tools_are_minkowski_sums() {
    assert_grown(&read("expected.json"));
}

/// trimesh reads every part that we write and finds it watertight, with our volume.
#[test]
fn trimesh_finds_our_parts_watertight() {
    let Some(python) = python() else { return };
    let folder = tempfile::tempdir().unwrap();
    let fixtures = read("fixtures.json");
    for fixture in list(&fixtures, "cakes") {
        let (_, model) = planned(fixture);
        let file = folder.path().join("parts.obj");
        write_model(&model, &file, &NoProgress).unwrap();
        let found = asked(&python, "read_back.py", &[&file]);
        for part in &model.parts {
            let what = format!("{}, {}", fixture["name"], part.name);
            let found = &found[part.name.replace(' ', "_")];
            assert_eq!(found["watertight"], true, "{what}: {found}");
            assert_close(&what, found["volume"].as_f64().unwrap(), part.mesh.volume(), 1e-5);
        }
    }
}
