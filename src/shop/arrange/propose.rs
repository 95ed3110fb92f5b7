//! Every aim searched, each stack that is found planned.

use rayon::prelude::*;

use super::{
    Aim, ArrangeError, Proposal, Proposals,
    bakes::{bakes_of, bakes_of_plan, sheets_of},
    explain, fault_of,
    instead::{grams_in_pieces, of_pieces, put_first},
    label::SAME,
    pieces,
    problem::Rules,
    search::{Effort, Found, cost_range, is_feasible, search},
    setup::Setup,
    tiers, with_tiers,
};
use crate::steps::Steps;
use cakefile::edit::Document;
use geom::{Cancel, Cancelled, progress::Progress};
use make::sheets::ShapeKind;
use plan::{
    Planner, Quality, Source,
    findings::Finding,
    pantry::{Pan, Trouble},
};

/// Finds stacks for the cake in `source` out of what its pantry holds. Each proposal is planned by `planner`, which
/// makes the shape and its lines once for all of them. `progress` hears of the searches, then of the plans.
///
/// # Errors
/// A wrong cake file, no pans, or [`plan::PlanError::Cancelled`] once `cancel` asks to stop.
pub fn propose(
    planner: &Planner,
    source: &Source,
    aims: &[Aim],
    effort: Effort,
    cancel: &Cancel,
    progress: &dyn Progress,
) -> Result<Proposals, ArrangeError> {
    propose_for(planner, Setup::new(planner, source, cancel)?, aims, effort, cancel, progress)
}

pub(super) fn propose_for(
    planner: &Planner,
    mut setup: Setup,
    aims: &[Aim],
    effort: Effort,
    cancel: &Cancel,
    progress: &dyn Progress,
) -> Result<Proposals, ArrangeError> {
    setup.check_pans()?;
    let mut trouble = None;
    let problem = setup.problem(&setup.pans, &setup.rules);
    let (found, laid) = rayon::join(
        || match is_feasible(&problem, effort, cancel)? {
            Some(false) => Ok(Vec::new()),
            _ => all_found(&setup, aims, effort, cancel, progress),
        },
        // Of other shapes they are looked for once it is known what they have to be better than.
        || match setup.kind {
            ShapeKind::StraightSided => pieces::stacks(&setup, f64::INFINITY, cancel),
            ShapeKind::Round | ShapeKind::Free => Ok(Vec::new()),
        },
    );
    let (mut found, mut laid) = (found?, laid?);
    // A turned shape is laid of pieces only where no pan is large enough.
    if setup.kind == ShapeKind::Free || (setup.kind == ShapeKind::Round && found.is_empty()) {
        let most = found.iter().map(|(_, found, pans)| grams_in_pieces(&setup, found, pans));
        laid = pieces::stacks(&setup, most.reduce(f64::max).unwrap_or(f64::INFINITY), cancel)?;
    }
    if found.is_empty() {
        let proposals = of_pieces(planner, &setup, aims, &laid, &[], cancel)?;
        if !proposals.is_empty() {
            progress.finish();
            return Ok(Proposals { proposals, failed: Vec::new(), trouble: None, setup });
        }
        let (told, rules) = explain::nearest(&setup, effort, cancel)?;
        trouble = Some(told);
        if let Some(rules) = rules {
            setup.rules = rules;
            found = all_found(&setup, aims, effort, cancel, progress)?;
        }
    }
    let steps = Steps::new(progress, "planning the stacks", found.len() as u64);
    let mut found = found.into_iter();
    let planned = |(aims, found, pans): FoundWith| {
        let proposal = proposal(planner, &setup, aims, (found, pans), Advice::IfSound, cancel);
        steps.done_one();
        proposal
    };
    // The first makes what all others share: side by side each would make it for itself.
    let mut proposals: Vec<Proposal> = found.next().map(planned).into_iter().collect::<Result<_, _>>()?;
    let others: Vec<FoundWith> = found.collect();
    proposals.extend(others.into_par_iter().map(planned).collect::<Result<Vec<_>, _>>()?);
    let (sound, failed): (Vec<_>, Vec<_>) = proposals.into_iter().partition(|p| p.fault().is_none());
    let (mut proposals, mut failed) = fixed(planner, &setup, sound, failed, effort, cancel)?;
    if trouble.is_none() {
        let laid = of_pieces(planner, &setup, aims, &laid, &proposals, cancel)?;
        put_first(laid, &mut proposals, &mut failed);
    }
    if let Some(fault) = failed.iter().find_map(Proposal::fault).filter(|_| proposals.is_empty()) {
        trouble = Some(Trouble {
            code: "no-sound-stack",
            about: plan::pantry::About::Nothing,
            message: format!(
                "each stack of these pans that was tried fails its own check; the cheapest: {}",
                fault.message
            ),
            fix: fault.fix.words.clone(),
        });
    }
    progress.finish();
    Ok(Proposals { proposals, failed, trouble, setup })
}

