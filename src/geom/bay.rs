//! A bay of a turned surface: from meridian to meridian a stretch of heights, like a flight of steps.
//!
//! Where cuts and adds touch a turned solid here and there, only what stands in their bays need go through
//! booleans: the bay closed all round ([`Bay::closed`]), with the meridians and points of the whole.

use std::collections::HashMap;

use glam::{DVec2, DVec3};
use manifold_rust::{linalg::Vec2, polygon};

use super::{Region, TriMesh, revolve::direction};

/// A run of steps between meridians, each with its stretch of heights.
#[derive(Debug, Clone, PartialEq)]
pub struct Bay {
    /// Meridians all the way round.
    pub of: u32,
    /// The meridian that the first step begins at.
    pub first: u32,
    /// Lowest and highest height of every step, mm, infinite past the end of the solid; as many as meridians for
    /// all the way round.
    pub spans: Vec<(f64, f64)>,
}

/// A vertex this near to a plane lies in it, mm.
const ON: f64 = 1e-7;

impl Bay {
    /// A bay out of `of` meridians that begins at `first`, a stretch of heights for every step, dips filled.
    pub fn new(of: u32, first: u32, spans: Vec<(f64, f64)>) -> Self {
        let mut bay = Self { of, first, spans };
        bay.fill();
        bay
    }

    /// Whether it goes all the way round.
    pub fn is_full(&self) -> bool {
        self.spans.len() == self.of as usize
    }

    /// The stretch of heights between meridian `k` and the next; `None` outside the bay.
    pub fn span(&self, k: u32) -> Option<(f64, f64)> {
        self.spans.get(((k + self.of - self.first) % self.of) as usize).copied()
    }

    /// Whether the face of the grid along a section edge between two heights, from meridian `k` to the next,
    /// belongs to it.
    pub fn holds(&self, (low, high): (f64, f64), k: u32) -> bool {
        self.span(k).is_some_and(|span| span.0 <= low && high <= span.1)
    }

    /// Whether any step reaches between two heights.
    pub fn heights_meet(&self, (low, high): (f64, f64)) -> bool {
        self.spans.iter().any(|span| span.0 <= low && high <= span.1)
    }

    /// Whether two bays share a step and heights there.
    pub fn meets(&self, other: &Self) -> bool {
        self.steps().any(|(k, span)| other.span(k).is_some_and(|o| o.0 < span.1 && span.0 < o.1))
    }

    /// The least bay that holds both, which must meet.
    #[must_use]
    pub fn joined(&self, other: &Self) -> Self {
        let n = self.of;
        let (ahead, behind) = ((other.first + n - self.first) % n, (self.first + n - other.first) % n);
        // The bay begins where the one does that the other begins in.
        let (first, steps) = if (ahead as usize) < self.spans.len() {
            (self.first, self.spans.len().max(ahead as usize + other.spans.len()))
        } else {
            (other.first, other.spans.len().max(behind as usize + self.spans.len()))
        };
        let span = |i: u32| match (self.span((first + i) % n), other.span((first + i) % n)) {
            (Some(a), Some(b)) => (a.0.min(b.0), a.1.max(b.1)),
            (a, b) => a.or(b).unwrap_or_default(),
        };
        Self::new(n, first, (0..(steps as u32).min(n)).map(span).collect())
    }

    /// Fills every dip between two taller steps, above and below: at no height may the bay be in two parts, which
    /// would touch along the axis.
    fn fill(&mut self) {
        let highest_before = greatest_so_far(self.spans.iter().map(|span| span.1));
        let highest_after = greatest_so_far(self.spans.iter().rev().map(|span| span.1));
        let lowest_before = greatest_so_far(self.spans.iter().map(|span| -span.0));
        let lowest_after = greatest_so_far(self.spans.iter().rev().map(|span| -span.0));
        let last = self.spans.len() - 1;
        for (i, span) in self.spans.iter_mut().enumerate() {
            span.1 = highest_before[i].min(highest_after[last - i]);
            span.0 = -lowest_before[i].min(lowest_after[last - i]);
        }
    }

