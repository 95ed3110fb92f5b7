//! Partial stacks as labels, and when one dominates another.

use smallvec::{SmallVec, smallvec};

use super::{
    bound::{Bounds, Rest},
    problem::Problem,
};
use plan::design::Footprint;

/// Costs closer than this are one, g.
pub const SAME: f64 = 1e-6;

/// The most pans that a search takes.
pub const MOST_PANS: usize = 64;

/// How many bakes of each pan.
pub type Bakes = SmallVec<[u8; 16]>;

/// Uncut rests, sorted by pan, the highest of each first.
pub type Rests = SmallVec<[Rest; 6]>;

/// Ways to cut a slab: what is then uncut, and whether a bake is bought for it.
pub type Ways = SmallVec<[(Rests, bool); 3]>;

/// A partial stack.
#[derive(Debug, Clone)]
pub struct Label {
    /// Height of the underside of the next slab, micrometres; the top of a stack that is whole.
    pub z: i32,
    /// Height of the last board's top, micrometres.
    pub foot: i32,
    /// What the next slab lies on, and whether that is a board under it.
    pub carrier: Option<(Footprint, bool)>,
    /// Everything paid but oven loads.
    pub paid: f64,
    /// What is missing of the shape, mm³.
    pub missing: f64,
    /// Bakes of each pan.
    pub bakes: Bakes,
    /// What of them is uncut and may still be of use.
    pub rests: Rests,
    /// Lower bound on what it costs in the end: paid, loads, and the least that must still be paid.
    pub bound: f64,
    /// The label that it was extended from.
    pub parent: Option<u32>,
    /// Pan and height, micrometres, of its last slab.
    pub slab: Option<(u8, i32)>,
}

/// Whether `a` dominates `b`: whatever `b` becomes, `a` can become at no more cost. `prices` are those of a bake of each
/// pan.
pub fn dominates(problem: &Problem<'_>, prices: &[f64], a: &Label, b: &Label) -> bool {
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
                price += prices[pan as usize];
                if price > b.paid + SAME {
                    return false;
                }
                j += 1;
            }
        }
    }
    let at_once = problem.rules.at_once.max(1);
    let mut more = 0;
    let mut total = 0;
    for (p, pan) in problem.pans.iter().enumerate() {
        let difference = i32::from(a.bakes[p]) + i32::from(extra[p]) - i32::from(b.bakes[p]);
        total += difference;
        // As many pans of a size as bake at once never hold a load up.
        if pan.count < at_once {
            more = more.max((difference.max(0) as u32).div_ceil(pan.count.max(1)));
        }
    }
    more = more.max((total.max(0) as u32).div_ceil(at_once));
    if more > 0 && problem.rules.most_loads.is_some() {
        return false;
    }
    price + problem.rules.weights.load * f64::from(more) <= b.paid + SAME && carries_as_well(a, b)
}

/// What of a label tells quickly that it does not dominate another; small, since thousands are compared.
#[derive(Debug, Clone, Copy)]
pub struct Digest {
    foot: i32,
    /// Bakes of all pans.
    bakes: u32,
    paid: f64,
    /// A bit for each pan that has a rest.
    rested: u64,
}

impl Digest {
    /// That of `label`.
    pub fn new(label: &Label) -> Self {
        Self {
            foot: label.foot,
            bakes: label.bakes.iter().map(|n| u32::from(*n)).sum(),
            paid: label.paid,
            rested: label.rests.iter().fold(0, |bits, (pan, _)| bits | 1 << pan),
        }
    }

    /// Whether its label may dominate that of `other`, as far as the digests tell: [`dominates`] tells for sure.
    pub fn may_dominate(&self, problem: &Problem<'_>, prices: &[f64], other: &Self) -> bool {
        let most = other.paid + SAME;
        if self.foot < other.foot || self.paid > most {
            return false;
        }
        let more = self.bakes.saturating_sub(other.bakes);
        if more > 0 {
            let loads = more.div_ceil(problem.rules.at_once.max(1));
            let is_limited = problem.rules.most_loads.is_some();
            if is_limited || self.paid + problem.rules.weights.load * f64::from(loads) > most {
                return false;
            }
        }
        // Each pan of which only the other has a rest takes a bake.
        let mut lacking = other.rested & !self.rested;
        while lacking != 0 {
            if self.paid + prices[lacking.trailing_zeros() as usize] > most {
                return false;
            }
            lacking &= lacking - 1;
        }
        true
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

/// Every way to cut a slab of pan `p`: from a rest, or from a new bake. What is left is kept if it will give
/// another slab. Each with whether a bake is bought for it.
pub fn ways_to_cut(bounds: &Bounds<'_, '_>, label: &Label, p: usize, height: i32) -> Ways {
    let useful = |rest: i32| !bounds.graph.problem.is_dome(p) && rest >= bounds.graph.thinnest;
    let with = |without: Option<usize>, rest: i32| -> Rests {
        let others = label.rests.iter().enumerate().filter(|(i, _)| Some(*i) != without);
        let mut rests: Rests = others.map(|(_, rest)| *rest).collect();
        if useful(rest) {
            rests.push((p as u8, rest));
            rests.sort_unstable_by_key(|&(pan, rest)| (pan, std::cmp::Reverse(rest)));
        }
        rests
    };
    if bounds.is_free(p) {
        // Where another bake costs nothing, no rest is needed.
        return smallvec![(label.rests.clone(), true)];
    }
    let mut ways = Ways::new();
    let mut seen = 0;
    for (i, &(pan, rest)) in label.rests.iter().enumerate() {
        if pan as usize != p || rest < height || rest == seen {
            continue;
        }
        seen = rest;
        ways.push((with(Some(i), rest - height), false));
        if rest == height {
            // Nothing is better than a rest that is used up: the others stay as they are.
            return smallvec![(with(Some(i), 0), false)];
        }
    }
    ways.push((with(None, bounds.graph.levels[p] - height), true));
    ways
}
