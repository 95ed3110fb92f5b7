//! What is built up under the coverings: whether anything is left to build once they are taken off what is seen.

use crate::{
    design::{Depth, Detail, Operation, Tool},
    findings::{Evidence, Finding, FindingCode},
};
use cakefile::Severity;

use super::finding;

/// Thinner is not laid but smeared, mm (common practice, no source).
const LEAST: f64 = 1.0;

/// An add is given as it is seen, and the coverings lie over it on all sides: what is built up is thinner by twice what lies
/// over it.
pub(super) fn check(e: &Evidence<'_>, detail: &Detail, found: &mut Vec<Finding>) {
    let (over, under) = match (detail.operation, detail.depth) {
        (Operation::Add, Depth::Sponge) => (e.lines.carved().depth, "the coverings"),
        (Operation::Add, Depth::Coating) => (e.lines.coated().depth, "the icing"),
        _ => return,
    };
    let Some(seen) = thickness(detail, e) else { return };
    let left = seen - 2.0 * over;
    if over <= 0.0 || left >= LEAST {
        return;
    }
    let of = e.mm(seen);
    let what = if left <= 0.0 {
        "nothing is left to build up".to_owned()
    } else {
        format!("only {} are left to build up", e.mm(left))
    };
    let message = format!(
        "\"{}\" is {of} thick as it is seen; with {} of {under} on both sides {what}, and it vanishes under them",
        detail.written_name(),
        e.mm(over)
    );
    let fix = format!(
        "make it at least {} thick, or lay it on the icing: add = \"icing\"",
        e.mm(2.0 * over + 2.0 * LEAST)
    );
    found.push(finding(Severity::Warning, FindingCode::NothingToBuild, detail, message, fix.into()));
}

/// The thinnest way across a form where it is thickest, mm; `None` of what has no thickness of its own.
fn thickness(detail: &Detail, e: &Evidence<'_>) -> Option<f64> {
    match &detail.tool {
        Tool::Box { size, .. } => Some(size.min_element()),
        Tool::Ball { radius, .. } => Some(2.0 * radius),
        Tool::Cylinder { from, to, from_radius, to_radius } => {
            Some(from.distance(*to).min(2.0 * from_radius.max(*to_radius)))
        }
        Tool::Ring { bar_radius, .. } => Some(2.0 * bar_radius),
        Tool::Bar { stations } => stations.iter().map(|(_, radius)| 2.0 * radius).reduce(f64::max),
        // As high as it stands out, which stays; how wide it is at its widest.
        Tool::Relief(relief) => {
            let outline = relief.lying();
            let widest = |inset: &f64| outline.inset(*inset, e.design.preview).is_empty();
            (1..200).map(|step| f64::from(step) * 0.25).find(widest).map(|inset| 2.0 * inset)
        }
        Tool::Roll(_) | Tool::HalfSpace { .. } => None,
    }
}
