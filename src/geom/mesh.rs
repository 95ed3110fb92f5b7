//! Indexed triangle meshes, checked before they are trusted.
//!
//! A [`TriMesh`] is a solid as triangles wherever the program needs one: exporters write it, the window draws it, the
//! boolean kernel reads it. It may hold anything; [`TriMesh::check`] says whether it bounds a solid.

use glam::{DAffine3, DVec3};
use rustc_hash::{FxBuildHasher, FxHashMap, FxHashSet};

/// Triangles that share vertices. Millimetres, z up, counter-clockwise seen from outside.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct TriMesh {
    /// Vertex positions, mm.
    pub positions: Vec<DVec3>,
    /// Three indices into `positions` for each triangle.
    pub triangles: Vec<[u32; 3]>,
}

/// What a triangle soup bounds: volume, surface and centroid of a closed mesh.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MassProperties {
    /// Enclosed volume, mm³; negative when the mesh is inside out.
    pub volume: f64,
    /// Surface area, mm².
    pub area: f64,
    /// Centroid of the enclosed volume, mm; the origin when the volume is zero.
    pub centroid: DVec3,
}

/// Why a mesh does not bound a solid.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum MeshDefect {
    /// A triangle names a vertex that is not there.
    #[error("triangle {triangle} names vertex {vertex}, but there are only {count}")]
    MissingVertex {
        /// Index of the triangle.
        triangle: usize,
        /// The vertex it names.
        vertex: u32,
        /// How many vertices there are.
        count: usize,
    },
    /// A coordinate is NaN or infinite.
    #[error("vertex {vertex} is not a finite point")]
    NotFinite {
        /// Index of the vertex.
        vertex: usize,
    },
    /// A triangle uses one vertex twice, or has no area.
    #[error("triangle {triangle} is degenerate")]
    Degenerate {
        /// Index of the triangle.
        triangle: usize,
    },
    /// An edge is not shared by exactly two triangles that run along it in opposite directions.
    #[error("{count} edges are open or shared the wrong way round, the first near {at:?}")]
    NotClosed {
        /// How many directed edges lack their opposite.
        count: usize,
        /// Middle of the first such edge, mm.
        at: DVec3,
    },
    /// The mesh is closed but encloses no volume, or is inside out.
    #[error("the mesh encloses {volume} mm³")]
    NoVolume {
        /// The signed volume, mm³.
        volume: f64,
    },
}

/// A closed mesh whose volume is a smaller share of its area to the power of 1.5 is flat but for round-off.
const ROUND_OFF: f64 = 1e-15;

impl TriMesh {
    /// Number of triangles.
    pub fn len(&self) -> usize {
        self.triangles.len()
    }

    /// Whether there are no triangles.
    pub fn is_empty(&self) -> bool {
        self.triangles.is_empty()
    }

    /// The three corners of triangle `index`, mm.
    ///
    /// # Panics
    /// When `index`, or a vertex the triangle names, is out of range.
    pub fn corners(&self, index: usize) -> [DVec3; 3] {
        self.triangles[index].map(|v| self.positions[v as usize])
    }

    /// Lowest and highest corner of the bounding box, mm; `None` for a mesh without vertices.
    pub fn bounds(&self) -> Option<(DVec3, DVec3)> {
        let first = *self.positions.first()?;
        Some(self.positions.iter().fold((first, first), |(lo, hi), &p| (lo.min(p), hi.max(p))))
    }

    /// Volume, area and centroid by the divergence theorem, summed about the middle of the mesh so
    /// that far-off meshes lose no digits.
    pub fn mass_properties(&self) -> MassProperties {
        let Some((lo, hi)) = self.bounds() else {
            return MassProperties { volume: 0.0, area: 0.0, centroid: DVec3::ZERO };
        };
        let origin = (lo + hi) / 2.0;
        let (mut six_volume, mut two_area, mut moment) = (0.0, 0.0, DVec3::ZERO);
        for index in 0..self.len() {
            let [a, b, c] = self.corners(index).map(|p| p - origin);
            let normal = (b - a).cross(c - a);
            let six = a.dot(b.cross(c));
            two_area += normal.length();
            six_volume += six;
            moment += (a + b + c) * six;
        }
        let centroid = if six_volume == 0.0 { DVec3::ZERO } else { origin + moment / (4.0 * six_volume) };
        MassProperties { volume: six_volume / 6.0, area: two_area / 2.0, centroid }
    }

    /// Enclosed volume, mm³.
    pub fn volume(&self) -> f64 {
        self.mass_properties().volume
    }

