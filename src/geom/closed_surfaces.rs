//! A surface taken apart into the closed surfaces that it is put together from.
//!
//! Where an edge is shared by more than two triangles, as where two boxes touch, it does not say which of them belong
//! together. They are paired by their angle about the edge: one triangle and the next one through the inside. Vertices
//! that several closed surfaces share are then told apart, so that each is a manifold of its own.

use glam::DVec3;

use crate::{TriMesh, real};

/// Triangles whose angles about an edge differ by less lie over each other, radians.
const OVER: f64 = 1e-9;

/// Half an edge: three times the number of its triangle, and which of its sides.
type HalfEdge = u32;

impl TriMesh {
    /// The closed surfaces that it is put together from, in the order of their first triangles. Every edge of each has two
    /// triangles that run along it in opposite directions, unless the surface itself runs along it twice. `None` when an edge is not run along as often in one
    /// direction as in the other, or a triangle names a vertex twice.
    pub fn closed_surfaces(&self) -> Option<Vec<TriMesh>> {
        let mut corners = Sets::new(3 * self.len());
        let mut triangles = Sets::new(self.len());
        for edge in self.sorted_half_edges()?.chunk_by(|a, b| a.0 == b.0) {
            for (ahead, back) in self.paired(edge)? {
                triangles.join(ahead / 3, back / 3);
                // Ahead starts where back ends.
                corners.join(ahead, next(back));
                corners.join(next(ahead), back);
            }
        }
        Some(self.apart(&triangles.numbered(), &corners.numbered().0))
    }

    /// The same surface with every edge along which it runs more than once divided in the middle, by a vertex of its own each
    /// time, so that each edge has two triangles. `None` where an edge is not run along as often in one direction as in the
    /// other, a triangle names a vertex twice, or there are more than a few such edges.
    pub(crate) fn with_shared_edges_divided(&self) -> Option<TriMesh> {
        /// Edges that are divided at most.
        const MOST: usize = 64;
        let mut mesh = self.clone();
        for _ in 0..MOST {
            let sides = mesh.sorted_half_edges()?;
            let Some(edge) = sides.chunk_by(|a, b| a.0 == b.0).find(|edge| edge.len() > 2) else {
                return Some(mesh);
            };
            let [low, high] = edge[0].0.map(|v| mesh.positions[v as usize]);
            for (ahead, back) in mesh.paired(edge)? {
                let middle = mesh.positions.len() as u32;
                mesh.positions.push((low + high) / 2.0);
                for half in [ahead, back] {
                    let (number, side) = ((half / 3) as usize, (half % 3) as usize);
                    let corners = mesh.triangles[number];
                    let [a, b, c] = [0, 1, 2].map(|i| corners[(side + i) % 3]);
                    mesh.triangles[number] = [a, middle, c];
                    mesh.triangles.push([middle, b, c]);
                }
            }
        }
        None
    }

    /// All half edges with the vertices between which they run, the lower first, those of one edge together.
    fn sorted_half_edges(&self) -> Option<Vec<([u32; 2], HalfEdge)>> {
        let mut sides = Vec::with_capacity(3 * self.len());
        for (number, t) in (0u32..).zip(&self.triangles) {
            for side in 0..3 {
                let (a, b) = (t[side], t[(side + 1) % 3]);
                if a == b {
                    return None;
                }
                sides.push(([a.min(b), a.max(b)], 3 * number + side as u32));
            }
        }
        sides.sort_unstable();
        Some(sides)
    }