    /// Every step by its first meridian, with its heights.
    pub fn steps(&self) -> impl Iterator<Item = (u32, (f64, f64))> + '_ {
        (0..).zip(&self.spans).map(|(i, span)| ((self.first + i) % self.of, *span))
    }

    /// All heights at which a stretch begins or ends, rising.
    pub fn heights(&self) -> Vec<f64> {
        let mut heights: Vec<f64> = self.spans.iter().flat_map(|span| [span.0, span.1]).collect();
        heights.sort_by(f64::total_cmp);
        heights.dedup();
        heights
    }

    /// Meridians at which the stretch of heights changes, with that before and that after.
    fn walls(&self) -> Vec<(u32, Option<(f64, f64)>, Option<(f64, f64)>)> {
        let change = |k: u32| {
            let (before, after) = (self.span((k + self.of - 1) % self.of), self.span(k));
            (before != after).then_some((k, before, after))
        };
        let last = (self.first + self.spans.len() as u32) % self.of;
        let mut walls: Vec<_> = self.steps().filter_map(|(k, _)| change(k)).collect();
        if !self.is_full() {
            walls.extend(change(last));
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
    /// wherever an edge crosses one of [`Bay::heights`] ([`Region::split_at`]) and no level edge at these but its
    /// lowest and highest.
    pub fn closed(&self, section: &Region) -> TriMesh {
        let mut solid = Closing { bay: self, mesh: TriMesh::default(), place: HashMap::new() };
        let points: Vec<DVec2> = section.contours().iter().flatten().copied().collect();
        let mut start = 0;
        for contour in section.contours() {
            for i in 0..contour.len() {
                let j = (i + 1) % contour.len();
                let (a, b) = (contour[i], contour[j]);
                let heights = (a.y.min(b.y), a.y.max(b.y));
                for (k, _) in self.steps().filter(|(k, _)| self.holds(heights, *k)) {
                    solid.face((start + i, a), (start + j, b), k);
                }
            }
            start += contour.len();
        }
        solid.close_levels(&points, section);
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
    place: HashMap<(usize, u32), u32>,
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
    fn close_levels(&mut self, points: &[DVec2], section: &Region) {
        for height in self.bay.heights() {
            let rows = rows(section, points, height);
            let steps: Vec<(u32, (f64, f64))> = self.bay.steps().collect();
            for (k, span) in steps {
                for &(left, right) in &rows {
                    if span.0 == height {
                        self.face(left, right, k);
                    }
                    if span.1 == height {
                        self.face(right, left, k);
                    }
                }
            }
        }
    }

    /// Upright faces at the meridians where the heights of a step differ from those of the next.
    fn close_walls(&mut self, points: &[DVec2], section: &Region) {
        let index: HashMap<[u64; 2], usize> = points.iter().enumerate().map(|(i, p)| (bits(*p), i)).collect();
        for (k, before, after) in self.bay.walls() {
            for (of, less, ahead) in [(after, before, true), (before, after, false)] {
                for (low, high) in without(of, less) {
                    let part = section.cut_between(low, high);
                    let corners: Vec<DVec2> = part.contours().iter().flatten().copied().collect();
                    let outlines = part
                        .contours()
                        .iter()
                        .map(|c| c.iter().map(|p| Vec2::new(p.x, p.y)).collect())
                        .collect();
                    for t in polygon::triangulate(&outlines, -1.0, true) {
                        let [a, b, c] = [t.x, t.y, t.z].map(|i| {
                            let p = corners[i as usize];
                            self.vertex((index[&bits(p)], p), k)
                        });
                        self.mesh.triangles.push(if ahead { [a, b, c] } else { [a, c, b] });
                    }
                }
            }
        }
    }
}

/// The stretches of the section at a height that no level edge lies at, as pairs of its points there.
fn rows(section: &Region, points: &[DVec2], height: f64) -> Vec<((usize, DVec2), (usize, DVec2))> {
    if section.edges().any(|(a, b)| a.y == height && b.y == height) {
        return Vec::new();
    }
    let mut at: Vec<(usize, DVec2)> =
        points.iter().copied().enumerate().filter(|(_, p)| p.y == height).collect();
    at.sort_by(|a, b| a.1.x.total_cmp(&b.1.x));
    at.chunks_exact(2).map(|pair| (pair[0], pair[1])).collect()
}

fn greatest_so_far(values: impl Iterator<Item = f64>) -> Vec<f64> {
    values
        .scan(f64::NEG_INFINITY, |most, value| {
            *most = most.max(value);
            Some(*most)
        })
        .collect()
}

/// What of one stretch lies outside another.
fn without(of: Option<(f64, f64)>, less: Option<(f64, f64)>) -> Vec<(f64, f64)> {
    match (of, less) {
        (None, _) => Vec::new(),
        (Some(of), None) => vec![of],
        (Some((low, high)), Some((from, to))) => {
            let parts = [(low, high.min(from)), (low.max(to), high)];
            parts.into_iter().filter(|(low, high)| low < high).collect()
        }
    }
}

fn bits(p: DVec2) -> [u64; 2] {
    (p + DVec2::ZERO).to_array().map(f64::to_bits)
}

#[cfg(test)]
mod tests {
    use glam::dvec2;

    use super::*;
    use crate::geom::{
        Solid,
        revolve::{polygon_factor, revolved_volume},
    };

    fn section() -> Region {
        let cup = vec![
            dvec2(0.0, 0.0),
            dvec2(50.0, 0.0),
            dvec2(30.0, 40.0),
            dvec2(60.0, 90.0),
            dvec2(40.0, 90.0),
            dvec2(20.0, 45.0),
            dvec2(0.0, 50.0),
        ];
        let hole = Region::rectangle(dvec2(10.0, 10.0), dvec2(20.0, 30.0));
        Region::from_simple(cup).difference(&hole)
    }

    /// Every step holds its share of the turned solid between its heights.
    #[test]
    fn a_bay_is_closed_and_holds_its_share() {
        let bays = [
            Bay { of: 24, first: 22, spans: vec![(5.0, 60.0), (5.0, 60.0), (20.0, 70.0), (33.0, 62.0)] },
            Bay { of: 24, first: 3, spans: (0..24).map(|k| (f64::from(k) + 0.5, 61.0)).collect() },
            Bay { of: 24, first: 0, spans: vec![(0.0, 90.0); 24] },
        ];
        for bay in bays {
            let section = section().split_at(&bay.heights());
            let mesh = bay.closed(&section);
            // A wall along many points of the axis may have triangles without area, which the kernel takes.
            let solid = Solid::from_mesh(&mesh).unwrap();
            let step = polygon_factor(24) / 24.0;
            let share: f64 =
                bay.spans.iter().map(|s| revolved_volume(&section.between(s.0, s.1)) * step).sum();
            assert!((solid.volume() / share - 1.0).abs() < 1e-7, "{} {share}", solid.volume());
        }
    }

    #[test]
    fn bays_that_meet_become_one() {
        let bay = |first: u32, spans: &[(f64, f64)]| Bay { of: 12, first, spans: spans.to_vec() };
        let (a, b) = (bay(10, &[(0.0, 5.0), (0.0, 5.0), (0.0, 5.0)]), bay(0, &[(4.0, 9.0), (4.0, 9.0)]));
        assert!(a.meets(&b) && b.meets(&a));
        let both = bay(10, &[(0.0, 5.0), (0.0, 5.0), (0.0, 9.0), (4.0, 9.0)]);
        assert_eq!(a.joined(&b), both);
        assert_eq!(b.joined(&a), both);
        let (tall, low) = (bay(0, &[(3.0, 9.0), (0.0, 5.0), (2.0, 8.0)]), bay(1, &[(4.0, 5.0)]));
        assert_eq!(tall.joined(&low), bay(0, &[(3.0, 9.0), (0.0, 8.0), (2.0, 8.0)]));
        assert!(!a.meets(&bay(0, &[(5.0, 9.0)])) && !a.meets(&bay(1, &[(0.0, 5.0)])));
    }
}
