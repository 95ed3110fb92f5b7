//! Stacks of layers of pieces in the place of whole layers, where they are better.

use super::{
    Aim, ArrangeError, Proposal,
    label::SAME,
    pieces::Laid,
    problem::Rules,
    propose::{Advice, proposal},
    search::Found,
    setup::Setup,
};
use geom::Cancel;
use make::sheets::ShapeKind;
use plan::{Planner, pantry::Pan};

/// For each aim the cheapest stack of layers of pieces that is sound, where it is cheaper than that of `whole` slabs; of a
/// shape that is not straight-sided, where what it bakes in vain is much less.
pub(super) fn of_pieces(
    planner: &Planner,
    setup: &Setup,
    aims: &[Aim],
    laid: &[Laid],
    whole: &[Proposal],
    cancel: &Cancel,
) -> Result<Vec<Proposal>, ArrangeError> {
    /// So many are planned for an aim before it has none.
    const TRIED: usize = 3;
    let kept = setup.sponge_volume(&setup.rules) / 1000.0 * setup.density;
    let mut made: Vec<Proposal> = Vec::new();
    for &aim in aims {
        let rules = Rules { weights: aim.weights(setup.rules.weights), ..setup.rules.clone() };
        let vain = |cost: f64| cost - kept * rules.weights.offcut;
        let rival = whole.iter().find(|proposal| proposal.aims.contains(&aim));
        let rival = rival.map(|rival| cost_of_whole(setup, rival, &rules));
        let least = if setup.kind == ShapeKind::StraightSided { 1.0 } else { MUCH };
        let is_for = |laid: &Laid| aim != Aim::FewestPanSizes || laid.is_of_one_pan();
        let wins = |found: &Found| rival.is_none_or(|rival| vain(found.cost) < least * vain(rival) - SAME);
        let mut all: Vec<Found> = laid
            .iter()
            .filter(|laid| is_for(laid))
            .filter_map(|laid| laid.found(setup, &rules))
            .filter(wins)
            .collect();
        all.sort_by(|a, b| a.cost.total_cmp(&b.cost));
        for found in all.into_iter().take(TRIED) {
            if let Some(known) = made.iter_mut().find(|known| known.found.slabs == found.slabs) {
                known.aims.push(aim);
                break;
            }
            let found = (found, setup.pans.clone());
            let tried = proposal(planner, setup, vec![aim], found, Advice::IfSound, cancel)?;
            if tried.fault().is_none() {
                made.push(tried);
                break;
            }
        }
    }
    Ok(made)
}

/// Much less is less than this share.
const MUCH: f64 = 0.75;

/// The most cake that may lie in pieces, g, if these are to be much better than a stack of whole layers.
pub(super) fn grams_in_pieces(setup: &Setup, whole: &Found, pans: &[Pan]) -> f64 {
    let grams = |mm3: f64| mm3 / 1000.0 * setup.density;
    let bakes = whole.bakes.iter().zip(pans).map(|(count, pan)| f64::from(*count) * pan.volume(pan.level));
    let (baked, kept) = (grams(bakes.sum()), grams(setup.sponge_volume(&setup.rules)));
    kept + MUCH * (baked - kept).max(0.0)
}

/// What a stack of whole layers costs under `rules`.
fn cost_of_whole(setup: &Setup, whole: &Proposal, rules: &Rules) -> f64 {
    let problem = setup.problem(&whole.pans, rules);
    let bakes =
        whole.found.bakes.iter().enumerate().map(|(p, count)| problem.bake_cost(p) * f64::from(*count));
    let slabs = &whole.found.slabs;
    let seams = slabs.windows(2).map(|pair| {
        let board = pair[1].board.as_ref();
        let carved = if board.is_some() { (0.0, pair[1].overhang_share) } else { (pair[1].overhang, 0.0) };
        let hangs = problem.overhang_cost(&pair[1].footprint, pair[1].raw_overhang, carved);
        problem.seam_cost(pair[0].bottom + pair[0].height, pair[1].bottom)
            + if board.is_some() { rules.weights.board } else { 0.0 }
            + hangs.unwrap_or(0.0)
    });
    bakes.sum::<f64>() + seams.sum::<f64>() + rules.weights.load * f64::from(whole.found.loads)
}

/// Puts stacks of pieces before those of whole layers whose aims they fulfil better; the best of whole layers stays as one
/// to choose.
pub(super) fn put_first(laid: Vec<Proposal>, proposals: &mut Vec<Proposal>, failed: &mut Vec<Proposal>) {
    let taken: Vec<Aim> = laid.iter().flat_map(|proposal| proposal.aims.clone()).collect();
    for proposal in proposals.iter_mut().chain(failed.iter_mut()) {
        let was_best = proposal.aims.contains(&Aim::Best);
        proposal.aims.retain(|aim| !taken.contains(aim));
        if was_best && !proposal.aims.contains(&Aim::Best) && proposal.fault().is_none() {
            proposal.aims.push(Aim::WholeLayers);
        }
    }
    failed.retain(|proposal| !proposal.aims.is_empty());
    proposals.retain(|proposal| !proposal.aims.is_empty());
    proposals.extend(laid);
    proposals.sort_by_key(|proposal| proposal.aims.iter().copied().min());
}
