//! The cheapest stack, and the proof that there is none cheaper.
//!
//! Stacks grow from the board up. A half-made stack is a label: its height, what its top carries on, where its
//! last board lies, how many bakes it took and what of them is still uncut. Heights only grow, so labels are
//! taken in the order of their heights, and all that reach a height are compared there: one that could be turned
//! into another at no cost (buying the bakes that the other has uncut) makes the other superfluous. A label is
//! also dropped when the least that must still be paid lifts it to the price of a stack that is known.
//!
//! How that least is known stands in the module `bound`.
//!
//! A first pass keeps only the best few labels at each height and gives a stack to beat. Later ones keep all of them,
//! up to a limit, that may come below a ceiling. It is low at first, since the labels below it grow many times faster
//! than it does: if there is a stack below it, the cheapest is found and proved at once, if not, it is raised, up to
//! the stack to beat. What had to be dropped beyond the limit bounds how much cheaper a stack could be.

use std::collections::BTreeMap;

use smallvec::{SmallVec, smallvec};

use super::{
    bound::{Bounds, Carrier, Made, Move, Rest},
    problem::{Problem, microns, mm},
};
use plan::design::Footprint;

/// One slab of a stack.
#[derive(Debug, Clone, PartialEq)]
pub struct Placed {
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
    /// How far it hangs over what carries it, mm.
    pub overhang: f64,
}

/// A whole stack.
#[derive(Debug, Clone, PartialEq)]
pub struct Found {
    /// Slabs from the bottom up.
    pub slabs: Vec<Placed>,
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
}

impl Default for Effort {
    fn default() -> Self {
        Self { first: 24, last: 5_000 }
    }
}

/// Costs closer than this are one, g.
const SAME: f64 = 1e-6;
/// Half-made stacks at a height are compared with so many cheaper ones.
const COMPARED: usize = 4000;

/// How many bakes of each pan.
type Bakes = SmallVec<[u8; 16]>;

/// Uncut rests, sorted by pan, the highest of each first.
type Rests = SmallVec<[Rest; 6]>;

#[derive(Debug, Clone)]
struct Label {
    /// Height of the underside of the next slab, micrometres; the top of a stack that is whole.
    z: i32,
    /// Height of the last board's top, micrometres.
    foot: i32,
    /// What the next slab lies on, and whether that is a board under it.
    carrier: Option<(Footprint, bool)>,
    /// Everything paid but oven loads.
    paid: f64,
    /// What is missing of the shape, mm³.
    missing: f64,
    bakes: Bakes,
    rests: Rests,
    /// Paid, loads, and the least that must still be paid.
    least: f64,
    parent: Option<u32>,
    slab: Option<(u8, i32)>,
}

/// Searches `problem`; `None` if there is no stack at all.
pub fn search(problem: &Problem<'_>, effort: Effort) -> Option<Found> {
    let mut sweep = Sweep::new(problem);
    let least = sweep.start()?.least;
    let mut best = sweep.run(effort.first, f64::INFINITY);
    let mut labels = sweep.arena.len();
    let mut bound = least.max(sweep.dropped.min(cost_of(&best)));
    if best.is_none() && sweep.dropped < f64::INFINITY && is_possible(problem, effort) == Some(false) {
        return None;
    }
    let mut shares = CEILINGS.iter();
    while bound < cost_of(&best) - SAME {
        let Some(share) = shares.next() else { break };
        let known = cost_of(&best);
        let ceiling = if known.is_finite() { least + share * (known - least) } else { known };
        let found = sweep.run(effort.last, ceiling);
        labels += sweep.arena.len();
        // Nothing lies below the ceiling but what was found or dropped.
        bound = bound.max(sweep.dropped.min(found.as_ref().map_or(ceiling, |found| found.cost)));
        best = found.or(best);
        if ceiling >= known {
            break;
        }
        // Under a higher ceiling there are still more to drop: only the last pass may find something.
        if sweep.dropped < ceiling {
            shares = CEILINGS[CEILINGS.len() - 1..].iter();
        }
    }
    best.map(|best| Found { bound: bound.min(best.cost), labels, ..best })
}

