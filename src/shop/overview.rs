//! The first screen with what is open in the order.

use crate::{
    amounts::Amounts,
    order_check::{Concern, OrderCheck},
};
use cakefile::Severity;
use make::overview::{Decision, Overview};
use plan::Plan;

/// The first screen of `plan`: what the plan found wrong, then what `check` has open, then what is to be looked at.
pub fn overview(plan: &Plan, amounts: &Amounts, check: &OrderCheck) -> Overview {
    let mut overview = Overview::new(plan);
    overview.loads = Some(amounts.loads);
    // What is wrong with the cake stands there already, each with its own fix.
    let of_order = check.open.iter().filter(|point| point.concern != Concern::Unsafe).map(|point| Decision {
        severity: Severity::Warning,
        what: point.message.clone(),
        place: None,
        at: None,
        fix: point.fix.clone(),
    });
    let errors = overview.decide.iter().take_while(|told| told.severity == Severity::Error).count();
    overview.decide.splice(errors..errors, of_order);
    let notes = check.notes.iter().map(|note| Decision {
        severity: Severity::Note,
        what: note.clone(),
        place: None,
        at: None,
        fix: String::new(),
    });
    overview.know.extend(notes);
    overview
}
