//! Solids under booleans: the kernel's guaranteed-manifold bodies under names of this program.
//!
//! The kernel is only called where something is off the common axis; see [`super::revolve`] for the
//! rest. Meshes go in and come out at full `f64` precision.
//!
//! A solid that the kernel refuses is an error ([`NotSolid`]). Where a function hands out a [`Solid`] all the same, it
//! is a faulty one: it holds nothing, every solid made of it is faulty too, and [`Solid::check`] says why. Whoever hands
//! out a result made of solids asks that last.

use std::sync::Arc;

use glam::{DAffine3, DVec3, dvec2, dvec3};
use manifold_rust::{
    cross_section::CrossSection,
    linalg::{Mat3x4, Vec3},
    manifold::Manifold,
    types::{Error as KernelError, MeshGL64, OpType, SimplePolygon},
};

use super::{Cancel, Cancelled, MeshDefect, Region, TriMesh, union_tree::joined};

/// A closed solid that can be joined, cut and intersected.
#[derive(Clone)]
pub struct Solid {
    /// Shared, since the kernel copies all of it.
    body: Arc<Manifold>,
    fault: Option<SolidError>,
}

/// The kernel does not take a mesh as a solid, or makes none of two solids.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("{what} is not a closed solid: {problem}")]
pub struct NotSolid {
    /// What was to be a solid.
    pub what: &'static str,
    /// What the kernel says, in its own words.
    pub problem: &'static str,
    /// Where: the first defect of the mesh, if it is one that [`TriMesh::check`] finds.
    #[source]
    pub defect: Option<MeshDefect>,
}

/// Why there is no solid.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum SolidError {
    /// The kernel refuses it.
    #[error(transparent)]
    NotSolid(#[from] NotSolid),
    /// The work was asked to stop.
    #[error(transparent)]
    Cancelled(#[from] Cancelled),
}

impl std::fmt::Debug for Solid {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match &self.fault {
            Some(fault) => write!(f, "Solid(none: {fault})"),
            None => write!(f, "Solid({} triangles, {} mm³)", self.body.num_tri(), self.volume()),
        }
    }
}

impl Default for Solid {
    fn default() -> Self {
        Self::empty()
    }
}

impl Solid {
    /// A solid that holds nothing.
    pub fn empty() -> Self {
        Self::sound(Manifold::empty())
    }

    /// The solid that `mesh` bounds. A mesh without triangles bounds the empty solid.
    ///
    /// # Errors
    /// When the mesh is not closed and oriented.
    pub fn from_mesh(mesh: &TriMesh) -> Result<Self, NotSolid> {
        if mesh.is_empty() {
            return Ok(Self::empty());
        }
        let kernel_mesh = MeshGL64 {
            num_prop: 3,
            vert_properties: mesh.positions.iter().flat_map(|p| p.to_array()).collect(),
            tri_verts: mesh.triangles.iter().flatten().map(|&v| u64::from(v)).collect(),
            ..MeshGL64::default()
        };
        let body = Manifold::from_mesh_gl64(&kernel_mesh);
        match body.status() {
            KernelError::NoError => Ok(Self::sound(body)),
            other => Err(NotSolid { what: "a mesh", problem: other.to_str(), defect: mesh.check().err() }),
        }
    }

    /// The solid that `mesh` bounds, which this program has made closed; a faulty one ([`Solid::check`]) where the
    /// kernel does not take it all the same.
    pub fn of_closed(mesh: &TriMesh) -> Self {
        Self::from_mesh(mesh).unwrap_or_else(|error| Self::faulty(error.into()))
    }

    fn sound(body: Manifold) -> Self {
        Self { body: Arc::new(body), fault: None }
    }

    /// No solid, because of `fault`, and none in all that is made of it.
    pub fn faulty(fault: SolidError) -> Self {
        Self { body: Arc::new(Manifold::empty()), fault: Some(fault) }
    }

    /// `body`, made of this solid by `what`, unless this solid is faulty or the kernel made none.
    fn made(&self, what: &'static str, body: impl FnOnce(&Manifold) -> Manifold) -> Self {
        match &self.fault {
            Some(fault) => Self::faulty(fault.clone()),
            None => Self::checked(what, body(&self.body)),
        }
    }

    fn checked(what: &'static str, body: Manifold) -> Self {
        match body.status() {
            KernelError::NoError => Self::sound(body),
            KernelError::Cancelled => Self::faulty(Cancelled.into()),
            other => Self::faulty(NotSolid { what, problem: other.to_str(), defect: None }.into()),
        }
    }

