//! Lower bounds on what a partial stack must still cost.
//!
//! Two relaxations, of which the greater bound counts; both are recursions over heights (dynamic programming). The
//! first combines two valid inequalities on the bakes of a pan: they are at least one, if the pan is used at all, and
//! at least what its slabs amount to. A slab amounts to its share of a bake where something else can still be cut
//! from the rest, and to a whole bake where nothing can (a dual-feasible function of Fekete and Schepers), so an uncut
//! rest is worth at most its share. The second counts whole bakes: for every price the bakes that cost as much or more
//! are counted, rounded up, and the counts added up by the steps from price to price; boards are as many as the height
//! asks for.

use std::rc::Rc;

use rustc_hash::FxHashMap;
use smallvec::SmallVec;

use super::{
    graph::{Edge, Graph, Node},
    problem::{Problem, microns, mm},
};
use geom::Cancel;

/// The uncut rest of a bake: its pan and its height in micrometres.
pub type Rest = (u8, i32);

/// What of the cost of a bake is charged for the pan being used at all, the rest by shares; and whether oven
/// loads are counted in.
const MIXES: [(f64, bool); 6] =
    [(0.0, false), (0.5, false), (1.0, false), (0.0, true), (0.5, true), (1.0, true)];

/// The least that must be paid, by each of [`MIXES`].
type LowerBounds = [f64; MIXES.len()];

/// A slab upon a node with what it costs by each of [`MIXES`], hanging over counted in.
struct PricedEdge {
    edge: Edge,
    /// The bit of its pan.
    bit: u32,
    /// Where its pan has no uncut rest, and may be charged for being used at all.
    fresh: LowerBounds,
    /// Where it has one.
    again: LowerBounds,
}

/// The least that must be paid from nodes on, by the bits of the pans that have uncut rests.
struct Remaining {
    /// Sets of pans.
    sets: usize,
    /// For each node the place in `found` of what is known for each set, or [`UNKNOWN`]; while there are few sets.
    places: Vec<Box<[u32]>>,
    /// The same where there are many.
    sparse: FxHashMap<(Node, u32), u32>,
    found: Vec<LowerBounds>,
}

/// Nothing is known.
const UNKNOWN: u32 = u32::MAX;

/// Up to so many sets of pans there is a list of all of them for each node.
const FEW_SETS: usize = 1 << 10;

impl Remaining {
    /// Nothing is known yet; of so many pans.
    fn new(pans: usize) -> Self {
        let sets = 1 << pans.min(16);
        Self { sets, places: Vec::new(), sparse: FxHashMap::default(), found: Vec::new() }
    }

    fn get(&self, node: Node, rested: u32) -> Option<LowerBounds> {
        let place = if self.sets <= FEW_SETS {
            *self.places.get(node as usize)?.get(rested as usize)?
        } else {
            *self.sparse.get(&(node, rested))?
        };
        self.found.get(place as usize).copied()
    }

    fn insert(&mut self, node: Node, rested: u32, least: LowerBounds) {
        let place = self.found.len() as u32;
        self.found.push(least);
        if self.sets > FEW_SETS {
            self.sparse.insert((node, rested), place);
            return;
        }
        let node = node as usize;
        self.places.resize(self.places.len().max(node + 1), Box::default());
        if self.places[node].is_empty() {
            self.places[node] = vec![UNKNOWN; self.sets].into();
        }
        self.places[node][rested as usize] = place;
    }
}

/// A partial stack, as far as its bounds go.
pub struct PartialStack<'a> {
    /// Where the next slab stands; `None` where the stack has reached its top.
    pub node: Option<Node>,
    /// Height of the last board's top, micrometres.
    pub foot: i32,
    /// Everything paid but oven loads.
    pub paid: f64,
    /// Oven loads that its bakes take by themselves, as a cost.
    pub loads: f64,
    /// Bakes of each pan.
    pub bakes: &'a [u8],
    /// Rests that may still be of use.
    pub rests: &'a [Rest],
}

/// What is known of the rest of a stack from each node on.
pub struct Bounds<'a, 'p> {
    /// Heights, carriers and slabs.
    pub graph: Graph<'a, 'p>,
    cancel: &'a Cancel,
    /// Cost of a bake of each pan.
    pub prices: Vec<f64>,
    /// Cost of an oven load, shared by as many bakes as it holds.
    each_load: f64,
    /// Prices of bakes from the lowest up, and how much more each is than the one before.
    classes: Vec<(f64, f64)>,
    /// Height from which no slab of a pan fits any more.
    last_use: Vec<i32>,
    /// Least that must be paid from a node on, by the pans that have uncut rests.
    remaining: Remaining,
    /// Slabs upon each node that was looked at, with what they cost.
    priced: Vec<Option<Rc<[PricedEdge]>>>,
    /// From a node on: for each class the least that slabs of it or a dearer one amount to, in bakes; and last the
    /// least that seams and overhangs cost, with and without the boards' own.
    counts: Vec<Option<Rc<[f64]>>>,
}

