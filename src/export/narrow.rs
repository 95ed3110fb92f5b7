//! From `f64` to the `f32` of the file formats, without opening the surface.
//!
//! STL has no shared corners, only equal ones, so what counts is whether the surface is closed when
//! corners are matched by their exact `f32` values. Rounding cannot open it, because equal corners round
//! to equal corners. But corners less than about a millionth of their distance from the origin apart may
//! meet (15 nm at 250 mm), which leaves triangles without area. Only where that happens, see `mend`.

use std::borrow::Cow;

use glam::{DVec3, Vec3};
use rayon::prelude::*;

use super::mend::mended;
use crate::geom::{MeshDefect, TriMesh};

/// Triangles looked at by one thread at a time. Fixed, so that sums come out the same on any number of
/// threads.
const CHUNK: usize = 1 << 14;

/// A closed, outward solid with `f32` corners, mm, z up: what goes into a file.
#[derive(Debug, Clone)]
pub struct NarrowSolid<'a> {
    positions: Vec<Vec3>,
    triangles: Cow<'a, [[u32; 3]]>,
}

impl<'a> NarrowSolid<'a> {
    /// Rounds the corners of `mesh` to `f32` and makes sure that the result is a solid: finite, every
    /// edge balanced by its opposite where corners are matched by position, positive volume. Triangles
    /// that lose their area by the rounding are taken out and their neighbours closed over them; a flat
    /// one stays only where that would make two others share an edge already in use.
    ///
    /// Unlike [`TriMesh::check`] it lets more than two triangles meet in an edge, as they do where two
    /// solids touch.
    ///
    /// # Errors
    /// The first defect found.
    pub fn new(mesh: &'a TriMesh) -> Result<Self, MeshDefect> {
        let positions = narrow_positions(mesh)?;
        let triangles = Cow::Borrowed(mesh.triangles.as_slice());
        let survey = Survey::of(&positions, &triangles)?;
        let (solid, survey) = if survey.without_area == 0 {
            (Self { positions, triangles }, survey)
        } else {
            let (positions, triangles) = mended(&positions, &triangles);
            let survey = Survey::of(&positions, &triangles)?;
            (Self { positions, triangles: Cow::Owned(triangles) }, survey)
        };
        if survey.balance != 0 {
            return Err(open_edges(mesh));
        }
        let volume = survey.six_volume / 6.0;
        if volume > 0.0 { Ok(solid) } else { Err(MeshDefect::NoVolume { volume }) }
    }

    /// Corner positions, mm, z up.
    pub fn positions(&self) -> &[Vec3] {
        &self.positions
    }

    /// Three indices into the positions for each triangle, counter-clockwise seen from outside.
    pub fn triangles(&self) -> &[[u32; 3]] {
        &self.triangles
    }
}

/// Twice the area of a triangle times its normal, exact enough to be zero only where `f64` says so.
pub(super) fn double_area(corners: [Vec3; 3]) -> DVec3 {
    let [a, b, c] = corners.map(Vec3::as_dvec3);
    (b - a).cross(c - a)
}

/// A number for a position; equal positions, the two zeros among them, have equal numbers.
pub(super) fn position_key(p: Vec3) -> [u32; 3] {
    // Adding zero turns −0.0 into 0.0.
    (p + Vec3::ZERO).to_array().map(f32::to_bits)
}

fn narrow_positions(mesh: &TriMesh) -> Result<Vec<Vec3>, MeshDefect> {
    let positions: Vec<Vec3> = mesh.positions.par_iter().map(|p| p.as_vec3()).collect();
    match positions.par_iter().position_first(|p| !p.is_finite()) {
        Some(vertex) => Err(MeshDefect::NotFinite { vertex }),
        None => Ok(positions),
    }
}

/// What one look at every triangle tells.
#[derive(Debug, Clone, Copy, Default)]
struct Survey {
    /// Triangles with a repeated corner, or with all corners on a line.
    without_area: usize,
    /// Zero when every directed edge meets its opposite, matched by position. Each edge adds a number
    /// that depends on its ends, or subtracts it when it runs the other way; anything but a closed
    /// surface comes to zero only by a chance of 2⁻⁶⁴.
    balance: u64,
    /// Six times the signed volume, mm³.
    six_volume: f64,
}

impl Survey {
    fn of(positions: &[Vec3], triangles: &[[u32; 3]]) -> Result<Self, MeshDefect> {
        let count = positions.len();
        if let Some(triangle) =
            triangles.par_iter().position_first(|t| t.iter().any(|&v| v as usize >= count))
        {
            let vertex = *triangles[triangle].iter().find(|&&v| v as usize >= count).unwrap_or(&0);
            return Err(MeshDefect::MissingVertex { triangle, vertex, count });
        }
        let origin = positions.first().copied().unwrap_or_default().as_dvec3();
        let marks: Vec<u64> = positions.par_iter().map(|&p| mark(p)).collect();
        let chunks: Vec<Survey> = triangles
            .par_chunks(CHUNK)
            .map(|chunk| {
                chunk
                    .iter()
                    .fold(Survey::default(), |sum, &t| sum.and(Self::of_one(positions, &marks, origin, t)))
            })
            .collect();
        Ok(chunks.into_iter().fold(Survey::default(), Survey::and))
    }

