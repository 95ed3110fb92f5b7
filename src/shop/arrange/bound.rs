//! The least that a half-made stack must still cost.
//!
//! Two bounds, of which the greater counts. The first mixes two truths about the bakes of a pan: they are at least
//! one, if the pan is used at all, and at least what its slabs amount to. A slab amounts to its share of a bake where
//! something else can still be cut from the rest, and to a whole bake where nothing can (a dual-feasible function of
//! Fekete and Schepers), so an uncut rest is worth at most its share. The second counts whole bakes: for every price
//! the bakes that cost as much or more are counted, rounded up, and the counts added up by the steps from price to
//! price; boards are as many as the height asks for.

use std::rc::Rc;

use rustc_hash::FxHashMap;

use super::problem::{Problem, microns, mm};
use plan::design::Footprint;

/// The uncut rest of a bake: its pan and its height in micrometres.
pub type Rest = (u8, i32);

/// A slab that fits at a height.
#[derive(Debug, Clone, Copy)]
pub struct Move {
    /// Its pan.
    pub pan: usize,
    /// Its height, micrometres.
    pub height: i32,
    /// Height of its top, micrometres.
    pub up: i32,
    /// Where it stands.
    pub placed: Footprint,
    /// What of the shape it leaves out, mm³.
    pub missing: f64,
    /// What a filling on it costs.
    pub filled: f64,
    /// A board on it and what that costs; `None` where none fits.
    pub boarded: Option<(Footprint, f64)>,
}

/// What of the cost of a bake is charged for the pan being used at all, the rest by shares; and whether oven
/// loads are counted in.
const MIXES: [(f64, bool); 6] =
    [(0.0, false), (0.5, false), (1.0, false), (0.0, true), (0.5, true), (1.0, true)];

/// The least that must be paid, by each mix.
type Least = [f64; MIXES.len()];

/// What a slab lies on, as far as bounds go.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Carrier {
    /// The presentation board.
    Foot,
    /// A board that ends where the slab begins.
    Board,
    /// A slab of this pan, wherever it stands.
    Pan(u8),
}

/// A half-made stack, as far as its bounds go.
pub struct Made<'a> {
    /// Height of the underside of the next slab, micrometres.
    pub z: i32,
    /// Height of the last board's top, micrometres.
    pub foot: i32,
    /// What the next slab lies on.
    pub carrier: Carrier,
    /// Everything paid but oven loads.
    pub paid: f64,
    /// Oven loads that its bakes take by themselves, as a cost.
    pub loads: f64,
    /// Bakes of each pan.
    pub bakes: &'a [u8],
    /// Rests that may still be of use.
    pub rests: &'a [Rest],
}

/// What is known of the rest of a stack from each height on.
pub struct Bounds<'a, 'p> {
    /// The problem.
    pub problem: &'a Problem<'p>,
    /// Height that the stack must reach, micrometres.
    pub top: i32,
    step: i32,
    /// Thickness of a filling, micrometres.
    pub filling: i32,
    /// Thickness of a board, micrometres.
    pub board: i32,
    /// The thinnest slab, micrometres.
    pub thinnest: i32,
    /// Height of a levelled bake of each pan, micrometres.
    pub levels: Vec<i32>,
    /// Heights of ledges.
    ledges: Vec<i32>,
    /// Cost of a bake of each pan.
    pub prices: Vec<f64>,
    /// Prices of bakes from the lowest up, and how much more each is than the one before.
    classes: Vec<(f64, f64)>,
    /// How far slabs of each pan reach from their middles, mm.
    reaches: Vec<f64>,
    /// Height from which no slab of a pan fits any more.
    last_use: Vec<i32>,
    moves: FxHashMap<i32, Rc<[Move]>>,
    /// Least that must be paid from a height on, by what carries the rest and by the pans that have uncut rests.
    to_go: FxHashMap<(i32, Carrier, u32), Least>,
    /// From a height on, by what carries the rest: for each class the least that slabs of it or a dearer one amount
    /// to, in bakes; and last the least that seams and overhangs cost, with and without the boards' own.
    counts: FxHashMap<(i32, Carrier), Rc<[f64]>>,
}

impl<'a, 'p> Bounds<'a, 'p> {
    /// Nothing is known yet.
    pub fn new(problem: &'a Problem<'p>) -> Self {
        let count = problem.pans.len();
        let prices: Vec<f64> = (0..count).map(|p| problem.bake_cost(p)).collect();
        let mut classes = prices.clone();
        classes.sort_by(f64::total_cmp);
        classes.dedup();
        let steps = std::iter::once(0.0).chain(classes.iter().copied());
        let classes: Vec<(f64, f64)> =
            classes.iter().zip(steps).map(|(price, below)| (*price, price - below)).collect();
        Self {
            problem,
            top: microns(problem.top()),
            step: microns(problem.rules.step),
            filling: microns(problem.rules.filling),
            board: microns(problem.rules.board),
            thinnest: problem.thinnest(),
            levels: (0..count).map(|p| problem.level(p)).collect(),
            ledges: problem.needs.ledges().iter().map(|z| microns(*z)).collect(),
            prices,
            classes,
            reaches: problem.pans.iter().map(|pan| pan.shape.reach()).collect(),
            last_use: (0..count).map(|p| last_use(problem, p)).collect(),
            moves: FxHashMap::default(),
            to_go: FxHashMap::default(),
            counts: FxHashMap::default(),
        }
    }

