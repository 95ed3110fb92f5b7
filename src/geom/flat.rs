//! Flat triangles: three corners on a line, or two at one place. They are taken out of a closed surface, which stays
//! closed and where it is.
//!
//! In turn: corners at one place that an edge joins become one, and triangles with a repeated corner go, which closes
//! the gap that they leave by itself; two triangles on the same three corners that face each other go together (a
//! wall without thickness). A sliver, three corners on a line, cannot simply go: its middle corner lies on the long
//! edge of its neighbour, which would then be open there. So the long edge of sliver and neighbour is turned to run
//! from the middle corner to the neighbour's far corner. Where that edge is there already, the neighbour is first divided
//! by a new corner in its middle, so that no edge comes to be shared by four triangles. No corner moves in any of this.

use std::{
    cmp::Ordering,
    collections::{BTreeMap, BinaryHeap, HashMap},
};

use glam::DVec3;

use super::{TriMesh, closed_surfaces::together};

/// Corners nearer than this are at one place, mm: far below what any length is told to, far above round-off.
const SAME_PLACE: f64 = 1e-9;

impl TriMesh {
    /// The same closed surface without flat triangles, as far as they can be taken out. All vertices stay as they
    /// are, though some may be used no more; new ones come after them.
    #[must_use]
    pub fn without_flat(self) -> Self {
        if !self.triangles.iter().any(|t| is_flat(&self.positions, *t, 0.0)) {
            return self;
        }
        let (positions, triangles) = without_slivers(self.positions, self.triangles, Last::Divide);
        Self { positions, triangles }
    }
}

impl TriMesh {
    /// The same surface as booleans should leave it: without flat triangles and walls without thickness, and taken apart
    /// where it only touches itself along an edge, or with that edge divided where it can't be. What can't be repaired stays
    /// as it is.
    #[must_use]
    pub fn tidied(self) -> Self {
        let mesh = self.without_flat();
        if mesh.check().is_ok() {
            return mesh;
        }
        let mesh = Self { triangles: without_twins(mesh.triangles), positions: mesh.positions };
        if mesh.check().is_ok() {
            return mesh;
        }
        let mesh = mesh.closed_surfaces().map_or(mesh, together);
        if mesh.check().is_ok() {
            return mesh;
        }
        // The surface itself runs along an edge twice.
        let divided = mesh.with_shared_edges_divided().filter(|divided| divided.check().is_ok());
        divided.unwrap_or(mesh)
    }
}

/// Triangles without twins that face each other, and with their slivers turned away. Where no turn leaves an edge with two
/// triangles, four come to share it: still closed, and better than flat.
///
/// # Panics
/// When a triangle names a position that is not there.
pub fn turned(positions: &[DVec3], triangles: Vec<[u32; 3]>) -> Vec<[u32; 3]> {
    without_slivers(positions.to_vec(), triangles, Last::Crowd).1
}

/// What is done with a sliver whose turned edge is in use already.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Last {
    /// It stays.
    Leave,
    /// Four triangles come to share that edge.
    Crowd,
    /// The neighbour is divided by a new vertex.
    Divide,
}

fn without_slivers(
    positions: Vec<DVec3>,
    triangles: Vec<[u32; 3]>,
    last: Last,
) -> (Vec<DVec3>, Vec<[u32; 3]>) {
    let clean = |positions: Vec<DVec3>, triangles: &[[u32; 3]]| {
        let triangles = without_twins(joined(&positions, triangles));
        Surface::new(positions, triangles)
    };
    let mut surface = clean(positions, &triangles);
    // Turning may bring twins together, and corners at one place that no edge joined; room for a turn may come of their
    // going. The first round is nearly always enough. In some later ones those take part that only round-off keeps from
    // being flat, or slivers would be turned to and fro between them.
    let rounds =
        [(Last::Leave, 0.0), (last, 0.0), (last, FLAT), (last, 0.0), (last, FLAT), (last, 0.0), (last, 0.0)];
    for (last, height) in rounds {
        surface.height = height;
        surface.turn_slivers(last);
        surface = clean(surface.positions, &surface.triangles);
        if surface.slivers().is_empty() {
            break;
        }
    }
    (surface.positions, surface.triangles)
}

/// Some hundred times the height that round-off leaves of three corners on a line at cake size, mm.
const FLAT: f64 = 1e-11;

/// Whether a triangle is no higher than `height` mm over its longest side.
fn is_flat(positions: &[DVec3], triangle: [u32; 3], height: f64) -> bool {
    let [a, b, c] = triangle.map(|v| positions[v as usize]);
    let longest = a.distance_squared(b).max(b.distance_squared(c)).max(c.distance_squared(a));
    (b - a).cross(c - a).length() <= height * longest.sqrt()
}

