//! One scale tried: does a stack of it pass its own check and serve so many?

use std::sync::Arc;

use super::{best, is_fruit_cake, served};
use crate::{
    amounts::portions_between,
    arrange::{ArrangeError, Draft, Found, Setup},
    scale::{Grow, ScaleError, scaled},
};
use geom::Cancel;
use make::sheets::ShapeKind;
use plan::{
    PlanError, Planner, Source,
    carve::{Body, Edited},
    pantry::Pan,
};

/// One scale tried: one stack, found by a short search and planned as a draft.
#[derive(Debug)]
pub struct Trial {
    /// How many it serves; `None` if no stack is found that passes its own check.
    pub served: Option<u32>,
    /// The stack, if it serves as many as asked for.
    pub(super) stack: Option<Stack>,
}

/// A stack and the pans that it is of.
pub(super) type Stack = (Found, Vec<Pan>);

impl Trial {
    /// Tries whether the cake in `source`, grown to so many hundredths of its size, serves `count`.
    ///
    /// # Errors
    /// A wrong cake file, or a shape that cannot be scaled in it.
    pub fn new(
        planner: &Planner,
        source: &Source,
        (hundredths, grow): (u32, Grow),
        count: u32,
        cancel: &Cancel,
    ) -> Result<Self, ScaleError> {
        Self::tried(planner, source, (hundredths, grow), count, true, cancel)
    }

    /// The same without the check of a stack whose servings can be counted before it is planned.
    pub(super) fn unchecked(
        planner: &Planner,
        source: &Source,
        (hundredths, grow): (u32, Grow),
        count: u32,
        cancel: &Cancel,
    ) -> Result<Self, ScaleError> {
        Self::tried(planner, source, (hundredths, grow), count, false, cancel)
    }

    fn tried(
        planner: &Planner,
        source: &Source,
        (hundredths, grow): (u32, Grow),
        count: u32,
        is_checked: bool,
        cancel: &Cancel,
    ) -> Result<Self, ScaleError> {
        let made = scaled(source, f64::from(hundredths) / 100.0, grow)?;
        let draft = Draft::new(planner, &made.source, cancel)?;
        // What serves too few need not be planned. Layers that stay, and layers of pieces, are known to the plan alone.
        let setup = &draft.setup;
        if let Some(found) = &draft.found
            && setup.kept.is_empty()
            && setup.kind != ShapeKind::StraightSided
        {
            let have = served_by(planner, setup, found, cancel)?;
            if have < count || !is_checked {
                let stack = (have >= count).then(|| (found.clone(), setup.pans.clone()));
                return Ok(Self { served: Some(have), stack });
            }
        }
        let found = draft.planned(planner, cancel)?;
        let best = best(&found);
        let served = best.map(|proposal| served(&proposal.plan));
        let stack = best.filter(|_| served.is_some_and(|have| have >= count));
        Ok(Self { served, stack: stack.map(|stack| (stack.found.clone(), stack.pans.clone())) })
    }
}

/// How many a stack serves that is not yet planned.
fn served_by(planner: &Planner, setup: &Setup, found: &Found, cancel: &Cancel) -> Result<u32, ScaleError> {
    let target = carved(planner, setup, cancel)?;
    let mut tiers: Vec<(f64, f64)> = Vec::new();
    for slab in &found.slabs {
        let top = slab.bottom + slab.height;
        match tiers.last_mut().filter(|_| slab.board.is_none()) {
            Some((_, high)) => *high = top,
            None => tiers.push((slab.bottom, top)),
        }
    }
    Ok(portions_between(&setup.pantry, is_fruit_cake(setup), &target.0, &tiers))
}

/// The solid inside the carved line.
pub(super) fn carved(
    planner: &Planner,
    setup: &Setup,
    cancel: &Cancel,
) -> Result<Arc<(Body, Vec<Edited>)>, ScaleError> {
    let wrong = |error| ScaleError::Arrange(ArrangeError::from(PlanError::Carve(error)));
    let lines = planner.lines(&setup.design, cancel).map_err(wrong)?;
    planner.target(&setup.design, &lines, cancel).map_err(wrong)
}
