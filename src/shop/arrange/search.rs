//! The cheapest stack, with a proof that there is none cheaper: branch and bound over labels.
//!
//! Stacks grow from the board up. A partial stack is a label: its height, what its top carries on, where its last
//! board lies, how many bakes it took and what of them is still uncut. Heights only grow, so labels are extended in
//! the order of their heights (label setting), and all that reach a height are compared there: a label that could be
//! turned into another at no cost (buying the bakes that the other has uncut) dominates the other, which is dropped. A
//! label is also dropped when its lower bound reaches the cost of the incumbent, the cheapest stack that is known.
//!
//! The lower bounds stand in the module `bound`.
//!
//! A first pass is a beam search: it extends only the best few labels at each height and gives an incumbent. Later
//! passes extend all labels, up to a limit, whose bounds lie below a ceiling. It is low at first, since the labels below
//! it grow many times faster than it does: if there is a stack below it, the cheapest is found and proved at once, if
//! not, it is raised, up to the incumbent. The lower bounds of labels that had to be dropped beyond the limit bound how
//! much cheaper a stack could be.

use super::{label::SAME, label_search::LabelSearch, problem::Problem};
use geom::{Cancel, Cancelled};
use plan::design::Footprint;

pub use super::label::MOST_PANS;

/// One slab of a stack.
#[derive(Debug, Clone, PartialEq)]
pub struct PlacedSlab {
    /// Its pan, in the problem's list.
    pub pan: usize,
    /// Where it stands.
    pub footprint: Footprint,
    /// Height of its underside, mm.
    pub bottom: f64,
    /// Its height, mm.
    pub height: f64,
    /// Whether a board lies under it, and which.
    pub board: Option<Footprint>,
    /// How far what is carved of it hangs over what carries it, mm.
    pub overhang: f64,
    /// The same as a share of half the width of that.
    pub overhang_share: f64,
    /// How far it hangs over until it is carved, mm.
    pub raw_overhang: f64,
}

/// A whole stack.
#[derive(Debug, Clone, PartialEq)]
pub struct Found {
    /// Slabs from the bottom up.
    pub slabs: Vec<PlacedSlab>,
    /// Bakes of each pan.
    pub bakes: Vec<u32>,
    /// Oven loads.
    pub loads: u32,
    /// What it costs, grams of offcut; what all stacks of this shape keep is not taken off.
    pub cost: f64,
    /// No stack costs less than this.
    pub bound: f64,
    /// Labels looked at.
    pub labels: usize,
}

impl Found {
    /// How much cheaper a stack could still be, by its cost; 0 when it is proved the cheapest.
    pub fn gap(&self) -> f64 {
        if self.bound >= self.cost - SAME { 0.0 } else { 1.0 - self.bound / self.cost }
    }
}

/// How far a search goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Effort {
    /// Labels kept at each height in the first pass.
    pub first: usize,
    /// Labels kept at each height in all later ones.
    pub last: usize,
    /// After so many comparisons of labels a pass keeps only a few at each height, so that it ends soon whatever is
    /// asked; what it drops is counted in its bound.
    pub comparisons: usize,
}

impl Effort {
    /// Enough for a good stack, seldom for the proof that it is the best.
    pub const SHORT: Self = Self { first: 24, last: 24, comparisons: 200_000 };
}

impl Default for Effort {
    fn default() -> Self {
        Self { first: 24, last: 5_000, comparisons: 8_000_000 }
    }
}

/// Searches `problem`; `None` if there is no stack at all.
///
/// # Errors
/// [`Cancelled`] once `cancel` asks to stop.
pub fn search(problem: &Problem<'_>, effort: Effort, cancel: &Cancel) -> Result<Option<Found>, Cancelled> {
    let mut passes = LabelSearch::new(problem, effort, cancel);
    let Some(root) = passes.root() else {
        cancel.check()?;
        return Ok(None);
    };
    let least = root.bound;
    let mut best = passes.run(effort.first, f64::INFINITY)?;
    let mut labels = passes.arena.len();
    let mut bound = least.max(passes.dropped.min(cost_of(&best)));
    if best.is_none()
        && passes.dropped < f64::INFINITY
        && is_feasible(problem, effort, cancel)? == Some(false)
    {
        return Ok(None);
    }
    let mut shares = CEILINGS.iter();
    while bound < cost_of(&best) - SAME {
        let Some(share) = shares.next() else { break };
        let known = cost_of(&best);
        let ceiling = if known.is_finite() { least + share * (known - least) } else { known };
        let found = passes.run(effort.last, ceiling)?;
        labels += passes.arena.len();
        // Nothing lies below the ceiling but what was found or dropped.
        bound = bound.max(passes.dropped.min(found.as_ref().map_or(ceiling, |found| found.cost)));
        best = found.or(best);
        if ceiling >= known {
            break;
        }
        // Under a higher ceiling there are still more to drop: only the last pass may find something.
        if passes.dropped < ceiling {
            shares = CEILINGS[CEILINGS.len() - 1..].iter();
        }
    }
    Ok(best.map(|best| Found { bound: bound.min(best.cost), labels, ..best }))
}

/// Passes look for stacks that cost no more than the least that any could, and so much of what the best known one costs
/// beyond that.
const CEILINGS: [f64; 4] = [0.25, 0.5, 0.75, 1.0];

fn cost_of(found: &Option<Found>) -> f64 {
    found.as_ref().map_or(f64::INFINITY, |found| found.cost)
}

/// What the cheapest stack costs at least, and at most where the first pass finds one; `None` if there is no stack at all.
///
/// # Errors
/// [`Cancelled`] once `cancel` asks to stop.
pub fn cost_range(
    problem: &Problem<'_>,
    effort: Effort,
    cancel: &Cancel,
) -> Result<Option<(f64, f64)>, Cancelled> {
    let mut pass = LabelSearch::new(problem, effort, cancel);
    let Some(root) = pass.root() else {
        cancel.check()?;
        return Ok(None);
    };
    let found = pass.run(effort.first, f64::INFINITY)?;
    Ok((found.is_some() || pass.dropped < f64::INFINITY).then(|| (root.bound, cost_of(&found))))
}

/// Whether there is a stack at all; `None` if the effort does not tell. Where nothing costs anything, one label dominates
/// nearly all others of its height.
///
/// # Errors
/// [`Cancelled`] once `cancel` asks to stop.
pub fn is_feasible(
    problem: &Problem<'_>,
    effort: Effort,
    cancel: &Cancel,
) -> Result<Option<bool>, Cancelled> {
    let free = problem.without_costs();
    let mut pass = LabelSearch::new(&free, effort, cancel);
    // Nearly always a few labels lead to one.
    if pass.run(effort.first, f64::INFINITY)?.is_some() {
        return Ok(Some(true));
    }
    if pass.dropped == f64::INFINITY {
        return Ok(Some(false));
    }
    let found = pass.run(effort.last, f64::INFINITY)?;
    Ok((found.is_some() || pass.dropped == f64::INFINITY).then_some(found.is_some()))
}

/// Any stack, and whether there is none if none was found.
///
/// # Errors
/// [`Cancelled`] once `cancel` asks to stop.
pub fn any_stack(
    problem: &Problem<'_>,
    effort: Effort,
    cancel: &Cancel,
) -> Result<(Option<Found>, bool), Cancelled> {
    let free = problem.without_costs();
    let mut pass = LabelSearch::new(&free, effort, cancel);
    let found = pass.run(effort.last, f64::INFINITY)?;
    Ok((found, pass.dropped == f64::INFINITY))
}