    /// The half edges of one edge in pairs, one of each direction.
    fn paired(&self, edge: &[([u32; 2], HalfEdge)]) -> Option<Vec<(HalfEdge, HalfEdge)>> {
        let runs_up = |half: HalfEdge| self.start(half) == edge[0].0[0];
        if let [(_, one), (_, two)] = *edge {
            return (runs_up(one) != runs_up(two)).then(|| vec![(one, two)]);
        }
        if edge.iter().filter(|(_, half)| runs_up(*half)).count() * 2 != edge.len() {
            return None;
        }
        let [low, high] = edge[0].0.map(|v| self.positions[v as usize]);
        let axis = (high - low).normalize_or_zero();
        let (x, y) = axis.any_orthonormal_pair();
        let angle = |half: HalfEdge| {
            let apex = self.positions[self.start(next(next(half))) as usize] - low;
            real::atan2(apex.dot(y), apex.dot(x))
        };
        let mut around: Vec<(f64, bool, HalfEdge)> =
            edge.iter().map(|(_, half)| (angle(*half), runs_up(*half), *half)).collect();
        around.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.2.cmp(&b.2)));
        // Of those that lie over each other, first the ones that end an inside.
        for over in around.chunk_by_mut(|a, b| a.0 - b.0 < OVER) {
            over.sort_by_key(|(_, up, half)| (*up, *half));
        }
        // Clockwise about the edge the inside begins at a triangle that runs up and ends at one that runs down: like
        // brackets, except that they go round.
        let (mut open, mut pairs) = (Vec::new(), Vec::with_capacity(edge.len() / 2));
        let mut ended = vec![false; around.len()];
        for turn in 0..2 {
            for (at, &(_, up, half)) in around.iter().enumerate() {
                match up {
                    true if turn == 0 => open.push(half),
                    false if !ended[at] => {
                        if let Some(begun) = open.pop() {
                            ended[at] = true;
                            pairs.push((begun, half));
                        }
                    }
                    _ => {}
                }
            }
        }
        Some(pairs)
    }

    fn start(&self, half: HalfEdge) -> u32 {
        self.triangles[(half / 3) as usize][(half % 3) as usize]
    }

    /// One mesh for each number of `of`, with a vertex for each number of `corner` in it.
    fn apart(&self, (of, count): &(Vec<u32>, usize), corner: &[u32]) -> Vec<TriMesh> {
        let mut meshes = vec![TriMesh::default(); *count];
        // A vertex belongs to one mesh only.
        let mut vertex = vec![u32::MAX; corner.len()];
        for (number, t) in self.triangles.iter().enumerate() {
            let mesh = &mut meshes[of[number] as usize];
            let mut corners = [0; 3];
            for side in 0..3 {
                let vertex = &mut vertex[corner[3 * number + side] as usize];
                if *vertex == u32::MAX {
                    *vertex = mesh.positions.len() as u32;
                    mesh.positions.push(self.positions[t[side] as usize]);
                }
                corners[side] = *vertex;
            }
            mesh.triangles.push(corners);
        }
        meshes
    }
}

/// The half edge after `half` in its triangle.
fn next(half: HalfEdge) -> HalfEdge {
    if half % 3 == 2 { half - 2 } else { half + 1 }
}

/// Disjoint sets of numbers from 0. The root of a set is its lowest number.
struct Sets(Vec<u32>);

impl Sets {
    fn new(count: usize) -> Self {
        Self((0..count as u32).collect())
    }

    fn root(&mut self, mut at: u32) -> u32 {
        while self.0[at as usize] != at {
            self.0[at as usize] = self.0[self.0[at as usize] as usize];
            at = self.0[at as usize];
        }
        at
    }

    fn join(&mut self, a: u32, b: u32) {
        let (a, b) = (self.root(a), self.root(b));
        self.0[a.max(b) as usize] = a.min(b);
    }

    /// The number of each one's set, counted from 0 in the order of their roots, and how many sets there are.
    fn numbered(mut self) -> (Vec<u32>, usize) {
        let mut count = 0;
        let mut number = vec![0; self.0.len()];
        for at in 0..self.0.len() {
            let root = self.root(at as u32) as usize;
            number[at] = if root == at { count } else { number[root] };
            count += u32::from(root == at);
        }
        (number, count as usize)
    }
}

/// Several meshes as one; none share a vertex.
pub(crate) fn together(meshes: impl IntoIterator<Item = TriMesh>) -> TriMesh {
    let mut all = TriMesh::default();
    meshes.into_iter().for_each(|mesh| all.append(&mesh));
    all
}