    /// Whether this is a solid, or the empty one.
    ///
    /// # Errors
    /// Why it, or one of the solids that it was made of, is none: all that is asked of such a solid is answered as for
    /// the empty one.
    pub fn check(&self) -> Result<(), SolidError> {
        self.fault.clone().map_or(Ok(()), Err)
    }

    /// An upright prism over `outline` from `low` to `high` mm.
    pub fn prism(outline: &Region, low: f64, high: f64) -> Self {
        if outline.is_empty() || low >= high {
            return Self::empty();
        }
        let polygons = outline
            .contours()
            .iter()
            .map(|c| c.iter().map(|p| manifold_rust::linalg::Vec2::new(p.x, p.y)).collect())
            .collect();
        let flat = manifold_rust::linalg::Vec2::splat(1.0);
        Self::checked(
            "a prism",
            Manifold::extrude(&polygons, high - low, 0, 0.0, flat).translate(Vec3::new(0.0, 0.0, low)),
        )
    }

    /// The convex hull of `points`.
    pub fn hull(points: &[DVec3]) -> Self {
        let points: Vec<Vec3> = points.iter().map(|p| Vec3::new(p.x, p.y, p.z)).collect();
        Self::checked("a convex hull", Manifold::hull(&points))
    }

    /// Whether nothing is inside.
    pub fn is_empty(&self) -> bool {
        self.body.is_empty()
    }

    /// Volume, mm³.
    pub fn volume(&self) -> f64 {
        self.body.volume()
    }

    /// Lowest and highest corner of the bounding box, mm; `None` when empty.
    pub fn bounds(&self) -> Option<(DVec3, DVec3)> {
        let b = self.body.bounding_box();
        (!self.is_empty()).then(|| (dvec3(b.min.x, b.min.y, b.min.z), dvec3(b.max.x, b.max.y, b.max.z)))
    }

    /// Whether the bounding boxes of two solids meet.
    pub fn may_meet(&self, other: &Self) -> bool {
        match (self.bounds(), other.bounds()) {
            (Some((a, b)), Some((c, d))) => a.cmple(d).all() && c.cmple(b).all(),
            _ => false,
        }
    }

    /// What lies in either solid.
    #[must_use]
    pub fn union(&self, other: &Self) -> Self {
        self.combined(other, OpType::Add, None)
    }

    /// What lies in any of `solids`.
    #[must_use]
    pub fn union_all(solids: &[Self]) -> Self {
        Self::combined_all(solids, None)
    }

    /// What lies in both solids.
    #[must_use]
    pub fn intersection(&self, other: &Self) -> Self {
        self.combined(other, OpType::Intersect, None)
    }

    /// What lies in this solid and not in `other`.
    #[must_use]
    pub fn difference(&self, other: &Self) -> Self {
        self.combined(other, OpType::Subtract, None)
    }

    /// Solids of which no two have a point in common, as one.
    ///
    /// # Errors
    /// When one of them is faulty, and when the kernel makes no solid.
    pub fn side_by_side(solids: &[Self]) -> Result<Self, SolidError> {
        match solids {
            [] => return Ok(Self::empty()),
            [one] => return one.clone().into_checked(),
            _ => {}
        }
        if let Some(fault) = solids.iter().find_map(|solid| solid.fault.as_ref()) {
            return Err(fault.clone());
        }
        let bodies: Vec<Manifold> = solids.iter().map(|solid| Manifold::clone(&solid.body)).collect();
        Self::checked("solids side by side", Manifold::compose(&bodies)).into_checked()
    }

    /// [`Solid::union`] that can be stopped.
    ///
    /// # Errors
    /// Once `cancel` asks to stop, when one of the solids is faulty, and when the kernel makes no solid.
    pub fn try_union(&self, other: &Self, cancel: &Cancel) -> Result<Self, SolidError> {
        self.combined(other, OpType::Add, Some(cancel)).into_checked()
    }

    /// [`Solid::union_all`] that can be stopped.
    ///
    /// # Errors
    /// As [`Solid::try_union`].
    pub fn try_union_all(solids: &[Self], cancel: &Cancel) -> Result<Self, SolidError> {
        cancel.check()?;
        Self::combined_all(solids, Some(cancel)).into_checked()
    }

    /// [`Solid::intersection`] that can be stopped.
    ///
    /// # Errors
    /// As [`Solid::try_union`].
    pub fn try_intersection(&self, other: &Self, cancel: &Cancel) -> Result<Self, SolidError> {
        self.combined(other, OpType::Intersect, Some(cancel)).into_checked()
    }

