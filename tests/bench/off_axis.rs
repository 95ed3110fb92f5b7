//! The same edit where nothing stands on the axis: five layers beside it, ten cuts.
//!
//! `cargo bench --no-default-features --bench off_axis`. The reference is manifold3d carving the same meshes
//! (`tests/reference/boolean_times.py`).

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

use std::hint::black_box;

use row::{head, medians, row};

fn main() {
    let folder = tempfile::tempdir().expect("a folder");
    head();
    for (name, meridians, rows) in [("16 000 triangles", 96, 60), ("131 000 triangles", 256, 210)] {
        let layer = "pan = { round = 280 }\noffset = [6, -4]\nturn = 10";
        // Planned, meshed and given to the reference within one tolerance.
        let fine = cake::meridians(140.0, meridians);
        let chord = fine.chord_mm();
        let tolerance = format!("[accuracy]\npreview = {chord}\ntool = {chord}\n");
        let text = cake::vessel(rows, layer, &(cuts() + &tolerance));
        let (plan, model) = cake::planned(&text, fine);
        println!("{} triangles in all parts", cake::triangles(&model));
        let file = folder.path().join("meshes");
        meshes::write(&plan, fine, &file);
        let [analysis, meshes] = medians([
            &mut || {
                drop(black_box(crumbline::plan::Plan::new(&cake::source(&text))));
            },
            &mut || drop(black_box(crumbline::solids::model(&plan, fine).unwrap())),
        ]);
        let Some(times) = python::times("boolean_times.py", &[&file]) else { continue };
        row(&format!("{name}: edit to all meshes vs manifold3d"), analysis + meshes, times[0], Some(1.0));
        row(&format!("{name}: of that the analysis"), analysis, times[0], None);
    }
}

/// Ten cuts in the sponge round the vessel: balls, boxes and cylinders in turn.
fn cuts() -> String {
    (0..10)
        .map(|i| {
            let turn = 36.0 * f64::from(i);
            let (sin, cos) = turn.to_radians().sin_cos();
            let (x, y, z) = (100.0 * sin, -100.0 * cos, 20.0 + 16.0 * f64::from(i));
            let tool = match i % 3 {
                0 => format!("ball = {{ centre = [{x}, {y}, {z}], diameter = 40 }}"),
                1 => format!("box = {{ centre = [{x}, {y}, {z}], size = [30, 30, 30], turn = {turn} }}"),
                _ => format!(
                    "cylinder = {{ from = [{}, {}, {z}], to = [{x}, {y}, {z}], diameter = 20 }}",
                    0.6 * x,
                    0.6 * y
                ),
            };
            format!("[[detail]]\nname = \"cut {i}\"\ncut = \"sponge\"\n{tool}\n")
        })
        .collect()
}