/// Triangles with one corner for all that are joined by edges without length.
fn joined(positions: &[DVec3], triangles: &[[u32; 3]]) -> Vec<[u32; 3]> {
    let mut first: Vec<u32> = (0..positions.len() as u32).collect();
    fn root(first: &mut [u32], mut v: u32) -> u32 {
        while first[v as usize] != v {
            first[v as usize] = first[first[v as usize] as usize];
            v = first[v as usize];
        }
        v
    }
    for t in triangles.iter().filter(|t| is_flat(positions, **t, 0.0)) {
        for (a, b) in edges(*t) {
            if positions[a as usize].distance(positions[b as usize]) < SAME_PLACE {
                let (a, b) = (root(&mut first, a), root(&mut first, b));
                first[a.max(b) as usize] = a.min(b);
            }
        }
    }
    let triangles = triangles.iter().map(|t| t.map(|v| root(&mut first, v)));
    triangles.filter(|t| t[0] != t[1] && t[1] != t[2] && t[2] != t[0]).collect()
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

/// A flat triangle; the order is that of their longest edges.
#[derive(Debug, Clone, Copy)]
struct Sliver {
    index: usize,
    /// Of the longest edge, squared, mm².
    length: f64,
}

impl Ord for Sliver {
    fn cmp(&self, other: &Self) -> Ordering {
        self.length.total_cmp(&other.length).then(self.index.cmp(&other.index))
    }
}

impl PartialOrd for Sliver {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl PartialEq for Sliver {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other).is_eq()
    }
}

impl Eq for Sliver {}

/// Triangles that know their neighbours.
struct Surface {
    positions: Vec<DVec3>,
    triangles: Vec<[u32; 3]>,
    /// What is no higher over its longest side is a sliver, mm.
    height: f64,
    /// The triangles that run along each directed edge: one, unless solids touch there.
    along: BTreeMap<(u32, u32), Vec<usize>>,
}

impl Surface {
    fn new(positions: Vec<DVec3>, triangles: Vec<[u32; 3]>) -> Self {
        let mut surface = Self { positions, triangles, height: 0.0, along: BTreeMap::new() };
        for index in 0..surface.triangles.len() {
            surface.link(index);
        }
        surface
    }

    fn slivers(&self) -> Vec<usize> {
        (0..self.triangles.len()).filter(|&t| self.is_flat(t)).collect()
    }

    /// Turns slivers, always that with the longest edge next: the neighbour across it is then no sliver, and both are
    /// none after it, or one with the same longest edge, and both have shorter ones after it. So it ends.
    fn turn_slivers(&mut self, last: Last) {
        let mut slivers: BinaryHeap<Sliver> = self.slivers().into_iter().map(|t| self.sliver(t)).collect();
        while let Some(Sliver { index, length }) = slivers.pop() {
            // Since it was noted it may have been turned as another's neighbour.
            let now = self.is_flat(index).then(|| self.sliver(index));
            if now.is_some_and(|now| now.length.total_cmp(&length).is_eq())
                && let Some(neighbour) = self.turn_long_edge(index, last)
            {
                let shorter =
                    [index, neighbour].into_iter().filter(|&t| self.is_flat(t)).map(|t| self.sliver(t));
                // Of corners that are on a line only by rounding, the edge may not be shorter.
                slivers.extend(shorter.filter(|sliver| sliver.length < length).collect::<Vec<_>>());
            }
        }
    }

    fn sliver(&self, index: usize) -> Sliver {
        let [a, _, c] = self.long_edge_last(self.triangles[index]);
        Sliver { length: self.positions[a as usize].distance_squared(self.positions[c as usize]), index }
    }

    fn is_flat(&self, triangle: usize) -> bool {
        is_flat(&self.positions, self.triangles[triangle], self.height)
    }

    /// Turns the longest edge of a flat triangle; gives back the neighbour that took part. `None` where there is none,
    /// and where the new edge is in use already, or more than two triangles meet, and that is to be left.
    fn turn_long_edge(&mut self, sliver: usize, last: Last) -> Option<usize> {
        let [a, b, c] = self.long_edge_last(self.triangles[sliver]);
        let neighbours = self.along.get(&(a, c))?;
        let neighbour = *neighbours.first()?;
        let mut d = self.triangles[neighbour].into_iter().find(|&v| v != a && v != c)?;
        let in_use = |from, to| self.along.contains_key(&(from, to));
        let crowded = neighbours.len() > 1 || self.along[&(c, a)].len() > 1 || in_use(b, d) || in_use(d, b);
        if d == b || crowded && last == Last::Leave {
            return None;
        }
        if crowded && last == Last::Divide && !self.is_flat(neighbour) {
            d = self.divide(neighbour, [a, c, d]);
        }
        self.unlink(sliver);
        self.unlink(neighbour);
        self.triangles[sliver] = [a, b, d];
        self.triangles[neighbour] = [b, c, d];
        self.link(sliver);
        self.link(neighbour);
        Some(neighbour)
    }

