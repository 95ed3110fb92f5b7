//! The half-plane: where slab and target share the axis.

use crate::stack::Slab;
use geom::{Region, Tolerance, revolve::revolved_volume};

use super::{Body, CarveError, Volumes, conserved};

/// Half sections of one slab after carving.
#[derive(Debug, Clone, PartialEq)]
pub struct Sections {
    /// Before carving.
    pub raw: Region,
    /// Inside the carved line.
    pub kept: Region,
    /// Shaved off.
    pub offcut: Region,
    /// Carved shape at these heights that the slab does not hold.
    pub shortfall: Region,
}

impl Sections {
    /// Carves a slab on the axis; `None` if it is not round.
    pub fn new(slab: &Slab, target: &Region, tolerance: Tolerance) -> Option<Self> {
        let raw = slab.section(tolerance)?;
        let wanted = target.between(slab.bottom, slab.top);
        Some(Self {
            kept: wanted.intersection(&raw),
            offcut: raw.difference(&wanted),
            shortfall: wanted.difference(&raw),
            raw,
        })
    }

    /// Their volumes, each found by itself.
    pub fn volumes(&self) -> Volumes {
        Volumes {
            raw: revolved_volume(&self.raw),
            kept: revolved_volume(&self.kept),
            offcut: revolved_volume(&self.offcut),
            shortfall: revolved_volume(&self.shortfall),
        }
    }
}

/// Volumes of a slab on the axis that no cut or add reaches, exact by Pappus's theorem.
///
/// # Errors
/// When raw and kept + offcut differ by more than [`super::CONSERVED`].
pub fn turned_volumes(slab: &Slab, target: &Body, tolerance: Tolerance) -> Result<Volumes, CarveError> {
    let Some(sections) = Sections::new(slab, &target.section, tolerance) else {
        return Ok(super::general_volumes(slab, target, tolerance));
    };
    let volumes = sections.volumes();
    conserved(&slab.name, volumes.raw, volumes.kept + volumes.offcut, volumes.raw)?;
    Ok(volumes)
}