impl<'a, 'p> Bounds<'a, 'p> {
    /// Nothing is known yet.
    pub fn new(problem: &'a Problem<'p>, cancel: &'a Cancel) -> Self {
        let count = problem.pans.len();
        let prices: Vec<f64> = (0..count).map(|p| problem.bake_cost(p)).collect();
        let mut classes = prices.clone();
        classes.sort_by(f64::total_cmp);
        classes.dedup();
        let steps = std::iter::once(0.0).chain(classes.iter().copied());
        let classes: Vec<(f64, f64)> =
            classes.iter().zip(steps).map(|(price, below)| (*price, price - below)).collect();
        Self {
            graph: Graph::new(problem),
            cancel,
            prices,
            each_load: problem.rules.weights.load / f64::from(problem.rules.at_once.max(1)),
            classes,
            last_use: (0..count).map(|p| last_use(problem, p)).collect(),
            remaining: Remaining::new(count),
            priced: Vec::new(),
            counts: Vec::new(),
        }
    }

    /// Whether a rest can still be of use from height `z` on.
    pub fn is_useful(&self, rest: &Rest, z: i32) -> bool {
        z < self.last_use[rest.0 as usize]
    }

    /// The least that `made` costs in the end; infinite if nothing comes of it. What lies above `incumbent` may be any
    /// number above it.
    pub fn lower_bound(&mut self, made: &PartialStack<'_>, incumbent: f64) -> f64 {
        let mut least = made.paid + made.loads;
        if least >= incumbent {
            return least;
        }
        let rested = made.rests.iter().fold(0, |bits, rest| bits | self.bit(rest.0 as usize));
        let remaining = self.shares_from(made.node, rested);
        let each_load = self.each_load;
        let mut worth = [0.0; 2];
        // Price of a bake of the pan of each rest, and what part of one it is.
        let mut rests: SmallVec<[(f64, f64); 12]> = SmallVec::new();
        for &(p, rest) in made.rests {
            let share = f64::from(rest) / f64::from(self.graph.levels[p as usize]);
            let price = self.prices[p as usize];
            worth[0] += share * price;
            worth[1] += share * (price + each_load);
            rests.push((price, share));
        }
        let total: u32 = made.bakes.iter().map(|n| u32::from(*n)).sum();
        // Loads that are paid already, or as many as all bakes fill.
        let filled = each_load * f64::from(total);
        for (i, (mix, loads)) in MIXES.iter().enumerate() {
            let (base, worth) = if *loads { (filled, worth[1]) } else { (made.loads, worth[0]) };
            least = least.max(made.paid + base + remaining[i] - mix * worth);
        }
        if least >= incumbent { least } else { least.max(made.paid + self.whole_bakes(made, &rests)) }
    }

    /// Whether bakes of pan `p` cost nothing, however many there are.
    pub fn is_free(&self, p: usize) -> bool {
        let limited = self.graph.problem.rules.most_loads.is_some();
        !limited && self.prices[p] + self.each_load <= 0.0
    }

    /// The bit of a pan among those that have rests. Pans beyond the sixteenth have none and are never charged for
    /// being used at all; nor are those that cost nothing.
    fn bit(&self, p: usize) -> u32 {
        if p < 16 && self.prices[p] + self.each_load > 0.0 { 1 << p } else { 0 }
    }

    /// The least that must be paid from `node` on, what `rested` pans have uncut not yet taken off.
    fn shares_from(&mut self, node: Option<Node>, rested: u32) -> LowerBounds {
        // Past the top nothing must be paid. What is asked to stop is thrown away, and not kept.
        let Some(node) = node.filter(|_| !self.cancel.is_cancelled()) else { return [0.0; MIXES.len()] };
        if let Some(known) = self.remaining.get(node, rested) {
            return known;
        }
        let mut least = [f64::INFINITY; MIXES.len()];
        for PricedEdge { edge, bit, fresh, again } in self.priced(node).iter() {
            let slab = if *bit != 0 && rested & bit == 0 { fresh } else { again };
            let rest = if edge.ends {
                [0.0; MIXES.len()]
            } else {
                let with = rested | bit;
                let (on_filling, cost) = edge.filled;
                let mut rest = self.shares_from(on_filling, with).map(|least| least + cost);
                if let Some((on_board, cost)) = edge.boarded {
                    let on_board = self.shares_from(on_board, with);
                    rest = std::array::from_fn(|i| rest[i].min(on_board[i] + cost));
                }
                rest
            };
            for i in 0..MIXES.len() {
                least[i] = least[i].min(slab[i] + rest[i]);
            }
        }
        if !self.cancel.is_cancelled() {
            self.remaining.insert(node, rested, least);
        }
        least
    }