    /// [`Solid::difference`] that can be stopped.
    ///
    /// # Errors
    /// As [`Solid::try_union`].
    pub fn try_difference(&self, other: &Self, cancel: &Cancel) -> Result<Self, SolidError> {
        self.combined(other, OpType::Subtract, Some(cancel)).into_checked()
    }

    fn into_checked(self) -> Result<Self, SolidError> {
        match self.fault {
            Some(fault) => Err(fault),
            None => Ok(self),
        }
    }

    fn combined(&self, other: &Self, operation: OpType, cancel: Option<&Cancel>) -> Self {
        if let Some(fault) = self.fault.as_ref().or(other.fault.as_ref()) {
            return Self::faulty(fault.clone());
        }
        if cancel.is_some_and(Cancel::is_cancelled) {
            return Self::faulty(Cancelled.into());
        }
        let what = match operation {
            OpType::Add => "a union",
            OpType::Intersect => "an intersection",
            OpType::Subtract => "a difference",
        };
        match operation {
            OpType::Intersect if !self.may_meet(other) => Self::empty(),
            OpType::Subtract if !self.may_meet(other) => self.clone(),
            _ => {
                let token = cancel.map(Cancel::token);
                Self::checked(what, self.body.boolean_with_token(&other.body, operation, token))
            }
        }
    }

    fn combined_all(solids: &[Self], cancel: Option<&Cancel>) -> Self {
        match solids {
            [] => Self::empty(),
            [one] => one.clone(),
            many => joined(many.iter().cloned(), cancel.unwrap_or(&Cancel::new()))
                .and_then(|apart| Self::side_by_side(&apart))
                .unwrap_or_else(Self::faulty),
        }
    }

    /// The part between two heights, mm.
    #[must_use]
    pub fn between(&self, low: f64, high: f64) -> Self {
        let Some((lo, hi)) = self.bounds() else { return self.clone() };
        self.made("a part between heights", |body| {
            let mut part = Manifold::clone(body);
            if lo.z < low {
                part = part.trim_by_plane(Vec3::new(0.0, 0.0, 1.0), low);
            }
            if hi.z > high {
                part = part.trim_by_plane(Vec3::new(0.0, 0.0, -1.0), -high);
            }
            part
        })
    }

    /// The part on the far side of the plane through `point`, the side that `normal` points to.
    #[must_use]
    pub fn beyond(&self, point: DVec3, normal: DVec3) -> Self {
        let n = normal.normalize();
        self.made("a part beyond a plane", |body| body.trim_by_plane(Vec3::new(n.x, n.y, n.z), n.dot(point)))
    }

    /// The solid moved by `frame`, which must keep lengths and handedness.
    #[must_use]
    pub fn placed(&self, frame: &DAffine3) -> Self {
        let column = |v: DVec3| Vec3::new(v.x, v.y, v.z);
        let m = frame.matrix3;
        let matrix = Mat3x4::from_cols(
            column(m.x_axis),
            column(m.y_axis),
            column(m.z_axis),
            column(frame.translation),
        );
        self.made("a moved solid", |body| body.transform(&matrix))
    }

    /// The solid with every edge split to at most `length` mm and every vertex then moved by `to`,
    /// which must not fold it over.
    #[must_use]
    pub fn warped(&self, length: f64, to: impl Fn(DVec3) -> DVec3) -> Self {
        self.made("a bent solid", |body| {
            body.refine_to_length(length).warp(|v: &mut Vec3| {
                let p = to(dvec3(v.x, v.y, v.z));
                *v = Vec3::new(p.x, p.y, p.z);
            })
        })
    }

    /// The cut through the solid at height `z`, seen from above.
    pub fn slice(&self, z: f64) -> Region {
        flat(&self.body.slice(z))
    }

    /// The projection of the solid onto the plane z = 0.
    pub fn projection(&self) -> Region {
        flat(&self.body.project())
    }

    /// Where a ray from `from` to `to` first enters or leaves the solid.
    pub fn first_hit(&self, from: DVec3, to: DVec3) -> Option<DVec3> {
        let point = |p: DVec3| Vec3::new(p.x, p.y, p.z);
        let hits = self.body.ray_cast(point(from), point(to));
        hits.first().map(|hit| dvec3(hit.position.x, hit.position.y, hit.position.z))
    }