/// Passes look for stacks that cost no more than the least that any could, and so much of what the best known one costs
/// beyond that.
const CEILINGS: [f64; 4] = [0.25, 0.5, 0.75, 1.0];

fn cost_of(found: &Option<Found>) -> f64 {
    found.as_ref().map_or(f64::INFINITY, |found| found.cost)
}

/// Whether there is a stack at all; `None` if the effort does not tell. Where nothing costs anything, one half-made stack
/// stands for nearly all others of its height.
pub fn is_possible(problem: &Problem<'_>, effort: Effort) -> Option<bool> {
    let free = problem.free();
    let mut sweep = Sweep::new(&free);
    let found = sweep.run(effort.last, f64::INFINITY).is_some();
    (found || sweep.dropped == f64::INFINITY).then_some(found)
}

struct Sweep<'a, 'p> {
    problem: &'a Problem<'p>,
    bounds: Bounds<'a, 'p>,
    arena: Vec<Label>,
    /// Rests that may still be of use, while a label is looked at.
    useful: Vec<Rest>,
    /// Least of all labels dropped for want of room.
    dropped: f64,
}

impl<'a, 'p> Sweep<'a, 'p> {
    fn new(problem: &'a Problem<'p>) -> Self {
        let bounds = Bounds::new(problem);
        Self { problem, bounds, arena: Vec::new(), useful: Vec::new(), dropped: f64::INFINITY }
    }

    /// One pass that keeps `most` labels at each height and drops all that cannot come below `known`.
    fn run(&mut self, most: usize, known: f64) -> Option<Found> {
        self.arena.clear();
        self.dropped = f64::INFINITY;
        let problem = self.problem;
        let mut queue: BTreeMap<i32, Vec<u32>> = BTreeMap::new();
        let start = self.start()?;
        queue.insert(start.z, vec![0]);
        self.arena.push(start);
        let mut best: Option<(u32, f64)> = None;
        let mut known = known;
        while let Some((_, reached)) = queue.pop_first() {
            for label in self.kept(reached, most, known) {
                for made in self.grown(label, known) {
                    if made.least >= known - SAME {
                        continue;
                    }
                    let id = self.arena.len() as u32;
                    if made.carrier.is_none() {
                        known = made.least;
                        best = Some((id, made.least));
                    } else {
                        queue.entry(made.z).or_default().push(id);
                    }
                    self.arena.push(made);
                }
            }
        }
        let (id, cost) = best?;
        let bakes: Vec<u32> = self.arena[id as usize].bakes.iter().map(|n| u32::from(*n)).collect();
        let loads = problem.loads(&self.arena[id as usize].bakes);
        let bound = self.dropped.min(cost);
        Some(Found { slabs: self.traced(id), bakes, loads, cost, bound, labels: self.arena.len() })
    }

    fn start(&mut self) -> Option<Label> {
        let problem = self.problem;
        let mut z = 0;
        let mut carrier = None;
        if problem.rules.foot > 0.0 {
            let foot = microns(problem.rules.foot);
            carrier = Some((problem.board_at(foot)?, true));
            z = foot + microns(problem.rules.board);
        }
        let bakes: Bakes = smallvec![0; problem.pans.len()];
        let on = if carrier.is_some() { Carrier::Board } else { Carrier::Foot };
        let made = Made { z, foot: z, carrier: on, paid: 0.0, loads: 0.0, bakes: &bakes, rests: &[] };
        let least = self.bounds.least(&made, f64::INFINITY);
        least.is_finite().then(|| Label {
            z,
            foot: z,
            carrier,
            paid: 0.0,
            missing: 0.0,
            bakes,
            rests: Rests::new(),
            least,
            parent: None,
            slab: None,
        })
    }

