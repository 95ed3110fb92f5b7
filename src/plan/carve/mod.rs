//! The stack minus the target: what stays of every slab, what is shaved off, what is missing.
//!
//! Where a slab stands on the axis and no cut or add reaches it, everything is found in the half-plane
//! and is exact for the straightened profile ([`turned_volumes`]). Elsewhere solids are intersected
//! ([`general_volumes`]). Both give the same on the same input; a property test holds them to it.

mod bearing_sections;
mod body;
mod bulk;
mod copies;
mod effort;
mod general;
mod level_outlines;
mod moments;
mod sectors;
mod shave;
mod span;
mod tools;
mod turned;
mod way_in;
mod window;

use rayon::prelude::*;

use crate::{
    design::Design,
    lines::{Lines, LinesError, NothingLeft},
    stack::{Slab, Stack},
};
use geom::{Cancel, Cancelled, NotSolid, SolidError, Tolerance};

pub use bearing_sections::BearingSections;
pub use body::{Body, Edit, Edited, reaches};
pub use bulk::{Bulk, add_solids};
pub use effort::check_details;
pub use general::{general_volumes, solid_volumes};
pub use level_outlines::LevelOutlines;
pub use shave::{Place, ShaveMap, ShaveStats, Spare};
pub use tools::Surface;
pub use turned::{Sections, turned_volumes};
pub use window::Window;

/// Volumes of one slab, mm³.
#[derive(Debug, Clone, Copy, Default, PartialEq, serde::Serialize)]
pub struct Volumes {
    /// Before carving.
    pub raw: f64,
    /// Inside the carved line.
    pub kept: f64,
    /// Shaved off: raw − kept.
    pub offcut: f64,
    /// Carved shape at the slab's heights that the slab does not hold.
    pub shortfall: f64,
}

impl std::ops::Add for Volumes {
    type Output = Self;

    fn add(self, other: Self) -> Self {
        Self {
            raw: self.raw + other.raw,
            kept: self.kept + other.kept,
            offcut: self.offcut + other.offcut,
            shortfall: self.shortfall + other.shortfall,
        }
    }
}

/// What carving does to one slab.
#[derive(Debug, Clone, PartialEq)]
pub struct SlabCarving {
    /// Volumes, mm³.
    pub volumes: Volumes,
    /// How deep the knife goes; `None` where no carved surface lies at the slab's heights.
    pub shave: Option<ShaveStats>,
    /// Where the carved surface comes nearest to the slab's side; `None` likewise.
    pub spare: Option<Spare>,
    /// Whether a cut, an add or a slab off the axis made solids necessary.
    pub general: bool,
}

/// Heights that the carved shape reaches and no slab holds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Uncovered {
    /// From here, mm.
    pub bottom: f64,
    /// To here, mm.
    pub top: f64,
    /// Carved volume between, mm³.
    pub volume: f64,
}

/// The whole carve.
#[derive(Debug, Clone)]
pub struct Carving {
    /// The solid inside the carved line.
    pub target: Body,
    /// Its edited sectors.
    pub edited: Vec<Edited>,
    /// One entry for each slab of the stack.
    pub slabs: Vec<SlabCarving>,
    /// Heights without a slab.
    pub uncovered: Vec<Uncovered>,
    /// Volume inside the carved line, mm³.
    pub carved: f64,
}

/// Carving went wrong in a way that is no fault of the cake file.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum CarveError {
    /// The coverings leave nothing.
    #[error(transparent)]
    NothingLeft(#[from] NothingLeft),
    /// It was asked to stop.
    #[error(transparent)]
    Cancelled(#[from] Cancelled),
    /// The kernel refuses a solid: a fault of this program.
    #[error("a cut, an add or the carved shape cannot be worked out; please report this cake file")]
    NotSolid(#[from] NotSolid),
    /// Volumes do not add up: a fault of this program.
    #[error(
        "the volumes of \"{slab}\" do not add up: {left} mm³ against {right} mm³; please report this cake file"
    )]
    NotConserved {
        /// The slab, or "the carved shape".
        slab: String,
        /// One side of the sum, mm³.
        left: f64,
        /// The other side, mm³.
        right: f64,
    },
}

impl From<SolidError> for CarveError {
    fn from(error: SolidError) -> Self {
        match error {
            SolidError::NotSolid(fault) => fault.into(),
            SolidError::Cancelled(stopped) => stopped.into(),
        }
    }
}

impl From<LinesError> for CarveError {
    fn from(error: LinesError) -> Self {
        match error {
            LinesError::NothingLeft(nothing) => nothing.into(),
            LinesError::Cancelled(stopped) => stopped.into(),
        }
    }
}

/// How closely volumes must add up, relative to what they add up to.
pub const CONSERVED: f64 = 1e-9;

impl Carving {
    /// Carves `stack` to the carved line of `lines`.
    ///
    /// # Errors
    /// When volumes do not add up to [`CONSERVED`], when the kernel refuses a solid, or once `cancel` asks to stop.
    pub fn new(
        design: &Design,
        lines: &Lines,
        stack: &Stack,
        tolerance: Tolerance,
        cancel: &Cancel,
    ) -> Result<Self, CarveError> {
        let target = Body::new(design, lines, lines.all().len() - 1, tolerance, cancel)?;
        let edited = target.edited(target.meridians(tolerance), cancel)?;
        Self::of(target, edited, stack, tolerance, cancel)
    }

