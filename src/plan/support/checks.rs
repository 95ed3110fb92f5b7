//! All checks of a load case.

use super::{carving, case::Case, check::Check, dowels, hazards, journey, slip, sponge, standing, warmth};

/// Everything checked, in the order of the work.
pub fn checks(case: &Case<'_>) -> Vec<Check> {
    let mut checks = Vec::new();
    standing::check(case, &mut checks);
    sponge::check(case, &mut checks);
    dowels::check(case, &mut checks);
    carving::check(case, &mut checks);
    warmth::check(case, &mut checks);
    journey::check(case, &mut checks);
    slip::check(case, &mut checks);
    hazards::check(case, &mut checks);
    checks
}
