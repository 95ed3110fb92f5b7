//! A stepped plate → one closed surface: all outlines triangulated at once, then raised to their heights.

use std::collections::{BTreeMap, HashMap};

use glam::{DVec2, DVec3};
use spade::{ConstrainedDelaunayTriangulation, Point2, Triangulation};

use super::PlatePart;
use crate::{MeshDefect, TriMesh, region::distance_to_segment};

/// The surface of the plate made of `parts`, not yet checked.
pub(super) fn surface(parts: &[PlatePart]) -> Result<TriMesh, MeshDefect> {
    PlanarGraph::new(parts).surface(parts)
}

/// Corners closer than this are one, mm; far below what a printer does, far above what a boolean rounds.
const SAME: f64 = 1e-5;

/// Heights are multiples of this, mm, so that equal ones compare equal.
const HEIGHT_UNIT: f64 = 1e-7;

/// All outlines as one planar straight-line graph.
struct PlanarGraph {
    corners: Vec<DVec2>,
    /// The part on the left of each directed edge.
    left: BTreeMap<(u32, u32), usize>,
}

impl PlanarGraph {
    fn new(parts: &[PlatePart]) -> Self {
        let mut table = PointTable::default();
        let contours: Vec<Vec<Vec<u32>>> = parts
            .iter()
            .map(|t| {
                let contour = |c: &Vec<DVec2>| t.top.refined(c).into_iter().map(|p| table.id(p)).collect();
                t.region.contours().iter().map(contour).collect()
            })
            .collect();
        let corners = table.corners;
        let by_x = sorted_by_x(&corners);
        let mut left = BTreeMap::new();
        for (index, contours) in contours.iter().enumerate() {
            // An edge run along both ways bounds nothing.
            let mut balance: BTreeMap<(u32, u32), i32> = BTreeMap::new();
            for contour in contours {
                for i in 0..contour.len() {
                    let (a, b) = (contour[i], contour[(i + 1) % contour.len()]);
                    let mut from = a;
                    for to in corners_along(&corners, &by_x, a, b).into_iter().chain([b]) {
                        match from.cmp(&to) {
                            std::cmp::Ordering::Less => *balance.entry((from, to)).or_default() += 1,
                            std::cmp::Ordering::Greater => *balance.entry((to, from)).or_default() -= 1,
                            std::cmp::Ordering::Equal => {}
                        }
                        from = to;
                    }
                }
            }
            for ((a, b), sum) in balance {
                match sum.signum() {
                    1 => left.insert((a, b), index),
                    -1 => left.insert((b, a), index),
                    _ => None,
                };
            }
        }
        Self { corners, left }
    }

    /// Triangles of the plane with the part that each lies in.
    fn triangles(&self) -> Result<Vec<([u32; 3], usize)>, MeshDefect> {
        let vertices = self.corners.iter().map(|p| Point2::new(p.x, p.y)).collect();
        let mut edges: Vec<[usize; 2]> =
            self.left.keys().map(|&(a, b)| [a.min(b) as usize, a.max(b) as usize]).collect();
        edges.sort_unstable();
        edges.dedup();
        let wanted = edges.len();
        let mut crossing = None;
        let triangulation =
            ConstrainedDelaunayTriangulation::<Point2<f64>>::try_bulk_load_cdt(vertices, edges, |[a, _]| {
                crossing = Some(a)
            });
        let not_closed = |at: usize| MeshDefect::NotClosed {
            count: 1,
            at: self.corners.get(at).copied().unwrap_or_default().extend(0.0),
        };
        let plane = triangulation.map_err(|_| MeshDefect::NotFinite { vertex: 0 })?;
        if let Some(at) = crossing {
            return Err(not_closed(at));
        }
        if plane.num_vertices() != self.corners.len() || plane.num_constraints() < wanted {
            return Err(not_closed(0));
        }
        let mut seen = vec![false; plane.num_all_faces()];
        let mut found = Vec::new();
        for face in plane.inner_faces() {
            if std::mem::replace(&mut seen[face.index()], true) {
                continue;
            }
            // All faces that are connected without crossing an outline, and the part that they lie in.
            let (mut faces, mut pending, mut owner) = (Vec::new(), vec![face], None);
            while let Some(face) = pending.pop() {
                faces.push(face);
                for edge in face.adjacent_edges() {
                    if edge.is_constraint_edge() {
                        let key = (edge.from().index() as u32, edge.to().index() as u32);
                        owner = owner.or_else(|| self.left.get(&key).copied());
                    } else if let Some(next) = edge.rev().face().as_inner()
                        && !std::mem::replace(&mut seen[next.index()], true)
                    {
                        pending.push(next);
                    }
                }
            }
            if let Some(part) = owner {
                found.extend(faces.iter().map(|f| (f.vertices().map(|v| v.index() as u32), part)));
            }
        }
        Ok(found)
    }

