//! Solids: where a slab stands off the axis or a cut or add reaches it.

use std::sync::OnceLock;

use glam::DVec2;

use crate::{design::FootprintShape, stack::Slab};
use geom::{
    Column, LayeredMesh, Region, Tolerance, TriMesh,
    region::signed_area,
    revolve::{at_bearing, polygon_factor, revolved_volume},
    uncancelled,
};

use super::{Body, Sections, Volumes, body::Edited};

/// Volumes of a slab as its solid and the solid of its own slice of the target give them, rounds
/// straightened. Offcut and shortfall follow from conservation.
///
/// A slab on the axis gets the target's meridians, so that both lose the same share
/// ([`polygon_factor`]).
pub fn solid_volumes(slab: &Slab, target: &Body, tolerance: Tolerance) -> Volumes {
    let n = target.meridians(tolerance);
    let slice = target.solid_between(slab.bottom, slab.top, n);
    let body = if slab.is_coaxial() { slab.turned_solid(n, tolerance) } else { slab.solid(tolerance) };
    let (raw, kept) = (body.volume(), body.intersection(&slice).volume());
    Volumes { raw, kept, offcut: raw - kept, shortfall: (slice.volume() - kept).max(0.0) }
}

/// Volumes of a slab of the true, round cake.
///
/// Straightening the round takes its share from everything. So the half-plane gives what it can exactly,
/// and solids only what cuts and adds change; where a slab stands off the axis, what the meshes lack is
/// given back.
pub fn general_volumes(slab: &Slab, target: &Body, tolerance: Tolerance) -> Volumes {
    let edited = uncancelled(|cancel| target.edited(target.meridians(tolerance), cancel));
    volumes(slab, &MeshedTarget::new(target, &edited, tolerance))
}

/// A target with what stands in all its sectors made, and its whole surface once a slab asks for it.
pub(super) struct MeshedTarget<'a> {
    pub target: &'a Body,
    pub edited: &'a [Edited],
    pub tolerance: Tolerance,
    surface: OnceLock<TriMesh>,
}

impl<'a> MeshedTarget<'a> {
    pub fn new(target: &'a Body, edited: &'a [Edited], tolerance: Tolerance) -> Self {
        Self { target, edited, tolerance, surface: OnceLock::new() }
    }

    fn surface(&self) -> &TriMesh {
        match &self.target.free {
            Some(mesh) => mesh,
            None => self.surface.get_or_init(|| self.target.surface(self.edited, self.meridians())),
        }
    }

    fn meridians(&self) -> u32 {
        self.target.meridians(self.tolerance)
    }

    /// [`solid_volumes`], without a boolean where the slab is an upright column.
    fn volumes(&self, slab: &Slab) -> Volumes {
        let Some((outlines, hole)) = columns(slab, self.meridians(), self.tolerance) else {
            return solid_volumes(slab, self.target, self.tolerance);
        };
        let mesh = self.surface();
        let stands_in =
            |corners: &[DVec2]| mesh.volume_in(&Column::new(corners.to_vec()), slab.bottom, slab.top);
        let area: f64 = outlines.iter().map(|outline| signed_area(outline)).sum();
        let raw = (area - signed_area(&hole)) * slab.height();
        let held: f64 = outlines.iter().map(|outline| stands_in(outline)).sum();
        let wanted = mesh.volume_between(slab.bottom, slab.top);
        // Pieces that lie a little over one another count twice there, but never more than all of the shape is kept.
        let kept = (held - if hole.is_empty() { 0.0 } else { stands_in(&hole) }).min(wanted);
        Volumes { raw, kept, offcut: raw - kept, shortfall: wanted - kept }
    }
}

/// The convex outlines that a flat slab is laid of and that of its hole, as [`solid_volumes`] straightens them,
/// counter-clockwise.
fn columns(slab: &Slab, meridians: u32, tolerance: Tolerance) -> Option<(Vec<Vec<DVec2>>, Vec<DVec2>)> {
    if slab.dome.is_some() {
        return None;
    }
    let centre = slab.footprint.centre;
    let round = |radius: f64, n: u32| -> Vec<DVec2> {
        let corner = |k| centre + at_bearing(radius, 0.0, 360.0 * f64::from(k) / f64::from(n)).truncate();
        (0..n).map(corner).collect()
    };
    let hole = slab.hole / 2.0;
    let around = match slab.footprint.shape {
        FootprintShape::Rectangle { .. } | FootprintShape::Pieces(_) => {
            let hole = (hole > 0.0).then(|| Region::disc(centre, hole, tolerance).contours()[0].clone());
            return Some((slab.footprint.parts(tolerance), hole.unwrap_or_default()));
        }
        FootprintShape::Round { .. } if slab.is_coaxial() => meridians,
        FootprintShape::Round { .. } => tolerance.segments(slab.footprint.reach()),
    };
    let hole = if hole > 0.0 { round(hole, around) } else { Vec::new() };
    Some((vec![round(slab.footprint.reach(), around)], hole))
}

/// [`general_volumes`] with what stands in all sectors made already.
pub(super) fn volumes(slab: &Slab, meshed: &MeshedTarget<'_>) -> Volumes {
    if let Some(mesh) = meshed.target.layered() {
        return of_free_shape(slab, meshed, mesh);
    }
    let section = &meshed.target.section;
    let sections = slab.is_coaxial().then(|| Sections::new(slab, section, meshed.tolerance)).flatten();
    match sections {
        Some(sections) => on_axis(slab, meshed, &sections),
        None => off_axis(slab, meshed),
    }
}

