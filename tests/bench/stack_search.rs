//! How long the best stack takes: six pans, a shape 300 mm tall, slabs in steps of 5 mm, to a proved optimum.
//!
//! `cargo bench --no-default-features --bench stack_search`. References: the budget of 100 ms, and scipy's milp
//! (HiGHS) on the same instance (`tests/reference/stack_milp.py`). Boards and fillings are 5 mm thick here, so
//! that the solver's graph stays small.

// Checks may use the standard library's functions: they allow for the last digits.
#![allow(clippy::disallowed_methods)]

#[allow(missing_docs, dead_code)]
mod python;
#[allow(missing_docs, dead_code)]
mod row;

use std::{collections::BTreeMap, fs, hint::black_box, time::Duration};

use crumbline::{
    arrange::{Effort, Problem, Rules, Weights, needs::Needs, search},
    geom::Cancel,
    pantry::{Pan, PanShape},
};
use row::{head, medians, row};
use serde_json::{Value, json};

const CELL: f64 = 2.5;

fn main() {
    head();
    for (name, radii) in shapes() {
        let needs = Needs::discs(radii.clone(), CELL);
        let searched = || search(&Problem::new(&needs, pans(), rules()), Effort::default(), &Cancel::new());
        let found = searched().expect("nobody stops it").expect("a stack");
        println!(
            "{name}: {} slabs, {} bakes, {:.0} g, gap {:.2} %, {} labels",
            found.slabs.len(),
            found.bakes.iter().sum::<u32>(),
            found.cost,
            100.0 * found.gap(),
            found.labels
        );
        let [ours] = medians([&mut || {
            drop(black_box(searched()));
        }]);
        row(&format!("{name} vs 100 ms"), ours, Duration::from_millis(100), Some(1.0));
        if std::env::var_os("WITHOUT_SOLVER").is_some() {
            continue;
        }
        let folder = tempfile::tempdir().expect("a folder");
        let file = folder.path().join("case.json");
        fs::write(&file, serde_json::to_vec(&[instance(&needs, &radii)]).expect("JSON")).expect("written");
        let Some(times) = python::times("stack_milp.py", &[&file, "--times".as_ref()]) else { continue };
        row(&format!("{name} vs scipy milp"), ours, times[0], Some(1.0));
    }
}

fn shapes() -> [(&'static str, Vec<f64>); 3] {
    let shape = |radius: &dyn Fn(f64) -> f64| (0..120).map(|i| radius(f64::from(i) / 120.0)).collect();
    [
        ("vase", shape(&|t| 85.0 + 25.0 * (5.5 * t).sin())),
        ("bell", shape(&|t| 110.0 - 60.0 * t + 12.0 * (9.0 * t).cos())),
        ("bowl", shape(&|t| 60.0 + 75.0 * t - 25.0 * t.powi(4))),
    ]
}

fn pans() -> Vec<Pan> {
    [6.0, 7.0, 8.0, 9.0, 10.0, 12.0]
        .map(|inches| Pan { shape: PanShape::Round(inches * 25.4), depth: 76.2, level: 55.0, count: 2 })
        .into()
}

fn rules() -> Rules {
    Rules {
        mark: 1.0,
        step: 5.0,
        thinnest: 20.0,
        shave: 6.0,
        shave_top: 0.0,
        board_every: 150.0,
        overhang: 0.3,
        overhang_mm: 25.0,
        cover: 10.0,
        board: 5.0,
        board_sizes: Vec::new(),
        filling: 5.0,
        shortfall: 0.0,
        density: 0.415,
        at_once: 2,
        most_loads: None,
        foot: 0.0,
        from: 0.0,
        to: None,
        weights: Weights {
            offcut: 1.0,
            bake: 150.0,
            load: 250.0,
            board: 150.0,
            overhang: 200.0,
            piece: 25.0,
        },
    }
}

fn microns(mm: f64) -> i64 {
    (mm * 1000.0).round() as i64
}

fn instance(needs: &Needs, radii: &[f64]) -> Value {
    let rules = rules();
    let problem = Problem::new(needs, pans(), rules.clone());
    let top = microns(problem.top());
    let boards: BTreeMap<String, f64> = (0..top)
        .step_by(5000)
        .filter_map(|z| Some((z.to_string(), 2000.0 * problem.board_at(z as i32)?.reach())))
        .collect();
    let pans: Vec<Value> = pans()
        .iter()
        .map(|pan| {
            let PanShape::Round(diameter) = pan.shape else { panic!("round pans only") };
            json!({ "diameter": microns(diameter), "level": microns(pan.level), "count": pan.count })
        })
        .collect();
    json!({
        "step": microns(rules.step), "thinnest": microns(rules.thinnest), "top": top, "cell": microns(CELL),
        "radii": radii.iter().map(|r| r * 1000.0).collect::<Vec<_>>(), "pans": pans,
        "shave": microns(rules.shave), "board_every": microns(rules.board_every), "overhang": rules.overhang,
        "overhang_mm": rules.overhang_mm * 1000.0, "filling": microns(rules.filling), "board": microns(rules.board),
        "boards": boards, "density": rules.density, "at_once": rules.at_once,
        "weights": {
            "offcut": rules.weights.offcut, "bake": rules.weights.bake, "load": rules.weights.load,
            "board": rules.weights.board, "overhang": rules.weights.overhang,
        },
    })
}