    /// Every slab that may stand upon a node, with what it costs.
    fn priced(&mut self, node: Node) -> Rc<[PricedEdge]> {
        let place = node as usize;
        if let Some(Some(known)) = self.priced.get(place) {
            return Rc::clone(known);
        }
        let edges = self.graph.edges(node);
        let priced = edges.iter().map(|&edge| {
            let cost = |is_fresh: bool| {
                MIXES.map(|(mix, loads)| {
                    let price = self.prices[edge.pan] + if loads { self.each_load } else { 0.0 };
                    price * (mix * edge.share + if is_fresh { 1.0 - mix } else { 0.0 }) + edge.overhang
                })
            };
            PricedEdge { edge, bit: self.bit(edge.pan), fresh: cost(true), again: cost(false) }
        });
        let priced: Rc<[PricedEdge]> = priced.collect();
        self.priced.resize(self.priced.len().max(place + 1), None);
        self.priced[place] = Some(Rc::clone(&priced));
        priced
    }

    /// From `node` on: for each class the least that slabs of it or a dearer one amount to, the least that seams cost,
    /// and the least that they cost without the boards' own.
    fn counts_from(&mut self, node: Option<Node>) -> Rc<[f64]> {
        let count = self.classes.len();
        let Some(node) = node.filter(|_| !self.cancel.is_cancelled()) else {
            return vec![0.0; count + 2].into();
        };
        if let Some(Some(known)) = self.counts.get(node as usize) {
            return Rc::clone(known);
        }
        let mut least = vec![f64::INFINITY; count + 2];
        let board_weight = self.graph.problem.rules.weights.board;
        for edge in self.graph.edges(node).iter() {
            let price = self.prices[edge.pan];
            let filled = self.counts_from(edge.filled.0);
            let boarded = edge.boarded.map(|(node, cost)| (self.counts_from(node), cost));
            let least_of = |i: usize, filling: f64, board: f64| {
                let on_board = boarded.as_ref().map_or(f64::INFINITY, |(least, _)| least[i] + board);
                if edge.ends { 0.0 } else { (filled[i] + filling).min(on_board) }
            };
            for (i, (class, _)) in self.classes.iter().enumerate() {
                let share = if price >= *class { edge.share } else { 0.0 };
                least[i] = least[i].min(least_of(i, 0.0, 0.0) + share);
            }
            let cost = boarded.as_ref().map_or(0.0, |(_, cost)| *cost);
            let seams = least_of(count, edge.filled.1, cost);
            let bare = least_of(count + 1, edge.filled.1, cost - board_weight);
            least[count] = least[count].min(seams + edge.overhang);
            least[count + 1] = least[count + 1].min(bare + edge.overhang);
        }
        let least: Rc<[f64]> = least.into();
        if !self.cancel.is_cancelled() {
            let place = node as usize;
            self.counts.resize(self.counts.len().max(place + 1), None);
            self.counts[place] = Some(Rc::clone(&least));
        }
        least
    }

    /// The least that whole bakes, seams and oven loads cost from where `made` has come to, loads paid before counted in;
    /// `rests` are its rests with their prices and shares.
    fn whole_bakes(&mut self, made: &PartialStack<'_>, rests: &[(f64, f64)]) -> f64 {
        let counts = self.counts_from(made.node);
        let rules = &self.graph.problem.rules;
        let total: u32 = made.bakes.iter().map(|n| u32::from(*n)).sum();
        // As many boards as the height above the last one asks for.
        let (every, board) = (microns(rules.board_every), self.graph.board);
        let boards = (self.graph.top - made.foot - every).max(0).div_euclid(every + board)
            + i32::from((self.graph.top - made.foot - every).max(0).rem_euclid(every + board) > 0);
        let bare = counts[self.classes.len() + 1] + rules.weights.board * f64::from(boards);
        let mut cost = counts[self.classes.len()].max(bare);
        for (i, (class, step)) in self.classes.iter().enumerate() {
            let worth: f64 = rests.iter().filter(|(price, _)| price >= class).map(|(_, share)| share).sum();
            let bakes = (counts[i] - worth - 1e-9).ceil().max(0.0);
            cost += step * bakes;
            if i == 0 {
                let filled = ((f64::from(total) + bakes) / f64::from(rules.at_once.max(1))).ceil();
                cost += (rules.weights.load * filled).max(made.loads);
            }
        }
        cost
    }
}

/// The height, micrometres, from which no slab of pan `p` fits any more.
fn last_use(problem: &Problem<'_>, p: usize) -> i32 {
    if problem.is_dome(p) {
        return 0;
    }
    let (needs, thinnest) = (problem.needs, mm(problem.thinnest()));
    // A slab that begins in a cell holds at least the cells that lie wholly above its beginning and below its top.
    let begins = (0..needs.count()).rev().find(|&i| {
        let (low, above) = needs.heights(i);
        let high = low + thinnest;
        above >= high || problem.fit(p, above, high.min(needs.height)).is_some()
    });
    begins.map_or(0, |i| microns(needs.heights(i).1))
}