/// Limits that are kept more strictly than asked for, tried where the cheapest stack fails its own check: boards nearer to
/// each other, less that hangs over, both.
fn stricter(rules: &Rules) -> Vec<Rules> {
    /// Shares of the limits on the height without a board and on what hangs over.
    const TRIED: [(f64, f64); 6] = [(1.0, 0.5), (0.7, 1.0), (0.7, 0.5), (0.5, 1.0), (1.0, 0.2), (0.5, 0.2)];
    let least = rules.thinnest + rules.filling + rules.board;
    let with = |(height, over): (f64, f64)| Rules {
        board_every: (rules.board_every * height).max(least),
        overhang: rules.overhang * over,
        ..rules.clone()
    };
    TRIED.map(with).into()
}

/// Stricter limits tried side by side.
const AT_ONCE_TRIED: usize = 2;

/// For each aim whose stack fails its own check the cheapest stack under stricter limits that does not, if one is found.
fn fixed(
    planner: &Planner,
    setup: &Setup,
    mut sound: Vec<Proposal>,
    failed: Vec<Proposal>,
    effort: Effort,
    cancel: &Cancel,
) -> Result<(Vec<Proposal>, Vec<Proposal>), ArrangeError> {
    let mut left = Vec::new();
    for mut proposal in failed {
        let pans = &proposal.pans;
        let weights = proposal.aims[0].weights(setup.rules.weights);
        let tried = |rules: Rules| -> Result<Option<Proposal>, ArrangeError> {
            let rules = Rules { weights, ..rules };
            let Some(mut found) = search(&setup.problem(pans, &rules), effort, cancel)? else {
                return Ok(None);
            };
            // Of the limits that were asked for.
            found.bound = proposal.found.bound.min(found.cost);
            let (aims, found) = (proposal.aims.clone(), (found, pans.clone()));
            let tried = self::proposal(planner, setup, aims, found, Advice::IfSound, cancel)?;
            Ok(tried.fault().is_none().then_some(tried))
        };
        // The stricter the limits, the dearer the stack: once some do, those after them need not be looked at.
        let mut some: Vec<Proposal> = Vec::new();
        for rules in stricter(&setup.rules).chunks(AT_ONCE_TRIED) {
            let made: Vec<Option<Proposal>> =
                rules.to_vec().into_par_iter().map(tried).collect::<Result<_, _>>()?;
            some.extend(made.into_iter().flatten());
            if !some.is_empty() {
                break;
            }
        }
        let cheapest = some.into_iter().min_by(|a, b| a.found.cost.total_cmp(&b.found.cost));
        match cheapest {
            Some(cheapest) => {
                let same =
                    |other: &&mut Proposal| alike(&other.found, &other.pans, &cheapest.found, &cheapest.pans);
                match sound.iter_mut().find(same) {
                    Some(other) => other.aims.append(&mut proposal.aims),
                    None => sound.push(cheapest),
                }
            }
            // Drafts are not advised.
            None if setup.quality == Quality::Draft => left.push(proposal),
            None => {
                let found = (proposal.found, proposal.pans);
                left.push(self::proposal(planner, setup, proposal.aims, found, Advice::Always, cancel)?);
            }
        }
    }
    sound.sort_by_key(|proposal| proposal.aims.iter().copied().min());
    Ok((sound, left))
}

type FoundWith = (Vec<Aim>, Found, Vec<Pan>);

/// The stack for each aim, each stack once.
fn all_found(
    setup: &Setup,
    aims: &[Aim],
    effort: Effort,
    cancel: &Cancel,
    progress: &dyn Progress,
) -> Result<Vec<FoundWith>, Cancelled> {
    let steps = Steps::new(progress, "searching for stacks", aims.len() as u64);
    let one = |aim: Aim| -> Result<Option<FoundWith>, Cancelled> {
        let rules = Rules { weights: aim.weights(setup.rules.weights), ..setup.rules.clone() };
        let found = match aim {
            Aim::FewestPanSizes => fewest_sizes(setup, &rules, effort, cancel)?,
            _ => search(&setup.problem(&setup.pans, &rules), effort, cancel)?
                .map(|found| (found, setup.pans.clone())),
        };
        steps.done_one();
        Ok(found.map(|(found, pans)| (vec![aim], found, pans)))
    };
    let each: Vec<Option<FoundWith>> = aims.par_iter().map(|&aim| one(aim)).collect::<Result<_, _>>()?;
    let mut all: Vec<FoundWith> = Vec::new();
    for (aims, found, pans) in each.into_iter().flatten() {
        let same = |other: &&mut FoundWith| alike(&other.1, &other.2, &found, &pans);
        match all.iter_mut().find(same) {
            Some(other) => other.0.extend(aims),
            None => all.push((aims, found, pans)),
        }
    }
    Ok(all)
}