/// The box round the vertices of a mesh; turned inside out when there are none.
pub(crate) fn box_round(mesh: &TriMesh) -> (DVec3, DVec3) {
    mesh.bounds().unwrap_or((DVec3::INFINITY, DVec3::NEG_INFINITY))
}

#[cfg(test)]
mod tests {
    use glam::dvec3;

    use super::*;

    /// A box from one corner to the other.
    fn cuboid(lo: DVec3, hi: DVec3) -> TriMesh {
        crate::solid::Solid::prism(
            &crate::Region::from_simple(vec![
                lo.truncate(),
                glam::dvec2(hi.x, lo.y),
                hi.truncate(),
                glam::dvec2(lo.x, hi.y),
            ]),
            lo.z,
            hi.z,
        )
        .to_mesh()
    }

    fn unit_cubes(at: &[[f64; 3]]) -> TriMesh {
        together(at.iter().map(|at| cuboid(DVec3::from(*at), DVec3::from(*at) + DVec3::ONE))).welded()
    }

    #[track_caller]
    fn assert_cubes(mesh: &TriMesh, count: usize) {
        let surfaces = mesh.closed_surfaces().unwrap();
        assert_eq!(surfaces.len(), count);
        for surface in surfaces {
            surface.check().unwrap();
            assert!((surface.volume() - 1.0).abs() < 1e-12, "{}", surface.volume());
        }
    }

    #[test]
    fn cubes_that_touch_come_apart() {
        assert_cubes(&unit_cubes(&[[0.0; 3]]), 1);
        // At a corner, along an edge, in a face, and eight round a corner.
        assert_cubes(&unit_cubes(&[[0.0; 3], [1.0; 3]]), 2);
        assert_cubes(&unit_cubes(&[[0.0; 3], [1.0, 1.0, 0.0]]), 2);
        assert_cubes(&unit_cubes(&[[0.0; 3], [0.0, 0.0, 1.0]]), 2);
        let eight: Vec<[f64; 3]> = (0..8u8).map(|i| [i & 1, i >> 1 & 1, i >> 2].map(f64::from)).collect();
        assert_cubes(&unit_cubes(&eight), 8);
    }

    /// Along the edge where they touch four triangles meet; divided, each part of it has two.
    #[test]
    fn an_edge_that_is_run_along_twice_is_divided() {
        let touching = unit_cubes(&[[0.0; 3], [1.0, 1.0, 0.0]]);
        assert!(touching.check().is_err());
        let divided = touching.with_shared_edges_divided().unwrap();
        divided.check().unwrap();
        assert!((divided.volume() - 2.0).abs() < 1e-12, "{}", divided.volume());
        assert_eq!(divided.len(), touching.len() + 4);
    }

    #[test]
    fn boxes_over_each_other_stay_closed() {
        let boxes = [
            cuboid(DVec3::ZERO, DVec3::ONE),
            cuboid(DVec3::ZERO, dvec3(1.0, 1.0, 2.0)),
            cuboid(DVec3::ZERO, dvec3(1.0, 2.0, 1.0)),
        ];
        let mesh = together(boxes).welded();
        let surfaces = mesh.closed_surfaces().unwrap();
        let volume: f64 = surfaces.iter().map(TriMesh::volume).sum();
        assert!((volume - 5.0).abs() < 1e-12, "{volume}");
        // A cube, one on top of it and one behind it.
        let united = mesh.try_united(crate::MostCrossings::default(), &crate::Cancel::new()).unwrap();
        united.check().unwrap();
        assert!((united.volume() - 3.0).abs() < 1e-12, "{}", united.volume());
    }

    #[test]
    fn what_is_open_is_not_taken_apart() {
        let mut open = unit_cubes(&[[0.0; 3], [0.0, 0.0, 1.0]]);
        let last = open.triangles.pop().unwrap();
        assert!(open.closed_surfaces().is_none());
        open.triangles.push([last[0], last[2], last[1]]);
        assert!(open.closed_surfaces().is_none());
    }
}
