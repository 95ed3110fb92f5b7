//! From `f64` to the `f32` of the file formats, without opening the surface.
//!
//! STL has no shared corners, only equal ones, so what counts is whether the surface is closed when
//! corners are matched by their exact `f32` values. Rounding cannot open it, because equal corners round
//! to equal corners. But corners less than about a millionth of their distance from the origin apart may
//! meet (15 nm at 250 mm), which leaves triangles without area. Only where that happens, see `repair`.

use std::borrow::Cow;

use glam::{DVec3, Vec3};
use rayon::prelude::*;

use super::{repair::repaired, weld::scatter};
use geom::{MeshDefect, TriMesh};

/// Triangles looked at by one thread at a time. Fixed, so that sums come out the same on any number of
/// threads.
const CHUNK: usize = 1 << 14;

/// A closed, outward solid with `f32` corners, mm, z up: what goes into a file.
#[derive(Debug, Clone)]
pub struct MeshF32<'a> {
    positions: Vec<Vec3>,
    triangles: Cow<'a, [[u32; 3]]>,
}

impl<'a> MeshF32<'a> {
    /// Rounds the corners of `mesh` to `f32` and makes sure that the result is a solid: finite, every
    /// edge balanced by its opposite where corners are matched by position, positive volume. Triangles
    /// that lose their area by the rounding are taken out and their neighbours closed over them.
    ///
    /// Unlike [`TriMesh::check`] it lets more than two triangles meet in an edge, as they do where two
    /// solids touch, or where a wall has become thinner than the rounding.
    ///
    /// # Errors
    /// The first defect found.
    pub fn new(mesh: &'a TriMesh) -> Result<Self, MeshDefect> {
        let positions = rounded_positions(mesh)?;
        let triangles = Cow::Borrowed(mesh.triangles.as_slice());
        let survey = Survey::of(&positions, &triangles)?;
        let (solid, survey) = if survey.without_area == 0 {
            (Self { positions, triangles }, survey)
        } else {
            let (positions, triangles) = repaired(&positions, &triangles);
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

/// The corners of a triangle. Spelt out, as are the next two: `array::map` is not always compiled away, and
/// these run for every triangle of every file.
pub(super) fn corners([a, b, c]: [u32; 3], positions: &[Vec3]) -> [Vec3; 3] {
    [positions[a as usize], positions[b as usize], positions[c as usize]]
}

/// Twice the area of a triangle times its normal, exact enough to be zero only where `f64` says so.
pub(super) fn double_area([a, b, c]: [Vec3; 3]) -> DVec3 {
    let (a, b, c) = (a.as_dvec3(), b.as_dvec3(), c.as_dvec3());
    (b - a).cross(c - a)
}

fn rounded_positions(mesh: &TriMesh) -> Result<Vec<Vec3>, MeshDefect> {
    let positions: Vec<Vec3> = mesh.positions.par_iter().map(|p| p.as_vec3()).collect();
    let finite = |chunk: &[Vec3]| chunk.iter().all(|p| p.is_finite());
    if positions.par_chunks(CHUNK).all(finite) {
        return Ok(positions);
    }
    let vertex = positions.iter().position(|p| !p.is_finite()).unwrap_or_default();
    Err(MeshDefect::NotFinite { vertex })
}

/// What one pass over every triangle finds.
#[derive(Debug, Clone, Copy, Default)]
struct Survey {
    /// Triangles with a repeated corner, or with all corners on a line.
    without_area: usize,
    /// Zero when every directed edge meets its opposite, matched by position.
    ///
    /// The shadows of a closed surface on a plane have signed areas that add up to zero, and still do when
    /// its corners are moved anywhere, so long as equal ones are moved alike. Here they are moved to random
    /// points of a parabola ([`double_shadow`]), in whole numbers modulo 2⁶⁴ where no rounding hides a gap:
    /// an open surface comes to zero only by a chance of about 2⁻⁵³.
    balance: u64,
    /// Six times the signed volume, mm³.
    six_volume: f64,
}

impl Survey {
    fn of(positions: &[Vec3], triangles: &[[u32; 3]]) -> Result<Self, MeshDefect> {
        all_corners_there(positions.len(), triangles)?;
        let origin = positions.first().copied().unwrap_or_default().as_dvec3();
        let marks: Vec<u64> = positions.par_iter().map(|&p| mark(p)).collect();
        let chunks: Vec<Survey> = triangles
            .par_chunks(CHUNK)
            .map(|chunk| {
                let one = |&triangle| Self::of_one(positions, &marks, origin, triangle);
                chunk.iter().map(one).fold(Survey::default(), Survey::and)
            })
            .collect();
        Ok(chunks.into_iter().fold(Survey::default(), Survey::and))
    }

    fn of_one(positions: &[Vec3], marks: &[u64], origin: DVec3, triangle: [u32; 3]) -> Self {
        let corners = corners(triangle, positions);
        let normal = double_area(corners);
        let [a, b, c] = triangle;
        let marks = [marks[a as usize], marks[b as usize], marks[c as usize]];
        Survey {
            without_area: usize::from(normal == DVec3::ZERO),
            balance: double_shadow(marks),
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

fn all_corners_there(count: usize, triangles: &[[u32; 3]]) -> Result<(), MeshDefect> {
    let corners = triangles.as_flattened();
    // The greatest of each chunk first: that goes several corners at a time.
    let there = |chunk: &[u32]| chunk.iter().max().is_none_or(|&v| (v as usize) < count);
    if corners.par_chunks(CHUNK).all(there) {
        return Ok(());
    }
    let at = corners.iter().position(|&v| v as usize >= count).unwrap_or_default();
    Err(MeshDefect::MissingVertex { triangle: at / 3, vertex: corners[at], count })
}

/// Where a position goes on the parabola: random, but the same for equal positions.
fn mark(position: Vec3) -> u64 {
    // Adding zero turns −0.0 into 0.0. Any seed will do, the same every time.
    scatter(0, position + Vec3::ZERO)
}

/// Twice the signed area of the triangle with its corners at (a, a²), (b, b²) and (c, c²), modulo 2⁶⁴.
fn double_shadow([a, b, c]: [u64; 3]) -> u64 {
    b.wrapping_sub(a).wrapping_mul(c.wrapping_sub(a)).wrapping_mul(c.wrapping_sub(b))
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
    fn a_solid_is_rounded_without_a_copy_of_its_triangles() {
        let mesh = tetrahedron(10.0);
        let solid = MeshF32::new(&mesh).unwrap();
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
            assert!(matches!(MeshF32::new(&mesh), Err(MeshDefect::NotClosed { .. })), "{mesh:?}");
        }
    }

    #[test]
    fn inside_out_too_far_out_and_missing_corners_are_refused() {
        let mut inside_out = tetrahedron(10.0);
        inside_out.triangles.iter_mut().for_each(|t| t.swap(0, 1));
        assert!(matches!(MeshF32::new(&inside_out), Err(MeshDefect::NoVolume { .. })));
        assert!(matches!(MeshF32::new(&tetrahedron(1e39)), Err(MeshDefect::NotFinite { vertex: 1 })));
        let mut missing = tetrahedron(1.0);
        missing.triangles[2][1] = 4;
        assert!(matches!(
            MeshF32::new(&missing),
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
        assert!(MeshF32::new(&soup).is_ok());
    }

    #[test]
    fn a_solid_smaller_than_the_rounding_has_no_volume() {
        let speck = tetrahedron(1e-6).translated(DVec3::splat(1000.0));
        assert!(matches!(MeshF32::new(&speck), Err(MeshDefect::NoVolume { .. })));
    }
}
