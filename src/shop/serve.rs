//! The shape scaled to serve so many, with the stacks for it.
//!
//! How many a scale serves is estimated from the carved outlines alone, scaled with the coverings as thick as they are. From
//! there on scales are tried, each with one stack that a short search finds, planned as a draft ([`Trial`]): what
//! a cake serves hangs on its boards as well. Only at the scale that comes out all stacks are searched and planned in full.

mod estimate;
mod trial;

pub use trial::Trial;

use crate::{
    amounts::Servings,
    arrange::{self, Aim, ArrangeError, Effort, Proposal, Proposals, Setup},
    scale::{Grow, ScaleError, Scaled, scaled},
};
use estimate::{Estimate, HUNDREDTHS};
use geom::{Cancel, progress::Progress};
use make::sheets::ShapeKind;
use plan::{Plan, Planner, Quality, Source, design::MaterialKind};
use trial::Stack;

/// Scales the cake in `source` so that its best stack serves `count`, by the cutting plan in the pantry's portion, and finds its
/// stacks. It grows as asked, or else by its kind: a straight-sided shape sideways, any other evenly. A hundredth smaller it
/// would serve fewer, as far as a [`Trial`] tells.
///
/// # Errors
/// A wrong cake file, a shape that cannot be scaled in it, or what keeps it from serving so many.
#[allow(clippy::too_many_arguments)]
pub fn serve(
    planner: &Planner,
    source: &Source,
    count: u32,
    grow: Option<Grow>,
    aims: &[Aim],
    effort: Effort,
    cancel: &Cancel,
    progress: &dyn Progress,
) -> Result<(Scaled, Proposals), ScaleError> {
    /// What is known of pans without a search may be wrong by so much, hundredths.
    const ABOUT: u32 = 1;
    /// All stacks are looked for so often at most: a draft may count a serving too many.
    const RANKED: u32 = 3;
    /// Scales are tried up to the estimated one and this part of it more.
    const FURTHER: u32 = 5;
    let setup = Setup::with_quality(planner, source, Quality::Draft, cancel).map_err(ArrangeError::from)?;
    let grow = grow.unwrap_or_else(|| usual(setup.kind));
    let estimate = Estimate::new(planner, &setup, grow, cancel)?;
    progress.start("estimating servings", 1);
    let Some(first) = estimate.least(count) else {
        let (most, serves) = (HUNDREDTHS.1, estimate.served(HUNDREDTHS.1));
        return Err(ScaleError::Impossible {
            what: format!("even at {most} % of its size it serves about {serves}"),
            fix: beside(serves),
        });
    };
    let outgrown = arrange::outgrown(&setup);
    if let Some((most, pan)) = outgrown.as_ref().filter(|(most, _)| first > most + ABOUT) {
        return Err(outgrows(&estimate, count, first, *most, pan));
    }
    let highest = outgrown.map_or(HUNDREDTHS.1, |(most, _)| most + ABOUT).min(first + first / FURTHER);
    let count_alone = |scale| Trial::unchecked(planner, source, (scale, grow), count, cancel);
    let (mut from, mut stack) = least_scale(&estimate, count, (HUNDREDTHS.0, first, highest), count_alone)?;
    if stack.is_some() {
        let checked = |scale| Trial::new(planner, source, (scale, grow), count, cancel);
        (from, stack) = least_scale(&estimate, count, (from, from, highest), checked)?;
    }
    progress.finish();
    let is_known = stack.is_some();
    for hundredths in from..from + RANKED {
        let made = scaled(source, f64::from(hundredths) / 100.0, grow)?;
        let mut found = arrange::propose(planner, &made.source, aims, effort, cancel, progress)?;
        let have = best(&found).map(|proposal| served(&proposal.plan));
        if have.is_some_and(|have| have >= count) {
            return Ok((made, found));
        }
        // What costs least may be divided so that it serves fewer than what was drafted.
        let serves_all = |plan: &Plan| served(plan) >= count;
        if let Some(stack) = stack.take()
            && found.prefer(planner, stack, serves_all, cancel)?
        {
            return Ok((made, found));
        }
        if have.is_none() && !is_known {
            return Err(stopped(&setup, &estimate, count, hundredths, &found));
        }
    }
    Err(ScaleError::Impossible {
        what: format!("no stack of the pans that are there serves {count}"),
        fix: "ask for fewer, and serve the rest from a plain cake beside it".into(),
    })
}

/// Whether every layer that is eaten is fruit cake.
fn is_fruit_cake(setup: &Setup) -> bool {
    let mut sponges = setup.design.tiers.iter().flat_map(|tier| &tier.layers).map(|layer| &layer.material);
    sponges.all(|material| material.kind != MaterialKind::Sponge || material.like == "fruit cake")
}