/// Where the shape is not turned its mesh is the truth; only what a straightened pan lacks is given back.
fn of_free_shape(slab: &Slab, meshed: &MeshedTarget<'_>, mesh: &LayeredMesh) -> Volumes {
    let raw =
        slab.section(meshed.tolerance).map_or_else(|| slab.volume(), |section| revolved_volume(&section));
    let wanted = mesh.volume_between(slab.bottom, slab.top);
    if holds_mesh(slab, mesh) {
        return balanced(raw, wanted, wanted);
    }
    let meshed = meshed.volumes(slab);
    let pan = Measured { exact: raw, meshed: meshed.raw };
    let shape = Measured { exact: wanted, meshed: wanted };
    balanced(raw, shared(meshed.kept, &pan, &shape), wanted)
}

/// Whether a flat whole slab without a hole holds all of a mesh at its heights: a pan has no inward corner, so that it
/// does if it holds all corners. Pieces may have inward corners.
fn holds_mesh(slab: &Slab, mesh: &LayeredMesh) -> bool {
    if slab.dome.is_some() || slab.hole > 0.0 || slab.footprint.shape.pieces().is_some() {
        return false;
    }
    let mut held = true;
    mesh.each_between(slab.bottom, slab.top, |_, piece| {
        held = held && piece.iter().all(|p| slab.footprint.depth(p.truncate()) >= 0.0);
    });
    held
}

fn on_axis(slab: &Slab, meshed: &MeshedTarget<'_>, sections: &Sections) -> Volumes {
    let (target, edited, n) = (meshed.target, meshed.edited, meshed.meridians());
    let plain = sections.volumes();
    let wanted = plain.kept + plain.shortfall + target.change_between(slab.bottom, slab.top, edited);
    if sections.shortfall.is_empty() && target.is_only_cut_between(slab.bottom, slab.top) {
        // The slab holds all that the cuts leave.
        return balanced(plain.raw, wanted, wanted);
    }
    let meshed = meshed.volumes(slab);
    balanced(plain.raw, exact(meshed.kept, plain.kept, n), wanted)
}

fn off_axis(slab: &Slab, meshed: &MeshedTarget<'_>) -> Volumes {
    let (target, edited) = (meshed.target, meshed.edited);
    let raw =
        slab.section(meshed.tolerance).map_or_else(|| slab.volume(), |section| revolved_volume(&section));
    if holds_all(slab, target) {
        let wanted = target.volume_between(slab.bottom, slab.top, edited);
        return balanced(raw, wanted, wanted);
    }
    let n = meshed.meridians();
    let meshed = meshed.volumes(slab);
    let wanted_meshed = meshed.kept + meshed.shortfall;
    let plain = revolved_volume(&target.section.between(slab.bottom, slab.top));
    let wanted = exact(wanted_meshed, plain, n);
    let a = Measured { exact: raw, meshed: meshed.raw };
    let b = Measured { exact: wanted, meshed: wanted_meshed };
    balanced(raw, shared(meshed.kept, &a, &b), wanted)
}

/// Whether a flat slab without a hole holds all of the target at its heights: a disc about the axis lies in the
/// slab's outline if the axis lies in it by the disc's radius.
fn holds_all(slab: &Slab, target: &Body) -> bool {
    if slab.dome.is_some() || slab.hole > 0.0 || !target.is_only_cut_between(slab.bottom, slab.top) {
        return false;
    }
    let part = target.section.between(slab.bottom, slab.top);
    let widest = part.bounds().map_or(0.0, |(_, hi)| hi.x);
    slab.footprint.depth(DVec2::ZERO) >= widest
}

/// The volume of a turned solid with cuts and adds: `meshed` on solids with `n` meridians, `plain` in the
/// half-plane without them.
fn exact(meshed: f64, plain: f64, n: u32) -> f64 {
    plain + meshed - polygon_factor(n) * plain
}

/// Volumes that add up, round-off beyond either side cut off.
fn balanced(raw: f64, kept: f64, wanted: f64) -> Volumes {
    let kept = kept.min(raw).min(wanted).max(0.0);
    Volumes { raw, kept, offcut: raw - kept, shortfall: wanted - kept }
}

/// The volume of a round solid and what its mesh holds of it, mm³.
struct Measured {
    exact: f64,
    meshed: f64,
}

impl Measured {
    /// What straightening took.
    fn lost(&self) -> f64 {
        self.exact - self.meshed
    }

    /// The share of the mesh that lies outside `shared` mm³ of it.
    fn share_outside(&self, shared: f64) -> f64 {
        if self.meshed > 0.0 { (1.0 - shared / self.meshed).max(0.0) } else { 0.0 }
    }
}

/// The volume that two solids share, from what their meshes share, mm³.
///
/// Where one lies inside the other, what they share lacks just what that one lacks. In between, the less
/// of a solid lies outside the other, the more of its loss is what the shared part lacks.
fn shared(meshed: f64, a: &Measured, b: &Measured) -> f64 {
    /// Less than this share is round-off.
    const ALL: f64 = 1e-12;
    let (a_outside, b_outside) = (a.share_outside(meshed), b.share_outside(meshed));
    if b_outside <= ALL {
        return meshed + b.lost();
    }
    if a_outside <= ALL {
        return meshed + a.lost();
    }
    meshed + (a.lost() * b_outside + b.lost() * a_outside) / (a_outside + b_outside)
}
