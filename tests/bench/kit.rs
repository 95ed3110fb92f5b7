//! The printed tools of the main example.
//!
//! `cargo bench --no-default-features --bench kit`. The references are the budget of two seconds for the whole
//! kit, and manifold3d making the same plates as unions of extruded outlines
//! (`tests/reference/plate_times.py`).

// Checks may use the standard library's functions: they allow for the last digits.
#![allow(clippy::disallowed_methods)]

#[allow(missing_docs, dead_code)]
mod python;
#[allow(missing_docs, dead_code)]
mod row;

use std::{fs, hint::black_box, path::Path, process::Command, sync::Arc, time::Duration};

use crumbline::{
    cakefile::world::Disk,
    kit::{Group, Kit},
    plan::{Plan, Source},
    progress::NoProgress,
};
use row::{head, medians, row};

/// A height and the contours that are raised to it.
type Prism = (f64, Vec<Vec<[f64; 2]>>);

fn main() {
    head();
    for name in ["toadstool-house", "garden-urn", "lopsided-bell"] {
        let root = Path::new(env!("CARGO_MANIFEST_DIR"));
        let file = root.join(format!("assets/examples/{name}/{name}.cake.toml"));
        let source = || Source::read(Arc::new(Disk::new()), &file, None).expect("read");
        let read = || Plan::new(&source()).expect("a plan");
        let plan = read();
        let made =
            |plan: &Plan| Kit::new(plan, &plan.design.printing, &Group::ALL, &NoProgress).expect("a kit");
        let kit = made(&plan);
        let triangles: usize = kit.parts.iter().map(|part| part.mesh.len()).sum();
        println!("{name}: {} parts, {triangles} triangles", kit.parts.len());
        let plates = || kit.parts.iter().filter_map(|part| part.plate.as_ref());
        let folder = tempfile::tempdir().expect("a folder");
        let out = folder.path().join("out");
        let [program, whole, meshes] = medians([
            &mut || {
                let program = Command::new(env!("CARGO_BIN_EXE_crumbline"))
                    .args([
                        "kit".as_ref(),
                        file.as_os_str(),
                        "--out".as_ref(),
                        out.as_os_str(),
                        "--all".as_ref(),
                    ])
                    .output();
                assert!(program.is_ok_and(|output| output.status.code() != Some(2)));
            },
            &mut || drop(black_box(made(&read()))),
            &mut || plates().for_each(|plate| drop(black_box(plate.mesh()))),
        ]);
        let budget = Duration::from_secs(2);
        row(&format!("{name}: start to files vs 2 s"), program, budget, Some(1.0));
        row(&format!("{name}: of that cake file to solids"), whole, budget, None);
        let at = folder.path().join("plates.json");
        let outlines: Vec<Vec<Prism>> = plates()
            .map(|plate| {
                plate
                    .parts()
                    .map(|(region, height)| {
                        let contours = region.contours().iter();
                        (height, contours.map(|c| c.iter().map(|p| p.to_array()).collect()).collect())
                    })
                    .collect()
            })
            .collect();
        fs::write(&at, serde_json::to_vec(&outlines).expect("JSON")).expect("written");
        let Some(times) = python::times("plate_times.py", &[&at]) else { continue };
        row(&format!("{name}: plates to solids vs manifold3d"), meshes, times[0], Some(1.0));
    }
}
