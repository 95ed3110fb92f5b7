//! A sector of a turned mesh: in each band of heights a range of bearings, in whole steps between meridians.
//!
//! Where cuts and adds touch a turned solid here and there, only the sectors that hold them go through booleans:
//! each is cut out as a closed mesh with the meridians and points of the whole ([`Sector::closed_mesh`]), and put
//! back by [`super::stitching`].

use std::{ops::Range, sync::Arc};

use glam::{DVec2, DVec3};
use manifold_rust::{linalg::Vec2, polygon};
use rustc_hash::FxHashMap;

use super::{MeridianRange, Region, TriMesh, revolve::direction};

/// Bands of heights, each with a range of meridians.
///
/// At any height a sector is in one piece, which need not hold the axis: two pieces at one height would touch along
/// it.
#[derive(Debug, Clone, PartialEq)]
pub struct Sector {
    /// Meridians of the turned mesh, all the way round.
    pub meridians: u32,
    /// Heights between bands, rising, mm; the first band lies below the first and the last above the last.
    pub seams: Arc<[f64]>,
    /// The range of meridians in every band: one more than there are seams.
    pub ranges: Vec<MeridianRange>,
}

/// A vertex this near to a plane lies in it, mm.
const ON: f64 = 1e-7;

impl Sector {
    /// Every height and every step.
    pub fn full(meridians: u32) -> Self {
        Self { meridians, seams: Arc::new([]), ranges: vec![MeridianRange::full(meridians)] }
    }

    /// The range at a height; on a seam, that of the band above.
    pub fn range_at(&self, height: f64) -> MeridianRange {
        self.ranges[self.seams.partition_point(|row| *row <= height)]
    }

    /// Whether the face of the turned mesh along a section edge between two heights, from meridian `k` to the next,
    /// belongs to it. No edge may cross one of [`Sector::changes`].
    pub fn contains(&self, (low, high): (f64, f64), k: u32) -> bool {
        self.range_at((low + high) / 2.0).contains(k, self.meridians)
    }

    /// Whether it holds anything at a height.
    pub fn reaches(&self, height: f64) -> bool {
        self.range_at(height).steps > 0
    }

    /// Whether two sectors of the same seams share a step between meridians at some height.
    pub fn overlaps(&self, other: &Self) -> bool {
        self.ranges.iter().zip(&other.ranges).any(|(a, b)| a.overlaps(*b, self.meridians))
    }

    /// The least sector that holds both, which have the same seams.
    #[must_use]
    pub fn hull(&self, other: &Self) -> Self {
        let ranges = self.ranges.iter().zip(&other.ranges).map(|(a, b)| a.hull(*b, self.meridians)).collect();
        Self { meridians: self.meridians, seams: self.seams.clone(), ranges }
    }

    /// Heights at which the range changes, rising, mm.
    pub fn changes(&self) -> Vec<f64> {
        let changes = self.ranges.windows(2).zip(self.seams.iter());
        changes.filter(|(pair, _)| pair[0] != pair[1]).map(|(_, row)| *row).collect()
    }

    /// Bands of heights with the same range, joined, those that hold nothing left out, mm.
    pub fn bands(&self) -> Vec<((f64, f64), MeridianRange)> {
        let mut from = 0;
        let mut bands = Vec::new();
        for alike in self.ranges.chunk_by(|a, b| a == b) {
            if alike[0].steps > 0 {
                bands.push((self.between(from..from + alike.len()), alike[0]));
            }
            from += alike.len();
        }
        bands
    }

    /// Heights between which bands lie, mm; infinite past the first and the last seam.
    fn between(&self, bands: Range<usize>) -> (f64, f64) {
        let low = bands.start.checked_sub(1).map_or(f64::NEG_INFINITY, |i| self.seams[i]);
        (low, self.seams.get(bands.end - 1).copied().unwrap_or(f64::INFINITY))
    }

    /// Upright faces that close the sector: a meridian, heights, and whether the sector lies clockwise of it or
    /// counter-clockwise.
    fn side_faces(&self) -> Vec<(u32, (f64, f64), bool)> {
        let n = self.meridians;
        let mut faces = Vec::new();
        for clockwise in [false, true] {
            let meridian = |range: &MeridianRange| {
                let open = range.steps > 0 && range.steps < n;
                open.then(|| if clockwise { range.end(n) } else { range.first })
            };
            let mut from = 0;
            for alike in self.ranges.chunk_by(|a, b| meridian(a) == meridian(b)) {
                if let Some(meridian) = meridian(&alike[0]) {
                    faces.push((meridian, self.between(from..from + alike.len()), clockwise));
                }
                from += alike.len();
            }
        }
        faces
    }

