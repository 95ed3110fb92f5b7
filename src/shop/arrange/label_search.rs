//! One pass of the search: labels extended in the order of their heights.

use std::{cell::OnceCell, collections::BTreeMap};

use smallvec::smallvec;

use super::{
    bound::{Bounds, PartialStack, Rest},
    graph::{Carrier, Node, SlabChoice},
    label::{Bakes, Digest, Label, Rests, SAME, dominates, ways_to_cut},
    problem::{Problem, microns, mm},
    search::{Effort, Found, PlacedSlab},
};
use geom::{Cancel, Cancelled};
use plan::design::Footprint;

/// Labels at a height are compared with so many cheaper ones.
const COMPARED: usize = 4000;

/// Labels kept at each height by a pass that has taken long.
const FEW: usize = 24;

/// Passes over the labels of one problem.
pub(super) struct LabelSearch<'a, 'p> {
    problem: &'a Problem<'p>,
    bounds: Bounds<'a, 'p>,
    cancel: &'a Cancel,
    pub arena: Vec<Label>,
    /// Rests that may still be of use, while a label is looked at.
    useful: Vec<Rest>,
    /// Least bound of all labels dropped beyond the limit.
    pub dropped: f64,
    /// Comparisons of labels in this pass, and from where on it is long.
    comparisons: usize,
    most_comparisons: usize,
}

impl<'a, 'p> LabelSearch<'a, 'p> {
    pub fn new(problem: &'a Problem<'p>, effort: Effort, cancel: &'a Cancel) -> Self {
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
    pub fn run(&mut self, most: usize, known: f64) -> Result<Option<Found>, Cancelled> {
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
    pub fn root(&mut self) -> Option<Label> {
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
        let node = self.bounds.graph.node(z, on);
        let made = PartialStack { node, foot: z, paid: 0.0, loads: 0.0, bakes: &bakes, rests: &[] };
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
        // Close together in memory.
        let mut digests: Vec<Digest> = Vec::new();
        for (count, id) in reached.into_iter().enumerate() {
            if count % PAUSE == 0 {
                self.cancel.check()?;
            }
            self.comparisons += digests.len().min(COMPARED);
            let is_long = self.comparisons > self.most_comparisons;
            let most = if is_long { most.min(FEW) } else { most };
            if kept.len() >= most && is_long {
                self.dropped = self.dropped.min(self.arena[id as usize].bound);
                break;
            }
            let label = &self.arena[id as usize];
            let digest = Digest::new(label);
            let (problem, prices) = (self.problem, &self.bounds.prices);
            let mut candidates = digests
                .iter()
                .zip(&kept)
                .take(COMPARED)
                .filter(|(other, _)| other.may_dominate(problem, prices, &digest));
            if candidates.any(|(_, &other)| dominates(problem, prices, &self.arena[other as usize], label)) {
                continue;
            }
            if kept.len() >= most {
                self.dropped = self.dropped.min(label.bound);
                // The bounds of all that follow are at least as great.
                break;
            }
            kept.push(id);
            digests.push(digest);
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
        let loads_so_far = problem.loads(&label.bakes);
        for &SlabChoice { pan, height, up, ref placed, missing, hangs, filled, ref boarded, ref next } in
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
            let so_far = label.paid + hangs;
            if so_far + rules.weights.load * f64::from(loads_so_far) >= known - SAME {
                continue;
            }
            // Another slab has to find room below the next board.
            let may_fill = !ends && up + filling + thinnest - label.foot <= every;
            for (rests, bought) in ways_to_cut(&self.bounds, &label, pan, height) {
                let (mut paid, mut loads) = (so_far, loads_so_far);
                let mut bakes = label.bakes.clone();
                if bought {
                    bakes[pan] = bakes[pan].saturating_add(1);
                    paid += self.bounds.prices[pan];
                    loads = problem.loads(&bakes);
                }
                if rules.most_loads.is_some_and(|most| loads > most) {
                    continue;
                }
                let bound = paid + rules.weights.load * f64::from(loads);
                if bound >= known - SAME {
                    continue;
                }
                let laid = Label {
                    z: up,
                    foot: label.foot,
                    carrier: None,
                    paid,
                    missing,
                    bakes,
                    rests,
                    bound,
                    parent: Some(id),
                    slab: Some((pan as u8, height)),
                };
                if ends {
                    made.push(laid);
                    continue;
                }
                if may_fill {
                    let seam = (up + filling, filled, &next[0]);
                    made.extend(self.with_seam(&laid, seam, (placed, false), known));
                }
                if let &Some((ref board_on_it, cost)) = boarded {
                    let seam = (up + board, cost, &next[1]);
                    made.extend(self.with_seam(&laid, seam, (board_on_it, true), known));
                }
            }
        }
        made
    }

    /// `label` with a seam of this cost on it, so that the next slab stands at `z` upon a node; `None` if it cannot come
    /// below `known`.
    fn with_seam(
        &mut self,
        label: &Label,
        (z, seam, node): (i32, f64, &OnceCell<Option<Node>>),
        (carrier, is_board): (&Footprint, bool),
        known: f64,
    ) -> Option<Label> {
        let paid = label.paid + seam;
        if z >= self.bounds.graph.top || label.bound + seam >= known - SAME {
            return None;
        }
        let foot = if is_board { z } else { label.foot };
        let (bounds, rests) = (&mut self.bounds, &mut self.useful);
        rests.clear();
        rests.extend(label.rests.iter().filter(|rest| bounds.is_useful(rest, z)));
        let loads = label.bound - label.paid;
        let (pan, _) = label.slab?;
        let on = if is_board { Carrier::Board } else { Carrier::Pan(pan) };
        let node = *node.get_or_init(|| bounds.graph.node(z, on));
        let made = PartialStack { node, foot, paid, loads, bakes: &label.bakes, rests };
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