    /// Volume of the part between two heights, mm³, without cutting the mesh: by the divergence theorem for
    /// the field (x, 0, 0), which no level cut face contributes to.
    pub fn volume_between(&self, low: f64, high: f64) -> f64 {
        let mut volume = 0.0;
        self.each_between(low, high, |_, piece| volume += volume_along_x(piece));
        volume
    }

    /// Calls `each` with the part of every triangle between two heights, in triangles, and the number of the triangle
    /// that it is part of.
    pub fn each_between(&self, low: f64, high: f64, each: impl FnMut(usize, [DVec3; 3])) {
        self.each_of_between(0..self.len(), low, high, each);
    }

    /// [`TriMesh::each_between`] of some triangles.
    pub(crate) fn each_of_between(
        &self,
        triangles: impl IntoIterator<Item = usize>,
        low: f64,
        high: f64,
        mut each: impl FnMut(usize, [DVec3; 3]),
    ) {
        let (mut piece, mut scratch) = (Vec::with_capacity(8), Vec::with_capacity(8));
        for index in triangles {
            let corners = self.corners(index);
            let [a, b, c] = corners.map(|p| p.z);
            let (lowest, highest) = (a.min(b).min(c), a.max(b).max(c));
            // Most are wholly in or out.
            if highest < low || lowest > high {
                continue;
            }
            if lowest >= low && highest <= high {
                each(index, corners);
                continue;
            }
            piece.clear();
            piece.extend(corners);
            keep_above(&mut piece, &mut scratch, low, 1.0);
            keep_above(&mut piece, &mut scratch, -high, -1.0);
            for i in 2..piece.len() {
                each(index, [piece[0], piece[i - 1], piece[i]]);
            }
        }
    }

    /// Moves every vertex by `by` mm.
    #[must_use]
    pub fn translated(mut self, by: DVec3) -> Self {
        for p in &mut self.positions {
            *p += by;
        }
        self
    }

    /// Moves every vertex by `frame`, which must keep handedness.
    #[must_use]
    pub fn placed(mut self, frame: &DAffine3) -> Self {
        for p in &mut self.positions {
            *p = frame.transform_point3(*p);
        }
        self
    }

    /// Adds the triangles of `other` after its own; shared vertices stay separate.
    pub fn append(&mut self, other: &TriMesh) {
        let base = self.positions.len() as u32;
        self.positions.extend_from_slice(&other.positions);
        self.triangles.extend(other.triangles.iter().map(|t| t.map(|v| v + base)));
    }

    /// Checks that the mesh bounds a solid: indices in range, finite points, no triangle without
    /// area, every edge shared by exactly two triangles running opposite ways, positive volume.
    ///
    /// # Errors
    /// The first defect found, in that order.
    pub fn check(&self) -> Result<(), MeshDefect> {
        if let Some(vertex) = self.positions.iter().position(|p| !p.is_finite()) {
            return Err(MeshDefect::NotFinite { vertex });
        }
        let count = self.positions.len();
        for (triangle, t) in self.triangles.iter().enumerate() {
            if let Some(&vertex) = t.iter().find(|&&v| v as usize >= count) {
                return Err(MeshDefect::MissingVertex { triangle, vertex, count });
            }
            if self.is_degenerate(triangle) {
                return Err(MeshDefect::Degenerate { triangle });
            }
        }
        let open = self.open_edges();
        if let Some((a, b)) = open.first() {
            let at = (self.positions[*a as usize] + self.positions[*b as usize]) / 2.0;
            return Err(MeshDefect::NotClosed { count: open.len(), at });
        }
        let found = self.mass_properties();
        // Summed in another order the volume of a flattened solid may come out as nothing, or below.
        if found.volume > ROUND_OFF * crate::real::powf(found.area, 1.5) {
            return Ok(());
        }
        Err(MeshDefect::NoVolume { volume: found.volume })
    }

    /// The vertices of triangles without area, and of edges that are not shared by two triangles running opposite
    /// ways.
    pub fn faults(&self) -> FxHashSet<u32> {
        let flat = (0..self.len()).filter(|t| self.is_degenerate(*t)).flat_map(|t| self.triangles[t]);
        flat.chain(self.open_edges().into_iter().flat_map(|(a, b)| [a, b])).collect()
    }

    fn is_degenerate(&self, triangle: usize) -> bool {
        let (t, [a, b, c]) = (self.triangles[triangle], self.corners(triangle));
        t[0] == t[1] || t[1] == t[2] || t[2] == t[0] || (b - a).cross(c - a).length() == 0.0
    }

