//! The surface that distances are measured to: without the faces on the board, and with every wall extended below it.

use glam::{DVec2, DVec3};
use rustc_hash::{FxHashMap, FxHashSet};

use crate::TriMesh;
use crate::real;

/// Heights below this are on the board, mm.
const ON_BOARD: f64 = 1e-6;

/// Greatest slope of an extended wall, mm sideways for each mm down: 60° from upright.
const STEEPEST: f64 = 1.732_050_807_568_877_2;

/// Extended walls come in bands, each this many times as deep as the one above, so that the boxes of the bounding
/// volume hierarchy stay small near the board.
const DEEPER: f64 = 4.0;
const BANDS: i32 = 4;

pub(super) struct ExtendedSurface {
    /// The surface above the board, then what extends it below.
    pub mesh: TriMesh,
    /// How many triangles lie above the board.
    pub above_board: u32,
}

impl ExtendedSurface {
    pub fn new(mesh: &TriMesh) -> Self {
        let mut positions = mesh.positions.clone();
        for p in &mut positions {
            if p.z.abs() < ON_BOARD {
                p.z = 0.0;
            }
        }
        let on_board = |v: u32| positions[v as usize].z <= 0.0;
        let is_foot = |t: &[u32; 3]| t.iter().all(|v| on_board(*v));
        let cavities = Cavities::of(mesh);
        let counts = |t: &&[u32; 3]| !is_foot(t) && !cavities.contain(t);
        let triangles: Vec<[u32; 3]> = mesh.triangles.iter().filter(counts).copied().collect();
        let foot: FxHashSet<(u32, u32)> =
            mesh.triangles.iter().filter(|t| is_foot(t)).flat_map(|t| sides(*t)).collect();
        let rim: Vec<FootEdge> = triangles
            .iter()
            .flat_map(|t| sides(*t).map(|side| (*t, side)))
            .filter(|(_, (a, b))| on_board(*a) && on_board(*b) && foot.contains(&(*b, *a)))
            .map(|(t, side)| FootEdge::new(t, side, &positions))
            .collect();
        let above_board = triangles.len() as u32;
        let mut surface = Self { mesh: TriMesh { positions, triangles }, above_board };
        surface.extend_below(&rim);
        surface
    }

    /// Adds bands of wall below every edge of the foot.
    fn extend_below(&mut self, rim: &[FootEdge]) {
        let Some(reach) = reach(rim, &self.mesh.positions) else { return };
        let mut at: FxHashMap<u32, FootVertex> = FxHashMap::default();
        for (index, edge) in rim.iter().enumerate() {
            at.entry(edge.a).or_default().leaving.push(index);
            at.entry(edge.b).or_default().coming.push(index);
        }
        let depth = |band: i32| if band < 0 { 0.0 } else { reach * real::powi(DEEPER, band + 1 - BANDS) };
        let mut made: FxHashMap<(u32, usize, i32), u32> = FxHashMap::default();
        for (index, edge) in rim.iter().enumerate() {
            let shift = [edge.a, edge.b].map(|v| at[&v].shift(rim, index));
            let ends = [edge.a, edge.b].map(|v| self.mesh.positions[v as usize]);
            let lower = |end: usize, band: i32| ends[end] + (shift[end].0 * depth(band)).extend(-depth(band));
            for band in 0..BANDS {
                let (a, b) = (lower(0, band), lower(1, band));
                // Below where the extended walls of a foot meet there is nothing.
                if (b - a).dot(ends[1] - ends[0]) <= 1e-6 * ends[0].distance_squared(ends[1]) {
                    break;
                }
                let [upper_a, upper_b, lower_a, lower_b] =
                    [(0, band - 1), (1, band - 1), (0, band), (1, band)].map(|(end, band)| {
                        let vertex = [edge.a, edge.b][end];
                        if band < 0 {
                            return vertex;
                        }
                        *made.entry((vertex, shift[end].1, band)).or_insert_with(|| {
                            self.mesh.positions.push(lower(end, band));
                            (self.mesh.positions.len() - 1) as u32
                        })
                    });
                self.mesh.triangles.extend([[upper_b, upper_a, lower_a], [upper_b, lower_a, lower_b]]);
            }
        }
    }
}

