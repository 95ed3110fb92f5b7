//! Against a general solver of mixed-integer programs: scipy's milp (HiGHS), `tests/reference/stack_milp.py`.

use std::{collections::BTreeMap, fs};

use geom::Cancel;
use plan::pantry::PanShape;
use serde_json::{Value, json};
use shop::arrange::{Effort, search};

use super::cases::{CELL, Case, cases};
use crate::reference;

fn microns(mm: f64) -> i64 {
    (mm * 1000.0).round() as i64
}

/// A case as the script reads it: lengths in micrometres, what boards fit at which heights given.
pub fn as_json(case: &Case) -> Value {
    let needs = case.needs();
    let problem = case.problem(&needs);
    let top = microns(problem.top());
    let boards: BTreeMap<String, f64> = (0..top)
        .step_by(500)
        .filter_map(|z| Some((z.to_string(), 2000.0 * problem.board_at(z as i32)?.reach())))
        .collect();
    let pans: Vec<Value> = case
        .pans
        .iter()
        .map(|pan| {
            let PanShape::Round(diameter) = pan.shape else { panic!("round pans only") };
            json!({ "diameter": microns(diameter), "level": microns(pan.level), "count": pan.count })
        })
        .collect();
    let rules = &case.rules;
    json!({
        "step": microns(rules.step), "thinnest": microns(rules.thinnest), "top": top, "cell": microns(CELL),
        "radii": case.radii.iter().map(|r| r * 1000.0).collect::<Vec<_>>(), "pans": pans,
        "shave": microns(rules.shave), "board_every": microns(rules.board_every), "overhang": rules.overhang,
        "overhang_mm": rules.overhang_mm * 1000.0, "filling": microns(rules.filling), "board": microns(rules.board),
        "boards": boards, "density": rules.density, "at_once": rules.at_once,
        "weights": {
            "offcut": rules.weights.offcut, "bake": rules.weights.bake, "load": rules.weights.load,
            "board": rules.weights.board, "overhang": rules.weights.overhang,
        },
    })
}

#[test]
fn a_general_solver_finds_none_cheaper() {
    let Some(python) = reference::python() else { return };
    let all = cases(10, 26);
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("cases.json");
    let written = serde_json::to_vec(&all.iter().map(as_json).collect::<Vec<_>>()).expect("JSON");
    fs::write(&file, written).expect("written");
    let answers = reference::asked(&python, "stack_milp.py", &[&file]);
    let mut compared = 0;
    for (case, answer) in all.iter().zip(answers.as_array().expect("a list")) {
        let needs = case.needs();
        let found = search(&case.problem(&needs), Effort::default(), &Cancel::new()).unwrap();
        match (answer["cost"].as_f64(), found) {
            (Some(cost), Some(found)) => {
                compared += 1;
                // HiGHS holds to its own tolerances, about 1e-6 of the cost.
                let off = (found.cost - cost).abs() / cost;
                assert!(off < 1e-5, "{} against {cost}: {:?}", found.cost, case.rules);
            }
            (None, None) => {}
            (cost, found) => panic!("{cost:?} against {found:?}: {:?}", case.rules),
        }
    }
    assert!(compared > 4, "{compared} cases compared");
}
