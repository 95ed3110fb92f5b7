//! The least change that fixes a check: tried, and everything checked again.
//!
//! For every check that does not hold as it ought to, changes are tried from the least to the greatest: dowels
//! on a wider circle, one dowel more, thicker ones, a centre dowel, a stiffer board, a cooler room, a part that
//! travels apart, a board half way up. The first is advised after which the check holds and nothing else is worse.

use std::sync::{Arc, Mutex, PoisonError};

use rayon::prelude::*;

use crate::{carve::Bulk, fix::Fix, stack::Stack};
use geom::{Cancel, Cancelled};

use super::{
    carved::CarvedCake,
    case::Case,
    change::Change,
    check::{Answer, Check},
    checks::checks,
    code::CheckCode,
    trials::{Trial, trials},
    wording::times,
};

/// Puts the least change that was found to fix each check that does not hold into its `fix`.
///
/// # Errors
/// When `cancel` asks to stop; some of `checks` may have their fix by then.
pub(super) fn advise(
    case: &Case<'_>,
    bulk: &Bulk,
    all: &mut [Check],
    cancel: &Cancel,
) -> Result<(), Cancelled> {
    /// Cakes of more slabs are no cakes, and would be tried for minutes.
    const MOST_SLABS: usize = 200;
    if case.stack.slabs.len() > MOST_SLABS {
        return Ok(());
    }
    let before = all.to_vec();
    let mut advised: Vec<CheckCode> = Vec::new();
    let tries = Tries { case, bulk, cancel, made: Mutex::default() };
    for check in all.iter_mut() {
        // Only the weakest of one kind is advised on.
        if check.answer() == Answer::Yes || advised.contains(&check.code) {
            continue;
        }
        cancel.check()?;
        advised.push(check.code);
        let tried = trials(case, check);
        if tried.is_empty() {
            continue;
        }
        let fixed = |trial: &Trial| {
            tries.after(&trial.change).as_deref().and_then(|after| holds(check, &before, after))
        };
        let found = tried.par_iter().filter_map(|trial| Some((trial, fixed(trial)?))).find_first(|_| true);
        cancel.check()?;
        check.fix = match found {
            Some((trial, margin)) => {
                let then = match margin {
                    Some(margin) if check.rule.is_strength() => {
                        format!("it then holds {}, {} required", times(margin), times(check.needed))
                    }
                    _ => "that fixes it".into(),
                };
                Fix::edit(format!("{}; tried: {then}", trial.words), trial.change.file_edit(case))
            }
            None => {
                let words = &check.fix.words;
                format!("{words} (of the dowels, boards and rooms tried no single change fixes it)").into()
            }
        };
    }
    Ok(())
}

/// Changes, each made once: what fixes one check is often tried for another.
struct Tries<'a> {
    case: &'a Case<'a>,
    bulk: &'a Bulk,
    cancel: &'a Cancel,
    made: Mutex<Vec<(Change, Checked)>>,
}

/// Everything checked again after a change; `None` if it could not be made.
type Checked = Option<Arc<Vec<Check>>>;

impl Tries<'_> {
    fn after(&self, change: &Change) -> Checked {
        let made = || self.made.lock().unwrap_or_else(PoisonError::into_inner);
        let known = made().iter().find(|(other, _)| other == change).map(|(_, checked)| checked.clone());
        known.unwrap_or_else(|| {
            // Not under the lock: it is made on several threads, which may take up other changes meanwhile.
            let checked = self.make(change).map(Arc::new);
            made().push((change.clone(), checked.clone()));
            checked
        })
    }

    fn make(&self, change: &Change) -> Option<Vec<Check>> {
        // Nobody looks at what is left out when the work is to stop.
        self.cancel.check().ok()?;
        let case = self.case;
        let changed = change.made(case);
        let stack: &Stack = changed.stack.as_ref().unwrap_or(case.stack);
        if !changed.carves_anew {
            return Some(checks(&Case::new(case.cake, &changed.design, stack)));
        }
        let carving = case.cake.carving.anew(stack, changed.design.preview, self.cancel).ok()?;
        let cake = CarvedCake::new(&changed.design, stack, &carving, self.bulk);
        let checks = checks(&Case::new(&cake, &changed.design, stack));
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
