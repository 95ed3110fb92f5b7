//! Which pans, how many, where the boards go: the best stack for a shape, and honest alternatives.
//!
//! [`propose`] takes a cake file and a pantry. It looks at the carved shape cell by cell ([`needs`]), searches the
//! stacks that the pans can make (`search`) and writes each proposal back as the tiers of the cake file
//! (`edit`). Nothing is shown that was not planned: the figures of a proposal are those of its plan.

mod bound;
mod dowels;
mod edit;
mod explain;
mod fit;
pub mod needs;
mod problem;
pub mod search;
mod setup;
mod tell;
mod tiers;

use rayon::prelude::*;

pub use edit::with_tiers;
pub use problem::{Problem, Rules, Weights};
pub use search::{Effort, Found, search};
pub use setup::{Setup, resolved};
pub use tell::{Told, text, told};

use cakefile::{
    CakeFileError,
    edit::{Document, Edit, EditError},
};
use geom::Cancel;
use plan::{
    Plan, PlanError, Planner, Quality, Source,
    pantry::{Bake, Pan, Slab, Trouble, pack},
};

/// What a proposal saves.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Aim {
    /// Offcut, bakes, loads and boards, each at what the pantry says that it is worth.
    Best,
    /// Offcut alone.
    LeastWaste,
    /// Bakes before anything else.
    FewestBakes,
    /// Sizes of pan before anything else.
    FewestPanSizes,
}

impl Aim {
    /// Every aim, the best first.
    pub const ALL: [Self; 4] = [Self::Best, Self::LeastWaste, Self::FewestBakes, Self::FewestPanSizes];

    /// Its name, in commands.
    pub fn name(self) -> &'static str {
        match self {
            Self::Best => "best",
            Self::LeastWaste => "least-waste",
            Self::FewestBakes => "fewest-bakes",
            Self::FewestPanSizes => "fewest-pan-sizes",
        }
    }

    fn weights(self, usual: Weights) -> Weights {
        /// A gram: it decides only between stacks that are as good otherwise.
        const HARDLY: f64 = 1.0;
        /// More than any offcut: it decides before anything else.
        const FIRST: f64 = 1e5;
        match self {
            Self::Best | Self::FewestPanSizes => usual,
            Self::LeastWaste => {
                Weights { offcut: 1.0, bake: 0.0, load: HARDLY, board: HARDLY, overhang: HARDLY }
            }
            Self::FewestBakes => Weights { bake: FIRST, ..usual },
        }
    }
}

/// A stack that is proposed.
#[derive(Debug, Clone)]
pub struct Proposal {
    /// What it saves; several where one stack is the best in more than one way.
    pub aims: Vec<Aim>,
    /// What the search found.
    pub found: Found,
    /// Pans, in the search's order.
    pub pans: Vec<Pan>,
    /// Bakes of each pan with what is cut from each.
    pub bakes: Vec<(Pan, Vec<Bake>)>,
    /// Its tiers, to paste into the cake file.
    pub tiers: String,
    /// What puts them into the cake file.
    pub edit: Edit,
    /// The whole cake file after that.
    pub text: String,
    /// Its plan.
    pub plan: Plan,
}

impl Proposal {
    /// How many bakes it takes.
    pub fn bake_count(&self) -> usize {
        self.bakes.iter().map(|(_, bakes)| bakes.len()).sum()
    }

    /// Boards inside the cake.
    pub fn board_count(&self) -> usize {
        self.found.slabs.iter().filter(|slab| slab.board.is_some()).count()
    }

    /// What is baked, in grams.
    pub fn baked(&self, density: f64) -> f64 {
        let bakes = self.bakes.iter().map(|(pan, bakes)| pan.volume(pan.level) * bakes.len() as f64);
        bakes.sum::<f64>() / 1000.0 * density
    }
}

/// What came of looking for stacks.
#[derive(Debug, Clone)]
pub struct Proposals {
    /// The stacks, the best first. Empty if there is none.
    pub proposals: Vec<Proposal>,
    /// Why there is none within the limits, with the mend; the proposals then go beyond the limit that it names.
    pub trouble: Option<Trouble>,
    /// What was asked.
    pub setup: Setup,
}

