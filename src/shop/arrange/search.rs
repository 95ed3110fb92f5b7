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

use std::collections::BTreeMap;

use smallvec::smallvec;

use super::{
    bound::{Bounds, PartialStack, Rest},
    graph::{Carrier, SlabChoice},
    label::{Bakes, Label, Rests, SAME, dominates, ways_to_cut},
    problem::{Problem, microns, mm},
};
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

impl Default for Effort {
    fn default() -> Self {
        Self { first: 24, last: 5_000, comparisons: 8_000_000 }
    }
}

/// Labels at a height are compared with so many cheaper ones.
const COMPARED: usize = 4000;

/// Labels kept at each height by a pass that has taken long.
const FEW: usize = 24;

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

struct LabelSearch<'a, 'p> {
    problem: &'a Problem<'p>,
    bounds: Bounds<'a, 'p>,
    cancel: &'a Cancel,
    arena: Vec<Label>,
    /// Rests that may still be of use, while a label is looked at.
    useful: Vec<Rest>,
    /// Least bound of all labels dropped beyond the limit.
    dropped: f64,
    /// Comparisons of labels in this pass, and from where on it is long.
    comparisons: usize,
    most_comparisons: usize,
}

impl<'a, 'p> LabelSearch<'a, 'p> {
    fn new(problem: &'a Problem<'p>, effort: Effort, cancel: &'a Cancel) -> Self {
        let most_comparisons = effort.comparisons;
        let bounds = Bounds::new(problem, cancel);
        Self {
            problem,
            bounds,
            cancel,
            arena: Vec::new(),
            useful: Vec::new(),
            dropped: f64::INFINITY,
            comparisons: 0,
            most_comparisons,
        }
    }

    /// One pass that extends at most `most` labels at each height and drops all that cannot come below `known`.
    fn run(&mut self, most: usize, known: f64) -> Result<Option<Found>, Cancelled> {
        self.arena.clear();
        self.dropped = f64::INFINITY;
        self.comparisons = 0;
        let problem = self.problem;
        let mut queue: BTreeMap<i32, Vec<u32>> = BTreeMap::new();
        let Some(root) = self.root() else {
            self.cancel.check()?;
            return Ok(None);
        };
        queue.insert(root.z, vec![0]);
        self.arena.push(root);
        let mut best: Option<(u32, f64)> = None;
        let mut known = known;
        while let Some((_, reached)) = queue.pop_first() {
            for label in self.undominated(reached, most, known)? {
                self.cancel.check()?;
                for made in self.extensions(label, known) {
                    if made.bound >= known - SAME {
                        continue;
                    }
                    let id = self.arena.len() as u32;
                    if made.carrier.is_none() {
                        known = made.bound;
                        best = Some((id, made.bound));
                    } else {
                        queue.entry(made.z).or_default().push(id);
                    }
                    self.arena.push(made);
                }
            }
        }
        // A bound that was broken off may have dropped what it should not.
        self.cancel.check()?;
        let Some((id, cost)) = best else { return Ok(None) };
        let bakes: Vec<u32> = self.arena[id as usize].bakes.iter().map(|n| u32::from(*n)).collect();
        let loads = problem.loads(&self.arena[id as usize].bakes);
        let bound = self.dropped.min(cost);
        Ok(Some(Found { slabs: self.slabs_up_to(id), bakes, loads, cost, bound, labels: self.arena.len() }))
    }

    /// The stack of which nothing is there but the foot; `None` if nothing comes of it.
    fn root(&mut self) -> Option<Label> {
        let problem = self.problem;
        let mut z = microns(problem.rules.from);
        let mut carrier = None;
        if problem.rules.foot > 0.0 {
            let foot = microns(problem.rules.foot);
            carrier = Some((problem.board_at(foot)?, true));
            z = foot + microns(problem.rules.board);
        }
        let bakes: Bakes = smallvec![0; problem.pans.len()];
        let on = if carrier.is_some() { Carrier::Board } else { Carrier::Foot };
        let made = PartialStack { z, foot: z, carrier: on, paid: 0.0, loads: 0.0, bakes: &bakes, rests: &[] };
        let bound = self.bounds.lower_bound(&made, f64::INFINITY);
        bound.is_finite().then(|| Label {
            z,
            foot: z,
            carrier,
            paid: 0.0,
            missing: 0.0,
            bakes,
            rests: Rests::new(),
            bound,
            parent: None,
            slab: None,
        })
    }

    /// The labels among `reached`, all at one height, that no other dominates, the least bound first; at most `most`.
    fn undominated(&mut self, mut reached: Vec<u32>, most: usize, known: f64) -> Result<Vec<u32>, Cancelled> {
        /// Labels between two looks at the request to stop.
        const PAUSE: usize = 64;
        let bound = |id: &u32| self.arena[*id as usize].bound;
        reached.retain(|id| bound(id) < known - SAME);
        reached.sort_by(|a, b| bound(a).total_cmp(&bound(b)).then(a.cmp(b)));
        let mut kept: Vec<u32> = Vec::new();
        // What tells at once that one of them does not dominate another, close together in memory.
        let mut keys: Vec<(i32, f64)> = Vec::new();
        for (count, id) in reached.into_iter().enumerate() {
            if count % PAUSE == 0 {
                self.cancel.check()?;
            }
            self.comparisons += keys.len().min(COMPARED);
            let is_long = self.comparisons > self.most_comparisons;
            let most = if is_long { most.min(FEW) } else { most };
            if kept.len() >= most && is_long {
                self.dropped = self.dropped.min(self.arena[id as usize].bound);
                break;
            }
            let label = &self.arena[id as usize];
            let mut candidates = keys
                .iter()
                .zip(&kept)
                .take(COMPARED)
                .filter(|((foot, paid), _)| *foot >= label.foot && *paid <= label.paid + SAME);
            if candidates.any(|(_, &other)| {
                dominates(self.problem, &self.bounds.prices, &self.arena[other as usize], label)
            }) {
                continue;
            }
            if kept.len() >= most {
                self.dropped = self.dropped.min(label.bound);
                // The bounds of all that follow are at least as great.
                break;
            }
            kept.push(id);
            keys.push((label.foot, label.paid));
        }
        Ok(kept)
    }

