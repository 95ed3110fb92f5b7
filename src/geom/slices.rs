//! Closed meshes cut at heights, and the space between two of them.
//!
//! A slab of a cake lies between two heights, so this is what carving asks for most. It takes time in
//! proportion to the triangles, where a boolean would sort them first.

use std::ops::RangeInclusive;

use glam::DVec3;
use rustc_hash::FxHashMap;

use super::{Cancel, Cancelled, TriMesh, caps::OpenEdges, uncancelled};

/// Triangles between two looks at the request to stop.
const CHUNK: usize = 1 << 14;

/// A vertex nearer to a cut than this lies on it, mm.
const ON: f64 = 1e-7;

impl TriMesh {
    /// The parts of a closed mesh below, between and above `heights`, which must rise: one part more than
    /// there are heights, each closed, some perhaps empty.
    pub fn cut_at(&self, heights: &[f64]) -> Vec<TriMesh> {
        uncancelled(|cancel| self.try_cut_at(heights, cancel))
    }

    /// The part of a closed mesh between two heights, closed.
    #[must_use]
    pub fn between(&self, low: f64, high: f64) -> TriMesh {
        uncancelled(|cancel| self.parts_at(&[low, high], 1..=1, cancel)).pop().unwrap_or_default()
    }

    /// The part of a closed mesh in a box, from its lowest to its highest corner, closed.
    #[must_use]
    pub fn within(&self, lo: DVec3, hi: DVec3) -> TriMesh {
        // One axis after the other is turned upright; three times is all the way round.
        let part = |mesh: &Self, axis: usize| {
            let mut part = mesh.between(lo[axis], hi[axis]);
            part.positions.iter_mut().for_each(|p| *p = DVec3::new(p.y, p.z, p.x));
            part
        };
        part(&part(&part(self, 2), 0), 1)
    }

    /// [`TriMesh::cut_at`] that can be stopped.
    ///
    /// # Errors
    /// Once `cancel` asks to stop.
    pub fn try_cut_at(&self, heights: &[f64], cancel: &Cancel) -> Result<Vec<TriMesh>, Cancelled> {
        self.parts_at(heights, 0..=heights.len(), cancel)
    }

    /// Some of the parts that `heights` cut a closed mesh into, counted from the lowest.
    fn parts_at(
        &self,
        heights: &[f64],
        wanted: RangeInclusive<usize>,
        cancel: &Cancel,
    ) -> Result<Vec<TriMesh>, Cancelled> {
        let mut parts: Vec<Slice> = (0..=heights.len()).map(|_| Slice::default()).collect();
        // What the wanted parts end at, a little further than vertices are moved.
        let least =
            wanted.start().checked_sub(1).map_or(f64::NEG_INFINITY, |below| heights[below] - 2.0 * ON);
        let most = heights.get(*wanted.end()).map_or(f64::INFINITY, |above| above + 2.0 * ON);
        for (index, triangle) in self.triangles.iter().enumerate() {
            if index % CHUNK == 0 {
                cancel.check()?;
            }
            let at = triangle.map(|v| self.positions[v as usize]);
            if at.iter().all(|p| p.z < least) || at.iter().all(|p| p.z > most) {
                continue;
            }
            let corners = [0, 1, 2].map(|i| PieceVertex::Own(triangle[i], snapped(at[i], heights)));
            let z = corners.map(|c| c.at().z);
            let (low, high) = (z[0].min(z[1]).min(z[2]), z[0].max(z[1]).max(z[2]));
            // The first part that has room above `low`, and the last with room below `high`.
            let mut first = heights.partition_point(|h| *h <= low);
            let mut last = heights.partition_point(|h| *h < high);
            if low == high && first != last {
                // A level face on a cut belongs to the solid behind it.
                let [a, b, c] = corners.map(PieceVertex::at);
                let up = (b - a).cross(c - a).z > 0.0;
                (first, last) = if up { (last, last) } else { (first, first) };
            }
            for (part, slice) in parts.iter_mut().enumerate().take(last + 1).skip(first) {
                if !wanted.contains(&part) {
                    continue;
                }
                let between = (
                    part.checked_sub(1).map_or(f64::NEG_INFINITY, |i| heights[i]),
                    heights.get(part).copied().unwrap_or(f64::INFINITY),
                );
                if first == last {
                    slice.add(&corners, between);
                } else {
                    slice.add(&piece(&corners, between, heights), between);
                }
            }
        }
        let close = |slice: Slice| {
            cancel.check()?;
            Ok(slice.closed())
        };
        let parts = parts.into_iter().enumerate().filter(|(part, _)| wanted.contains(part));
        parts.map(|(_, slice)| close(slice)).collect()
    }