    fn of_one(positions: &[Vec3], marks: &[u64], origin: DVec3, triangle: [u32; 3]) -> Self {
        let corners = triangle.map(|v| positions[v as usize]);
        let normal = double_area(corners);
        let [a, b, c] = triangle.map(|v| marks[v as usize]);
        Survey {
            without_area: usize::from(normal == DVec3::ZERO),
            balance: edge(a, b).wrapping_add(edge(b, c)).wrapping_add(edge(c, a)),
            six_volume: (corners[0].as_dvec3() - origin).dot(normal),
        }
    }

    fn and(self, other: Self) -> Self {
        Survey {
            without_area: self.without_area + other.without_area,
            balance: self.balance.wrapping_add(other.balance),
            six_volume: self.six_volume + other.six_volume,
        }
    }
}

/// A number that looks random and depends only on the position.
fn mark(p: Vec3) -> u64 {
    let [x, y, z] = position_key(p);
    scramble(scramble(u64::from(x) << 32 | u64::from(y)) ^ u64::from(z))
}

/// What the edge between two marked corners adds to the balance: the same both ways, but for the sign.
fn edge(from: u64, to: u64) -> u64 {
    let number = scramble(from.min(to).wrapping_add(from.max(to).rotate_left(32)));
    match from.cmp(&to) {
        std::cmp::Ordering::Less => number,
        std::cmp::Ordering::Equal => 0,
        std::cmp::Ordering::Greater => number.wrapping_neg(),
    }
}

/// The finishing mix of the SplitMix64 generator (constants from memory): every bit of the result depends
/// on every bit of `x`.
fn scramble(x: u64) -> u64 {
    let x = x.wrapping_add(0x9e37_79b9_7f4a_7c15);
    let x = (x ^ (x >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    let x = (x ^ (x >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    x ^ (x >> 31)
}

/// Says where a mesh that did not balance is open.
fn open_edges(mesh: &TriMesh) -> MeshDefect {
    // Checked by position, like the balance, so that corners stored twice do not count as open.
    match mesh.welded().check() {
        Err(defect) => defect,
        Ok(()) => MeshDefect::NotClosed { count: 1, at: mesh.positions.first().copied().unwrap_or_default() },
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn tetrahedron(size: f64) -> TriMesh {
        TriMesh {
            positions: vec![DVec3::ZERO, DVec3::X * size, DVec3::Y * size, DVec3::Z * size],
            triangles: vec![[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]],
        }
    }

    #[test]
    fn a_solid_is_narrowed_without_a_copy_of_its_triangles() {
        let mesh = tetrahedron(10.0);
        let solid = NarrowSolid::new(&mesh).unwrap();
        assert!(matches!(solid.triangles, Cow::Borrowed(_)));
        assert_eq!(solid.positions[1], Vec3::new(10.0, 0.0, 0.0));
    }

    #[test]
    fn a_missing_a_turned_and_a_doubled_triangle_are_all_open() {
        for damage in [
            (|m: &mut TriMesh| m.triangles.truncate(3)) as fn(&mut TriMesh),
            |m| m.triangles[0].swap(0, 1),
            |m| m.triangles.push([1, 2, 3]),
        ] {
            let mut mesh = tetrahedron(10.0);
            damage(&mut mesh);
            assert!(matches!(NarrowSolid::new(&mesh), Err(MeshDefect::NotClosed { .. })), "{mesh:?}");
        }
    }

    #[test]
    fn inside_out_too_far_out_and_missing_corners_are_refused() {
        let mut inside_out = tetrahedron(10.0);
        inside_out.triangles.iter_mut().for_each(|t| t.swap(0, 1));
        assert!(matches!(NarrowSolid::new(&inside_out), Err(MeshDefect::NoVolume { .. })));
        assert!(matches!(NarrowSolid::new(&tetrahedron(1e39)), Err(MeshDefect::NotFinite { vertex: 1 })));
        let mut missing = tetrahedron(1.0);
        missing.triangles[2][1] = 4;
        assert!(matches!(
            NarrowSolid::new(&missing),
            Err(MeshDefect::MissingVertex { triangle: 2, vertex: 4, count: 4 })
        ));
    }

    #[test]
    fn corners_stored_twice_are_matched_by_position() {
        let shared = tetrahedron(10.0);
        let soup = TriMesh {
            positions: (0..4).flat_map(|t| shared.corners(t)).collect(),
            triangles: (0..4).map(|t| [3 * t, 3 * t + 1, 3 * t + 2]).collect(),
        };
        assert!(NarrowSolid::new(&soup).is_ok());
    }

    #[test]
    fn a_solid_smaller_than_the_rounding_has_no_volume() {
        let speck = tetrahedron(1e-6).translated(DVec3::splat(1000.0));
        assert!(matches!(NarrowSolid::new(&speck), Err(MeshDefect::NoVolume { .. })));
    }
}
