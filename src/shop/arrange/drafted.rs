//! One stack from a short search: what a shape can be stacked into, before all stacks of it are ranked.

use super::{
    Aim, ArrangeError, Proposals,
    propose::{Advice, alike, proposal, propose_for},
    search::{Effort, Found, search},
    setup::Setup,
};
use geom::{Cancel, progress::NoProgress};
use plan::{Plan, Planner, Quality, Source, pantry::Pan};

/// A cake file whose best stack is drafted.
#[derive(Debug)]
pub struct Draft {
    /// What the search starts from, the shape worked out as for a draft.
    pub setup: Setup,
    /// The stack that a short search finds, not yet planned; `None` if it finds none within the limits.
    pub found: Option<Found>,
}

impl Draft {
    /// Searches briefly for the best stack of the cake in `source`.
    ///
    /// # Errors
    /// A wrong cake file, no pans, or [`plan::PlanError::Cancelled`] once `cancel` asks to stop.
    pub fn new(planner: &Planner, source: &Source, cancel: &Cancel) -> Result<Self, ArrangeError> {
        let setup = Setup::with_quality(planner, source, Quality::Draft, cancel)?;
        setup.check_pans()?;
        let found = search(&setup.problem(&setup.pans, &setup.rules), Effort::SHORT, cancel)?;
        Ok(Self { setup, found })
    }

    /// The stack as a draft of a plan, mended or relaxed where it has to be as by [`super::propose`].
    ///
    /// # Errors
    /// As for [`Draft::new`].
    pub fn planned(self, planner: &Planner, cancel: &Cancel) -> Result<Proposals, ArrangeError> {
        propose_for(planner, self.setup, &[Aim::Best], Effort::SHORT, cancel, &NoProgress)
    }
}

impl Proposals {
    /// Puts a stack of `pans` in the place of the best one if it passes its own check and its plan is what is asked for;
    /// says whether it is.
    ///
    /// # Errors
    /// As for [`super::propose`].
    pub fn prefer(
        &mut self,
        planner: &Planner,
        (found, pans): (Found, Vec<Pan>),
        is_asked_for: impl Fn(&Plan) -> bool,
        cancel: &Cancel,
    ) -> Result<bool, ArrangeError> {
        let is_best = |aims: &[Aim]| aims.contains(&Aim::Best);
        let best = self.proposals.iter().chain(&self.failed).find(|proposal| is_best(&proposal.aims));
        // No stack within the limits costs less, whichever is shown.
        let bound = best.map_or(0.0, |best| best.found.bound).min(found.cost);
        let found = Found { bound, ..found };
        let mut preferred =
            proposal(planner, &self.setup, vec![Aim::Best], (found, pans), Advice::IfSound, cancel)?;
        if preferred.fault().is_some() || !is_asked_for(&preferred.plan) {
            return Ok(false);
        }
        for other in self.proposals.iter_mut().chain(&mut self.failed) {
            other.aims.retain(|aim| *aim != Aim::Best);
            if alike(&other.found, &other.pans, &preferred.found, &preferred.pans) {
                preferred.aims.append(&mut other.aims);
            }
        }
        self.proposals.retain(|proposal| !proposal.aims.is_empty());
        self.failed.retain(|proposal| !proposal.aims.is_empty());
        self.proposals.insert(0, preferred);
        Ok(true)
    }
}
