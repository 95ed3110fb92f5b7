//! Stacks whose layers are laid of pieces of sheet cakes side by side, for shapes that no whole slab comes near.
//!
//! For each sheet pan and each likely number of layers the outline that a layer must hold is covered by pieces
//! ([`super::cover`]), with dear and with cheap pieces; of all covers those are taken whose pieces come from the fewest and
//! cheapest sheet cakes ([`plan::pantry::cut_sheets`]), out of one pan or of several ([`plan::pantry::cheapest_pans`]). That
//! is no proof: how much cheaper any stack could be is told by a
//! bound of its own ([`least_cost`]).

mod least_cost;
mod outlines;

use std::sync::Arc;

use glam::DVec2;
use rayon::prelude::*;

pub use least_cost::least_cost;

use self::outlines::{Heights, Looked, heights, outlines};
use super::{
    Aim,
    cover::{Asked, Lattice, Part, Seam},
    problem::{Problem, Rules},
    search::{Found, PlacedSlab},
    setup::Setup,
};
use geom::{Cancel, Cancelled};
use make::sheets::ShapeKind;
use plan::{
    design::{Footprint, FootprintShape, Piece, Pieces},
    pantry::{Pan, PanShape, cheapest_pans, cut_sheets, loads_needed},
};

/// A layer of pieces gets at most so many: more are no less work than they save (common practice, no source).
const MOST_PIECES: usize = 8;

/// What a piece costs besides its area in the covers that are tried, mm².
const PIECE_COSTS: [f64; 4] = [15_000.0, 6000.0, 2500.0, 800.0];

/// A layer as it is covered: its pieces and the cuts between them.
type Cover = (Vec<Part>, Vec<Seam>);

/// A stack of layers of pieces that is to be weighed.
#[derive(Debug, Clone)]
pub struct Laid {
    /// Which of the setup's pans each piece of each layer comes from.
    pans: Vec<Vec<usize>>,
    /// Degrees by which all layers are turned.
    turn: f64,
    /// Height of a layer, mm.
    height: f64,
    /// Its layers from the bottom up.
    layers: Vec<Vec<Part>>,
    /// How many sheet cakes of each of the setup's pans they are cut from.
    sheets: Vec<u32>,
    /// Heights of the undersides, mm.
    bottoms: Vec<f64>,
}

impl Laid {
    /// What it costs under `rules`, in grams of offcut, as the search counts it; `None` where it takes too many oven
    /// loads.
    fn cost(&self, setup: &Setup, rules: &Rules) -> Option<(f64, u32)> {
        let problem = setup.problem(&setup.pans, rules);
        let loads = loads_needed(setup.pans.iter().zip(self.sheets.iter().copied()), rules.at_once);
        if rules.most_loads.is_some_and(|most| loads > most) {
            return None;
        }
        let seams: f64 =
            self.bottoms[1..].iter().map(|bottom| problem.seam_cost(bottom - rules.filling, *bottom)).sum();
        let pieces = self.layers.iter().map(Vec::len).sum::<usize>() as f64;
        let bakes: f64 = self
            .sheets
            .iter()
            .enumerate()
            .map(|(pan, count)| problem.bake_cost(pan) * f64::from(*count))
            .sum();
        let cost = bakes + rules.weights.load * f64::from(loads) + seams + rules.weights.piece * pieces;
        Some((cost, loads))
    }

    /// Whether all its sheet cakes are of one size.
    pub fn is_of_one_pan(&self) -> bool {
        self.sheets.iter().filter(|count| **count > 0).count() == 1
    }