    /// Whether a rest can still be of use from height `z` on.
    pub fn is_useful(&self, rest: &Rest, z: i32) -> bool {
        z < self.last_use[rest.0 as usize]
    }

    /// The least that `made` costs in the end; infinite if nothing comes of it. What lies above `known` may be told
    /// as anything above it.
    pub fn least(&mut self, made: &Made<'_>, known: f64) -> f64 {
        let rested = made.rests.iter().fold(0, |bits, rest| bits | Self::bit(rest.0 as usize));
        let to_go = self.least_from(made.z, made.carrier, rested);
        let each_load = self.problem.rules.weights.load / f64::from(self.problem.rules.at_once.max(1));
        let mut worth = [0.0; 2];
        for &(p, rest) in made.rests {
            let share = f64::from(rest) / f64::from(self.levels[p as usize]);
            worth[0] += share * self.prices[p as usize];
            worth[1] += share * (self.prices[p as usize] + each_load);
        }
        let total: u32 = made.bakes.iter().map(|n| u32::from(*n)).sum();
        // Loads that are paid already, or as many as all bakes fill.
        let filled = each_load * f64::from(total);
        let mut least = made.paid + made.loads;
        for (i, (mix, loads)) in MIXES.iter().enumerate() {
            let (base, worth) = if *loads { (filled, worth[1]) } else { (made.loads, worth[0]) };
            least = least.max(made.paid + base + to_go[i] - mix * worth);
        }
        if least >= known { least } else { least.max(made.paid + self.whole_from(made)) }
    }

    /// Heights that a slab of pan `p` at height `z` may have, in micrometres, the lowest first: whole steps, and
    /// what reaches just to a ledge of the shape. The last of them may end the stack.
    fn heights(&self, p: usize, z: i32) -> Vec<i32> {
        let (thinnest, level) = (self.thinnest, self.levels[p]);
        if self.problem.is_dome(p) {
            return if z + level >= self.top { vec![level] } else { Vec::new() };
        }
        let ends = (self.top - z + self.step - 1).div_euclid(self.step).max(1) * self.step;
        let most = level.min(ends.max(thinnest));
        let mut heights: Vec<i32> =
            (thinnest / self.step..=most / self.step).map(|n| n * self.step).collect();
        for ledge in &self.ledges {
            let height = ledge - z;
            if (thinnest..=level).contains(&height) && height < ends && height % self.step != 0 {
                heights.push(height);
            }
        }
        heights.sort_unstable();
        heights
    }

    /// Every slab that fits at height `z`.
    pub fn moves(&mut self, z: i32) -> Rc<[Move]> {
        if let Some(known) = self.moves.get(&z) {
            return Rc::clone(known);
        }
        let problem = self.problem;
        let mut moves = Vec::new();
        for pan in 0..problem.pans.len() {
            for height in self.heights(pan, z) {
                let up = z + height;
                // What holds more cells holds fewer: nothing higher fits either.
                let Some((placed, missing)) = problem.fit(pan, mm(z), mm(up)) else { break };
                let seam = |thick: i32| problem.seam_cost(mm(up), mm(up + thick));
                let board = if up < self.top { problem.board_at(up) } else { None };
                moves.push(Move {
                    pan,
                    height,
                    up,
                    placed,
                    missing,
                    filled: seam(self.filling),
                    boarded: board.map(|board| (board, problem.rules.weights.board + seam(self.board))),
                });
            }
        }
        let moves: Rc<[Move]> = moves.into();
        self.moves.insert(z, Rc::clone(&moves));
        moves
    }

    /// What hanging over costs a slab at height `z` at least; infinite if it would hang over too far.
    fn hangs(&self, slab: &Move, z: i32, carrier: Carrier) -> f64 {
        let problem = self.problem;
        let (over, share) = match carrier {
            Carrier::Foot => return 0.0,
            Carrier::Board => problem.overhang(&slab.placed, problem.board_at(z - self.board).as_ref()),
            // Wherever the two stand, one end of the upper one's longest line lies at least so far out.
            Carrier::Pan(pan) => {
                problem.overhang_of(&slab.placed, slab.placed.reach() - self.reaches[pan as usize])
            }
        };
        problem.overhang_cost(over, share).unwrap_or(f64::INFINITY)
    }

    /// What a slab counts for at least, in bakes of its pan.
    fn share(&self, p: usize, height: i32) -> f64 {
        let (level, thinnest) = (self.levels[p], self.thinnest);
        if self.problem.is_dome(p) || height + thinnest > level {
            1.0
        } else {
            f64::from(height) / f64::from(level)
        }
    }

