//! Takes out what rounding has flattened, and keeps the surface closed.
//!
//! In turn: corners that met become one; triangles with a repeated corner go, which closes the gap they
//! leave by itself; two triangles on the same three corners that face each other go together (a wall
//! thinner than the rounding). A flat sliver, three corners on a line, cannot simply go: its middle corner
//! sits on the long edge of its neighbour, which would then be open there. So the long edge of sliver and
//! neighbour is turned to run from the middle corner to the neighbour's far corner. Where that edge is there
//! already, four triangles come to share it: still closed, and better than flat. No corner moves in any of
//! this.

use std::collections::{BTreeMap, HashMap};

use glam::{DVec3, Vec3};

use super::{mesh_f32::double_area, weld::Welder};

/// How often slivers are turned and twins taken out; once is nearly always enough.
const ROUNDS: usize = 4;

/// The same closed surface with each position once and without flat triangles, as far as they can be
/// taken out.
pub(super) fn repaired(positions: &[Vec3], triangles: &[[u32; 3]]) -> (Vec<Vec3>, Vec<[u32; 3]>) {
    let (positions, triangles) = welded(positions, triangles);
    let mut surface = Surface::new(positions, without_twins(triangles));
    // Turning may bring twins together, and room for a turn may come of their going.
    for round in 0..ROUNDS {
        // At first no edge is to be shared by more triangles than before; after that, better so than flat.
        surface.turn_slivers(round > 0);
        surface = Surface::new(surface.positions, without_twins(surface.triangles));
        if surface.slivers().is_empty() {
            break;
        }
    }
    (surface.positions, surface.triangles)
}

fn welded(positions: &[Vec3], triangles: &[[u32; 3]]) -> (Vec<Vec3>, Vec<[u32; 3]>) {
    let mut welder = Welder::for_about(positions.len());
    let numbers: Vec<u32> = positions.iter().map(|&p| welder.number(p)).collect();
    let triangles = triangles
        .iter()
        .map(|t| t.map(|v| numbers[v as usize]))
        .filter(|t| t[0] != t[1] && t[1] != t[2] && t[2] != t[0])
        .collect();
    (welder.into_positions(), triangles)
}

/// Takes out pairs of triangles on the same corners that face each other.
fn without_twins(triangles: Vec<[u32; 3]>) -> Vec<[u32; 3]> {
    let mut alike: HashMap<[u32; 3], (Vec<usize>, Vec<usize>)> = HashMap::new();
    for (index, &t) in triangles.iter().enumerate() {
        let (key, even) = sorted(t);
        let (evens, odds) = alike.entry(key).or_default();
        if even { evens.push(index) } else { odds.push(index) }
    }
    let mut keep = vec![true; triangles.len()];
    for (evens, odds) in alike.values() {
        for (&a, &b) in evens.iter().zip(odds) {
            (keep[a], keep[b]) = (false, false);
        }
    }
    triangles.into_iter().zip(keep).filter_map(|(t, keep)| keep.then_some(t)).collect()
}

/// The corners in rising order, and whether an even number of swaps leads there.
fn sorted(triangle: [u32; 3]) -> ([u32; 3], bool) {
    let [a, b, c] = triangle;
    let even = (a < b) ^ (b < c) ^ (a < c);
    let mut key = triangle;
    key.sort_unstable();
    (key, even)
}

/// Triangles that know their neighbours.
struct Surface {
    positions: Vec<Vec3>,
    triangles: Vec<[u32; 3]>,
    /// The triangles that run along each directed edge: one, unless solids touch there.
    along: BTreeMap<(u32, u32), Vec<usize>>,
}

impl Surface {
    fn new(positions: Vec<Vec3>, triangles: Vec<[u32; 3]>) -> Self {
        let mut surface = Self { positions, triangles, along: BTreeMap::new() };
        for index in 0..surface.triangles.len() {
            surface.link(index);
        }
        surface
    }

    fn slivers(&self) -> Vec<usize> {
        (0..self.triangles.len()).filter(|&t| self.is_flat(t)).collect()
    }

    fn turn_slivers(&mut self, crowd: bool) {
        let mut slivers = self.slivers();
        // Turning may flatten the neighbour in its turn. Each sliver is given a fair number of tries, so
        // that a knot of them cannot go round for ever.
        let mut tries = 16 * slivers.len();
        while let Some(sliver) = slivers.pop()
            && tries > 0
        {
            tries -= 1;
            if self.is_flat(sliver)
                && let Some(neighbour) = self.turn_long_edge(sliver, crowd)
            {
                slivers.extend([sliver, neighbour].into_iter().filter(|&t| self.is_flat(t)));
            }
        }
    }

    fn is_flat(&self, triangle: usize) -> bool {
        double_area(self.triangles[triangle].map(|v| self.positions[v as usize])) == DVec3::ZERO
    }

