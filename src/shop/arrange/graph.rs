//! The stacks of a problem as a graph: nodes are heights with what carries the slabs above them, edges are slabs.
//!
//! It knows less of a stack than a label does, so that every stack is a path in it and the cheapest path is a lower bound:
//! of a slab it keeps the pan, not the place, and carriers on which all slabs hang over alike are one node.

use std::{cell::OnceCell, rc::Rc};

use rustc_hash::FxHashMap;

use super::problem::{Problem, microns, mm};
use plan::design::Footprint;

/// A slab that fits at a height.
#[derive(Debug, Clone)]
pub struct SlabChoice {
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
    /// How far what is carved of it hangs over another slab, mm and as a share of its half width, and over a board under
    /// it.
    pub hangs: [(f64, f64); 2],
    /// What a filling on it costs.
    pub filled: f64,
    /// A board on it and what that costs; `None` where none fits.
    pub boarded: Option<(Footprint, f64)>,
    /// Where the next slab stands upon its filling, and upon its board, once that was asked for.
    pub next: [OnceCell<Option<Node>>; 2],
}

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

/// Number of a node.
pub type Node = u32;

/// A slab upon a node.
#[derive(Debug, Clone, Copy)]
pub struct Edge {
    /// Its pan.
    pub pan: usize,
    /// What it counts for at least, in bakes of its pan.
    pub share: f64,
    /// What hanging over costs it at least.
    pub overhang: f64,
    /// Whether it ends the stack.
    pub ends: bool,
    /// What lies on its filling, `None` for nothing, and what the filling costs.
    pub filled: (Option<Node>, f64),
    /// The same for a board; `None` where none fits.
    pub boarded: Option<(Option<Node>, f64)>,
}

struct NodeState {
    z: i32,
    /// For each choice at its height what hanging over costs at least; infinite where it would hang over too far.
    overhangs: Rc<[f64]>,
    edges: Option<Rc<[Edge]>>,
}

/// The graph, made as far as it is asked for.
pub struct Graph<'a, 'p> {
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
    /// How far slabs of each pan reach from their middles, mm.
    reaches: Vec<f64>,
    choices: FxHashMap<i32, Rc<[SlabChoice]>>,
    nodes: Vec<NodeState>,
    /// Nodes at a height.
    at_height: FxHashMap<i32, Vec<Node>>,
    by_carrier: FxHashMap<(i32, Carrier), Node>,
}

impl<'a, 'p> Graph<'a, 'p> {
    /// Nothing is known yet.
    pub fn new(problem: &'a Problem<'p>) -> Self {
        let count = problem.pans.len();
        Self {
            problem,
            top: microns(problem.top()),
            step: microns(problem.rules.step),
            filling: microns(problem.rules.filling),
            board: microns(problem.rules.board),
            thinnest: problem.thinnest(),
            levels: (0..count).map(|p| problem.level(p)).collect(),
            ledges: problem.needs.ledges().iter().map(|z| microns(*z)).collect(),
            reaches: problem.pans.iter().map(|pan| pan.shape.reach()).collect(),
            choices: FxHashMap::default(),
            nodes: Vec::new(),
            at_height: FxHashMap::default(),
            by_carrier: FxHashMap::default(),
        }
    }

    /// The node at height `z` upon `carrier`; `None` where the stack has reached its top.
    pub fn node(&mut self, z: i32, carrier: Carrier) -> Option<Node> {
        if z >= self.top {
            return None;
        }
        if let Some(&known) = self.by_carrier.get(&(z, carrier)) {
            return Some(known);
        }
        let overhangs = self.overhang_costs(z, carrier);
        let here = self.at_height.entry(z).or_default();
        let node = here.iter().copied().find(|node| self.nodes[*node as usize].overhangs == overhangs);
        let node = node.unwrap_or_else(|| {
            let fresh = self.nodes.len() as Node;
            self.nodes.push(NodeState { z, overhangs, edges: None });
            here.push(fresh);
            fresh
        });
        self.by_carrier.insert((z, carrier), node);
        Some(node)
    }

    /// Every slab that may stand upon a node.
    pub fn edges(&mut self, node: Node) -> Rc<[Edge]> {
        let state = &self.nodes[node as usize];
        if let Some(known) = &state.edges {
            return Rc::clone(known);
        }
        let (z, overhangs) = (state.z, Rc::clone(&state.overhangs));
        let mut edges = Vec::new();
        for (slab, &overhang) in self.choices(z).iter().zip(overhangs.iter()) {
            if overhang == f64::INFINITY {
                continue;
            }
            let ends = slab.up >= self.top;
            let filled = self.node(slab.up + self.filling, Carrier::Pan(slab.pan as u8));
            let boarded = slab
                .boarded
                .as_ref()
                .map(|(_, cost)| (self.node(slab.up + self.board, Carrier::Board), *cost));
            edges.push(Edge {
                pan: slab.pan,
                share: self.share(slab.pan, slab.height),
                overhang,
                ends,
                filled: (filled, slab.filled),
                boarded,
            });
        }
        let edges: Rc<[Edge]> = edges.into();
        self.nodes[node as usize].edges = Some(Rc::clone(&edges));
        edges
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
    pub fn choices(&mut self, z: i32) -> Rc<[SlabChoice]> {
        if let Some(known) = self.choices.get(&z) {
            return Rc::clone(known);
        }
        let problem = self.problem;
        let mut choices = Vec::new();
        let under = if z > 0 { problem.board_at(z - self.board) } else { None };
        for pan in 0..problem.pans.len() {
            for height in self.heights(pan, z) {
                let up = z + height;
                // What holds more cells holds fewer: nothing higher fits either.
                let Some((placed, missing)) = problem.fit(pan, mm(z), mm(up)) else { break };
                let seam = |thick: i32| problem.seam_cost(mm(up), mm(up + thick));
                let board = if up < self.top { problem.board_at(up) } else { None };
                let hangs = [None, under.as_ref()].map(|on| problem.carved_overhang((mm(z), mm(up)), on));
                choices.push(SlabChoice {
                    pan,
                    height,
                    up,
                    placed,
                    missing,
                    hangs,
                    filled: seam(self.filling),
                    boarded: board.map(|board| (board, problem.rules.weights.board + seam(self.board))),
                    next: Default::default(),
                });
            }
        }
        let choices: Rc<[SlabChoice]> = choices.into();
        self.choices.insert(z, Rc::clone(&choices));
        choices
    }

    /// For each choice at height `z` what hanging over `carrier` costs it at least; infinite where it would hang over
    /// too far.
    fn overhang_costs(&mut self, z: i32, carrier: Carrier) -> Rc<[f64]> {
        let choices = self.choices(z);
        let problem = self.problem;
        let board = if carrier == Carrier::Board { problem.board_at(z - self.board) } else { None };
        let cost = |slab: &SlabChoice| {
            let (raw, carved) = match carrier {
                Carrier::Foot => return 0.0,
                Carrier::Board => {
                    (problem.raw_overhang(&slab.placed, board.as_ref()), (0.0, slab.hangs[1].1))
                }
                // Wherever the two stand, one end of the upper one's longest line lies at least so far out.
                Carrier::Pan(pan) => (slab.placed.reach() - self.reaches[pan as usize], slab.hangs[0]),
            };
            problem.overhang_cost(&slab.placed, raw, carved).unwrap_or(f64::INFINITY)
        };
        choices.iter().map(cost).collect()
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
}