    /// This closed mesh without `inner`, which must lie inside it and may touch it in level faces at `heights`
    /// only: no boolean is needed.
    #[must_use]
    pub fn hollowed(&self, inner: &TriMesh, heights: &[f64]) -> TriMesh {
        if inner.is_empty() {
            return self.clone();
        }
        let (outer, inner) = (self.snapped_to(heights), inner.snapped_to(heights));
        let mut mesh = TriMesh { positions: outer.positions.clone(), triangles: Vec::new() };
        mesh.positions.extend_from_slice(&inner.positions);
        let base = outer.positions.len() as u32;
        let ends: Vec<f64> = heights.iter().copied().filter(|h| inner.has_level_face(*h)).collect();
        mesh.triangles.extend(outer.triangles.iter().filter(|t| outer.level(t, &ends).is_none()));
        let flipped = |t: &[u32; 3]| [t[0] + base, t[2] + base, t[1] + base];
        mesh.triangles
            .extend(inner.triangles.iter().filter(|t| inner.level(t, &ends).is_none()).map(flipped));
        let (middle, _) = self.bounds().map_or((0.0, 0.0), |(lo, hi)| ((lo.z + hi.z) / 2.0, hi.z));
        for &height in &ends {
            let mut open = OpenEdges::default();
            for t in &mesh.triangles {
                for (from, to) in [(t[0], t[1]), (t[1], t[2]), (t[2], t[0])] {
                    if [from, to].iter().all(|v| mesh.positions[*v as usize].z == height) {
                        open.add(from, to);
                    }
                }
            }
            open.close(&mut mesh, height > middle);
        }
        mesh.without_unused_vertices()
    }

    fn snapped_to(&self, heights: &[f64]) -> TriMesh {
        let mut mesh = self.clone();
        mesh.positions.iter_mut().for_each(|p| *p = snapped(*p, heights));
        mesh
    }

    /// The height among `heights` that a triangle lies level at.
    fn level(&self, triangle: &[u32; 3], heights: &[f64]) -> Option<f64> {
        let z = triangle.map(|v| self.positions[v as usize].z);
        heights.iter().copied().find(|h| z.iter().all(|z| z == h))
    }

    fn has_level_face(&self, height: f64) -> bool {
        self.triangles.iter().any(|t| self.level(t, &[height]).is_some())
    }

    /// The same mesh without vertices that no triangle uses.
    #[must_use]
    pub fn without_unused_vertices(&self) -> TriMesh {
        let mut new_index = vec![u32::MAX; self.positions.len()];
        let mut mesh = TriMesh::default();
        mesh.triangles.reserve(self.len());
        for t in &self.triangles {
            let corners = t.map(|v| {
                let index = &mut new_index[v as usize];
                if *index == u32::MAX {
                    *index = mesh.positions.len() as u32;
                    mesh.positions.push(self.positions[v as usize]);
                }
                *index
            });
            mesh.triangles.push(corners);
        }
        mesh
    }
}

/// `p`, at a height among `heights` if it lies just beside that.
fn snapped(p: DVec3, heights: &[f64]) -> DVec3 {
    let nearest = heights.partition_point(|h| *h < p.z - ON);
    match heights.get(nearest) {
        Some(&height) if (height - p.z).abs() <= ON => p.with_z(height),
        _ => p,
    }
}