    /// The bit of a pan among those that have rests; pans beyond the sixteenth have none and are never charged for
    /// being used at all.
    fn bit(p: usize) -> u32 {
        if p < 16 { 1 << p } else { 0 }
    }

    /// The least that must be paid from height `z` on upon `carrier`, what `rested` pans have uncut not yet taken off.
    fn least_from(&mut self, z: i32, carrier: Carrier, rested: u32) -> Least {
        if z >= self.top {
            return [0.0; MIXES.len()];
        }
        if let Some(&known) = self.to_go.get(&(z, carrier, rested)) {
            return known;
        }
        let rules = &self.problem.rules;
        let each_load = rules.weights.load / f64::from(rules.at_once.max(1));
        let mut least = [f64::INFINITY; MIXES.len()];
        for slab in self.moves(z).iter() {
            let hangs = self.hangs(slab, z, carrier);
            if hangs == f64::INFINITY {
                continue;
            }
            let bit = Self::bit(slab.pan);
            let fresh = bit != 0 && rested & bit == 0;
            let rest = if slab.up >= self.top {
                [0.0; MIXES.len()]
            } else {
                let with = rested | bit;
                let mut rest = self
                    .least_from(slab.up + self.filling, Carrier::Pan(slab.pan as u8), with)
                    .map(|least| least + slab.filled);
                if let Some((_, cost)) = slab.boarded {
                    let on_board = self.least_from(slab.up + self.board, Carrier::Board, with);
                    rest = std::array::from_fn(|i| rest[i].min(on_board[i] + cost));
                }
                rest
            };
            let share = self.share(slab.pan, slab.height);
            for (i, (mix, loads)) in MIXES.iter().enumerate() {
                let price = self.prices[slab.pan] + if *loads { each_load } else { 0.0 };
                let slab = price * (mix * share + if fresh { 1.0 - mix } else { 0.0 });
                least[i] = least[i].min(slab + hangs + rest[i]);
            }
        }
        self.to_go.insert((z, carrier, rested), least);
        least
    }

    /// From height `z` on upon `carrier`: for each class the least that slabs of it or a dearer one amount to, the least that
    /// seams cost, and the least that they cost without the boards' own.
    fn counted_from(&mut self, z: i32, carrier: Carrier) -> Rc<[f64]> {
        let count = self.classes.len();
        if z >= self.top {
            return vec![0.0; count + 2].into();
        }
        if let Some(known) = self.counts.get(&(z, carrier)) {
            return Rc::clone(known);
        }
        let mut least = vec![f64::INFINITY; count + 2];
        for slab in self.moves(z).iter() {
            let hangs = self.hangs(slab, z, carrier);
            if hangs == f64::INFINITY {
                continue;
            }
            let (share, price) = (self.share(slab.pan, slab.height), self.prices[slab.pan]);
            let ends = slab.up >= self.top;
            let filled = self.counted_from(slab.up + self.filling, Carrier::Pan(slab.pan as u8));
            let boarded =
                slab.boarded.map(|(_, cost)| (self.counted_from(slab.up + self.board, Carrier::Board), cost));
            let least_of = |i: usize, filling: f64, board: f64| {
                let on_board = boarded.as_ref().map_or(f64::INFINITY, |(least, _)| least[i] + board);
                if ends { 0.0 } else { (filled[i] + filling).min(on_board) }
            };
            for (i, (class, _)) in self.classes.iter().enumerate() {
                least[i] = least[i].min(least_of(i, 0.0, 0.0) + if price >= *class { share } else { 0.0 });
            }
            let cost = boarded.as_ref().map_or(0.0, |(_, cost)| *cost);
            let seams = least_of(count, slab.filled, cost);
            let bare = least_of(count + 1, slab.filled, cost - self.problem.rules.weights.board);
            least[count] = least[count].min(seams + hangs);
            least[count + 1] = least[count + 1].min(bare + hangs);
        }
        let least: Rc<[f64]> = least.into();
        self.counts.insert((z, carrier), Rc::clone(&least));
        least
    }

    /// The least that whole bakes, seams and oven loads cost from height `z` on, loads paid before counted in.
    fn whole_from(&mut self, made: &Made<'_>) -> f64 {
        let counts = self.counted_from(made.z, made.carrier);
        let rules = &self.problem.rules;
        let total: u32 = made.bakes.iter().map(|n| u32::from(*n)).sum();
        // As many boards as the height above the last one asks for.
        let (every, board) = (microns(rules.board_every), self.board);
        let boards = (self.top - made.foot - every).max(0).div_euclid(every + board)
            + i32::from((self.top - made.foot - every).max(0).rem_euclid(every + board) > 0);
        let bare = counts[self.classes.len() + 1] + rules.weights.board * f64::from(boards);
        let mut cost = counts[self.classes.len()].max(bare);
        for (i, (class, step)) in self.classes.iter().enumerate() {
            let rests = made.rests.iter().filter(|(p, _)| self.prices[*p as usize] >= *class);
            let worth: f64 =
                rests.map(|&(p, rest)| f64::from(rest) / f64::from(self.levels[p as usize])).sum();
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