    /// Divides `triangle`, whose corners are `[a, c, d]`, by a new vertex in its middle, which is given back; the part at
    /// a and c keeps its number.
    fn divide(&mut self, triangle: usize, [a, c, d]: [u32; 3]) -> u32 {
        let middle = self.positions.len() as u32;
        let sum: DVec3 = [a, c, d].map(|v| self.positions[v as usize]).into_iter().sum();
        self.positions.push(sum / 3.0);
        self.unlink(triangle);
        self.triangles[triangle] = [a, c, middle];
        self.link(triangle);
        for part in [[c, d, middle], [d, a, middle]] {
            self.triangles.push(part);
            self.link(self.triangles.len() - 1);
        }
        middle
    }

    /// The same triangle, begun so that its longest edge runs from the third corner to the first.
    fn long_edge_last(&self, [a, b, c]: [u32; 3]) -> [u32; 3] {
        let length =
            |from: u32, to: u32| self.positions[from as usize].distance_squared(self.positions[to as usize]);
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

    #[test]
    fn twins_go_in_pairs_and_only_when_they_face_each_other() {
        let kept = without_twins(vec![[0, 1, 2], [1, 2, 0], [2, 1, 0], [3, 4, 5]]);
        assert_eq!(kept, [[1, 2, 0], [3, 4, 5]]);
    }

    /// A tent over a square whose ridge has a corner on one of its edges, from which an edge goes to the far corner of
    /// the sliver's neighbour already: a wall without thickness hangs there.
    #[test]
    fn where_the_turned_edge_is_in_use_no_edge_gets_four_triangles() {
        let at = |x: f64, y: f64, z: f64| DVec3::new(x, y, z);
        // A tetrahedron 0 1 2 3 with a corner 4 on its edge 0 1, used by one side only; a second one on the edge 4 3.
        let positions = vec![
            at(0.0, 0.0, 0.0),
            at(4.0, 0.0, 0.0),
            at(1.0, 3.0, 0.0),
            at(1.0, 1.0, 3.0),
            at(1.0, 0.0, 0.0),
            at(5.0, -4.0, 1.0),
            at(5.0, -5.0, 1.0),
        ];
        let triangles = vec![
            [0, 2, 4],
            [4, 2, 1],
            [0, 4, 1],
            [0, 1, 3],
            [1, 2, 3],
            [2, 0, 3],
            // The second one.
            [4, 3, 5],
            [3, 4, 6],
            [3, 6, 5],
            [4, 5, 6],
        ];
        let mesh = TriMesh { positions, triangles };
        let volume = mesh.volume();
        let repaired = mesh.without_flat();
        repaired.check().unwrap();
        assert!((repaired.volume() - volume).abs() < 1e-12);
        assert_eq!(repaired.positions.len(), 8, "one vertex more");
    }

    /// A box whose top is a fan from one corner over others that lie on a line with it, and one of them twice.
    #[test]
    fn no_triangle_stays_flat() {
        let at = |x: f64, y: f64, z: f64| DVec3::new(x, y, z);
        let positions = vec![
            at(0.0, 0.0, 0.0),
            at(3.0, 0.0, 0.0),
            at(3.0, 2.0, 0.0),
            at(0.0, 2.0, 0.0),
            at(0.0, 0.0, 1.0),
            at(3.0, 0.0, 1.0),
            at(3.0, 2.0, 1.0),
            at(0.0, 2.0, 1.0),
            at(1.0, 0.0, 1.0),
            at(2.0, 0.0, 1.0),
            at(2.0, 0.0, 1.0),
        ];
        let triangles = vec![
            [0, 2, 1],
            [0, 3, 2],
            // The top: a fan from 4.
            [4, 8, 9],
            [4, 9, 10],
            [4, 10, 5],
            [4, 5, 6],
            [4, 6, 7],
            // The front, up to the same corners.
            [0, 8, 4],
            [0, 9, 8],
            [0, 10, 9],
            [0, 1, 10],
            [1, 5, 10],
            [1, 2, 6],
            [1, 6, 5],
            [2, 3, 7],
            [2, 7, 6],
            [3, 0, 4],
            [3, 4, 7],
        ];
        let mesh = TriMesh { positions, triangles };
        assert!(mesh.check().is_err());
        let repaired = mesh.without_flat();
        repaired.check().unwrap();
        assert!((repaired.volume() - 6.0).abs() < 1e-12, "{}", repaired.volume());
    }
}
