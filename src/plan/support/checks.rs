//! All checks of a load case.

use rayon::prelude::*;

use super::{carving, case::Case, check::Check, dowels, hazards, journey, slip, sponge, standing, warmth};

/// Every kind of check, in the order of the work.
const ALL: [fn(&Case<'_>, &mut Vec<Check>); 8] = [
    standing::check,
    sponge::check,
    dowels::check,
    carving::check,
    warmth::check,
    journey::check,
    slip::check,
    hazards::check,
];

/// Everything checked, in the order of the work.
pub fn checks(case: &Case<'_>) -> Vec<Check> {
    let of_kind = |check: &fn(&Case<'_>, &mut Vec<Check>)| {
        let mut checks = Vec::new();
        check(case, &mut checks);
        checks
    };
    ALL.par_iter().with_max_len(1).flat_map_iter(of_kind).collect()
}
