//! Solids: where a slab stands off the axis or a cut or add reaches it.

use crate::{
    geom::{
        Tolerance,
        revolve::{polygon_factor, revolved_volume},
    },
    stack::Slab,
};

use super::{Body, Sections, Volumes};

/// Volumes of a slab by intersecting solids.
///
/// The slab meets only its own slice of the target. For a slab on the axis the half-plane gives the
/// exact volumes without cuts and adds, and the solids only what those change, so that straightening
/// the round costs no accuracy. Offcut and shortfall follow from conservation.
pub fn general_volumes(slab: &Slab, target: &Body, tolerance: Tolerance) -> Volumes {
    let n = target.meridians(tolerance);
    let slice = target.solid_between(slab.bottom, slab.top, n);
    let body = slab.solid(tolerance);
    let kept_solid = body.intersection(&slice).volume();
    let plain_slice = revolved_volume(&target.section.between(slab.bottom, slab.top));
    let wanted = plain_slice + slice.volume() - polygon_factor(n) * plain_slice;
    let sections = slab.is_coaxial().then(|| Sections::new(slab, &target.section, tolerance)).flatten();
    let (raw, kept) = match sections {
        Some(sections) => {
            let plain = sections.volumes();
            let meshed = plain_kept_on_solids(slab, target, n, tolerance);
            (plain.raw, plain.kept + kept_solid - meshed)
        }
        None => (body.volume(), kept_solid),
    };
    Volumes { raw, kept, offcut: raw - kept, shortfall: (wanted - kept).max(0.0) }
}

/// What solids say of the kept volume without cuts and adds.
fn plain_kept_on_solids(slab: &Slab, target: &Body, n: u32, tolerance: Tolerance) -> f64 {
    let plain = Body { section: target.section.clone(), edits: Vec::new() };
    slab.solid(tolerance).intersection(&plain.solid_between(slab.bottom, slab.top, n)).volume()
}
