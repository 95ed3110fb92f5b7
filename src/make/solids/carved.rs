//! What carving makes of one slab.

use std::cell::OnceCell;

use geom::{NotSolid, Solid, SolidError, TriMesh};
use plan::{carve::Sections, stack::Slab};

use super::surface_of;

/// A slab and the carved cake at its heights.
pub(super) enum CarvedSlab<'a> {
    /// Both share the axis: their half sections suffice.
    Turned(&'a Sections),
    /// Solids are cut.
    Cut(Box<CutSlab<'a>>),
}

/// A slab and the carved cake at its heights as solids.
pub(super) struct CutSlab<'a> {
    slab: &'a Slab,
    raw: TriMesh,
    slice: TriMesh,
    /// Whether the slab holds all of the slice.
    is_held: bool,
    /// Both as the kernel takes them, once a boolean is needed.
    solids: OnceCell<Result<(Solid, Solid), NotSolid>>,
}

impl<'a> CarvedSlab<'a> {
    /// `slice` is the carved cake between the heights of `slab`, whose own surface is `raw`. What lies further than
    /// `clear` mm from the slab's side is inside it however that side is straightened.
    pub fn cut(slab: &'a Slab, raw: TriMesh, slice: TriMesh, clear: f64) -> Self {
        // A flat slab without a hole.
        let is_held = slab.dome.is_none()
            && slab.hole == 0.0
            && slice.positions.iter().all(|p| slab.footprint.depth(p.truncate()) > clear);
        Self::Cut(Box::new(CutSlab { slab, raw, slice, is_held, solids: OnceCell::new() }))
    }
}

impl CutSlab<'_> {
    /// What stays.
    pub fn kept(&self) -> Result<TriMesh, SolidError> {
        if self.is_held {
            return Ok(self.slice.clone());
        }
        let (raw, slice) = self.solids()?;
        surface_of(&raw.intersection(slice))
    }

    /// What is cut off.
    pub fn offcut(&self) -> Result<TriMesh, SolidError> {
        if self.is_held {
            return Ok(self.raw.hollowed(&self.slice, &[self.slab.bottom, self.slab.top]));
        }
        let (raw, slice) = self.solids()?;
        surface_of(&raw.difference(slice))
    }

    /// What the slab does not hold of the carved cake.
    pub fn shortfall(&self) -> Result<TriMesh, SolidError> {
        if self.is_held {
            return Ok(TriMesh::default());
        }
        let (raw, slice) = self.solids()?;
        surface_of(&slice.difference(raw))
    }

    fn solids(&self) -> Result<&(Solid, Solid), NotSolid> {
        let solids = || Ok((Solid::from_mesh(&self.raw)?, Solid::from_mesh(&self.slice)?));
        self.solids.get_or_init(solids).as_ref().map_err(Clone::clone)
    }
}