    /// The same as the search finds stacks, with what it costs under `rules`.
    pub fn found(&self, setup: &Setup, rules: &Rules) -> Option<Found> {
        let (cost, loads) = self.cost(setup, rules)?;
        let problem = setup.problem(&setup.pans, rules);
        let sides: Vec<[f64; 2]> = setup.pans.iter().map(|pan| sides(pan).unwrap_or_default()).collect();
        let slabs = self.layers.iter().zip(&self.pans).zip(&self.bottoms).enumerate();
        let slabs = slabs.map(|(i, ((parts, pans), &bottom))| {
            let list: Vec<Piece> =
                parts.iter().zip(pans).map(|(part, pan)| piece(part, sides[*pan])).collect();
            // The layer has the pan that the most of it come from.
            let from = |pan: usize| -> f64 {
                parts.iter().zip(pans).filter(|(_, own)| **own == pan).map(|(part, _)| part.area()).sum()
            };
            let most = pans.iter().copied().max_by(|a, b| from(*a).total_cmp(&from(*b))).unwrap_or(0);
            let shape = FootprintShape::Pieces(Arc::new(Pieces::new(sides[most], list)));
            let footprint = Footprint { shape, centre: DVec2::ZERO, turn: self.turn };
            // What is kept above lies where it lay.
            let is_last = i + 1 == self.layers.len();
            let top = rules.to.filter(|_| is_last).unwrap_or(bottom + self.height);
            let over = if bottom == 0.0 { (0.0, 0.0) } else { problem.carved_overhang((bottom, top), None) };
            PlacedSlab {
                pan: most,
                footprint,
                bottom,
                height: top - bottom,
                board: None,
                overhang: over.0,
                overhang_share: over.1,
                raw_overhang: 0.0,
            }
        });
        let mut slabs: Vec<PlacedSlab> = slabs.collect();
        for i in 1..slabs.len() {
            let over = slabs[i].footprint.reach_beyond(&slabs[i - 1].footprint);
            slabs[i].raw_overhang = over.max(0.0);
        }
        let bakes = self.sheets.clone();
        let bound = least_cost(setup, rules).min(cost);
        Some(Found { slabs, bakes, loads, cost, bound, labels: 0 })
    }
}

fn piece(part: &Part, pan: [f64; 2]) -> Piece {
    let size = part.size();
    Piece { width: size.x, depth: size.y, at: (part.low + part.high) / 2.0, turn: 0.0, pan }
}

/// Width and depth of a pan that sheet cakes come from.
fn sides(pan: &Pan) -> Option<[f64; 2]> {
    match pan.shape {
        PanShape::Rectangle(width, depth) => Some([width, depth]),
        PanShape::Round(_) | PanShape::HalfBall(_) => None,
    }
}

/// Whether layers of pieces are looked for at all: where no foot is asked for and no board inside what is arranged, if there
/// is a sheet pan.
pub fn are_looked_for(setup: &Setup) -> bool {
    let rules = &setup.rules;
    rules.foot == 0.0
        && rules.to.unwrap_or(setup.needs.height) - rules.from <= rules.board_every
        && setup.pans.iter().any(|pan| sides(pan).is_some())
}

/// Stacks of layers of pieces for `setup`: of each pan and number of layers those from the fewest sheet cakes and those of
/// the fewest pieces. Where the outlines alone take more than `most` g of cake, none is looked for.
///
/// # Errors
/// [`Cancelled`] once `cancel` asks to stop.
pub fn stacks(setup: &Setup, most: f64, cancel: &Cancel) -> Result<Vec<Laid>, Cancelled> {
    if !are_looked_for(setup) {
        return Ok(Vec::new());
    }
    let top = Problem::new(&setup.needs, setup.pans.clone(), setup.rules.clone()).top();
    let mut turns = vec![0.0];
    turns.extend(setup.needs.turn_of_narrowest().filter(|turn| *turn != 0.0 && turn.abs() != 90.0));
    let ways: Vec<(Heights, f64)> = (1..=MOST_LAYERS)
        .filter_map(|count| heights(setup, top, count))
        .flat_map(|heights| turns.iter().map(move |turn| (heights.clone(), *turn)))
        .collect();
    let of_way = |(heights, turn): &(Heights, f64)| -> Result<Vec<Laid>, Cancelled> {
        let looked = outlines(setup, heights, *turn, most, cancel)?;
        let pans = (0..setup.pans.len()).into_par_iter();
        let pans = pans.filter(|pan| heights.height <= setup.pans[*pan].level + 1e-6);
        let found = pans.map(|pan| of_pan(setup, pan, *turn, heights, &looked, cancel));
        Ok(found.collect::<Result<Vec<_>, Cancelled>>()?.concat())
    };
    Ok(ways.par_iter().map(of_way).collect::<Result<Vec<_>, Cancelled>>()?.concat())
}

/// More layers are never laid of pieces.
const MOST_LAYERS: usize = 6;

