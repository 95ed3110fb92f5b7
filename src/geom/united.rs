//! What closed surfaces enclose together, as one surface: crossings, overlaps and hollows gone.
//!
//! The surface is first taken apart ([`TriMesh::closed_surfaces`]). Each closed surface that does not cross itself is a
//! solid; one that does is made into solids by winding number, which is exact and takes a hundred times as long. The
//! solids are then joined half by half, those that lie near each other first, and only where their boxes meet: parts
//! that stand apart are never put through a boolean. How long all this takes goes with the number of triangles that
//! cross, so that these are counted before.

use glam::DVec3;
use rayon::prelude::*;
use std::sync::atomic::{AtomicUsize, Ordering};

use crate::{
    Bvh, Cancel, Cancelled, NotResolved, Solid, SolidError, TriMesh,
    closed_surfaces::{box_round, together},
    union_tree::joined,
};

/// How much is worked on before it is refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct MostCrossings {
    /// Pairs of triangles of different surfaces whose boxes meet: what a union takes goes with these, about 0.1 µs each.
    pub between: usize,
    /// Pairs of triangles of one surface that cross: about 0.1 ms and 10 kB each.
    pub within: usize,
}

impl Default for MostCrossings {
    /// About 6 s and 300 MB on two cores.
    fn default() -> Self {
        Self { between: 50_000_000, within: 15_000 }
    }
}

/// Pairs of triangles whose boxes meet, at most: so many, and so many more for each triangle. On a fine surface of
/// triangles about as long as wide there are ten to twenty for each.
const MEETING: usize = 10_000_000;
const MEETING_EACH: usize = 40;