/// A vertex of a part of a triangle.
#[derive(Clone, Copy)]
enum PieceVertex {
    /// A vertex of the mesh.
    Own(u32, DVec3),
    /// Where an edge of the mesh, named by its lower and its higher vertex, crosses the height of that
    /// number.
    Cut(u32, u32, usize, DVec3),
}

impl PieceVertex {
    fn at(self) -> DVec3 {
        match self {
            Self::Own(_, at) | Self::Cut(_, _, _, at) => at,
        }
    }
}

/// The part of a triangle between two neighbouring heights, as a polygon.
fn piece(corners: &[PieceVertex; 3], (low, high): (f64, f64), heights: &[f64]) -> Vec<PieceVertex> {
    let mut polygon = Vec::with_capacity(6);
    for i in 0..3 {
        let (PieceVertex::Own(u, a), PieceVertex::Own(v, b)) = (corners[i], corners[(i + 1) % 3]) else {
            continue;
        };
        if low <= a.z && a.z <= high {
            polygon.push(corners[i]);
        }
        let mut cross = |height: f64| {
            if (a.z < height && height < b.z) || (b.z < height && height < a.z) {
                // From the same end for both triangles at the edge, so that both find the same point.
                let ((u, a), (v, b)) = if u < v { ((u, a), (v, b)) } else { ((v, b), (u, a)) };
                let at = a.lerp(b, (height - a.z) / (b.z - a.z)).with_z(height);
                let number = heights.partition_point(|h| *h < height);
                polygon.push(PieceVertex::Cut(u, v, number, at));
            }
        };
        if a.z < b.z {
            cross(low);
            cross(high);
        } else {
            cross(high);
            cross(low);
        }
    }
    polygon
}

/// The part between two heights while it is built.
#[derive(Default)]
struct Slice {
    mesh: TriMesh,
    own: FxHashMap<u32, u32>,
    cut: FxHashMap<(u32, u32, usize), u32>,
    bottom: OpenEdges,
    top: OpenEdges,
}

impl Slice {
    fn vertex(&mut self, corner: PieceVertex) -> u32 {
        let next = self.mesh.positions.len() as u32;
        let vertex = match corner {
            PieceVertex::Own(v, _) => *self.own.entry(v).or_insert(next),
            PieceVertex::Cut(u, v, number, _) => *self.cut.entry((u, v, number)).or_insert(next),
        };
        if vertex == next {
            self.mesh.positions.push(corner.at());
        }
        vertex
    }

    /// Adds a polygon that lies between `low` and `high`.
    fn add(&mut self, polygon: &[PieceVertex], (low, high): (f64, f64)) {
        if polygon.len() < 3 {
            return;
        }
        let corners: Vec<(u32, f64)> = polygon.iter().map(|c| (self.vertex(*c), c.at().z)).collect();
        for i in 0..corners.len() {
            let ((from, a), (to, b)) = (corners[i], corners[(i + 1) % corners.len()]);
            if a == low && b == low {
                self.bottom.add(from, to);
            }
            if a == high && b == high {
                self.top.add(from, to);
            }
        }
        for i in 2..corners.len() {
            self.mesh.triangles.push([corners[0].0, corners[i - 1].0, corners[i].0]);
        }
    }

    fn closed(mut self) -> TriMesh {
        self.bottom.close(&mut self.mesh, false);
        self.top.close(&mut self.mesh, true);
        self.mesh
    }
}

#[cfg(test)]
mod tests {
    use glam::dvec2;

    use super::*;
    use crate::{Region, Solid, Tolerance, revolve};

    fn vessel() -> TriMesh {
        let section = Region::from_simple(vec![
            dvec2(0.0, 0.0),
            dvec2(50.0, 0.0),
            dvec2(30.0, 40.0),
            dvec2(60.0, 90.0),
            dvec2(40.0, 90.0),
            dvec2(20.0, 50.0),
            dvec2(0.0, 50.0),
        ]);
        revolve::revolve(&section, 48)
    }

