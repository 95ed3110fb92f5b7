//! A bay of a turned surface: between one height and the next an arc of meridians, like a flight of steps.
//!
//! Where cuts and adds touch a turned solid here and there, only what stands in their bays need go through
//! booleans: the bay closed all round ([`Bay::closed`]), with the meridians and points of the whole.

use std::{ops::Range, sync::Arc};

use glam::{DVec2, DVec3};
use manifold_rust::{linalg::Vec2, polygon};
use rustc_hash::FxHashMap;

use super::{Region, TriMesh, revolve::direction};

/// Bands of heights, each with a run of steps between meridians.
///
/// At any height a bay is in one piece, which need not hold the axis: two pieces at one height would touch along
/// it.
#[derive(Debug, Clone, PartialEq)]
pub struct Bay {
    /// Meridians all the way round.
    pub of: u32,
    /// Heights between bands, rising, mm; the first band lies below the first and the last above the last.
    pub rows: Arc<[f64]>,
    /// The run of steps in every band: one more than there are rows.
    pub runs: Vec<Run>,
}

/// A run of steps between meridians: the meridian that it begins at, and how many; none, or up to all the way round.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Run {
    /// The meridian that the first step begins at.
    pub first: u32,
    /// How many steps.
    pub steps: u32,
}

impl Run {
    fn holds(self, k: u32, n: u32) -> bool {
        (k + n - self.first) % n < self.steps
    }

    fn each(self, n: u32) -> impl Iterator<Item = u32> {
        (0..self.steps).map(move |i| (self.first + i) % n)
    }

    /// The meridian after the last step.
    fn end(self, n: u32) -> u32 {
        (self.first + self.steps) % n
    }

    fn meets(self, other: Self, n: u32) -> bool {
        self.steps > 0 && other.steps > 0 && (self.holds(other.first, n) || other.holds(self.first, n))
    }

    /// The shorter run that holds both.
    fn joined(self, other: Self, n: u32) -> Self {
        if self.steps == 0 || other.steps == 0 {
            return if self.steps == 0 { other } else { self };
        }
        let from = |a: Self, b: Self| {
            let ahead = (b.first + n - a.first) % n;
            Self { first: a.first, steps: a.steps.max(ahead + b.steps).min(n) }
        };
        let (a, b) = (from(self, other), from(other, self));
        if a.steps <= b.steps { a } else { b }
    }
}

/// A vertex this near to a plane lies in it, mm.
const ON: f64 = 1e-7;

impl Bay {
    /// Every height and every step.
    pub fn all(of: u32) -> Self {
        Self { of, rows: Arc::new([]), runs: vec![Run { first: 0, steps: of }] }
    }

    /// The run of steps at a height; on a row, of the band above.
    pub fn run_at(&self, height: f64) -> Run {
        self.runs[self.rows.partition_point(|row| *row <= height)]
    }

    /// Whether the face of the grid along a section edge between two heights, from meridian `k` to the next,
    /// belongs to it. No edge may cross one of [`Bay::heights`].
    pub fn holds(&self, (low, high): (f64, f64), k: u32) -> bool {
        self.run_at((low + high) / 2.0).holds(k, self.of)
    }

    /// Whether any step is held at a height.
    pub fn reaches(&self, height: f64) -> bool {
        self.run_at(height).steps > 0
    }

    /// Whether two bays of the same rows share a step at some height.
    pub fn meets(&self, other: &Self) -> bool {
        self.runs.iter().zip(&other.runs).any(|(a, b)| a.meets(*b, self.of))
    }

    /// The least bay that holds both, which have the same rows.
    #[must_use]
    pub fn joined(&self, other: &Self) -> Self {
        let runs = self.runs.iter().zip(&other.runs).map(|(a, b)| a.joined(*b, self.of)).collect();
        Self { of: self.of, rows: self.rows.clone(), runs }
    }

    /// Heights at which the run of steps changes, rising.
    pub fn heights(&self) -> Vec<f64> {
        let changes = self.runs.windows(2).zip(self.rows.iter());
        changes.filter(|(pair, _)| pair[0] != pair[1]).map(|(_, row)| *row).collect()
    }