/// Whether two stacks are the same.
pub(super) fn alike(a: &Found, a_pans: &[Pan], b: &Found, b_pans: &[Pan]) -> bool {
    a.slabs.len() == b.slabs.len()
        && a.slabs.iter().zip(&b.slabs).all(|(x, y)| {
            a_pans[x.pan] == b_pans[y.pan]
                && x.bottom == y.bottom
                && x.height == y.height
                && x.board.is_some() == y.board.is_some()
        })
}

/// Choices of pans that share the effort of one search.
const AT_ONCE: usize = 4;

/// The best stack out of as few sizes of pan as can be: every choice of one size, then of two, and so on. Of choices that
/// cannot come below another one nothing but bounds is found.
fn fewest_sizes(
    setup: &Setup,
    rules: &Rules,
    effort: Effort,
    cancel: &Cancel,
) -> Result<Option<(Found, Vec<Pan>)>, Cancelled> {
    let count = setup.pans.len();
    for size in 1..=count {
        let choices = choices(count, size);
        // All choices of a size together take as long as a few searches.
        let comparisons = effort.comparisons / choices.len().div_ceil(AT_ONCE);
        let effort = Effort { comparisons, ..effort };
        let bounded = |chosen: Vec<usize>| {
            let pans: Vec<Pan> = chosen.into_iter().map(|p| setup.pans[p]).collect();
            let range = cost_range(&setup.problem(&pans, rules), effort, cancel)?;
            Ok(range.map(|range| (pans, range)))
        };
        let bounded: Vec<Option<_>> =
            choices.into_par_iter().map(bounded).collect::<Result<_, Cancelled>>()?;
        let bounded: Vec<(Vec<Pan>, (f64, f64))> = bounded.into_iter().flatten().collect();
        let most = bounded.iter().map(|(_, (_, most))| *most).fold(f64::INFINITY, f64::min);
        let searched = |(pans, _): (Vec<Pan>, (f64, f64))| {
            let found = search(&setup.problem(&pans, rules), effort, cancel)?;
            Ok(found.map(|found| (found, pans)))
        };
        let found: Vec<Option<_>> = bounded
            .into_par_iter()
            .filter(|(_, (least, _))| *least <= most + SAME)
            .map(searched)
            .collect::<Result<_, Cancelled>>()?;
        let cheapest = found.into_iter().flatten().min_by(|a, b| a.0.cost.total_cmp(&b.0.cost));
        if cheapest.is_some() {
            return Ok(cheapest);
        }
    }
    Ok(None)
}

/// Every choice of `size` out of `count` things.
fn choices(count: usize, size: usize) -> Vec<Vec<usize>> {
    if size == 0 {
        return vec![Vec::new()];
    }
    (size - 1..count)
        .flat_map(|last| {
            let mut shorter = choices(last, size - 1);
            shorter.iter_mut().for_each(|chosen| chosen.push(last));
            shorter
        })
        .collect()
}

/// Whether changes that would fix what does not stand are tried.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Advice {
    /// Only for a stack that may be proposed.
    IfSound,
    /// For one that fails its own check as well: how it could be mended is told.
    Always,
}

pub(super) fn proposal(
    planner: &Planner,
    setup: &Setup,
    aims: Vec<Aim>,
    (found, pans): (Found, Vec<Pan>),
    advice: Advice,
    cancel: &Cancel,
) -> Result<Proposal, ArrangeError> {
    let (tiers, names) = tiers::written(setup, &found, &pans);
    let document = Document::new(setup.source.cake.clone());
    let edit = setup.kept.put_into(with_tiers(&tiers)?, &document, setup.filling.as_ref())?;
    let tiers = if setup.kept.is_empty() {
        tiers
    } else {
        Document::from_text("tiers", "").apply(&edit)?.document.text().to_owned()
    };
    let cake = document.apply(&edit)?.document.into_file();
    let text = cake.text().to_owned();
    let source = Source { cake, ..setup.source.clone() };
    let is_of_use = |findings: &[Finding]| advice == Advice::Always || fault_of(findings).is_none();
    let plan = match setup.quality {
        Quality::Draft => planner.plan(&source, Quality::Draft, cancel)?,
        Quality::Full => planner.plan_advised_if(&source, is_of_use, cancel)?,
    };
    let bakes = if !setup.kept.is_empty() {
        bakes_of_plan(&plan)
    } else if found.slabs.iter().any(|slab| slab.footprint.shape.pieces().is_some()) {
        sheets_of(&plan, &pans)
    } else {
        bakes_of(&found, &pans, &names)
    };
    Ok(Proposal { aims, found, pans, bakes, tiers, edit, text, plan })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_choice_is_made_once() {
        assert_eq!(choices(4, 2).len(), 6);
        assert_eq!(choices(3, 3), [[0, 1, 2]]);
    }
}