    /// Cut at corners, through level faces and between them, the parts are closed and make up the whole.
    #[test]
    fn parts_are_closed_and_make_up_the_whole() {
        let mesh = vessel();
        for heights in [vec![40.0], vec![50.0], vec![10.0, 40.0, 50.0, 60.0, 90.0], vec![-5.0, 33.3, 200.0]] {
            let parts = mesh.cut_at(&heights);
            assert_eq!(parts.len(), heights.len() + 1);
            let mut sum = 0.0;
            for (i, part) in parts.iter().enumerate().filter(|(_, part)| !part.is_empty()) {
                part.check().unwrap_or_else(|defect| panic!("{heights:?}, part {i}: {defect}"));
                let low = if i == 0 { -1e3 } else { heights[i - 1] };
                let high = heights.get(i).copied().unwrap_or(1e3);
                assert!((part.volume() / mesh.volume_between(low, high) - 1.0).abs() < 1e-12);
                sum += part.volume();
            }
            assert!((sum / mesh.volume() - 1.0).abs() < 1e-12);
        }
    }

    #[test]
    fn a_cut_is_stopped() {
        let section = Region::disc(dvec2(0.0, 60.0), 60.0, Tolerance::new(1e-4).unwrap()).right_half();
        let mesh = revolve::revolve(&section, 800);
        let heights = [20.0, 40.0, 60.1, 80.0, 100.0];
        crate::test_cancelling::assert_stops(
            |cancel| mesh.try_cut_at(&heights, cancel),
            |parts| {
                assert_eq!(*parts, mesh.cut_at(&heights));
            },
        );
    }

    /// The kernel's own intersection with the box is the reference.
    #[test]
    fn what_lies_in_a_box_is_closed_and_agrees_with_a_boolean() {
        let mesh = vessel();
        for (lo, hi) in [
            (DVec3::new(-20.3, 10.1, 5.7), DVec3::new(31.0, 80.0, 61.3)),
            (DVec3::new(-100.0, -100.0, -10.0), DVec3::new(100.0, 100.0, 200.0)),
            (DVec3::new(12.4, -33.3, 44.4), DVec3::new(70.0, 3.1, 120.0)),
        ] {
            let part = mesh.within(lo, hi);
            part.check().unwrap();
            let prism = Solid::prism(&Region::rectangle(lo.truncate(), hi.truncate()), lo.z, hi.z);
            let reference = Solid::from_mesh(&mesh).unwrap().intersection(&prism).to_mesh().mass_properties();
            let ours = part.mass_properties();
            assert!((ours.volume / reference.volume - 1.0).abs() < 1e-10, "{ours:?} {reference:?}");
            assert!(ours.centroid.distance(reference.centroid) < 1e-7, "{ours:?} {reference:?}");
        }
        assert!(mesh.within(DVec3::splat(300.0), DVec3::splat(400.0)).is_empty());
    }

    /// The kernel's own difference is the reference.
    #[test]
    fn a_hollow_agrees_with_a_boolean() {
        let tolerance = Tolerance::PREVIEW;
        let block = Solid::prism(&Region::disc(dvec2(3.0, -2.0), 70.0, tolerance), 10.0, 60.0).to_mesh();
        let inner = &vessel().cut_at(&[10.0, 60.0])[1];
        let hollow = block.hollowed(inner, &[10.0, 60.0]);
        hollow.check().unwrap();
        let solid = |mesh: &TriMesh| Solid::from_mesh(mesh).unwrap();
        let reference = solid(&block).difference(&solid(inner));
        assert!((hollow.volume() / reference.volume() - 1.0).abs() < 1e-10);
        let (a, b) = (hollow.mass_properties(), reference.to_mesh().mass_properties());
        assert!((a.area / b.area - 1.0).abs() < 1e-10 && a.centroid.distance(b.centroid) < 1e-9);
    }
}