    /// The labels at one height that are worth going on with, the most promising first.
    fn kept(&mut self, mut reached: Vec<u32>, most: usize, known: f64) -> Vec<u32> {
        let least = |id: &u32| self.arena[*id as usize].least;
        reached.retain(|id| least(id) < known - SAME);
        reached.sort_by(|a, b| least(a).total_cmp(&least(b)).then(a.cmp(b)));
        let mut kept: Vec<u32> = Vec::new();
        // What tells at a glance whether one of them may stand for another, close together in memory.
        let mut glances: Vec<(i32, f64)> = Vec::new();
        for id in reached {
            let label = &self.arena[id as usize];
            let mut worth_a_look = glances
                .iter()
                .zip(&kept)
                .take(COMPARED)
                .filter(|((foot, paid), _)| *foot >= label.foot && *paid <= label.paid + SAME);
            if worth_a_look.any(|(_, other)| self.stands_for(&self.arena[*other as usize], label)) {
                continue;
            }
            if kept.len() >= most {
                self.dropped = self.dropped.min(label.least);
                // All that follow cost at least as much.
                break;
            }
            kept.push(id);
            glances.push((label.foot, label.paid));
        }
        kept
    }

    /// Whether whatever `b` becomes, `a` can become at no more cost.
    fn stands_for(&self, a: &Label, b: &Label) -> bool {
        if a.foot < b.foot || a.missing > b.missing + 1e-9 || a.paid > b.paid + SAME {
            return false;
        }
        let mut extra = [0u8; MOST_PANS];
        let mut price = a.paid;
        let (mut i, mut j) = (0, 0);
        // Rests are sorted by pan, the highest first.
        while let Some(&(pan, want)) = b.rests.get(j) {
            match a.rests.get(i) {
                Some(&(have_pan, _)) if have_pan < pan => i += 1,
                Some(&(have_pan, have)) if have_pan == pan && have >= want => {
                    i += 1;
                    j += 1;
                }
                _ => {
                    extra[pan as usize] += 1;
                    price += self.bounds.prices[pan as usize];
                    if price > b.paid + SAME {
                        return false;
                    }
                    j += 1;
                }
            }
        }
        let at_once = self.problem.rules.at_once.max(1);
        let mut more = 0;
        let mut total = 0;
        for (p, pan) in self.problem.pans.iter().enumerate() {
            let difference = i32::from(a.bakes[p]) + i32::from(extra[p]) - i32::from(b.bakes[p]);
            total += difference;
            // As many pans of a size as bake at once never hold a load up.
            if pan.count < at_once {
                more = more.max((difference.max(0) as u32).div_ceil(pan.count.max(1)));
            }
        }
        more = more.max((total.max(0) as u32).div_ceil(at_once));
        if more > 0 && self.problem.rules.most_loads.is_some() {
            return false;
        }
        price + self.problem.rules.weights.load * f64::from(more) <= b.paid + SAME && carries_as_well(a, b)
    }