    /// Turns the longest edge of a flat triangle; gives back the neighbour that took part. `None` where
    /// there is none, and, unless edges may be crowded, where the new edge is in use already or more than
    /// two triangles meet.
    fn turn_long_edge(&mut self, sliver: usize, crowd: bool) -> Option<usize> {
        let [a, b, c] = self.long_edge_last(self.triangles[sliver]);
        let neighbours = self.along.get(&(a, c))?;
        let neighbour = *neighbours.first()?;
        let d = self.triangles[neighbour].into_iter().find(|&v| v != a && v != c)?;
        let in_use = |from, to| self.along.contains_key(&(from, to));
        let crowded = neighbours.len() > 1 || self.along[&(c, a)].len() > 1 || in_use(b, d) || in_use(d, b);
        if d == b || crowded && !crowd {
            return None;
        }
        self.unlink(sliver);
        self.unlink(neighbour);
        self.triangles[sliver] = [a, b, d];
        self.triangles[neighbour] = [b, c, d];
        self.link(sliver);
        self.link(neighbour);
        Some(neighbour)
    }

    /// The same triangle, begun so that its longest edge runs from the third corner to the first.
    fn long_edge_last(&self, [a, b, c]: [u32; 3]) -> [u32; 3] {
        let length = |from: u32, to: u32| {
            let [from, to] = [from, to].map(|v| self.positions[v as usize].as_dvec3());
            from.distance_squared(to)
        };
        let (ab, bc, ca) = (length(a, b), length(b, c), length(c, a));
        if ca >= ab && ca >= bc {
            [a, b, c]
        } else if ab >= bc {
            [b, c, a]
        } else {
            [c, a, b]
        }
    }

    fn link(&mut self, triangle: usize) {
        for edge in edges(self.triangles[triangle]) {
            self.along.entry(edge).or_default().push(triangle);
        }
    }

    fn unlink(&mut self, triangle: usize) {
        for edge in edges(self.triangles[triangle]) {
            if let Some(users) = self.along.get_mut(&edge) {
                users.retain(|&user| user != triangle);
                if users.is_empty() {
                    self.along.remove(&edge);
                }
            }
        }
    }
}

fn edges([a, b, c]: [u32; 3]) -> [(u32, u32); 3] {
    [(a, b), (b, c), (c, a)]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::export::MeshF32;
    use geom::TriMesh;

    /// A box with one more corner in the middle of a top edge, so near the edge that `f32` puts it on it.
    fn box_with_sliver(bulge: f64) -> TriMesh {
        let (x, y, z) = (300.0, 200.0, 100.0);
        let corner =
            |i: u32| DVec3::new(f64::from(i & 1) * x, f64::from(i >> 1 & 1) * y, f64::from(i >> 2 & 1) * z);
        let mut positions: Vec<DVec3> = (0..8).map(corner).collect();
        positions.push(DVec3::new(x / 2.0, -bulge, z));
        let triangles = vec![
            [0, 2, 3],
            [0, 3, 1],
            [4, 5, 7],
            [4, 7, 6], // bottom, top
            [4, 8, 5], // the sliver on the top edge
            [0, 1, 5],
            [0, 5, 8],
            [0, 8, 4], // front
            [2, 6, 7],
            [2, 7, 3],
            [0, 4, 6],
            [0, 6, 2],
            [1, 3, 7],
            [1, 7, 5],
        ];
        TriMesh { positions, triangles }
    }

    fn widened(solid: &MeshF32<'_>) -> TriMesh {
        TriMesh {
            positions: solid.positions().iter().map(|p| p.as_dvec3()).collect(),
            triangles: solid.triangles().to_vec(),
        }
    }

    #[test]
    fn a_flat_sliver_is_turned_away_and_the_surface_stays_closed() {
        // Far from the origin a bulge of a nanometre is lost in f32; the sliver has no area then.
        let far = DVec3::new(0.0, 1000.0, 0.0);
        let mesh = box_with_sliver(1e-6).translated(far);
        mesh.check().expect("the box is a solid in f64");
        let solid = MeshF32::new(&mesh).unwrap();
        assert_eq!(solid.triangles().len(), mesh.len(), "turning an edge keeps the number of triangles");
        let rounded = widened(&solid);
        rounded.check().expect("closed, and without a triangle that has no area");
        assert!((rounded.volume() - 6e6).abs() < 1e-3);
    }

    #[test]
    fn a_sliver_that_f32_can_hold_is_left_alone() {
        let mesh = box_with_sliver(1e-3);
        let solid = MeshF32::new(&mesh).unwrap();
        assert_eq!(solid.triangles(), mesh.triangles.as_slice());
    }

    #[test]
    fn a_step_lower_than_the_rounding_vanishes() {
        let mut mesh = box_with_sliver(50.0);
        let tip = mesh.positions[8];
        mesh.positions.push(tip + DVec3::Z * 1e-7);
        // The top ends at the upper tip, the front at the lower one; two triangles lie between.
        mesh.triangles[4] = [4, 9, 5];
        mesh.triangles.extend([[4, 8, 9], [9, 8, 5]]);
        mesh.check().expect("a solid in f64");
        let rounded = widened(&MeshF32::new(&mesh).unwrap());
        rounded.check().unwrap();
        assert_eq!(rounded.len(), mesh.len() - 2);
    }

    #[test]
    fn twins_go_in_pairs_and_only_when_they_face_each_other() {
        let kept = without_twins(vec![[0, 1, 2], [1, 2, 0], [2, 1, 0], [3, 4, 5]]);
        assert_eq!(kept, [[1, 2, 0], [3, 4, 5]]);
    }
}
