//! Cakes for the benches, written as cake files.

use std::{fmt::Write, sync::Arc};

use crumbline::{
    cakefile::{CakeFile, world::Memory},
    geom::Tolerance,
    model::Model,
    plan::{Plan, Source},
    solids,
};

/// A vessel with a foot, a belly and a lip under two coverings, out of five layers that say `layer`. `rows`
/// points make its profile; `more` is added at the end.
pub fn vessel(rows: u32, layer: &str, more: &str) -> String {
    let mut text = "crumbline = 1\nname = \"Vessel\"\n[shape.turned]\npoints = [".to_owned();
    for i in 0..rows {
        let t = f64::from(i) / f64::from(rows - 1);
        let radius = 90.0 + 25.0 * (5.5 * t).sin() + 6.0 * (23.0 * t).cos();
        let _ = write!(text, "[{radius:.6}, {:.6}], ", 200.0 * t);
    }
    text += "]\n[[covering]]\nmaterial = \"rolled icing\"\nthickness = 3\n\
             [[covering]]\nmaterial = \"ganache\"\nthickness = 6\n[[tier]]\nname = \"only\"\n";
    for _ in 0..5 {
        let _ = write!(text, "[[tier.layer]]\nheight = 40\n{layer}\n");
    }
    text + more
}

/// What the cake file `text`, which names no other files, is planned from.
pub fn source(text: &str) -> Source {
    Source::new(CakeFile::from_text("bench.cake.toml", "", text), Arc::new(Memory::new()))
}

/// What an edit sets off: the text read, planned, and every mesh made anew within `fine`.
pub fn planned(text: &str, fine: Tolerance) -> (Plan, Model) {
    let plan = Plan::new(&source(text)).expect("a cake");
    let model = solids::model(&plan, fine).unwrap();
    (plan, model)
}

/// All triangles of a model.
pub fn triangles(model: &Model) -> usize {
    model.parts.iter().map(|part| part.mesh.len()).sum()
}

/// The tolerance at which a circle of `radius` mm gets `meridians`.
pub fn meridians(radius: f64, meridians: u32) -> Tolerance {
    let chord = radius * (1.0 - (std::f64::consts::PI / f64::from(meridians)).cos());
    Tolerance::new(chord).expect("a length above zero")
}
