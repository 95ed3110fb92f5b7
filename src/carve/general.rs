//! Solids: where a slab stands off the axis or a cut or add reaches it.

use crate::{
    geom::{
        Tolerance,
        revolve::{polygon_factor, revolved_volume},
    },
    stack::Slab,
};

use super::{Body, Sections, Volumes};

/// Volumes of a slab as its solid and the solid of its own slice of the target give them, rounds
/// straightened. Offcut and shortfall follow from conservation.
pub fn solid_volumes(slab: &Slab, target: &Body, tolerance: Tolerance) -> Volumes {
    let slice = target.solid_between(slab.bottom, slab.top, target.meridians(tolerance));
    let body = slab.solid(tolerance);
    let (raw, kept) = (body.volume(), body.intersection(&slice).volume());
    Volumes { raw, kept, offcut: raw - kept, shortfall: (slice.volume() - kept).max(0.0) }
}

/// Volumes of a slab of the true, round cake.
///
/// Straightening the round takes its share from everything. So the half-plane gives what it can exactly,
/// the carved shape at the slab's heights and the raw slab, and solids only what is missing and what
/// cuts and adds change.
pub fn general_volumes(slab: &Slab, target: &Body, tolerance: Tolerance) -> Volumes {
    let on_solids = solid_volumes(slab, target, tolerance);
    let wanted_on_solids = on_solids.kept + on_solids.shortfall;
    let factor = polygon_factor(target.meridians(tolerance));
    let plain = revolved_volume(&target.section.between(slab.bottom, slab.top));
    let wanted = plain + wanted_on_solids - factor * plain;
    let sections = slab.is_coaxial().then(|| Sections::new(slab, &target.section, tolerance)).flatten();
    let shortfall = match sections {
        Some(sections) => {
            let plain = revolved_volume(&sections.shortfall);
            plain + on_solids.shortfall - factor * plain
        }
        None => on_solids.shortfall,
    };
    // Round-off on a slab that holds its whole slice is no shortfall.
    let shortfall = if shortfall < super::CONSERVED * wanted { 0.0 } else { shortfall };
    let raw = slab.volume();
    let kept = wanted - shortfall;
    Volumes { raw, kept, offcut: raw - kept, shortfall }
}