/// Why no stack was looked for.
#[derive(Debug, thiserror::Error)]
pub enum ArrangeError {
    /// The cake file or the pantry is wrong.
    #[error(transparent)]
    CakeFile(#[from] CakeFileError),
    /// A proposal could not be written into the cake file.
    #[error(transparent)]
    Edit(#[from] EditError),
    /// A proposal could not be planned.
    #[error(transparent)]
    Plan(PlanError),
    /// There are no pans.
    #[error("the pantry has no pans")]
    NoPans,
    /// There are more pans than the search takes.
    #[error("the pantry has {0} sizes of pan, and at most {most} can be searched", most = search::MOST_PANS)]
    ManyPans(usize),
}

impl From<PlanError> for ArrangeError {
    fn from(error: PlanError) -> Self {
        match error {
            PlanError::CakeFile(error) => Self::CakeFile(error),
            other => Self::Plan(other),
        }
    }
}

/// Finds stacks for the cake in `source` out of what its pantry holds. Each proposal is planned by `planner`, which
/// makes the shape and its lines once for all of them.
///
/// # Errors
/// A wrong cake file, no pans, or [`PlanError::Cancelled`].
pub fn propose(
    planner: &Planner,
    source: &Source,
    aims: &[Aim],
    effort: Effort,
    cancel: &Cancel,
) -> Result<Proposals, ArrangeError> {
    let mut setup = Setup::new(planner, source, cancel)?;
    if setup.pans.is_empty() {
        return Err(ArrangeError::NoPans);
    }
    if setup.pans.len() > search::MOST_PANS {
        return Err(ArrangeError::ManyPans(setup.pans.len()));
    }
    let mut trouble = None;
    let usual = setup.rules.weights;
    let mut found = all_found(&setup, aims, usual, effort);
    if found.is_empty() {
        let (told, rules) = explain::nearest(&setup, effort);
        trouble = Some(told);
        if let Some(rules) = rules {
            setup.rules = rules;
            found = all_found(&setup, aims, usual, effort);
        }
    }
    let proposals = found
        .into_par_iter()
        .map(|(aims, found, pans)| proposal(planner, &setup, aims, found, pans, cancel))
        .collect::<Result<Vec<_>, _>>()?;
    Ok(Proposals { proposals, trouble, setup })
}

type FoundWith = (Vec<Aim>, Found, Vec<Pan>);

/// The stack for each aim, each stack once.
fn all_found(setup: &Setup, aims: &[Aim], usual: Weights, effort: Effort) -> Vec<FoundWith> {
    let each: Vec<Option<(Aim, Found, Vec<Pan>)>> = aims
        .par_iter()
        .map(|&aim| {
            let rules = Rules { weights: aim.weights(usual), ..setup.rules.clone() };
            let (found, pans) = match aim {
                Aim::FewestPanSizes => fewest_sizes(setup, &rules, effort)?,
                _ => (search(&setup.problem(&setup.pans, &rules), effort)?, setup.pans.clone()),
            };
            Some((aim, found, pans))
        })
        .collect();
    let mut all: Vec<FoundWith> = Vec::new();
    for (aim, found, pans) in each.into_iter().flatten() {
        let same = |other: &&mut FoundWith| alike(&other.1, &other.2, &found, &pans);
        match all.iter_mut().find(same) {
            Some(other) => other.0.push(aim),
            None => all.push((vec![aim], found, pans)),
        }
    }
    all
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

/// The best stack out of as few sizes of pan as can be: every choice of one size, then of two, and so on.
fn fewest_sizes(setup: &Setup, rules: &Rules, effort: Effort) -> Option<(Found, Vec<Pan>)> {
    let count = setup.pans.len();
    (1..=count).find_map(|size| {
        let choices: Vec<Vec<Pan>> = choices(count, size)
            .into_iter()
            .map(|chosen| chosen.into_iter().map(|p| setup.pans[p]).collect())
            .collect();
        let found = choices.into_par_iter().filter_map(|pans: Vec<Pan>| {
            let found = search(&setup.problem(&pans, rules), effort)?;
            Some((found, pans))
        });
        found.collect::<Vec<_>>().into_iter().min_by(|a, b| a.0.cost.total_cmp(&b.0.cost))
    })
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
    let edit = with_tiers(&tiers);
    let cake = Document::new(setup.source.cake.clone()).apply(&edit)?.document.into_file();
    let text = cake.text().to_owned();
    let plan = planner.plan(&Source { cake, ..setup.source.clone() }, Quality::Full, cancel)?;
    let bakes = pans
        .iter()
        .enumerate()
        .filter_map(|(p, pan)| {
            let slabs: Vec<Slab> = found
                .slabs
                .iter()
                .zip(&names)
                .filter(|(slab, _)| slab.pan == p)
                .map(|(slab, name)| Slab { name: name.clone(), height: slab.height })
                .collect();
            (!slabs.is_empty()).then(|| (*pan, pack(&slabs, pan.level)))
        })
        .collect();
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
