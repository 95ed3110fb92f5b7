//! A bound for stacks of pieces: what any stack costs at least.

use crate::arrange::{problem::Rules, setup::Setup};

/// What any stack costs at least, of whole layers or of pieces, out of whatever pans there are: bakes must hold the shape, but
/// for the fillings and boards in it. A knapsack problem over volumes, rounded so that it stays a bound.
pub fn least_cost(setup: &Setup, rules: &Rules) -> f64 {
    /// Steps of the volume.
    const STEPS: usize = 400;
    /// More bakes no stack of the search has.
    const MOST_BAKES: usize = 40;
    let volume = setup.sponge_volume(rules);
    let grams = |mm3: f64| mm3 / 1000.0 * rules.density * rules.weights.offcut;
    // Slabs are at least so thick, and nothing between them is thicker than this.
    let between = rules.filling.max(rules.board);
    let displaced = volume * between / (between + rules.thinnest).max(1e-9);
    let unit = volume / STEPS as f64;
    let problem = setup.problem(&setup.pans, rules);
    let bakes: Vec<(usize, f64)> = setup
        .pans
        .iter()
        .enumerate()
        .map(|(p, pan)| ((pan.volume(pan.level) / unit).ceil() as usize, problem.bake_cost(p)))
        .collect();
    // The least that so many bakes cost which hold so much.
    let mut costs = vec![f64::INFINITY; STEPS + 1];
    costs[0] = 0.0;
    let mut least = f64::INFINITY;
    for count in 0..=MOST_BAKES {
        let loads =
            rules.weights.load * f64::from(u32::try_from(count).unwrap_or(0).div_ceil(rules.at_once.max(1)));
        for (held, cost) in costs.iter().enumerate() {
            let missing = volume * (1.0 - held as f64 / STEPS as f64);
            if missing <= displaced && count > 0 {
                least = least.min(cost + grams(missing.max(0.0)) + loads);
            }
        }
        let mut next = vec![f64::INFINITY; STEPS + 1];
        for (held, cost) in costs.iter().enumerate().filter(|(_, cost)| cost.is_finite()) {
            for (holds, price) in &bakes {
                let with = (held + holds).min(STEPS);
                next[with] = next[with].min(cost + price);
            }
        }
        costs = next;
    }
    if least.is_finite() { least } else { 0.0 }
}