    /// The surface, closed and outward. What booleans leave of two solids that share all their faces
    /// encloses nothing and has no surface.
    pub fn to_mesh(&self) -> TriMesh {
        if self.volume() <= 0.0 {
            return TriMesh::default();
        }
        let out = self.body.get_mesh_gl64(-1);
        let stride = out.num_prop as usize;
        let positions =
            out.vert_properties.chunks_exact(stride.max(3)).map(|v| dvec3(v[0], v[1], v[2])).collect();
        let triangles =
            out.tri_verts.chunks_exact(3).map(|t| [t[0] as u32, t[1] as u32, t[2] as u32]).collect();
        let mut mesh = TriMesh { positions, triangles };
        if !out.merge_from_vert.is_empty() {
            // Only what the kernel joins: surfaces that touch, or run over each other, stay apart.
            let mut joined: Vec<u32> = (0..mesh.positions.len() as u32).collect();
            for (from, to) in out.merge_from_vert.iter().zip(&out.merge_to_vert) {
                joined[*from as usize] = *to as u32;
            }
            mesh.triangles.iter_mut().flatten().for_each(|v| *v = joined[*v as usize]);
            mesh = mesh.without_unused_vertices();
        }
        // The kernel lists them by the numbers that it gave to the operands, which two threads that
        // make operands at once draw in any order. Sums over the triangles would differ in the last bit.
        mesh.triangles.sort_unstable();
        mesh
    }
}

fn flat(section: &CrossSection) -> Region {
    let contour = |polygon: &SimplePolygon| polygon.iter().map(|p| dvec2(p.x, p.y)).collect();
    Region::new(section.to_polygons().iter().map(contour).collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{revolve::revolve, test_regions::hollow_cup};

    /// Which operand was made first, which threads leave to chance, makes no difference to any bit.
    #[test]
    fn the_order_of_making_leaves_no_trace() {
        let (cup, moved) = (revolve(&hollow_cup(), 48), revolve(&hollow_cup(), 48));
        let moved = moved.translated(dvec3(13.0, 7.0, 5.0));
        let solid = Solid::of_closed;
        let (a, b) = (solid(&cup), solid(&moved));
        let one = a.union(&b).to_mesh();
        let b = solid(&moved);
        let other = solid(&cup).union(&b).to_mesh();
        assert_eq!(one, other);
        assert_eq!(one.volume().to_bits(), other.volume().to_bits());
    }

    /// A mesh with a triangle left out is refused with the place of the gap, and so is all that is made of it.
    #[test]
    fn what_is_made_of_a_faulty_solid_is_faulty() {
        let whole = revolve(&hollow_cup(), 24);
        let mut open = whole.clone();
        open.triangles.pop();
        let error = Solid::from_mesh(&open).unwrap_err();
        assert!(matches!(error.defect, Some(MeshDefect::NotClosed { count: 3, .. })), "{error:?}");
        let (sound, faulty) = (Solid::of_closed(&whole), Solid::of_closed(&open));
        assert_eq!(sound.check(), Ok(()));
        let far = sound.placed(&DAffine3::from_translation(DVec3::X * 500.0));
        let made = [
            sound.union(&faulty),
            far.intersection(&faulty),
            far.difference(&faulty),
            faulty.difference(&far),
            faulty.between(10.0, 20.0),
            faulty.beyond(DVec3::ZERO, DVec3::X),
            faulty.placed(&DAffine3::IDENTITY),
            Solid::union_all(&[sound.clone(), far.clone(), faulty.clone()]),
        ];
        for solid in made {
            assert_eq!(solid.check(), Err(error.clone().into()));
            assert!(solid.is_empty() && solid.to_mesh().is_empty());
        }
        assert_eq!(sound.try_union(&faulty, &Cancel::new()).unwrap_err(), error.into());
    }

    #[test]
    fn a_boolean_is_stopped_and_otherwise_the_same() {
        use crate::test_cancelling::assert_stops;
        let ball = crate::Region::disc(glam::DVec2::ZERO, 60.0, crate::Tolerance::new(2e-3).unwrap());
        let ball = Solid::of_closed(&revolve(&ball.right_half(), 500));
        let moved = ball.placed(&DAffine3::from_translation(dvec3(13.0, 7.0, 5.0)));
        assert_stops(
            |cancel| ball.try_union(&moved, cancel).map(|solid| solid.to_mesh()),
            |mesh| {
                assert_eq!(*mesh, ball.union(&moved).to_mesh());
            },
        );
        let many: Vec<Solid> = (0..12)
            .map(|i| ball.placed(&DAffine3::from_translation(DVec3::X * 9.0 * f64::from(i))))
            .collect();
        let cancel = Cancel::new();
        cancel.cancel();
        assert_eq!(Solid::try_union_all(&many, &cancel).unwrap_err(), SolidError::Cancelled(Cancelled));
    }
}
