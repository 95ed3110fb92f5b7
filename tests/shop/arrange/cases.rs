//! Small problems, the same on every run.

use plan::pantry::{Pan, PanShape};
use shop::arrange::{Problem, Rules, Weights, needs::Needs};

use crate::support::evenly;

/// A shape and what may be stacked for it.
pub struct Case {
    /// Radii of its cells, mm.
    pub radii: Vec<f64>,
    /// Pans.
    pub pans: Vec<Pan>,
    /// Rules.
    pub rules: Rules,
}

/// Height of a cell, mm.
pub const CELL: f64 = 5.0;

impl Case {
    /// What the shape needs.
    pub fn needs(&self) -> Needs {
        Needs::discs(self.radii.clone(), CELL)
    }

    /// The problem.
    pub fn problem<'a>(&self, needs: &'a Needs) -> Problem<'a> {
        Problem::new(needs, self.pans.clone(), self.rules.clone())
    }
}

/// `count` cases of up to `cells` cells and three or so pans.
pub fn cases(count: u32, cells: u32) -> Vec<Case> {
    evenly(count).map(|[a, b, c]| case(a, b, c, cells)).collect()
}

fn case(a: f64, b: f64, c: f64, cells: u32) -> Case {
    let count = cells - (b * f64::from(cells) * 0.4) as u32;
    // A wavy side that narrows at one end or the other.
    let radius = |i: u32| {
        let t = f64::from(i) / f64::from(count);
        70.0 + 25.0 * (6.0 * a + 7.0 * c * t).sin() + 18.0 * (b - 0.5) * (2.0 * t - 1.0)
    };
    let pan = |diameter: f64, level: f64, count: u32| Pan {
        shape: PanShape::Round(diameter),
        depth: level,
        level,
        count,
    };
    let pick = |x: f64, choices: [f64; 3]| choices[((x * 17.0) as usize) % 3];
    let pans = vec![
        pan(150.0 + (a * 30.0).round(), pick(a, [30.0, 40.0, 50.0]), 1 + (b * 2.0) as u32),
        pan(190.0 + (b * 20.0).round(), pick(b, [40.0, 50.0, 60.0]), 1),
        pan(230.0, pick(c, [30.0, 45.0, 55.0]), 2),
    ];
    let rules = Rules {
        mark: 1.0,
        step: 5.0,
        thinnest: pick(a + b, [15.0, 20.0, 20.0]),
        shave: 6.0,
        shave_top: 0.0,
        board_every: pick(b + c, [80.0, 100.0, 150.0]),
        overhang: pick(a + c, [0.2, 0.3, 0.5]),
        overhang_mm: 20.0,
        cover: 10.0,
        board: 5.0,
        board_sizes: Vec::new(),
        filling: pick(c, [0.0, 5.0, 5.0]),
        shortfall: 0.0,
        density: 0.4,
        at_once: 1 + (c * 3.0) as u32,
        most_loads: None,
        foot: 0.0,
        from: 0.0,
        to: None,
        weights: Weights {
            offcut: 1.0,
            bake: pick(a, [0.0, 100.0, 400.0]),
            load: pick(b, [0.0, 200.0, 500.0]),
            board: pick(c, [20.0, 100.0, 300.0]),
            overhang: pick(a + c, [0.0, 100.0, 200.0]),
            piece: 0.0,
        },
    };
    Case { radii: (0..count).map(radius).collect(), pans, rules }
}