/// How far down walls are extended, mm: half as far as the foot is wide, and then as far as a coat is ever thick.
fn reach(rim: &[FootEdge], positions: &[DVec3]) -> Option<f64> {
    /// No coat is thicker, mm.
    const THICKEST: f64 = 60.0;
    let first = positions[rim.first()?.a as usize];
    let (lo, hi) = rim
        .iter()
        .map(|edge| positions[edge.a as usize])
        .fold((first, first), |(lo, hi), p| (lo.min(p), hi.max(p)));
    Some((lo.distance(hi) / 2.0).max(THICKEST))
}

/// An edge between a wall and the foot, in the direction in which the wall runs along it.
struct FootEdge {
    a: u32,
    b: u32,
    /// Level direction away from the foot.
    outwards: DVec2,
    /// How far the wall moves outwards for each mm downwards, mm.
    slope: f64,
}

impl FootEdge {
    fn new(wall: [u32; 3], (a, b): (u32, u32), positions: &[DVec3]) -> Self {
        let [p, q, r] = wall.map(|v| positions[v as usize]);
        let normal = (q - p).cross(r - p);
        let along = (positions[b as usize] - positions[a as usize]).truncate().normalize_or_zero();
        let outwards = -along.perp();
        let across = normal.truncate().dot(outwards);
        // A wall that overhangs the foot gets the greatest slope.
        let slope = if across > 0.0 {
            (normal.z / across).clamp(-STEEPEST, STEEPEST)
        } else {
            STEEPEST.copysign(normal.z)
        };
        Self { a, b, outwards, slope }
    }
}

/// The edges of the foot that meet in a vertex.
#[derive(Default)]
struct FootVertex {
    coming: Vec<usize>,
    leaving: Vec<usize>,
}

impl FootVertex {
    /// How far the extended wall of `edge` moves sideways here for each mm downwards, mm, and a number that edges with
    /// the same movement share.
    fn shift(&self, rim: &[FootEdge], edge: usize) -> (DVec2, usize) {
        /// Least sine of half the turn at which two walls keep a movement along the rim of their own: walls that
        /// meet in a flatter angle are facets of one.
        const FACETS: f64 = 0.25;
        /// Least cosine of half the turn, so that no vertex moves far off.
        const SHARPEST: f64 = 0.4;
        let ([coming], [leaving]) = (&self.coming[..], &self.leaving[..]) else {
            return (rim[edge].outwards * rim[edge].slope, edge);
        };
        let (one, two) = (&rim[*coming], &rim[*leaving]);
        let Some(middle) = (one.outwards + two.outwards).try_normalize() else {
            return (rim[edge].outwards * rim[edge].slope, edge);
        };
        let along = middle.perp();
        let cos = middle.dot(one.outwards).max(SHARPEST);
        let sin = along.dot(one.outwards);
        // Both walls stay in their planes: shift · outwards = slope for each.
        let outwards = (one.slope + two.slope) / (2.0 * cos);
        let sideways = (one.slope - two.slope) / (2.0 * sin.abs().max(FACETS).copysign(sin));
        (middle * outwards + along * sideways, *leaving)
    }
}

/// Sealed cavities: components of the surface that face inwards.
struct Cavities {
    component: Vec<u32>,
    inwards: Vec<bool>,
}

impl Cavities {
    fn of(mesh: &TriMesh) -> Self {
        let (component, count) = mesh.connected_components();
        if count <= 1 {
            return Self { component: Vec::new(), inwards: Vec::new() };
        }
        let mut volume = vec![0.0; count];
        let middle = mesh.bounds().map_or(DVec3::ZERO, |(lo, hi)| (lo + hi) / 2.0);
        for (index, t) in mesh.triangles.iter().enumerate() {
            let [a, b, c] = mesh.corners(index).map(|p| p - middle);
            volume[component[t[0] as usize] as usize] += a.dot(b.cross(c));
        }
        Self { component, inwards: volume.iter().map(|v| *v < 0.0).collect() }
    }

    fn contain(&self, t: &[u32; 3]) -> bool {
        !self.component.is_empty() && self.inwards[self.component[t[0] as usize] as usize]
    }
}

fn sides(t: [u32; 3]) -> [(u32, u32); 3] {
    [(t[0], t[1]), (t[1], t[2]), (t[2], t[0])]
}
