//! Every aim searched, each stack that is found planned.

use rayon::prelude::*;

use super::{
    Aim, ArrangeError, Proposal, Proposals, explain,
    label::SAME,
    pieces::{self, Laid},
    problem::Rules,
    search::{self, Effort, Found, cost_range, is_feasible, search},
    setup::Setup,
    tiers, with_tiers,
};
use crate::{amounts, steps::Steps};
use cakefile::edit::Document;
use geom::{Cancel, Cancelled, progress::Progress, units::UnitStyle};
use make::sheets::ShapeKind;
use plan::{
    Plan, Planner, Quality, Source,
    pantry::{Bake, Pan, PanShape, Slab, Trouble, pack},
    stack::{LaidPiece, SheetCake, SheetPieces, sheet_cakes},
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
    let mut setup = Setup::new(planner, source, cancel)?;
    if setup.pans.is_empty() {
        return Err(ArrangeError::NoPans);
    }
    if setup.pans.len() > search::MOST_PANS {
        return Err(ArrangeError::ManyPans(setup.pans.len()));
    }
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
    if setup.kind == ShapeKind::Free {
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
        let proposal = proposal(planner, &setup, aims, found, pans, cancel);
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

/// For each aim the cheapest stack of layers of pieces that is sound, where it is cheaper than that of `whole` slabs; of a
/// shape that is not straight-sided, where what it bakes in vain is much less.
fn of_pieces(
    planner: &Planner,
    setup: &Setup,
    aims: &[Aim],
    laid: &[Laid],
    whole: &[Proposal],
    cancel: &Cancel,
) -> Result<Vec<Proposal>, ArrangeError> {
    /// So many are planned for an aim before it has none.
    const TRIED: usize = 3;
    let kept = setup.needs.volume() / 1000.0 * setup.density;
    let mut made: Vec<Proposal> = Vec::new();
    for &aim in aims {
        let rules = Rules { weights: aim.weights(setup.rules.weights), ..setup.rules.clone() };
        let vain = |cost: f64| cost - kept * rules.weights.offcut;
        let rival = whole.iter().find(|proposal| proposal.aims.contains(&aim));
        let rival = rival.map(|rival| cost_of_whole(setup, rival, &rules));
        let least = if setup.kind == ShapeKind::StraightSided { 1.0 } else { MUCH };
        let wins = |found: &Found| rival.is_none_or(|rival| vain(found.cost) < least * vain(rival) - SAME);
        let mut all: Vec<Found> =
            laid.iter().filter_map(|laid| laid.found(setup, &rules)).filter(wins).collect();
        all.sort_by(|a, b| a.cost.total_cmp(&b.cost));
        for found in all.into_iter().take(TRIED) {
            if let Some(known) = made.iter_mut().find(|known| known.found.slabs == found.slabs) {
                known.aims.push(aim);
                break;
            }
            let tried = proposal(planner, setup, vec![aim], found, setup.pans.clone(), cancel)?;
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
fn grams_in_pieces(setup: &Setup, whole: &Found, pans: &[Pan]) -> f64 {
    let grams = |mm3: f64| mm3 / 1000.0 * setup.density;
    let bakes = whole.bakes.iter().zip(pans).map(|(count, pan)| f64::from(*count) * pan.volume(pan.level));
    let (baked, kept) = (grams(bakes.sum()), grams(setup.needs.volume()));
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
fn put_first(laid: Vec<Proposal>, proposals: &mut Vec<Proposal>, failed: &mut Vec<Proposal>) {
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
            let tried = self::proposal(planner, setup, proposal.aims.clone(), found, pans.clone(), cancel)?;
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
            None => left.push(proposal),
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
fn alike(a: &Found, a_pans: &[Pan], b: &Found, b_pans: &[Pan]) -> bool {
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

fn proposal(
    planner: &Planner,
    setup: &Setup,
    aims: Vec<Aim>,
    found: Found,
    pans: Vec<Pan>,
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
    let plan = planner.plan(&Source { cake, ..setup.source.clone() }, Quality::Full, cancel)?;
    let bakes = if !setup.kept.is_empty() {
        bakes_of_plan(&plan)
    } else if found.slabs.iter().any(|slab| slab.footprint.shape.pieces().is_some()) {
        sheets_of(&plan, &pans)
    } else {
        bakes_of(&found, &pans, &names)
    };
    Ok(Proposal { aims, found, pans, bakes, tiers, edit, text, plan })
}

/// Bakes of each pan with the slabs that are cut from each.
fn bakes_of(found: &Found, pans: &[Pan], names: &[String]) -> Vec<(Pan, Vec<Bake>)> {
    let of_pan = |(p, pan): (usize, &Pan)| {
        let slabs: Vec<Slab> = found
            .slabs
            .iter()
            .zip(names)
            .filter(|(slab, _)| slab.pan == p)
            .map(|(slab, name)| Slab { name: name.clone(), height: slab.height })
            .collect();
        (!slabs.is_empty()).then(|| (*pan, pack(&slabs, pan.level)))
    };
    pans.iter().enumerate().filter_map(of_pan).collect()
}

/// Bakes of each pan with the layers that are cut from each, kept ones too.
fn bakes_of_plan(plan: &Plan) -> Vec<(Pan, Vec<Bake>)> {
    let mut found = Vec::new();
    let groups = amounts::bakes(plan, &plan.pantry, &mut found).into_iter();
    let slab = |(name, height): (String, f64)| Slab { name, height };
    groups
        .map(|group| {
            let bakes = group.bakes.into_iter();
            (
                group.pan,
                bakes.map(|bake| Bake { slabs: bake.layers.into_iter().map(slab).collect() }).collect(),
            )
        })
        .collect()
}

/// The sheet cakes of each pan, each with its pieces as one slab.
fn sheets_of(plan: &Plan, pans: &[Pan]) -> Vec<(Pan, Vec<Bake>)> {
    let style = UnitStyle::new(plan.design.unit);
    let sheets = sheet_cakes(&plan.stack, &plan.pantry);
    let bake = |sheet: &SheetCake| {
        let piece = |place: &SheetPieces| {
            let letters: Vec<String> = place.pieces.iter().map(LaidPiece::letter).collect();
            format!("{}: {}", letters.join(" and "), style.sides(&place.size))
        };
        let pieces: Vec<String> = sheet.pieces.iter().map(piece).collect();
        Bake { slabs: vec![Slab { name: pieces.join(", "), height: sheet.height(&plan.stack) }] }
    };
    let of_pan = |pan: &Pan| {
        let is_of = |sheet: &&SheetCake| pan.shape.is(PanShape::Rectangle(sheet.pan[0], sheet.pan[1]));
        let bakes: Vec<Bake> = sheets.iter().filter(is_of).map(bake).collect();
        (!bakes.is_empty()).then_some((*pan, bakes))
    };
    pans.iter().filter_map(of_pan).collect()
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
