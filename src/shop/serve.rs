//! The shape scaled to serve so many, with the stacks for it.
//!
//! How many a scale serves is estimated from the carved outlines alone, scaled with the coverings as thick as they are; the
//! smallest scale that will do is then stacked and planned, and made a little larger as long as the plan serves fewer.

use glam::DVec2;
use rayon::prelude::*;

use crate::{
    amounts::{Servings, portions_of},
    arrange::{self, Aim, ArrangeError, Effort, Proposals, Setup},
    scale::{Grow, ScaleError, Scaled, scaled},
};
use geom::{Cancel, Region, Tolerance, progress::Progress, real};
use make::sheets::ShapeKind;
use plan::{Plan, PlanError, Planner, Source, carve::Body, design::MaterialKind, pantry::Pantry};

/// The smallest and the greatest scale that is looked at, in hundredths.
const HUNDREDTHS: (u32, u32) = (10, 1000);

/// Scales the cake in `source` so that its best stack serves `count`, by the cutting plan in the pantry's portion, and finds its
/// stacks. It grows as asked, or else by its kind: a straight-sided shape sideways, any other evenly.
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
    /// Stacks are looked for so often at most.
    const TRIES: u32 = 5;
    /// What is known of pans without a search may be wrong by so much, hundredths.
    const ABOUT: u32 = 1;
    let setup = Setup::coarse(planner, source, cancel).map_err(ArrangeError::from)?;
    let grow = grow.unwrap_or_else(|| usual(setup.kind));
    let estimate = Estimate::new(planner, &setup, grow, cancel)?;
    progress.start("estimating servings", 1);
    let Some(mut hundredths) = estimate.least(count) else {
        let (most, serves) = (HUNDREDTHS.1, estimate.served(HUNDREDTHS.1));
        return Err(ScaleError::Impossible {
            what: format!("even at {most} % of its size it serves about {serves}"),
            fix: beside(serves),
        });
    };
    progress.finish();
    if let Some((most, pan)) = arrange::outgrown(&setup).filter(|(most, _)| hundredths > most + ABOUT) {
        return Err(outgrows(&estimate, count, hundredths, most, &pan));
    }
    for _ in 0..TRIES {
        let made = scaled(source, f64::from(hundredths) / 100.0, grow)?;
        let found = arrange::propose(planner, &made.source, aims, effort, cancel, progress)?;
        let best = found.proposals.iter().find(|proposal| proposal.aims.contains(&Aim::Best));
        let Some(plan) = best.or(found.proposals.first()).map(|proposal| &proposal.plan) else {
            return Err(stopped(&setup, &estimate, count, hundredths, &found));
        };
        let have = served(plan);
        if have >= count {
            return Ok((made, found));
        }
        // Servings grow at least with the square of the scale.
        let share = (f64::from(count) / f64::from(have.max(1))).sqrt().min(1.5);
        hundredths = ((f64::from(hundredths) * share).ceil() as u32).max(hundredths + 1);
    }
    Err(ScaleError::Impossible {
        what: format!("no stack of the pans that are there serves {count}"),
        fix: "ask for fewer, and serve the rest from a plain cake beside it".into(),
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
        fix: format!("add a pan larger than {pan} under [[pantry.pan]], or {}", beside(serves)),
    }
}

/// What to do where a cake serves about `serves` and no more: the number is an estimate, so a tenth is left for what the
/// cutting plan loses.
fn beside(serves: u32) -> String {
    let fewer = serves * 9 / 10;
    format!("ask for about {fewer} (--serve {fewer}), and serve the rest from a plain cake beside it")
}

/// How many a cake serves at each scale, about.
struct Estimate<'a> {
    pantry: &'a Pantry,
    /// The carved outlines at even heights, from the bottom up.
    outlines: Vec<Region>,
    /// Height of the carved shape, and what lies over it, mm.
    height: f64,
    coats: f64,
    grow: Grow,
    is_fruit_cake: bool,
    /// A tier is no higher than this, mm.
    highest: f64,
}

impl<'a> Estimate<'a> {
    fn new(planner: &Planner, setup: &'a Setup, grow: Grow, cancel: &Cancel) -> Result<Self, ScaleError> {
        /// Height of a slice, mm.
        const SLICE: f64 = 12.0;
        let wrong = |error| ScaleError::Arrange(ArrangeError::from(PlanError::Carve(error)));
        let lines = planner.lines(&setup.design, cancel).map_err(wrong)?;
        let target = planner.target(&setup.design, &lines, cancel).map_err(wrong)?;
        let body: &Body = &target.0;
        let (low, high) = body.heights();
        let count = ((high - low) / SLICE).ceil().max(1.0) as u32;
        let middle = |i: u32| low + (high - low) * (f64::from(i) + 0.5) / f64::from(count);
        let outlines = (0..count).into_par_iter().map(|i| body.outline_at(middle(i), Tolerance::PREVIEW));
        let mut sponges =
            setup.design.tiers.iter().flat_map(|tier| &tier.layers).map(|layer| &layer.material);
        let is_fruit_cake =
            sponges.all(|material| material.kind != MaterialKind::Sponge || material.like == "fruit cake");
        Ok(Self {
            pantry: &setup.pantry,
            outlines: outlines.collect(),
            height: high - low,
            coats: setup.coverings,
            grow,
            is_fruit_cake,
            highest: setup.rules.board_every,
        })
    }

    /// About how many it serves at this scale.
    fn served(&self, hundredths: u32) -> u32 {
        let factor = f64::from(hundredths) / 100.0;
        let height = match self.grow {
            Grow::Evenly => factor * (self.height + self.coats) - self.coats,
            Grow::Sideways => self.height,
        };
        if height <= 0.0 {
            return 0;
        }
        let more = (factor - 1.0) * self.coats;
        let scaled = |outline: &Region| {
            let contours = outline.contours().iter().map(|c| c.iter().map(|p: &DVec2| *p * factor).collect());
            let outline = Region::new(contours.collect());
            if more < 0.0 {
                outline.inset(-more, Tolerance::PREVIEW)
            } else {
                outline.outset(more, Tolerance::PREVIEW)
            }
        };
        let outlines: Vec<Region> = self.outlines.par_iter().map(scaled).collect();
        let tiers = (height / self.highest).ceil().max(1.0) as usize;
        let thick = height / outlines.len() as f64;
        let slices: Vec<(f64, Region)> = outlines.into_iter().map(|outline| (thick, outline)).collect();
        let each = slices.len().div_ceil(tiers);
        portions_of(self.pantry, self.is_fruit_cake, slices.chunks(each).map(<[_]>::to_vec).collect())
    }

    /// The smallest scale that serves `count`; `None` if none does.
    fn least(&self, count: u32) -> Option<u32> {
        let (mut low, mut high) = HUNDREDTHS;
        // Servings grow with the square or the cube of the scale: a guess, then as far as it takes.
        let have = f64::from(self.served(100).max(1));
        let guess = (100.0 * real::cbrt(f64::from(count) / have) * 1.2).ceil() as u32;
        let mut near = guess.clamp(low, high);
        while near < high && self.served(near) < count {
            low = near;
            near = (near * 3 / 2).min(high);
        }
        if self.served(near) < count {
            return None;
        }
        high = near;
        while high - low > 1 {
            let half = (low + high) / 2;
            if self.served(half) >= count { high = half } else { low = half }
        }
        Some(high)
    }
}
