//! How soon an edit shows: a number changed in the cake file, everything planned and meshed anew.
//!
//! `cargo bench --no-default-features --bench live`. A turned shape of 131 000 triangles, counted over all
//! parts and again for the carved shape alone, and five round layers. References: the budget of 10 ms, and what manifold3d takes to carve the same meshes by
//! booleans (`tests/reference/boolean_times.py`), which is less work: no lines, no depths, no coverings.

// Checks may use the standard library's functions: they allow for the last digits.
#![allow(clippy::disallowed_methods)]

#[allow(missing_docs, dead_code)]
mod cake;
#[allow(missing_docs, dead_code)]
mod meshes;
#[allow(missing_docs, dead_code)]
mod python;
#[allow(missing_docs, dead_code)]
mod row;

use std::{hint::black_box, time::Duration};

use crumbline::plan::Plan;
use row::{head, medians, row};

fn main() {
    head();
    measure("131 000 triangles in all", 80, 80);
    measure("131 000 triangles in the vessel alone", 210, 256);
}

/// The rows for a vessel of so many points and meridians.
fn measure(name: &str, points: u32, around: u32) {
    let fine = cake::meridians(140.0, around);
    let text = cake::vessel(points, "pan = { round = 280 }", "");
    let edited = text.replace("thickness = 6", "thickness = 6.5");
    let (plan, model) = cake::planned(&text, fine);
    println!("{name}: {} triangles in all parts", cake::triangles(&model));
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("meshes");
    meshes::write(&plan, fine, &file);
    let mut odd = false;
    let mut next = || {
        odd = !odd;
        if odd { &edited } else { &text }
    };
    let [whole] = medians([&mut || drop(black_box(cake::planned(next(), fine)))]);
    let [analysis] = medians([&mut || drop(black_box(Plan::new(&cake::source(&edited))))]);
    row("edit to analysis and meshes vs 10 ms", whole, Duration::from_millis(10), Some(1.0));
    row("of that the analysis", analysis, whole, None);
    if let Some(times) = python::times("boolean_times.py", &[&file]) {
        row("edit to analysis and meshes vs manifold3d", whole, times[0], Some(0.1));
    }
}