/// The stack that is proposed first.
fn best(found: &Proposals) -> Option<&Proposal> {
    let best = found.proposals.iter().find(|proposal| proposal.aims.contains(&Aim::Best));
    best.or(found.proposals.first())
}

/// The least scale, in hundredths, at which a trial serves `count`, while one at a hundredth less does not, with the stack
/// that does; looked for between the lowest and the highest, from the first on. Where none does, without a stack, the first that has
/// none which passes its own check, or else the highest that was tried.
fn least_scale(
    estimate: &Estimate<'_>,
    count: u32,
    (lowest, first, highest): (u32, u32, u32),
    trial: impl Fn(u32) -> Result<Trial, ScaleError>,
) -> Result<(u32, Option<Stack>), ScaleError> {
    /// Scales that are tried in steps of more than one.
    const TRIES: u32 = 6;
    // The greatest scale that was tried and serves too few, and the least that serves enough.
    let mut low = lowest - 1;
    let mut high: Option<(u32, Stack)> = None;
    let mut unsound = None;
    let mut next = first;
    // By how many hundredths to go on where nothing is known but that it must be more.
    let mut step = 1;
    for _ in 0..TRIES {
        let Trial { served, stack } = trial(next)?;
        if served.is_none() {
            unsound = unsound.or(Some(next));
        }
        match stack {
            Some(stack) => high = Some((next, stack)),
            None => low = next,
        }
        let most = high.as_ref().map_or(highest, |(high, _)| high - 1);
        if low >= most {
            break;
        }
        // The estimate, corrected by what it said of this scale.
        let corrected = served.and_then(|have| {
            let share = f64::from(estimate.served(next)) / f64::from(have.max(1));
            estimate.least((f64::from(count) * share).ceil() as u32)
        });
        let onwards = if high.is_none() { next + step } else { most };
        step *= 2;
        next = corrected.unwrap_or(onwards).clamp(low + 1, most);
    }
    // What is left between is gone through downwards.
    while let Some((scale, _)) = high.as_ref().filter(|(high, _)| *high > low + 1) {
        let scale = scale - 1;
        let Some(stack) = trial(scale)?.stack else { break };
        high = Some((scale, stack));
    }
    Ok(match high {
        Some((scale, stack)) => (scale, Some(stack)),
        None => (unsound.unwrap_or(low), None),
    })
}

/// How a shape of this kind grows unless it is said.
pub fn usual(kind: ShapeKind) -> Grow {
    match kind {
        ShapeKind::StraightSided => Grow::Sideways,
        ShapeKind::Round | ShapeKind::Free => Grow::Evenly,
    }
}

fn served(plan: &Plan) -> u32 {
    Servings::new(plan).served.first().map_or(0, |served| served.by_cutting)
}

/// What keeps the cake from serving `count`, where no stack is found at this scale.
fn stopped(
    setup: &Setup,
    estimate: &Estimate<'_>,
    count: u32,
    hundredths: u32,
    found: &Proposals,
) -> ScaleError {
    let needs = format!("{count} servings take about {hundredths} % of its size");
    let Some(trouble) = &found.trouble else {
        let what = format!("{needs}, for which no stack was found");
        return ScaleError::Impossible { what, fix: beside(estimate.served(100)) };
    };
    match arrange::outgrown(setup).filter(|_| trouble.code == "no-pan-large-enough") {
        Some((most, pan)) => outgrows(estimate, count, hundredths, most, &pan),
        // What fixes it at that size is what was found there.
        None => ScaleError::Impossible {
            what: format!("{needs}, and there {}", trouble.message),
            fix: trouble.fix.clone(),
        },
    }
}

/// That it outgrows the largest pan above `most` hundredths of its size.
fn outgrows(estimate: &Estimate<'_>, count: u32, hundredths: u32, most: u32, pan: &str) -> ScaleError {
    let serves = estimate.served(most);
    ScaleError::Impossible {
        what: format!(
            "{count} servings take about {hundredths} % of its size, and it outgrows the {pan} pan at {} %; at {most} % \
             it serves about {serves}",
            most + 1
        ),
        fix: format!("add a pan larger than {pan} to the pantry ([[pantry.pan]]), or {}", beside(serves)),
    }
}

/// What to do where a cake serves about `serves` and no more: the number is an estimate, so a tenth is left for what the
/// cutting plan loses.
fn beside(serves: u32) -> String {
    let fewer = serves * 9 / 10;
    format!("ask for about {fewer} (--serve {fewer}), and serve the rest from a plain cake beside it")
}
