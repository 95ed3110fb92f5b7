//! The signed distance field of a solid of free form, and its offset surfaces.
//!
//! Depth is the signed distance to the surface, positive inside. *A covering does not lie under the cake*: faces
//! that lie on the board (z = 0) are no surface, and every wall that stands on the board is extended below it in
//! the direction that its face has there, at most 60° from upright, so that an offset surface runs parallel to the
//! wall right down to the board. Where extended walls of two feet cross below the board, each is still measured. A
//! sealed cavity, a shell of its own that faces inwards, is no surface either: no coat reaches it.
//!
//! The distance is exact to round-off: the nearest point is found in a bounding volume hierarchy, its side by the
//! angle-weighted normal there (J. A. Bærentzen and H. Aanæs, Signed distance computation using the angle
//! weighted pseudonormal, 2005), beside the board by what lies above.
//!
//! An offset surface is made by dual contouring on a lattice, a vertex for each sheet in each cell (the dual of
//! marching cubes: closed and with two triangles at each edge whatever the field does). Vertices are put where the
//! tangent planes of the depths around meet (T. Ju et al., Dual contouring of Hermite data, 2002) and then moved
//! onto the level itself. So every vertex lies on it to a thousandth of the lattice step, flat walls and the
//! creases between them are exact, and between vertices a surface that bends with radius r is off by at most
//! step²/(2 r). What is thinner than the lattice step may be missing, and a crease that bends, or of less than
//! 25°, may be off by up to a quarter of the step.

mod cell_vertex;
mod dual_contour;
mod extended_surface;
mod lattice;
mod normals;

use glam::DVec3;
use rayon::prelude::*;

use self::{
    dual_contour::DualContour, extended_surface::ExtendedSurface, lattice::Lattice, normals::Normals,
};
use super::{Bvh, Cancel, Cancelled, TriMesh, bvh::Hit, uncancelled};

/// The signed distance field of a closed mesh that stands on the board: depth inside it, positive, and distance
/// outside, negative.
#[derive(Debug, Clone)]
pub struct DistanceField {
    bvh: Bvh,
    normals: Normals,
    /// Triangles from this number on extend the surface below the board.
    above_board: u32,
    bounds: (DVec3, DVec3),
}

/// The point of the surface that lies nearest.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Nearest {
    /// Depth of the point asked for, mm; negative outside.
    pub depth: f64,
    /// The nearest point of the surface, or of a wall extended below the board.
    pub point: DVec3,
    /// The gradient of the depth: a unit vector square to the surface, inwards.
    pub inwards: DVec3,
}

impl DistanceField {
    /// The field of `mesh`, which must be closed and stand on z = 0 with nothing below.
    pub fn new(mesh: &TriMesh) -> Self {
        uncancelled(|cancel| Self::try_new(mesh, cancel))
    }

    /// [`DistanceField::new`] that can be stopped.
    ///
    /// # Errors
    /// Once `cancel` asks to stop.
    pub fn try_new(mesh: &TriMesh, cancel: &Cancel) -> Result<Self, Cancelled> {
        cancel.check()?;
        let surface = ExtendedSurface::new(mesh);
        let (normals, bvh) =
            rayon::join(|| Normals::new(&surface.mesh, cancel), || Bvh::try_new(&surface.mesh, cancel));
        let bounds = mesh.bounds().unwrap_or_default();
        Ok(Self { bvh: bvh?, normals: normals?, above_board: surface.above_board, bounds })
    }

    /// The depth of `p`, mm: its distance to the surface, negative outside.
    pub fn at(&self, p: DVec3) -> f64 {
        self.depth(p, None).0
    }

    /// Whether `p`, which lies outside, lies further than `distance` mm from the surface.
    pub fn is_beyond(&self, p: DVec3, distance: f64) -> bool {
        !self.bvh.is_within(p, distance)
    }

    /// The depth of `p` with the nearest point of the surface.
    pub fn nearest(&self, p: DVec3) -> Nearest {
        let (depth, hit) = self.depth(p, None);
        Nearest { depth, point: hit.point, inwards: self.inwards(p, depth, &hit) }
    }

    /// The offset surface `depth` mm inside, outside where `depth` is negative, closed, cut level at the board and
    /// contoured on a lattice of `step` mm. Empty where nothing lies so deep.
    ///
    /// # Panics
    /// When `step` is not above zero.
    pub fn inset(&self, depth: f64, step: f64) -> TriMesh {
        uncancelled(|cancel| self.insets(&[depth], step, cancel)).pop().unwrap_or_default()
    }

    /// [`DistanceField::inset`] at several depths, which share the lattice.
    ///
    /// # Errors
    /// Once `cancel` asks to stop.
    ///
    /// # Panics
    /// When `step` is not above zero.
    pub fn insets(&self, depths: &[f64], step: f64, cancel: &Cancel) -> Result<Vec<TriMesh>, Cancelled> {
        self.insets_in(None, depths, step, cancel)
    }

    /// What of [`DistanceField::inset`] lies in a box and a little more, closed outside the box, which is given by
    /// its lowest and its highest corner.
    ///
    /// # Errors
    /// Once `cancel` asks to stop.
    ///
    /// # Panics
    /// When `step` is not above zero.
    pub fn inset_within(
        &self,
        (lo, hi): (DVec3, DVec3),
        depth: f64,
        step: f64,
        cancel: &Cancel,
    ) -> Result<TriMesh, Cancelled> {
        // Cells where the clip box ends only close the surface: they are to lie outside.
        let clip = (lo - 2.0 * step, hi + 2.0 * step);
        Ok(self.insets_in(Some(clip), &[depth], step, cancel)?.pop().unwrap_or_default())
    }

