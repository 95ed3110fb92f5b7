//! What all checks say together.

use crate::carve::Bulk;
use geom::{Cancel, Cancelled, Moments};

use super::{
    advice, boards, capacity,
    case::Case,
    check::{Answer, Check, Question},
    checks::checks,
    circle::{self, Advised},
    code::CheckCode,
    hazards::{self, HiddenCount},
    journey::{self, Event},
    levels::Level,
    masses::Stage,
    sponge,
    standing::{self, Tipping},
    warmth,
};

/// The whole support check.
#[derive(Debug, Clone)]
pub struct Support {
    /// Everything checked, the weakest of every question first.
    pub checks: Vec<Check>,
    /// What every tier weighs.
    pub weights: Vec<Weight>,
    /// What every level carries.
    pub levels: Vec<Carried>,
    /// How the cake tips together with its presentation board.
    pub with_board: Option<Tipping>,
    /// What happens on the way.
    pub events: Vec<Event>,
    /// The warmest room in which coats and fillings hold, °C.
    pub holds_to: Option<f64>,
    /// What is hidden in the cake.
    pub hidden: Vec<HiddenCount>,
    /// The whole cake with its presentation board, g.
    pub carried: f64,
}

/// What a tier weighs, board and all, and everything that stands on it.
#[derive(Debug, Clone, PartialEq)]
pub struct Weight {
    /// Its name.
    pub name: String,
    /// By itself: raw, carved, finished, g.
    pub own: [f64; 3],
    /// With everything above it: raw, carved, finished, g.
    pub above: [Moments; 3],
}

/// What a board carries, and what carries it.
#[derive(Debug, Clone, PartialEq)]
pub struct Carried {
    /// The level.
    pub level: Level,
    /// How what stands on it tips.
    pub tipping: Option<Tipping>,
    /// Load that a dowel under it gives way at, N.
    pub dowel_bears: Option<f64>,
    /// How far the sponge on it settles by and by, mm.
    pub settles: Option<f64>,
    /// Greatest pressure in the sponge on it, Pa.
    pub pressure: Option<f64>,
    /// How far the board sags by and by, mm.
    pub sag: Option<f64>,
    /// The dowels that it ought to stand on.
    pub advised: Option<Advised>,
}

impl Support {
    /// Checks a carved cake. What to do about a check that does not hold is a rule of thumb until
    /// [`Self::advise`] has tried what fixes it.
    pub fn new(case: &Case<'_>) -> Self {
        let stack = case.stack;
        let mut checks = checks(case);
        // The weakest first: of checks with one code it alone becomes a finding.
        checks.sort_by(|a, b| {
            a.question
                .cmp(&b.question)
                .then(b.answer().cmp(&a.answer()))
                .then(a.share().total_cmp(&b.share()))
        });
        let tippings = standing::tippings(case);
        let carried = |(index, level): (usize, &Level)| Carried {
            level: level.clone(),
            tipping: tippings.iter().find(|(_, i, _)| *i == index).map(|(.., tipping)| *tipping),
            dowel_bears: level
                .carriers
                .iter()
                .filter_map(|&k| capacity::capacity(case, level, &stack.dowels[k]))
                .map(|(bears, _)| bears)
                .min_by(f64::total_cmp),
            settles: sponge::settles(case, index),
            pressure: sponge::pressed(case, index).map(|found| found.pressure),
            advised: level.slab.and_then(|_| circle::advised(case, index)),
            sag: level.slab.filter(|_| level.is_on_dowels()).and_then(|slab| {
                let stuff = stack.slabs[slab].material.board_stuff()?;
                boards::bent(case, index, &stuff).map(|(_, bent)| bent.sag * stuff.creep)
            }),
        };
        Self {
            weights: weights(case),
            levels: case.levels.iter().enumerate().map(carried).collect(),
            with_board: standing::with_board(case),
            events: journey::events(case),
            holds_to: warmth::holds_to(case),
            hidden: hazards::hidden(case),
            carried: hazards::carried(case),
            checks,
        }
    }

    /// Tries changes for every check that does not hold as it ought to, and puts the least that fixes it into its
    /// [`Check::fix`]. Takes the case that [`Self::new`] checked, with what lies on its cake. It takes many times as long as
    /// the checks.
    ///
    /// # Errors
    /// [`Cancelled`] once `cancel` asks to stop; nothing is changed then.
    pub fn advise(&mut self, case: &Case<'_>, bulk: &Bulk, cancel: &Cancel) -> Result<(), Cancelled> {
        let mut checks = self.checks.clone();
        advice::advise(case, bulk, &mut checks, cancel)?;
        self.checks = checks;
        Ok(())
    }

    /// The answer to a question: the worst of its checks, with the weakest place.
    pub fn answer(&self, question: Question) -> (Answer, Option<&Check>) {
        let weakest = self.checks.iter().find(|check| check.question == question);
        (weakest.map_or(Answer::Yes, Check::answer), weakest)
    }

    /// Checks that do not hold as they ought to, the weakest alone of those with the same code.
    pub fn to_fix(&self) -> Vec<&Check> {
        let mut seen: Vec<CheckCode> = Vec::new();
        let wanting = self.checks.iter().filter(|check| check.answer() != Answer::Yes);
        wanting
            .filter(|check| {
                let new = !seen.contains(&check.code);
                seen.push(check.code);
                new
            })
            .collect()
    }
}

fn weights(case: &Case<'_>) -> Vec<Weight> {
    const STAGES: [Stage; 3] = [Stage::Raw, Stage::Carved, Stage::Finished];
    let starts: Vec<(usize, usize)> = (0..case.design.tiers.len())
        .filter_map(|tier| Some((tier, case.stack.slabs.iter().position(|slab| slab.tier == tier)?)))
        .collect();
    let above = |from: usize| {
        STAGES.map(|stage| if from == 0 { case.masses.all(stage) } else { case.masses.above(stage, from) })
    };
    let all: Vec<[Moments; 3]> = starts.iter().map(|&(_, from)| above(from)).collect();
    starts
        .iter()
        .enumerate()
        .map(|(k, &(tier, _))| {
            let next = all.get(k + 1).copied().unwrap_or_default();
            let own = [0, 1, 2].map(|stage| all[k][stage].amount - next[stage].amount);
            Weight { name: case.design.tiers[tier].name.clone(), own, above: all[k] }
        })
        .collect()
}