    fn surface(&self, parts: &[PlatePart]) -> Result<TriMesh, MeshDefect> {
        let triangles = self.triangles()?;
        let mut heights: HashMap<(usize, u32), i64> = HashMap::new();
        let mut corner_heights: Vec<Vec<i64>> = vec![vec![0]; self.corners.len()];
        for &(corners, part) in &triangles {
            for corner in corners {
                let height = *heights.entry((part, corner)).or_insert_with(|| {
                    (parts[part].top.height(self.corners[corner as usize]) / HEIGHT_UNIT).round() as i64
                });
                corner_heights[corner as usize].push(height);
            }
        }
        for heights in &mut corner_heights {
            heights.sort_unstable();
            heights.dedup();
        }
        let mut builder = Builder { graph: self, mesh: TriMesh::default(), vertices: HashMap::new() };
        for &(corners, part) in &triangles {
            let top = corners.map(|corner| (corner, heights[&(part, corner)]));
            if top.iter().any(|&(_, height)| height > 0) {
                builder.triangle(top);
                let [a, b, c] = corners;
                builder.triangle([(a, 0), (c, 0), (b, 0)]);
            }
        }
        for (&(a, b), &part) in &self.left {
            let other = self.left.get(&(b, a)).copied();
            let at = |part: Option<usize>, corner: u32| {
                part.and_then(|t| heights.get(&(t, corner)).copied()).unwrap_or(0)
            };
            let (own, next) = ((at(Some(part), a), at(Some(part), b)), (at(other, a), at(other, b)));
            if own.0 >= next.0 && own.1 >= next.1 {
                builder.wall((a, next.0, own.0), (b, next.1, own.1), &corner_heights);
            } else if own.0 > next.0 || own.1 > next.1 {
                // Their tops cross along the edge; nothing that is made here does.
                let at = self.corners[a as usize].extend(0.0);
                return Err(MeshDefect::NotClosed { count: 1, at });
            }
        }
        Ok(builder.mesh)
    }
}

/// The surface while it is built; its vertices are corners of the graph at some height.
struct Builder<'a> {
    graph: &'a PlanarGraph,
    mesh: TriMesh,
    vertices: HashMap<(u32, i64), u32>,
}

impl Builder<'_> {
    fn vertex(&mut self, (corner, height): (u32, i64)) -> u32 {
        *self.vertices.entry((corner, height)).or_insert_with(|| {
            let p: DVec3 = self.graph.corners[corner as usize].extend(height as f64 * HEIGHT_UNIT);
            self.mesh.positions.push(p);
            (self.mesh.positions.len() - 1) as u32
        })
    }

    fn triangle(&mut self, corners: [(u32, i64); 3]) {
        let corners = corners.map(|corner| self.vertex(corner));
        self.mesh.triangles.push(corners);
    }

    /// The upright wall between two corners, each with its lower and upper height, seen from the right of
    /// the edge from `a` to `b`. Both sides are cut at every height that occurs there.
    fn wall(&mut self, a: (u32, i64, i64), b: (u32, i64, i64), corner_heights: &[Vec<i64>]) {
        let side = |(corner, low, high): (u32, i64, i64)| -> Vec<(u32, i64)> {
            let between = corner_heights[corner as usize].iter().filter(|&&h| low < h && h < high);
            let mut side: Vec<i64> = std::iter::once(low).chain(between.copied()).collect();
            if high > low {
                side.push(high);
            }
            side.into_iter().map(|height| (corner, height)).collect()
        };
        let (left, right) = (side(a), side(b));
        let (mut i, mut j) = (0, 0);
        while i + 1 < left.len() || j + 1 < right.len() {
            let up_right = j + 1 < right.len() && (i + 1 >= left.len() || right[j + 1].1 <= left[i + 1].1);
            if up_right {
                self.triangle([left[i], right[j], right[j + 1]]);
                j += 1;
            } else {
                self.triangle([left[i], right[j], left[i + 1]]);
                i += 1;
            }
        }
    }
}

/// Numbers corners, one number for all within [`SAME`] of each other.
#[derive(Default)]
struct PointTable {
    corners: Vec<DVec2>,
    cells: HashMap<(i64, i64), Vec<u32>>,
}

impl PointTable {
    fn id(&mut self, p: DVec2) -> u32 {
        let cell = |x: f64| (x / SAME).floor() as i64;
        let (cx, cy) = (cell(p.x), cell(p.y));
        for dx in -1..=1 {
            for dy in -1..=1 {
                let near = self.cells.get(&(cx + dx, cy + dy));
                let same = near.into_iter().flatten().find(|&&i| self.corners[i as usize].distance(p) < SAME);
                if let Some(&id) = same {
                    return id;
                }
            }
        }
        let id = self.corners.len() as u32;
        self.corners.push(p);
        self.cells.entry((cx, cy)).or_default().push(id);
        id
    }
}

fn sorted_by_x(corners: &[DVec2]) -> Vec<u32> {
    let mut order: Vec<u32> = (0..corners.len() as u32).collect();
    order.sort_by(|&i, &j| corners[i as usize].x.total_cmp(&corners[j as usize].x));
    order
}

/// The corners that lie on the edge from `a` to `b`, between its ends and in order.
fn corners_along(corners: &[DVec2], by_x: &[u32], a: u32, b: u32) -> Vec<u32> {
    let (p, q) = (corners[a as usize], corners[b as usize]);
    let (low, high) = (p.x.min(q.x) - SAME, p.x.max(q.x) + SAME);
    let first = by_x.partition_point(|&i| corners[i as usize].x < low);
    let mut found: Vec<(f64, u32)> = by_x[first..]
        .iter()
        .take_while(|&&i| corners[i as usize].x <= high)
        .filter(|&&i| i != a && i != b)
        .filter_map(|&i| {
            let c = corners[i as usize];
            let along = (c - p).dot(q - p) / (q - p).length_squared();
            let near = distance_to_segment(c, p, q) < SAME;
            (near && along > 0.0 && along < 1.0).then_some((along, i))
        })
        .collect();
    found.sort_by(|x, y| x.0.total_cmp(&y.0));
    found.into_iter().map(|(_, i)| i).collect()
}