    /// Edges at which more than two triangles meet.
    pub fn crowded_edges(&self) -> Vec<(u32, u32)> {
        let mut uses: FxHashMap<(u32, u32), u32> = FxHashMap::default();
        for t in &self.triangles {
            for (from, to) in [(t[0], t[1]), (t[1], t[2]), (t[2], t[0])] {
                *uses.entry((from.min(to), from.max(to))).or_default() += 1;
            }
        }
        let mut crowded: Vec<(u32, u32)> =
            uses.into_iter().filter(|(_, uses)| *uses > 2).map(|(edge, _)| edge).collect();
        crowded.sort_unstable();
        crowded
    }

    /// Edges that are not shared by two triangles running opposite ways.
    fn open_edges(&self) -> Vec<(u32, u32)> {
        // Directed edges seen so far, +1 for low→high and −1 for high→low: a closed mesh sums to zero
        // with each direction met once.
        let mut edges: FxHashMap<(u32, u32), (i32, u32)> =
            FxHashMap::with_capacity_and_hasher(self.len() * 3 / 2, FxBuildHasher);
        for t in &self.triangles {
            for (from, to) in [(t[0], t[1]), (t[1], t[2]), (t[2], t[0])] {
                let (key, step) = if from < to { ((from, to), 1) } else { ((to, from), -1) };
                let seen = edges.entry(key).or_insert((0, 0));
                seen.0 += step;
                seen.1 += 1;
            }
        }
        let open = edges.into_iter().filter(|(_, (balance, uses))| *balance != 0 || *uses != 2);
        open.map(|(edge, _)| edge).collect()
    }

    /// Welds vertices at exactly the same position and drops triangles that lose their area by it.
    #[must_use]
    pub fn welded(&self) -> TriMesh {
        let mut by_position: FxHashMap<[u64; 3], u32> =
            FxHashMap::with_capacity_and_hasher(self.positions.len(), FxBuildHasher);
        let mut positions = Vec::new();
        let to_new: Vec<u32> = self
            .positions
            .iter()
            .map(|p| {
                // Adding zero turns −0.0 into 0.0, so that both weld.
                *by_position.entry((*p + DVec3::ZERO).to_array().map(f64::to_bits)).or_insert_with(|| {
                    positions.push(*p);
                    (positions.len() - 1) as u32
                })
            })
            .collect();
        let triangles = self
            .triangles
            .iter()
            .map(|t| t.map(|v| to_new[v as usize]))
            .filter(|t| t[0] != t[1] && t[1] != t[2] && t[2] != t[0])
            .collect();
        TriMesh { positions, triangles }
    }
}

/// What a triangle of a surface adds to the volume within it, mm³, by the divergence theorem for the field (x, 0, 0).
pub(crate) fn volume_along_x([a, b, c]: [DVec3; 3]) -> f64 {
    (b - a).cross(c - a).x * (a.x + b.x + c.x) / 6.0
}

/// Cuts a flat polygon down to where `sign` times z is at least `least` (Sutherland and Hodgman).
fn keep_above(piece: &mut Vec<DVec3>, scratch: &mut Vec<DVec3>, least: f64, sign: f64) {
    scratch.clear();
    let above = |p: DVec3| sign * p.z - least;
    for i in 0..piece.len() {
        let (a, b) = (piece[i], piece[(i + 1) % piece.len()]);
        if above(a) >= 0.0 {
            scratch.push(a);
        }
        if (above(a) > 0.0) != (above(b) > 0.0) && above(a) != 0.0 && above(b) != 0.0 {
            scratch.push(a.lerp(b, above(a) / (above(a) - above(b))));
        }
    }
    std::mem::swap(piece, scratch);
}

#[cfg(test)]
mod tests {
    use glam::{DVec2, dvec2};

    use super::*;
    use crate::{Region, revolve};

    /// A cone R 100 H 100 loses (z/100)³ of itself above a cut, any handbook.
    #[test]
    fn the_volume_between_heights_needs_no_cut() {
        let cone = Region::from_simple(vec![DVec2::ZERO, dvec2(100.0, 0.0), dvec2(0.0, 100.0)]);
        let mesh = revolve::revolve(&cone, 64).translated(DVec3::new(500.0, -20.0, 0.0));
        let whole = mesh.volume();
        let share = |low: f64, high: f64| mesh.volume_between(low, high) / whole;
        let left = |z: f64| (1.0 - z / 100.0f64).powi(3);
        for (low, high) in [(0.0f64, 25.0f64), (25.0, 60.0), (60.0, 100.0), (-5.0, 200.0)] {
            let exact = left(low.max(0.0)) - left(high.min(100.0));
            assert!((share(low, high) - exact).abs() < 1e-12, "{low} to {high}");
        }
    }
}