    /// Every label that `id` becomes with one more slab and that may come below `known`.
    fn extensions(&mut self, id: u32, known: f64) -> Vec<Label> {
        let problem = self.problem;
        let rules = &problem.rules;
        let every = microns(rules.board_every);
        let (filling, board) = (self.bounds.graph.filling, self.bounds.graph.board);
        let thinnest = self.bounds.graph.thinnest;
        let label = self.arena[id as usize].clone();
        let mut made = Vec::new();
        for &SlabChoice { pan, height, up, ref placed, missing, hangs, filled, ref boarded } in
            self.bounds.graph.choices(label.z).iter()
        {
            if up - label.foot > every {
                continue;
            }
            let ends = up >= self.bounds.graph.top;
            let mut missing = label.missing + missing;
            if ends && rules.shortfall > 0.0 {
                missing += problem.needs.volume() - problem.needs.volume_below(mm(up));
            }
            if missing > rules.shortfall + 1e-3 {
                continue;
            }
            let carved = match label.carrier {
                None => (0.0, 0.0),
                Some((_, false)) => hangs[0],
                // A board is stiff: how far the cake reaches past it is for the limit and the check to judge.
                Some((_, true)) => (0.0, hangs[1].1),
            };
            let raw = problem.raw_overhang(placed, label.carrier.as_ref().map(|c| &c.0));
            let Some(hangs) = problem.overhang_cost(placed, raw, carved) else { continue };
            // Another slab has to find room below the next board.
            let may_fill = !ends && up + filling + thinnest - label.foot <= every;
            for (rests, bought) in ways_to_cut(&self.bounds, &label, pan, height) {
                let mut bakes = label.bakes.clone();
                let mut paid = label.paid + hangs;
                if bought {
                    bakes[pan] = bakes[pan].saturating_add(1);
                    paid += self.bounds.prices[pan];
                }
                let loads = problem.loads(&bakes);
                if rules.most_loads.is_some_and(|most| loads > most) {
                    continue;
                }
                let next = Label {
                    z: up,
                    foot: label.foot,
                    carrier: None,
                    paid,
                    missing,
                    bakes,
                    rests,
                    bound: paid + rules.weights.load * f64::from(loads),
                    parent: Some(id),
                    slab: Some((pan as u8, height)),
                };
                if ends {
                    made.push(next);
                    continue;
                }
                if may_fill {
                    made.extend(self.with_seam(&next, up + filling, (placed, false), filled, known));
                }
                if let &Some((ref board_on_it, cost)) = boarded {
                    made.extend(self.with_seam(&next, up + board, (board_on_it, true), cost, known));
                }
            }
        }
        made
    }

    /// `label` with a seam of this cost on it, so that the next slab stands at `z`; `None` if it cannot come below
    /// `known`.
    fn with_seam(
        &mut self,
        label: &Label,
        z: i32,
        (carrier, is_board): (&Footprint, bool),
        seam: f64,
        known: f64,
    ) -> Option<Label> {
        if z >= self.bounds.graph.top {
            return None;
        }
        let foot = if is_board { z } else { label.foot };
        let paid = label.paid + seam;
        let (bounds, rests) = (&mut self.bounds, &mut self.useful);
        rests.clear();
        rests.extend(label.rests.iter().filter(|rest| bounds.is_useful(rest, z)));
        let loads = label.bound - label.paid;
        let (pan, _) = label.slab?;
        let on = if is_board { Carrier::Board } else { Carrier::Pan(pan) };
        let made = PartialStack { z, foot, carrier: on, paid, loads, bakes: &label.bakes, rests };
        let bound = bounds.lower_bound(&made, known);
        if bound >= known - SAME || !bound.is_finite() {
            return None;
        }
        Some(Label {
            z,
            foot,
            carrier: Some((carrier.clone(), is_board)),
            paid,
            missing: label.missing,
            bakes: label.bakes.clone(),
            rests: rests.as_slice().into(),
            bound,
            parent: label.parent,
            slab: label.slab,
        })
    }

    /// The slabs of the label `id`, from the bottom up.
    fn slabs_up_to(&self, id: u32) -> Vec<PlacedSlab> {
        let mut slabs = Vec::new();
        let mut at = id;
        loop {
            let label = &self.arena[at as usize];
            let (Some(parent), Some((pan, height))) = (label.parent, label.slab) else { break };
            let below = &self.arena[parent as usize];
            let (bottom, pan) = (mm(below.z), pan as usize);
            let height = mm(height);
            if let Some((footprint, _)) = self.problem.fit(pan, bottom, bottom + height) {
                let carrier = below.carrier.as_ref();
                let raw_overhang = self.problem.raw_overhang(&footprint, carrier.map(|c| &c.0));
                let board = carrier.filter(|c| c.1).map(|c| c.0.clone());
                let carved = || self.problem.carved_overhang((bottom, bottom + height), board.as_ref());
                let (overhang, overhang_share) = carrier.map_or((0.0, 0.0), |_| carved());
                slabs.push(PlacedSlab {
                    pan,
                    footprint,
                    bottom,
                    height,
                    board,
                    overhang,
                    overhang_share,
                    raw_overhang,
                });
            }
            at = parent;
        }
        slabs.reverse();
        slabs
    }
}
