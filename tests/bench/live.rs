//! How soon an edit shows: a number changed in the cake file, what hangs on it planned and every mesh made anew.
//!
//! `cargo bench --no-default-features --bench live`. A turned shape of 131 000 triangles, counted over all
//! parts and again for the carved shape alone, and five round layers. One planner goes through all edits, as in the
//! window, and no edit brings back a number that was there before. References: the budget of 8 ms, and what manifold3d
//! takes to carve the same meshes by booleans (`tests/reference/boolean_times.py`), which is less work: no lines, no
//! depths, no coverings.

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

use crumbline::{
    geom::{Cancel, Tolerance},
    plan::{Plan, Planner, Quality},
    solids,
};
use row::{head, medians, row};

fn main() {
    head();
    measure("131 000 triangles in all", 80, 80);
    measure("131 000 triangles in the vessel alone", 210, 256);
}

/// The most time from an edit to all meshes.
const SOON: Duration = Duration::from_millis(8);

/// The most of it as a share of what manifold3d takes.
const SHARE: f64 = 0.05;

/// What is edited: its name, the words in the cake file, and the number to which a little is added each time.
const EDITED: [(&str, &str, f64); 2] =
    [("a coat thicker", "thickness = ", 6.0), ("a layer higher", "height = ", 40.0)];

/// The rows for a vessel of so many points and meridians.
fn measure(name: &str, points: u32, around: u32) {
    let fine = cake::meridians(140.0, around);
    let text = cake::vessel(points, "pan = { round = 280 }", "");
    let (plan, model) = cake::planned(&text, fine);
    println!("{name}: {} triangles in all parts", cake::triangles(&model));
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("meshes");
    meshes::write(&plan, fine, &file);
    let reference = python::times("boolean_times.py", &[&file]);
    for (what, words, from) in EDITED {
        let mut edits = Edits { planner: Planner::new(), text: &text, words, from, count: 0 };
        let [whole] = medians([&mut || drop(black_box(edits.meshed(fine)))]);
        let [analysis] = medians([&mut || drop(black_box(edits.planned()))]);
        row(&format!("{what}, to analysis and meshes vs 8 ms"), whole, SOON, Some(1.0));
        row("of that the analysis", analysis, whole, None);
        if let Some(times) = &reference {
            row(&format!("{what}, to analysis and meshes vs manifold3d"), whole, times[0], Some(SHARE));
        }
    }
}

/// Edits of one number, each to one that was not there before.
struct Edits<'a> {
    planner: Planner,
    text: &'a str,
    words: &'a str,
    from: f64,
    count: u32,
}

impl Edits<'_> {
    /// The plan after the next edit.
    fn planned(&mut self) -> Plan {
        self.count += 1;
        let number = |more: f64| format!("{}{}\n", self.words, self.from + more);
        let edited = self.text.replacen(&number(0.0), &number(f64::from(self.count) / 64.0), 1);
        assert_ne!(edited, self.text);
        self.planner.plan(&cake::source(&edited), Quality::Full, &Cancel::new()).expect("a cake")
    }

    /// The same with all its meshes.
    fn meshed(&mut self, fine: Tolerance) -> (Plan, crumbline::model::Model) {
        let plan = self.planned();
        let model = solids::model(&plan, fine).unwrap();
        (plan, model)
    }
}