    /// The same shape carved out of another stack.
    ///
    /// # Errors
    /// When volumes do not add up, or once `cancel` asks to stop.
    pub fn anew(&self, stack: &Stack, tolerance: Tolerance, cancel: &Cancel) -> Result<Self, CarveError> {
        Self::of(self.target.clone(), self.edited.clone(), stack, tolerance, cancel)
    }

    /// Carves `stack` to `target`, whose edited sectors are `edited`.
    ///
    /// # Errors
    /// When volumes do not add up to [`CONSERVED`], when the kernel refuses a solid, or once `cancel` asks to stop.
    pub fn of(
        target: Body,
        edited: Vec<Edited>,
        stack: &Stack,
        tolerance: Tolerance,
        cancel: &Cancel,
    ) -> Result<Self, CarveError> {
        target.check_solid()?;
        edited.iter().try_for_each(Edited::check_solid)?;
        let meshed = general::MeshedTarget::new(&target, &edited, tolerance);
        let slabs: Vec<SlabCarving> = stack
            .slabs
            .par_iter()
            .map(|slab| {
                cancel.check()?;
                carve_slab(slab, stack, &meshed)
            })
            .collect::<Result<_, _>>()?;
        cancel.check()?;
        let uncovered = uncovered(&target, stack, &edited);
        let (low, high) = target.heights();
        let carved = target.volume_between(low, high, &edited);
        let carving = Self { target, edited, slabs, uncovered, carved };
        carving.check(stack)?;
        Ok(carving)
    }

    /// Volumes over all slabs of one kind.
    pub fn total(&self, stack: &Stack, of: impl Fn(&Slab) -> bool) -> Volumes {
        let chosen = stack.slabs.iter().zip(&self.slabs).filter(|(slab, _)| of(slab));
        chosen.map(|(_, carving)| carving.volumes).fold(Volumes::default(), std::ops::Add::add)
    }

    /// Everything inside the carved line that neither a slab nor a filling nor a board holds, mm³.
    pub fn shortfall(&self) -> f64 {
        let gaps: f64 = self.uncovered.iter().map(|gap| gap.volume).sum();
        gaps + self.slabs.iter().map(|slab| slab.volumes.shortfall).sum::<f64>()
    }

    /// carved = kept + filling inside + boards inside + shortfall, unless slabs overlap.
    fn check(&self, stack: &Stack) -> Result<(), CarveError> {
        let overlap = stack.slabs.windows(2).any(|pair| pair[1].bottom < pair[0].top - 1e-9);
        if overlap {
            return Ok(());
        }
        let held: f64 = self.slabs.iter().map(|slab| slab.volumes.kept).sum();
        // What cuts leave is found as a difference: its rounding is that of what they are taken from.
        let (low, high) = self.target.heights();
        let whole = self.target.volume_between(low, high, &[]);
        conserved("the carved shape", self.carved, held + self.shortfall(), whole.max(self.carved))
    }
}

fn conserved(slab: &str, left: f64, right: f64, scale: f64) -> Result<(), CarveError> {
    if (left - right).abs() <= CONSERVED * scale.max(1.0) {
        return Ok(());
    }
    Err(CarveError::NotConserved { slab: slab.to_owned(), left, right })
}

fn carve_slab(
    slab: &Slab,
    stack: &Stack,
    meshed: &general::MeshedTarget<'_>,
) -> Result<SlabCarving, CarveError> {
    let (target, tolerance) = (meshed.target, meshed.tolerance);
    let general = target.is_edited_between(slab.bottom, slab.top) || !slab.is_coaxial();
    let volumes =
        if general { general::volumes(slab, meshed) } else { turned_volumes(slab, target, tolerance)? };
    let survey = shave::survey(slab, target, stack, meshed.edited);
    Ok(SlabCarving { volumes, shave: survey.stats, spare: survey.spare, general })
}

/// Heights of the target without a slab, with what is missing there.
fn uncovered(target: &Body, stack: &Stack, edited: &[Edited]) -> Vec<Uncovered> {
    /// Heights lie on a grid; what is thinner is round-off, mm.
    const SEAM: f64 = geom::region::GRID / 2.0;
    let (mut from, end) = target.heights();
    let mut slabs: Vec<&Slab> = stack.slabs.iter().collect();
    slabs.sort_by(|a, b| a.bottom.total_cmp(&b.bottom));
    let mut gaps = Vec::new();
    for slab in slabs {
        if slab.bottom > from + SEAM {
            gaps.push((from, slab.bottom.min(end)));
        }
        from = from.max(slab.top);
    }
    gaps.push((from, end));
    gaps.retain(|(bottom, top)| top - bottom > SEAM);
    gaps.into_iter()
        .map(|(bottom, top)| Uncovered { bottom, top, volume: target.volume_between(bottom, top, edited) })
        .filter(|gap| gap.volume > 0.0)
        .collect()
}