/// Why surfaces are not united.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum NotUnited {
    /// Too many triangles cross.
    #[error("too many triangles cross")]
    TooManyCrossings {
        /// Where one of the pairs is, mm.
        at: DVec3,
    },
    /// Too many triangles lie beside each other, as where thousands of thin ones share a vertex.
    #[error("too many triangles lie beside each other")]
    TooManyBeside {
        /// The vertex that most triangles share, mm.
        at: DVec3,
    },
    /// They enclose no solid.
    #[error(transparent)]
    NotSolid(#[from] crate::NotSolid),
    /// The kernel resolves a crossing into none.
    #[error(transparent)]
    NotResolved(NotResolved),
    /// The work was asked to stop.
    #[error(transparent)]
    Cancelled(#[from] Cancelled),
}

impl From<SolidError> for NotUnited {
    fn from(error: SolidError) -> Self {
        match error {
            SolidError::NotSolid(error) => Self::NotSolid(error),
            SolidError::Cancelled(stopped) => Self::Cancelled(stopped),
        }
    }
}

impl From<NotResolved> for NotUnited {
    fn from(error: NotResolved) -> Self {
        match error {
            NotResolved::Cancelled(stopped) => Self::Cancelled(stopped),
            other => Self::NotResolved(other),
        }
    }
}

impl TriMesh {
    /// Whether so few triangles have boxes that meet that crossings can be looked for in a second or two.
    ///
    /// # Errors
    /// When there are more, or once `cancel` asks to stop.
    pub fn check_thin(&self, cancel: &Cancel) -> Result<(), NotUnited> {
        let most = MEETING + MEETING_EACH * self.len();
        let met = AtomicUsize::new(0);
        let few = |_, _| met.fetch_add(1, Ordering::Relaxed) < most;
        if Bvh::try_new(self, cancel)?.all_close_pairs(0.0, few, cancel) {
            return Ok(());
        }
        cancel.check()?;
        let mut uses = vec![0u32; self.positions.len()];
        self.triangles.iter().flatten().for_each(|v| uses[*v as usize] += 1);
        let busiest = (0..uses.len()).rev().max_by_key(|v| uses[*v]).unwrap_or_default();
        Err(NotUnited::TooManyBeside { at: self.positions[busiest] })
    }

    /// The surface of all that its closed surfaces enclose together; those that face inwards count as if they faced
    /// outwards, and those that enclose nothing are left out.
    ///
    /// # Errors
    /// When more triangles cross than `most`, an edge is not run along as often in one direction as in the other, or
    /// once `cancel` asks to stop.
    pub fn try_united(&self, most: MostCrossings, cancel: &Cancel) -> Result<TriMesh, NotUnited> {
        cancel.check()?;
        let Some(surfaces) = self.closed_surfaces() else {
            return Ok(self.try_without_self_intersections(cancel)?);
        };
        let surfaces: Vec<TriMesh> = surfaces.into_iter().filter_map(facing_outwards).collect();
        check_between(&surfaces, most, cancel)?;
        let solids: Vec<Vec<Solid>> = surfaces
            .par_iter()
            .map(|surface| solids_of(surface, most, cancel))
            .collect::<Result<_, NotUnited>>()?;
        let apart = joined(solids.into_iter().flatten(), cancel)?;
        let meshes = apart.into_iter().map(|solid| solid.to_mesh().tidied().without_unused_vertices());
        Ok(together(meshes))
    }
}

/// A closed surface, turned if it faces inwards; `None` if it encloses nothing.
fn facing_outwards(mut surface: TriMesh) -> Option<TriMesh> {
    /// Least thickness, as the share that the volume has of the area times the size.
    const FLAT: f64 = 1e-12;
    let found = surface.mass_properties();
    let (lo, hi) = box_round(&surface);
    if found.volume.abs() <= FLAT * found.area * lo.distance(hi) {
        return None;
    }
    if found.volume < 0.0 {
        surface.triangles.iter_mut().for_each(|t| t.swap(1, 2));
    }
    Some(surface)
}

/// Whether so few triangles of different surfaces lie near each other as may be worked on.
///
/// # Errors
/// When there are more, with the first two that cross; or once `cancel` asks to stop.
fn check_between(surfaces: &[TriMesh], most: MostCrossings, cancel: &Cancel) -> Result<(), NotUnited> {
    let of: Vec<u32> = (0u32..).zip(surfaces).flat_map(|(n, s)| std::iter::repeat_n(n, s.len())).collect();
    let all = together(surfaces.iter().cloned());
    let apart = |i: u32, j: u32| of[i as usize] != of[j as usize];
    check_few(&all, most.between, apart, |i, j| apart(i, j) && all.crosses(i, j), cancel)
}

/// Whether so few triangles of one surface cross as may be worked on.
///
/// # Errors
/// When there are more, with the first two that cross; or once `cancel` asks to stop.
fn check_within(surface: &TriMesh, most: MostCrossings, cancel: &Cancel) -> Result<(), NotUnited> {
    let crosses = |i: u32, j: u32| {
        let (one, two) = (surface.triangles[i as usize], surface.triangles[j as usize]);
        !one.iter().any(|v| two.contains(v)) && surface.crosses(i, j)
    };
    check_few(surface, most.within, crosses, crosses, cancel)
}

/// Whether at most `most` of the pairs of triangles whose boxes meet count.
fn check_few(
    mesh: &TriMesh,
    most: usize,
    counts: impl Fn(u32, u32) -> bool + Sync,
    crosses: impl Fn(u32, u32) -> bool,
    cancel: &Cancel,
) -> Result<(), NotUnited> {
    let counted = AtomicUsize::new(0);
    let bvh = Bvh::try_new(mesh, cancel)?;
    let few = |i: u32, j: u32| !counts(i, j) || counted.fetch_add(1, Ordering::Relaxed) < most;
    let few = bvh.all_close_pairs(0.0, few, cancel);
    cancel.check()?;
    if few {
        return Ok(());
    }
    let (first, _) = bvh.first_close_pair(crosses).unwrap_or_default();
    Err(NotUnited::TooManyCrossings { at: mesh.corners(first as usize).into_iter().sum::<DVec3>() / 3.0 })
}

/// The solids that one closed surface encloses.
fn solids_of(surface: &TriMesh, most: MostCrossings, cancel: &Cancel) -> Result<Vec<Solid>, NotUnited> {
    // One that runs along an edge twice is none to the kernel's booleans.
    if !surface.try_intersects_itself(cancel)?
        && let Ok(solid) = Solid::from_mesh(surface)
    {
        return Ok(vec![solid]);
    }
    check_within(surface, most, cancel)?;
    let resolved = surface.try_without_self_intersections(cancel)?;
    let pieces = resolved.closed_surfaces().unwrap_or_else(|| vec![resolved]);
    hollows_kept(pieces)
}

/// Resolved surfaces as solids: those that face inwards are hollows of the rest.
fn hollows_kept(pieces: Vec<TriMesh>) -> Result<Vec<Solid>, NotUnited> {
    if pieces.iter().any(|piece| piece.volume() < 0.0) {
        return Ok(vec![Solid::from_mesh(&together(pieces))?]);
    }
    pieces.iter().map(|piece| Ok(Solid::from_mesh(piece)?)).collect()
}

#[cfg(test)]
mod tests {
    use glam::dvec3;

    use super::*;
    use crate::{Region, Tolerance, revolve::revolve, uncancelled};

    fn ball(at: DVec3) -> TriMesh {
        let disc = Region::disc(glam::DVec2::ZERO, 10.0, Tolerance::new(0.1).unwrap());
        revolve(&disc.right_half(), 32).translated(at)
    }

    fn balls(count: u32, apart: f64) -> TriMesh {
        together((0..count).map(|i| ball(dvec3(f64::from(i) * apart, f64::from(i % 3), 0.0))))
    }

    #[test]
    fn what_stands_apart_is_left_as_it_is() {
        let apart = balls(20, 30.0);
        let united = apart.try_united(MostCrossings { between: 0, within: 0 }, &Cancel::new()).unwrap();
        assert_eq!(united.len(), apart.len());
        assert!((united.volume() / apart.volume() - 1.0).abs() < 1e-12);
    }

    #[test]
    fn crossings_beyond_the_most_are_refused_where_the_first_is() {
        let crossing = balls(5, 15.0);
        let few = MostCrossings { between: 100, within: 0 };
        let Err(NotUnited::TooManyCrossings { at }) = crossing.try_united(few, &Cancel::new()) else {
            panic!("too many crossings were worked on")
        };
        assert!((0.0..15.0).contains(&at.x), "{at}");
        let united = crossing.try_united(MostCrossings::default(), &Cancel::new()).unwrap();
        united.check().unwrap();
        // Two by two, in the order that they are given.
        let solids: Vec<Solid> = (0..5)
            .map(|i| Solid::of_closed(&ball(dvec3(f64::from(i) * 15.0, f64::from(i % 3), 0.0))))
            .collect();
        let reference = solids.iter().fold(Solid::empty(), |all, one| all.union(one)).volume();
        assert!((united.volume() / reference - 1.0).abs() < 1e-9);
    }

    /// One surface that crosses itself: a ball one of whose corners is pushed out through the other side.
    #[test]
    fn a_surface_that_crosses_itself_too_often_is_refused() {
        let mut pushed = ball(DVec3::ZERO);
        let tip = (0..pushed.positions.len())
            .max_by(|a, b| pushed.positions[*a].x.total_cmp(&pushed.positions[*b].x));
        pushed.positions[tip.unwrap()] = dvec3(-30.0, 0.5, 0.3);
        let refused = pushed.try_united(MostCrossings { between: 0, within: 2 }, &Cancel::new());
        assert!(matches!(refused, Err(NotUnited::TooManyCrossings { .. })), "{refused:?}");
        pushed.try_united(MostCrossings::default(), &Cancel::new()).unwrap().check().unwrap();
    }

    #[test]
    fn unions_are_stopped() {
        let stopped = Cancel::new();
        stopped.cancel();
        let refused = balls(3, 15.0).try_united(MostCrossings::default(), &stopped);
        assert_eq!(refused, Err(NotUnited::Cancelled(Cancelled)));
    }

    #[test]
    fn a_fan_of_thin_triangles_is_too_much_to_check() {
        let cone =
            Region::from_simple(vec![glam::DVec2::ZERO, glam::dvec2(80.0, 0.0), glam::dvec2(0.0, 100.0)]);
        let check = |meridians| uncancelled(|_| Ok(revolve(&cone, meridians).check_thin(&Cancel::new())));
        assert_eq!(check(1000), Ok(()));
        assert!(matches!(check(12_000), Err(NotUnited::TooManyBeside { at }) if at.x.abs() < 1e-9));
    }
}
