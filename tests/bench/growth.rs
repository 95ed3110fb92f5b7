//! How time grows: with the triangles no faster than n log n, with the layers no faster than they do.
//!
//! `cargo bench --no-default-features --bench growth`. Each row's reference is the row before it, scaled by
//! what is allowed; the budget leaves a quarter for a busy machine.

// Checks may use the standard library's functions: they allow for the last digits.
#![allow(clippy::disallowed_methods)]

#[allow(missing_docs, dead_code)]
mod cake;
#[allow(missing_docs, dead_code)]
mod row;

use std::{hint::black_box, time::Duration};

use crumbline::plan::Plan;
use row::{head, medians, row};

/// What a busy machine may add.
const SLACK: f64 = 1.25;

fn main() {
    head();
    let mut before: Option<(f64, Duration)> = None;
    for (rows, meridians) in [(64, 128), (128, 256), (256, 512), (512, 1024)] {
        let fine = cake::meridians(140.0, meridians);
        let text = cake::vessel(rows, "pan = { round = 280 }", "");
        let n = cake::triangles(&cake::planned(&text, fine).1) as f64;
        let [time] = medians([&mut || drop(black_box(cake::planned(&text, fine)))]);
        against(&format!("{n} triangles"), time, before, n * n.ln());
        before = Some((n * n.ln(), time));
    }
    before = None;
    for layers in [500_u32, 1000, 2000, 4000, 8000] {
        let text = leaves(layers);
        let source = cake::source(&text);
        let [time] = medians([&mut || drop(black_box(Plan::new(&source).expect("a cake")))]);
        against(&format!("{layers} layers"), time, before, f64::from(layers));
        before = Some((f64::from(layers), time));
    }
}

/// One row: against the row before, scaled.
fn against(name: &str, time: Duration, before: Option<(f64, Duration)>, size: f64) {
    match before {
        Some((smaller, reference)) => row(name, time, reference.mul_f64(size / smaller), Some(SLACK)),
        None => row(name, time, time, None),
    }
}

/// A tall cone out of thin layers, each of the same height whatever their number.
fn leaves(layers: u32) -> String {
    format!(
        "crumbline = 1\nname = \"leaves\"\n[shape.turned]\npoints = [[80, 0], [60, {}]]\n\
         [[tier]]\nname = \"only\"\n{}",
        f64::from(layers) * 0.5,
        "[[tier.layer]]\npan = { round = 180 }\nheight = 0.5\n".repeat(layers as usize)
    )
}