    /// Every label that `id` becomes with one more slab and that may come below `known`.
    fn grown(&mut self, id: u32, known: f64) -> Vec<Label> {
        let problem = self.problem;
        let rules = &problem.rules;
        let every = microns(rules.board_every);
        let (filling, board) = (self.bounds.filling, self.bounds.board);
        let thinnest = self.bounds.thinnest;
        let label = self.arena[id as usize].clone();
        let mut made = Vec::new();
        for &Move { pan, height, up, placed, missing, filled, boarded } in self.bounds.moves(label.z).iter() {
            if up - label.foot > every {
                continue;
            }
            let ends = up >= self.bounds.top;
            let mut missing = label.missing + missing;
            if ends && rules.shortfall > 0.0 {
                missing += problem.needs.volume() - problem.needs.volume_below(mm(up));
            }
            if missing > rules.shortfall + 1e-3 {
                continue;
            }
            let (over, share) = problem.overhang(&placed, label.carrier.as_ref().map(|c| &c.0));
            let Some(hangs) = problem.overhang_cost(over, share) else { continue };
            // Another slab has to find room below the next board.
            let may_fill = !ends && up + filling + thinnest - label.foot <= every;
            for (rests, bought) in self.cuts(&label, pan, height) {
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
                    least: paid + rules.weights.load * f64::from(loads),
                    parent: Some(id),
                    slab: Some((pan as u8, height)),
                };
                if ends {
                    made.push(next);
                    continue;
                }
                if may_fill {
                    made.extend(self.after(&next, up + filling, (placed, false), filled, known));
                }
                if let Some((board_on_it, cost)) = boarded {
                    made.extend(self.after(&next, up + board, (board_on_it, true), cost, known));
                }
            }
        }
        made
    }

    /// `label` with a seam of this cost on it, so that the next slab stands at `z`; `None` if it cannot come below
    /// `known`.
    fn after(
        &mut self,
        label: &Label,
        z: i32,
        carrier: (Footprint, bool),
        seam: f64,
        known: f64,
    ) -> Option<Label> {
        if z >= self.bounds.top {
            return None;
        }
        let foot = if carrier.1 { z } else { label.foot };
        let paid = label.paid + seam;
        let (bounds, rests) = (&mut self.bounds, &mut self.useful);
        rests.clear();
        rests.extend(label.rests.iter().filter(|rest| bounds.is_useful(rest, z)));
        let loads = label.least - label.paid;
        let (pan, _) = label.slab?;
        let on = if carrier.1 { Carrier::Board } else { Carrier::Pan(pan) };
        let made = Made { z, foot, carrier: on, paid, loads, bakes: &label.bakes, rests };
        let least = bounds.least(&made, known);
        if least >= known - SAME || !least.is_finite() {
            return None;
        }
        Some(Label {
            z,
            foot,
            carrier: Some(carrier),
            paid,
            missing: label.missing,
            bakes: label.bakes.clone(),
            rests: rests.as_slice().into(),
            least,
            parent: label.parent,
            slab: label.slab,
        })
    }

    /// Every way to cut a slab of pan `p`: from a rest, or from a new bake. What is left is kept if it will give
    /// another slab.
    fn cuts(&self, label: &Label, p: usize, height: i32) -> Vec<(Rests, bool)> {
        let useful = |rest: i32| !self.problem.is_dome(p) && rest >= self.bounds.thinnest;
        let with = |without: Option<usize>, rest: i32| -> Rests {
            let others = label.rests.iter().enumerate().filter(|(i, _)| Some(*i) != without);
            let mut rests: Rests = others.map(|(_, rest)| *rest).collect();
            if useful(rest) {
                rests.push((p as u8, rest));
                rests.sort_unstable_by_key(|&(pan, rest)| (pan, std::cmp::Reverse(rest)));
            }
            rests
        };
        let mut ways = Vec::new();
        let mut seen = 0;
        for (i, &(pan, rest)) in label.rests.iter().enumerate() {
            if pan as usize != p || rest < height || rest == seen {
                continue;
            }
            seen = rest;
            ways.push((with(Some(i), rest - height), false));
            if rest == height {
                // Nothing is better than a rest that is used up: the others stay as they are.
                return vec![(with(Some(i), 0), false)];
            }
        }
        ways.push((with(None, self.bounds.levels[p] - height), true));
        ways
    }

    fn traced(&self, id: u32) -> Vec<Placed> {
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
                let (overhang, _) = self.problem.overhang(&footprint, carrier.map(|c| &c.0));
                let board = carrier.filter(|c| c.1).map(|c| c.0);
                slabs.push(Placed { pan, footprint, bottom, height, board, overhang });
            }
            at = parent;
        }
        slabs.reverse();
        slabs
    }
}

/// Whether what `a` ends in carries all that what `b` ends in carries.
fn carries_as_well(a: &Label, b: &Label) -> bool {
    match (&a.carrier, &b.carrier) {
        (Some((a, _)), Some((b, _))) => a == b || b.reach_beyond(a) <= 1e-9,
        (None, _) => true,
        (Some(_), None) => false,
    }
}

/// The most pans that a search takes.
pub const MOST_PANS: usize = 64;