    /// The faces that close the sector, as planes that tell them from those of the surface; `section` is the half
    /// section of the whole.
    pub fn closing_faces(&self, section: &Region) -> ClosingFaces {
        // A level edge of the section is a surface; elsewhere a level face only closes the sector.
        let is_surface = |z: f64| section.edges().any(|(a, b)| a.y == z && b.y == z);
        ClosingFaces {
            levels: self.changes().into_iter().filter(|z| !is_surface(*z)).collect(),
            planes: self.side_faces().into_iter().map(|(k, ..)| direction(k, self.meridians)).collect(),
        }
    }

    /// The part of a turned solid in the sector, as a closed mesh. `section` is its half section, with a point
    /// wherever an edge crosses one of [`Sector::changes`] ([`Region::split_at`]) and no level edge or tip at these.
    pub fn closed_mesh(&self, section: &Region) -> TriMesh {
        let mut builder = Builder { sector: self, mesh: TriMesh::default(), vertices: FxHashMap::default() };
        let points: Vec<DVec2> = section.contours().iter().flatten().copied().collect();
        let mut start = 0;
        for contour in section.contours() {
            for i in 0..contour.len() {
                let j = (i + 1) % contour.len();
                let (a, b) = ((start + i, contour[i]), (start + j, contour[j]));
                for k in self.range_at((a.1.y + b.1.y) / 2.0).iter(self.meridians) {
                    builder.face(a, b, k);
                }
            }
            start += contour.len();
        }
        builder.close_levels(&points);
        builder.close_sides(&points, section);
        builder.mesh
    }
}

/// Where the faces that close a sector lie.
#[derive(Debug, Clone)]
pub struct ClosingFaces {
    levels: Vec<f64>,
    planes: Vec<DVec2>,
}

impl ClosingFaces {
    /// Whether a triangle closes the sector and is no surface of the whole.
    pub fn contain(&self, corners: [DVec3; 3]) -> bool {
        let level = |z: &f64| corners.iter().all(|c| (c.z - z).abs() < ON);
        let in_plane = |plane: &DVec2| corners.iter().all(|c| plane.perp_dot(c.truncate()).abs() < ON);
        self.levels.iter().any(level) || self.planes.iter().any(in_plane)
    }
}

/// The closed mesh of a sector while it is built.
struct Builder<'a> {
    sector: &'a Sector,
    mesh: TriMesh,
    /// Vertices by point of the section and meridian.
    vertices: FxHashMap<(usize, u32), u32>,
}

impl Builder<'_> {
    fn vertex(&mut self, (index, p): (usize, DVec2), meridian: u32) -> u32 {
        let n = self.sector.meridians;
        let meridian = if p.x <= 0.0 { 0 } else { meridian % n };
        *self.vertices.entry((index, meridian)).or_insert_with(|| {
            let d = direction(meridian, n);
            let flat = if p.x <= 0.0 { DVec2::ZERO } else { d * p.x };
            self.mesh.positions.push(flat.extend(p.y));
            self.mesh.positions.len() as u32 - 1
        })
    }

    /// The face of the edge from `a` to `b` between meridian `k` and the next.
    fn face(&mut self, a: (usize, DVec2), b: (usize, DVec2), k: u32) {
        let [a0, a1, b0, b1] = [(a, k), (a, k + 1), (b, k), (b, k + 1)].map(|(p, k)| self.vertex(p, k));
        match (a.1.x > 0.0, b.1.x > 0.0) {
            (false, false) => {}
            (true, false) => self.mesh.triangles.push([a0, a1, b0]),
            (false, true) => self.mesh.triangles.push([a0, b1, b0]),
            (true, true) => self.mesh.triangles.extend([[a0, a1, b1], [a0, b1, b0]]),
        }
    }

    /// Level faces inside the section where the range changes.
    fn close_levels(&mut self, points: &[DVec2]) {
        let n = self.sector.meridians;
        for (pair, height) in self.sector.ranges.windows(2).zip(self.sector.seams.iter()) {
            let (below, above) = (pair[0], pair[1]);
            if below == above {
                continue;
            }
            for (left, right) in intervals(points, *height) {
                for k in above.iter(n).filter(|k| !below.contains(*k, n)) {
                    self.face(left, right, k);
                }
                for k in below.iter(n).filter(|k| !above.contains(*k, n)) {
                    self.face(right, left, k);
                }
            }
        }
    }

    /// Upright faces at the meridians where ranges begin and end.
    fn close_sides(&mut self, points: &[DVec2], section: &Region) {
        let index: FxHashMap<[u64; 2], usize> =
            points.iter().enumerate().map(|(i, p)| (bits(*p), i)).collect();
        for (meridian, (low, high), clockwise) in self.sector.side_faces() {
            let part = section.cut_between(low, high);
            let corners: Vec<DVec2> = part.contours().iter().flatten().copied().collect();
            let outline = |contour: &Vec<DVec2>| contour.iter().map(|p| Vec2::new(p.x, p.y)).collect();
            let outlines = part.contours().iter().map(outline).collect();
            for t in polygon::triangulate(&outlines, -1.0, true) {
                let [a, b, c] = [t.x, t.y, t.z].map(|i| {
                    let p = corners[i as usize];
                    self.vertex((index[&bits(p)], p), meridian)
                });
                self.mesh.triangles.push(if clockwise { [a, c, b] } else { [a, b, c] });
            }
        }
    }
}