    fn insets_in(
        &self,
        clip: Option<(DVec3, DVec3)>,
        depths: &[f64],
        step: f64,
        cancel: &Cancel,
    ) -> Result<Vec<TriMesh>, Cancelled> {
        assert!(step > 0.0, "a lattice needs a step above zero, not {step}");
        if self.bvh.is_empty() {
            return Ok(vec![TriMesh::default(); depths.len()]);
        }
        let lattice = Lattice::new(self, depths, step, clip, cancel)?;
        let surface = |depth: &f64| DualContour::new(&lattice, *depth, cancel)?.into_mesh(cancel);
        // The end of each is made on one thread: meanwhile the next is begun.
        depths.par_iter().map(surface).collect()
    }

    /// Whether a straight line from `p` outside along `direction` meets nothing of the walls, and is not below the
    /// board where it has passed the solid.
    pub fn is_free(&self, p: DVec3, direction: DVec3) -> bool {
        let (lo, hi) = self.bounds;
        let until = |p: f64, d: f64, lo: f64, hi: f64| match d {
            d if d > 0.0 => (hi - p) / d,
            d if d < 0.0 => (lo - p) / d,
            _ => f64::INFINITY,
        };
        let (x, y) = (until(p.x, direction.x, lo.x, hi.x), until(p.y, direction.y, lo.y, hi.y));
        let past = p.z + direction.z * x.min(y);
        (direction.z >= 0.0 || past >= 0.0) && !self.bvh.is_hit(p, direction, self.above_board)
    }

    /// Depth and nearest point. `near` is a triangle likely to be near.
    fn depth(&self, p: DVec3, near: Option<u32>) -> (f64, Hit) {
        let hit = self.bvh.nearest(p, near);
        let distance = hit.point.distance(p);
        let inside = if hit.point.z <= 0.0 && p.z >= 0.0 {
            // On the foot's edge or on what extends the surface below it, which may intersect itself.
            self.bvh.winding_above(p, self.above_board) > 0
        } else {
            (p - hit.point).dot(self.normals.at(&hit)) < 0.0
        };
        (if inside { distance } else { -distance }, hit)
    }

    /// The gradient of the depth at `p`.
    fn inwards(&self, p: DVec3, depth: f64, hit: &Hit) -> DVec3 {
        /// Nearer than this the direction to the nearest point is round-off, mm.
        const ON_SURFACE: f64 = 1e-7;
        if depth.abs() > ON_SURFACE { (p - hit.point) / depth } else { -self.normals.face(hit.triangle) }
    }
}

#[cfg(test)]
mod tests {
    use glam::{DVec2, dvec2};

    use super::*;
    use crate::{Region, revolve::revolve, test_cancelling::assert_stops};

    /// A wavy vase of about `triangles` triangles.
    fn vase(triangles: u32) -> TriMesh {
        let n = triangles.isqrt() / 2;
        let mut contour = vec![DVec2::ZERO];
        let radius = |k: u32| 60.0 + 8.0 * DVec2::from_angle(f64::from(k) * 9.0 / f64::from(n)).y;
        contour.extend((0..=n).map(|k| dvec2(radius(k), 120.0 * f64::from(k) / f64::from(n))));
        contour.push(dvec2(0.0, 120.0));
        revolve(&Region::from_simple(contour), n * 2)
    }

    #[test]
    fn a_field_in_the_making_is_stopped() {
        let mesh = vase(400_000);
        assert_stops(
            |cancel| DistanceField::try_new(&mesh, cancel),
            |field| {
                let probe = DVec3::new(11.0, 23.0, 60.0);
                assert_eq!(field.nearest(probe), DistanceField::new(&mesh).nearest(probe));
            },
        );
    }

    /// Clipped to a box, the lattice is the same, and so is the surface in the box.
    #[test]
    fn an_inset_in_a_box_is_the_inset_there() {
        let field = DistanceField::new(&vase(20_000));
        for (lo, hi) in [
            (DVec3::new(20.0, -70.0, 30.0), DVec3::new(75.0, 15.0, 80.0)),
            (DVec3::new(-90.0, -31.0, -5.0), DVec3::new(12.0, 33.0, 47.0)),
        ] {
            for depth in [5.0, -4.0] {
                let part = uncancelled(|cancel| field.inset_within((lo, hi), depth, 3.0, cancel));
                part.check().unwrap();
                let whole = field.inset(depth, 3.0);
                assert!(part.len() < whole.len());
                let (a, b) = (part.within(lo, hi).mass_properties(), whole.within(lo, hi).mass_properties());
                assert!(b.volume > 1e4 && (a.volume / b.volume - 1.0).abs() < 1e-9, "{depth}: {a:?} {b:?}");
                assert!((a.area / b.area - 1.0).abs() < 1e-9, "{depth}: {a:?} {b:?}");
            }
        }
    }

    #[test]
    fn an_offset_surface_in_the_making_is_stopped() {
        let field = DistanceField::new(&vase(60_000));
        assert_stops(
            |cancel| field.insets(&[5.0, 9.0], 1.3, cancel),
            |surfaces| {
                assert_eq!(surfaces[0], uncancelled(|cancel| field.insets(&[5.0, 9.0], 1.3, cancel))[0]);
                surfaces.iter().for_each(|surface| surface.check().unwrap());
            },
        );
    }
}