    /// Stretches of heights with the same run of steps, those without any left out, mm.
    pub fn stretches(&self) -> Vec<((f64, f64), Run)> {
        let mut from = 0;
        let mut stretches = Vec::new();
        for alike in self.runs.chunk_by(|a, b| a == b) {
            if alike[0].steps > 0 {
                stretches.push((self.between(from..from + alike.len()), alike[0]));
            }
            from += alike.len();
        }
        stretches
    }

    /// Heights between which bands lie, mm; infinite past the first and the last row.
    fn between(&self, bands: Range<usize>) -> (f64, f64) {
        let low = bands.start.checked_sub(1).map_or(f64::NEG_INFINITY, |i| self.rows[i]);
        (low, self.rows.get(bands.end - 1).copied().unwrap_or(f64::INFINITY))
    }

    /// Upright faces that close the bay: a meridian, heights, and whether the bay lies behind it, counted
    /// counter-clockwise, or ahead.
    fn walls(&self) -> Vec<(u32, (f64, f64), bool)> {
        let n = self.of;
        let mut walls = Vec::new();
        for behind in [false, true] {
            let meridian = |run: &Run| {
                let open = run.steps > 0 && run.steps < n;
                open.then(|| if behind { run.end(n) } else { run.first })
            };
            let mut from = 0;
            for alike in self.runs.chunk_by(|a, b| meridian(a) == meridian(b)) {
                if let Some(meridian) = meridian(&alike[0]) {
                    walls.push((meridian, self.between(from..from + alike.len()), behind));
                }
                from += alike.len();
            }
        }
        walls
    }

    /// What tells the faces that close the bay from those of the surface; `section` is the half section of the
    /// whole.
    pub fn inner(&self, section: &Region) -> Inner {
        // A level edge of the section is a surface; elsewhere a level face only closes the bay.
        let is_surface = |z: f64| section.edges().any(|(a, b)| a.y == z && b.y == z);
        Inner {
            levels: self.heights().into_iter().filter(|z| !is_surface(*z)).collect(),
            planes: self.walls().into_iter().map(|(k, ..)| direction(k, self.of)).collect(),
        }
    }

    /// The part of a turned solid that stands in the bay, closed. `section` is its half section, with a point
    /// wherever an edge crosses one of [`Bay::heights`] ([`Region::split_at`]) and no level edge or tip at these.
    pub fn closed(&self, section: &Region) -> TriMesh {
        let mut solid = Closing { bay: self, mesh: TriMesh::default(), place: FxHashMap::default() };
        let points: Vec<DVec2> = section.contours().iter().flatten().copied().collect();
        let mut start = 0;
        for contour in section.contours() {
            for i in 0..contour.len() {
                let j = (i + 1) % contour.len();
                let (a, b) = ((start + i, contour[i]), (start + j, contour[j]));
                for k in self.run_at((a.1.y + b.1.y) / 2.0).each(self.of) {
                    solid.face(a, b, k);
                }
            }
            start += contour.len();
        }
        solid.close_levels(&points);
        solid.close_walls(&points, section);
        solid.mesh
    }
}

/// The faces that close a bay.
#[derive(Debug, Clone)]
pub struct Inner {
    levels: Vec<f64>,
    planes: Vec<DVec2>,
}

impl Inner {
    /// Whether a triangle closes the bay and is no surface of the whole.
    pub fn holds(&self, corners: [DVec3; 3]) -> bool {
        let level = |z: &f64| corners.iter().all(|c| (c.z - z).abs() < ON);
        let in_plane = |wall: &DVec2| corners.iter().all(|c| wall.perp_dot(c.truncate()).abs() < ON);
        self.levels.iter().any(level) || self.planes.iter().any(in_plane)
    }
}

/// A bay while it is closed.
struct Closing<'a> {
    bay: &'a Bay,
    mesh: TriMesh,
    /// Vertices by point of the section and meridian.
    place: FxHashMap<(usize, u32), u32>,
}