/// Stacks of pieces out of one pan.
fn of_pan(
    setup: &Setup,
    pan: usize,
    turn: f64,
    heights: &Heights,
    looked: &Looked,
    cancel: &Cancel,
) -> Result<Vec<Laid>, Cancelled> {
    let Some(size) = sides(&setup.pans[pan]) else { return Ok(Vec::new()) };
    let pieces = |layers: &Vec<Vec<Part>>| layers.iter().map(Vec::len).sum::<usize>();
    let together = together(setup, pan, heights.height);
    let sheets_for = |area: f64| (area / together as f64 / (size[0] * size[1]) - 1e-6).ceil();
    let fewest = sheets_for(looked.area);
    let mut covered: Vec<Vec<Vec<Part>>> = Vec::new();
    let mut tried: Vec<(Vec<Vec<Part>>, u32)> = Vec::new();
    for piece in PIECE_COSTS {
        for staggered in [true, false] {
            cancel.check()?;
            // No pieces come from fewer sheet cakes of one pan than their outlines alone; of several pans smaller pieces may.
            let enough = tried.iter().any(|(_, sheets)| f64::from(*sheets) <= fewest);
            if enough && setup.kind != ShapeKind::StraightSided {
                break;
            }
            let Some(layers) = covers(&looked.lattices, size, setup.rules.mark, piece, staggered) else {
                continue;
            };
            if layers.iter().any(|layer| layer.len() > MOST_PIECES) || covered.contains(&layers) {
                continue;
            }
            covered.push(layers.clone());
            if enough {
                continue;
            }
            // Nothing is gained by as many pieces that come from no fewer sheet cakes.
            let least = sheets_for(layers.iter().flatten().map(Part::area).sum());
            if tried.iter().any(|(known, n)| f64::from(*n) <= least && pieces(known) <= pieces(&layers)) {
                continue;
            }
            if let Some(sheets) = sheets(size, together, &layers) {
                tried.push((layers, sheets));
            }
        }
    }
    // As few sheet cakes as can be, the staggered first; and as few pieces as can be.
    let fewest_sheets = tried.iter().min_by_key(|(layers, sheets)| (*sheets, pieces(layers)));
    let fewest_pieces = tried.iter().min_by_key(|(layers, sheets)| (pieces(layers), *sheets));
    let mut chosen: Vec<&(Vec<Vec<Part>>, u32)> = Vec::new();
    for one in fewest_sheets.into_iter().chain(fewest_pieces) {
        if !chosen.contains(&one) {
            chosen.push(one);
        }
    }
    let laid = |layers: &Vec<Vec<Part>>, pans: Vec<Vec<usize>>, sheets: Vec<u32>| Laid {
        pans,
        turn,
        height: heights.height,
        layers: layers.clone(),
        sheets,
        bottoms: heights.bottoms.clone(),
    };
    let of_one = |(layers, sheets): &(Vec<Vec<Part>>, u32)| {
        let mut of = vec![0; setup.pans.len()];
        of[pan] = *sheets;
        laid(layers, layers.iter().map(|layer| vec![pan; layer.len()]).collect(), of)
    };
    let mut all: Vec<Laid> = chosen.into_iter().map(of_one).collect();
    // The same covers out of several pans, where that costs less than out of this one.
    for layers in &covered {
        for aim in [Aim::Best, Aim::LeastOffcut] {
            cancel.check()?;
            let rules = Rules { weights: aim.weights(setup.rules.weights), ..setup.rules.clone() };
            let mixed = mixed(setup, &rules, together, heights.height, layers);
            let Some((pans, sheets)) =
                mixed.filter(|(_, sheets)| sheets.iter().filter(|n| **n > 0).count() > 1)
            else {
                continue;
            };
            if all.iter().all(|known| known.pans != pans || known.layers != *layers) {
                all.push(laid(layers, pans, sheets));
            }
        }
    }
    Ok(all)
}

