//! Solids under booleans: the kernel's guaranteed-manifold bodies behind our own names.
//!
//! The kernel is only called where something is off the common axis; see [`super::revolve`] for the
//! rest. Meshes go in and come out at full `f64` precision.

use glam::{DAffine3, DVec3, dvec2, dvec3};
use manifold_rust::{
    cross_section::CrossSection,
    linalg::{Mat3x4, Vec3},
    manifold::Manifold,
    types::{Error as KernelError, MeshGL64, SimplePolygon},
};

use super::{Region, TriMesh};

/// A closed solid that can be joined, cut and intersected.
#[derive(Clone)]
pub struct Solid(Manifold);

/// The kernel would not take a mesh as a solid.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("this is not a closed solid: {0}")]
pub struct NotSolid(&'static str);

impl std::fmt::Debug for Solid {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "Solid({} triangles, {} mm³)", self.0.num_tri(), self.volume())
    }
}

impl Solid {
    /// A solid that holds nothing.
    pub fn empty() -> Self {
        Self(Manifold::empty())
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
            KernelError::NoError => Ok(Self(body)),
            other => Err(NotSolid(other.to_str())),
        }
    }

    /// The solid that `mesh` bounds, which this program has made and made closed; where the kernel does not take it
    /// all the same, the empty solid, and a build with checks stops.
    pub fn of_sound(mesh: &TriMesh) -> Self {
        Self::from_mesh(mesh).unwrap_or_else(|error| {
            debug_assert!(false, "{error}: {:?}", mesh.check());
            Self::empty()
        })
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
        Self(Manifold::extrude(&polygons, high - low, 0, 0.0, flat).translate(Vec3::new(0.0, 0.0, low)))
    }

    /// The convex hull of `points`.
    pub fn hull(points: &[DVec3]) -> Self {
        let points: Vec<Vec3> = points.iter().map(|p| Vec3::new(p.x, p.y, p.z)).collect();
        Self(Manifold::hull(&points))
    }

    /// Whether nothing is inside.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// Volume, mm³.
    pub fn volume(&self) -> f64 {
        self.0.volume()
    }

    /// Lowest and highest corner of the bounding box, mm; `None` when empty.
    pub fn bounds(&self) -> Option<(DVec3, DVec3)> {
        let b = self.0.bounding_box();
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
        Self(self.0.union(&other.0))
    }

    /// What lies in any of `solids`.
    #[must_use]
    pub fn union_all(solids: &[Self]) -> Self {
        match solids {
            [] => Self::empty(),
            [one] => one.clone(),
            // Two by two, so that the halves are made side by side and most unions are small ones.
            many => {
                let (left, right) = many.split_at(many.len() / 2);
                let (left, right) = rayon::join(|| Self::union_all(left), || Self::union_all(right));
                left.union(&right)
            }
        }
    }

    /// What lies in both solids.
    #[must_use]
    pub fn intersection(&self, other: &Self) -> Self {
        if self.may_meet(other) { Self(self.0.intersection(&other.0)) } else { Self::empty() }
    }

    /// What lies in this solid and not in `other`.
    #[must_use]
    pub fn difference(&self, other: &Self) -> Self {
        if self.may_meet(other) { Self(self.0.difference(&other.0)) } else { self.clone() }
    }

    /// The part between two heights, mm.
    #[must_use]
    pub fn between(&self, low: f64, high: f64) -> Self {
        let Some((lo, hi)) = self.bounds() else { return Self::empty() };
        let mut part = self.0.clone();
        if lo.z < low {
            part = part.trim_by_plane(Vec3::new(0.0, 0.0, 1.0), low);
        }
        if hi.z > high {
            part = part.trim_by_plane(Vec3::new(0.0, 0.0, -1.0), -high);
        }
        Self(part)
    }

    /// The part on the far side of the plane through `point`, the side that `normal` points to.
    #[must_use]
    pub fn beyond(&self, point: DVec3, normal: DVec3) -> Self {
        let n = normal.normalize();
        Self(self.0.trim_by_plane(Vec3::new(n.x, n.y, n.z), n.dot(point)))
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
        Self(self.0.transform(&matrix))
    }

    /// The solid with every edge split to at most `length` mm and every vertex then moved by `to`,
    /// which must not fold it over.
    #[must_use]
    pub fn warped(&self, length: f64, to: impl Fn(DVec3) -> DVec3) -> Self {
        Self(self.0.refine_to_length(length).warp(|v: &mut Vec3| {
            let p = to(dvec3(v.x, v.y, v.z));
            *v = Vec3::new(p.x, p.y, p.z);
        }))
    }

    /// The cut through the solid at height `z`, seen from above.
    pub fn slice(&self, z: f64) -> Region {
        flat(&self.0.slice(z))
    }

    /// The shadow that the solid throws straight down, seen from above.
    pub fn shadow(&self) -> Region {
        flat(&self.0.project())
    }

    /// Where a ray from `from` to `to` first enters or leaves the solid.
    pub fn first_hit(&self, from: DVec3, to: DVec3) -> Option<DVec3> {
        let point = |p: DVec3| Vec3::new(p.x, p.y, p.z);
        let hits = self.0.ray_cast(point(from), point(to));
        hits.first().map(|hit| dvec3(hit.position.x, hit.position.y, hit.position.z))
    }

    /// The surface, closed and outward. What booleans leave of two solids that share all their faces
    /// encloses nothing and has no surface.
    pub fn to_mesh(&self) -> TriMesh {
        if self.volume() <= 0.0 {
            return TriMesh::default();
        }
        let out = self.0.get_mesh_gl64(-1);
        let stride = out.num_prop as usize;
        let positions =
            out.vert_properties.chunks_exact(stride.max(3)).map(|v| dvec3(v[0], v[1], v[2])).collect();
        let triangles =
            out.tri_verts.chunks_exact(3).map(|t| [t[0] as u32, t[1] as u32, t[2] as u32]).collect();
        let mesh = TriMesh { positions, triangles };
        if out.merge_from_vert.is_empty() { mesh } else { mesh.welded() }
    }
}

fn flat(section: &CrossSection) -> Region {
    let contour = |polygon: &SimplePolygon| polygon.iter().map(|p| dvec2(p.x, p.y)).collect();
    Region::new(section.to_polygons().iter().map(contour).collect())
}