impl Closing<'_> {
    fn vertex(&mut self, (index, p): (usize, DVec2), meridian: u32) -> u32 {
        let n = self.bay.of;
        let meridian = if p.x <= 0.0 { 0 } else { meridian % n };
        *self.place.entry((index, meridian)).or_insert_with(|| {
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

    /// Level faces where a step begins or ends inside the section.
    fn close_levels(&mut self, points: &[DVec2]) {
        let n = self.bay.of;
        for (pair, height) in self.bay.runs.windows(2).zip(self.bay.rows.iter()) {
            let (below, above) = (pair[0], pair[1]);
            if below == above {
                continue;
            }
            for (left, right) in rows(points, *height) {
                for k in above.each(n).filter(|k| !below.holds(*k, n)) {
                    self.face(left, right, k);
                }
                for k in below.each(n).filter(|k| !above.holds(*k, n)) {
                    self.face(right, left, k);
                }
            }
        }
    }

    /// Upright faces at the meridians where runs begin and end.
    fn close_walls(&mut self, points: &[DVec2], section: &Region) {
        let index: FxHashMap<[u64; 2], usize> =
            points.iter().enumerate().map(|(i, p)| (bits(*p), i)).collect();
        for (meridian, (low, high), behind) in self.bay.walls() {
            let part = section.cut_between(low, high);
            let corners: Vec<DVec2> = part.contours().iter().flatten().copied().collect();
            let outline = |contour: &Vec<DVec2>| contour.iter().map(|p| Vec2::new(p.x, p.y)).collect();
            let outlines = part.contours().iter().map(outline).collect();
            for t in polygon::triangulate(&outlines, -1.0, true) {
                let [a, b, c] = [t.x, t.y, t.z].map(|i| {
                    let p = corners[i as usize];
                    self.vertex((index[&bits(p)], p), meridian)
                });
                self.mesh.triangles.push(if behind { [a, c, b] } else { [a, b, c] });
            }
        }
    }
}

/// The stretches of the section at a height that no level edge and no tip lies at, as pairs of its points there.
fn rows(points: &[DVec2], height: f64) -> Vec<((usize, DVec2), (usize, DVec2))> {
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
        samples::hollow_cup,
    };

    fn bay(rows: &[f64], runs: &[(u32, u32)]) -> Bay {
        let runs = runs.iter().map(|&(first, steps)| Run { first, steps }).collect();
        Bay { of: 24, rows: rows.into(), runs }
    }

    /// Every band holds its share of the turned solid between its heights.
    #[test]
    fn a_bay_is_closed_and_holds_its_share() {
        let bays = [
            bay(&[5.0, 20.0, 33.0, 60.0], &[(0, 0), (22, 2), (22, 5), (23, 3), (0, 0)]),
            bay(&[12.0, 35.0, 62.0], &[(3, 5), (0, 24), (5, 9), (8, 1)]),
            bay(&[7.0, 62.0], &[(20, 6), (2, 9), (14, 2)]),
            Bay::all(24),
        ];
        for bay in bays {
            let section = hollow_cup().split_at(&bay.heights());
            // A wall along many points of the axis may have triangles without area, which the kernel takes.
            let solid = Solid::from_mesh(&bay.closed(&section)).unwrap();
            let share: f64 = bay
                .stretches()
                .into_iter()
                .map(|((low, high), run)| {
                    let part = section.between(low.max(0.0), high.min(90.0));
                    revolved_volume(&part) * polygon_factor(24) * f64::from(run.steps) / 24.0
                })
                .sum();
            assert!((solid.volume() / share - 1.0).abs() < 1e-7, "{} {share}", solid.volume());
        }
    }

    #[test]
    fn bays_that_meet_become_one() {
        let rows = [5.0, 9.0];
        let (a, b) = (bay(&rows, &[(22, 3), (22, 4), (0, 0)]), bay(&rows, &[(0, 0), (1, 3), (1, 2)]));
        assert!(a.meets(&b) && b.meets(&a));
        assert_eq!(a.joined(&b), bay(&rows, &[(22, 3), (22, 6), (1, 2)]));
        assert_eq!(b.joined(&a), a.joined(&b));
        assert!(!a.meets(&bay(&rows, &[(1, 2), (2, 20), (0, 24)])));
        assert_eq!(bay(&[], &[(20, 8)]).joined(&bay(&[], &[(3, 18)])), bay(&[], &[(20, 24)]));
        assert_eq!(a.heights(), [5.0, 9.0]);
    }
}
