//! The first screen with what is open in the order.

use crate::{
    amounts::Amounts,
    order_check::{Concern, OrderCheck},
};
use cakefile::Severity;
use make::{
    language::Language,
    overview::{Decision, Overview},
};
use plan::Plan;

/// The first screen of `plan` in `language`: what the plan found wrong, then what `check` has open, then what is to be looked
/// at.
pub fn overview(plan: &Plan, amounts: &Amounts, check: &OrderCheck, language: &Language) -> Overview {
    let mut overview = Overview::in_language(plan, language);
    overview.loads = Some(amounts.loads);
    // What is wrong with the cake stands there already, each with its own fix.
    let of_order = check.open.iter().filter(|point| point.concern != Concern::Unsafe).map(|point| {
        let told = point.told(language);
        Decision::of_order(&overview, Severity::Warning, told)
    });
    let of_order: Vec<Decision> = of_order.collect();
    let errors = overview.decide.iter().take_while(|told| told.severity == Severity::Error).count();
    overview.decide.splice(errors..errors, of_order);
    let notes = check
        .notes
        .iter()
        .map(|note| Decision::of_order(&overview, Severity::Note, (note.told(language), String::new())));
    let notes: Vec<Decision> = notes.collect();
    overview.know.extend(notes);
    overview
}
