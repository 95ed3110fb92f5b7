//! The least change that mends a check: tried, and everything checked again.
//!
//! For every check that does not hold as it ought to, changes are tried from the least to the greatest: dowels
//! on a wider circle, one dowel more, thicker ones, a centre dowel, a stiffer board, a cooler room, a part that
//! travels apart, a board half way up. The first is told after which the check holds and nothing else is worse.

use std::sync::{Arc, Mutex, PoisonError};

use rayon::prelude::*;
use rustc_hash::FxHashMap;

use crate::{
    carve::Bulk,
    design::{Design, material},
    stack::Stack,
};

use geom::Cancel;

use super::{
    Answer, Case, Check, Scene,
    trials::{Trial, trials},
    words::times,
};

/// Puts the least change that was found to mend each check that does not hold into its `mend`.
pub(super) fn mend(case: &Case<'_>, bulk: &Bulk, checks: &mut [Check]) {
    /// Cakes of more slabs are no cakes, and would be tried for minutes.
    const MOST_SLABS: usize = 200;
    if case.stack.slabs.len() > MOST_SLABS {
        return;
    }
    let before = checks.to_vec();
    let mut told: Vec<&'static str> = Vec::new();
    let tries = Tries { case, bulk, made: Mutex::default() };
    for check in checks.iter_mut() {
        // Only the weakest of one kind is told.
        if check.answer() == Answer::Yes || told.contains(&check.code) {
            continue;
        }
        told.push(check.code);
        let tried = trials(case, check);
        if tried.is_empty() {
            continue;
        }
        let mended =
            |trial: &Trial| tries.after(trial).as_deref().and_then(|after| holds(check, &before, after));
        let found = tried.par_iter().filter_map(|trial| Some((trial, mended(trial)?))).find_first(|_| true);
        check.mend = match found {
            Some((trial, Some(margin))) => format!(
                "{}; tried: it then holds {}, {} asked for",
                trial.words,
                times(margin),
                times(check.needed)
            ),
            Some((trial, None)) => format!("{}; tried: that mends it", trial.words),
            None => {
                format!("{} (of the dowels, boards and rooms tried no single change mends it)", check.mend)
            }
        };
    }
}

/// Trials, each made once: what mends one check is often tried for another.
struct Tries<'a> {
    case: &'a Case<'a>,
    bulk: &'a Bulk,
    /// What came of them, by their words.
    made: Mutex<FxHashMap<String, Checked>>,
}

/// Everything checked again after a trial; `None` if it could not be made.
type Checked = Option<Arc<Vec<Check>>>;

impl Tries<'_> {
    fn after(&self, trial: &Trial) -> Checked {
        let made = || self.made.lock().unwrap_or_else(PoisonError::into_inner);
        let known = made().get(&trial.words).cloned();
        known.unwrap_or_else(|| {
            // Not under the lock: it is made on several threads, which may take up other trials meanwhile.
            let checks = self.make(trial).map(Arc::new);
            made().insert(trial.words.clone(), checks.clone());
            checks
        })
    }

    fn make(&self, trial: &Trial) -> Option<Vec<Check>> {
        let case = self.case;
        let design = trial.design.as_ref().unwrap_or(case.design);
        if let Some(stack) = &trial.stack {
            return Some(Case::new(case.scene, design, stack).checks());
        }
        if !trial.carves_anew {
            return Some(Case::new(case.scene, design, case.stack).checks());
        }
        let stack = Stack::new(design);
        let carving = case.scene.carving.anew(&stack, design.preview, &Cancel::new()).ok()?;
        let scene = Scene::new(design, &stack, &carving, self.bulk);
        let checks = Case::new(&scene, design, &stack).checks();
        Some(checks)
    }
}

/// Whether `check` holds after a change and nothing else is worse than before; with the margin it then has, if it
/// is still there.
fn holds(check: &Check, before: &[Check], after: &[Check]) -> Option<Option<f64>> {
    let worst = |all: &[Check], like: &Check| {
        let same = all.iter().filter(|c| c.code == like.code && c.about == like.about);
        same.map(Check::answer).max().unwrap_or(Answer::Yes)
    };
    if worst(after, check) != Answer::Yes || after.iter().any(|now| now.answer() > worst(before, now)) {
        return None;
    }
    let same = after.iter().filter(|c| c.code == check.code && c.about == check.about);
    Some(same.map(|c| c.margin).min_by(f64::total_cmp).filter(|margin| margin.is_finite()))
}

/// A stiffer board's material.
pub(super) fn stiff_board() -> Option<crate::design::Material> {
    material::built_in("plywood board")
}

/// A wooden dowel's material.
pub(super) fn wood() -> Option<crate::design::Material> {
    material::built_in("wooden dowel")
}

/// `design` with one of its settings changed.
pub(super) fn with(design: &Design, change: impl FnOnce(&mut Design)) -> Design {
    let mut changed = design.clone();
    change(&mut changed);
    changed
}