/// A pan for every piece of these layers, so that their sheet cakes cost least under `rules`, and how many of each pan that
/// takes. Only pans whose bakes are split into as many layers, `together`, so that the same pieces are split from each other.
fn mixed(
    setup: &Setup,
    rules: &Rules,
    together: usize,
    height: f64,
    layers: &[Vec<Part>],
) -> Option<(Vec<Vec<usize>>, Vec<u32>)> {
    let problem = setup.problem(&setup.pans, rules);
    // An oven load is shared by as many bakes as the oven holds.
    let load = rules.weights.load / f64::from(rules.at_once.max(1));
    let usable: Vec<(usize, ([f64; 2], f64))> = (0..setup.pans.len())
        .filter(|p| height <= setup.pans[*p].level + 1e-6 && self::together(setup, *p, height) == together)
        .filter_map(|p| Some((p, (sides(&setup.pans[p])?, problem.bake_cost(p) + load))))
        .collect();
    let (piles, of) = piles(together, layers);
    let sizes: Vec<[f64; 2]> = piles.iter().flatten().copied().collect();
    let pans: Vec<([f64; 2], f64)> = usable.iter().map(|(_, pan)| *pan).collect();
    let found = cheapest_pans(&sizes, &pans)?;
    let mut sheets = vec![0; setup.pans.len()];
    for (k, (pan, (size, _))) in usable.iter().enumerate() {
        let own: Vec<[f64; 2]> =
            sizes.iter().zip(&found).filter(|(_, pan)| **pan == k).map(|(size, _)| *size).collect();
        sheets[*pan] = u32::try_from(cut_sheets(&own, *size)?.sheets.len()).ok()?;
    }
    let firsts: Vec<usize> = piles
        .iter()
        .scan(0, |next, pile| {
            let first = *next;
            *next += pile.len();
            Some(first)
        })
        .collect();
    let pans = layers.iter().zip(&of).map(|(layer, pile)| {
        let first = firsts[*pile];
        found[first..first + layer.len()].iter().map(|k| usable[*k].0).collect()
    });
    Some((pans.collect(), sheets))
}

/// A cover for every layer; where they are staggered, the cuts of each lie aside from those of the one below.
fn covers(
    lattices: &[Arc<Lattice>],
    pan: [f64; 2],
    mark: f64,
    piece: f64,
    staggered: bool,
) -> Option<Vec<Vec<Part>>> {
    let mut known: Vec<(*const Lattice, Vec<Seam>, Cover)> = Vec::new();
    let mut below: Vec<Seam> = Vec::new();
    let mut layers = Vec::new();
    for lattice in lattices {
        let same = |(of, under, _): &&(*const Lattice, Vec<Seam>, Cover)| {
            std::ptr::eq(*of, Arc::as_ptr(lattice)) && *under == below
        };
        let cover = match known.iter().find(same) {
            Some((.., cover)) => cover.clone(),
            None => {
                let cover = lattice.cover(&Asked { pan, mark, piece, below: &below })?;
                known.push((Arc::as_ptr(lattice), below.clone(), cover.clone()));
                cover
            }
        };
        layers.push(cover.0);
        below = if staggered { cover.1 } else { Vec::new() };
    }
    (!layers.is_empty()).then_some(layers)
}

/// How many layers so high are split from one bake.
fn together(setup: &Setup, pan: usize, height: f64) -> usize {
    ((setup.pans[pan].level + 1e-6) / height).floor().max(1.0) as usize
}

/// How many sheet cakes these layers are cut from.
fn sheets(size: [f64; 2], together: usize, layers: &[Vec<Part>]) -> Option<u32> {
    let cut = cut_sheets(&piles(together, layers).0.concat(), size)?;
    u32::try_from(cut.sheets.len()).ok()
}

/// Sizes of the pieces that are cut as one, pile by pile, and the pile of each layer: of the same pieces so many are split
/// `together` from each other.
fn piles(together: usize, layers: &[Vec<Part>]) -> (Vec<Vec<[f64; 2]>>, Vec<usize>) {
    let mut piles: Vec<(Vec<[f64; 2]>, usize)> = Vec::new();
    let mut of = Vec::new();
    for layer in layers {
        let sizes: Vec<[f64; 2]> = layer.iter().map(|part| part.size().to_array()).collect();
        let known = piles.iter().position(|(known, count)| *known == sizes && *count < together);
        of.push(known.unwrap_or(piles.len()));
        match known {
            Some(pile) => piles[pile].1 += 1,
            None => piles.push((sizes, 1)),
        }
    }
    (piles.into_iter().map(|(sizes, _)| sizes).collect(), of)
}