/// The intervals of the section at a height that no level edge and no tip lies at, as pairs of its points there.
fn intervals(points: &[DVec2], height: f64) -> Vec<((usize, DVec2), (usize, DVec2))> {
    let mut at: Vec<(usize, DVec2)> =
        points.iter().copied().enumerate().filter(|(_, p)| p.y == height).collect();
    at.sort_by(|a, b| a.1.x.total_cmp(&b.1.x));
    at.chunks_exact(2).map(|pair| (pair[0], pair[1])).collect()
}

fn bits(p: DVec2) -> [u64; 2] {
    (p + DVec2::ZERO).to_array().map(f64::to_bits)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        Solid,
        revolve::{polygon_factor, revolved_volume},
        test_regions::hollow_cup,
    };

    fn sector(seams: &[f64], ranges: &[(u32, u32)]) -> Sector {
        let ranges = ranges.iter().map(|&(first, steps)| MeridianRange { first, steps }).collect();
        Sector { meridians: 24, seams: seams.into(), ranges }
    }

    /// Every band holds its share of the turned solid between its heights.
    #[test]
    fn a_sector_is_closed_and_holds_its_share() {
        let sectors = [
            sector(&[5.0, 20.0, 33.0, 60.0], &[(0, 0), (22, 2), (22, 5), (23, 3), (0, 0)]),
            sector(&[12.0, 35.0, 62.0], &[(3, 5), (0, 24), (5, 9), (8, 1)]),
            sector(&[7.0, 62.0], &[(20, 6), (2, 9), (14, 2)]),
            Sector::full(24),
        ];
        for sector in sectors {
            let section = hollow_cup().split_at(&sector.changes());
            // A side face along many points of the axis may have triangles without area, which the kernel takes.
            let solid = Solid::from_mesh(&sector.closed_mesh(&section)).unwrap();
            let share: f64 = sector
                .bands()
                .into_iter()
                .map(|((low, high), range)| {
                    let part = section.between(low.max(0.0), high.min(90.0));
                    revolved_volume(&part) * polygon_factor(24) * f64::from(range.steps) / 24.0
                })
                .sum();
            assert!((solid.volume() / share - 1.0).abs() < 1e-7, "{} {share}", solid.volume());
        }
    }

    #[test]
    fn the_hull_of_sectors_that_overlap() {
        let seams = [5.0, 9.0];
        let (a, b) = (sector(&seams, &[(22, 3), (22, 4), (0, 0)]), sector(&seams, &[(0, 0), (1, 3), (1, 2)]));
        assert!(a.overlaps(&b) && b.overlaps(&a));
        assert_eq!(a.hull(&b), sector(&seams, &[(22, 3), (22, 6), (1, 2)]));
        assert_eq!(b.hull(&a), a.hull(&b));
        assert!(!a.overlaps(&sector(&seams, &[(1, 2), (2, 20), (0, 24)])));
        assert_eq!(sector(&[], &[(20, 8)]).hull(&sector(&[], &[(3, 18)])), sector(&[], &[(20, 24)]));
        assert_eq!(a.changes(), [5.0, 9.0]);
    }
}
