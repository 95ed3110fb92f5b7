//! Dual contouring: the surface at a level, out of a vertex for every sheet in every cell.
//!
//! Around each edge of the lattice that the level crosses lie four cells; their vertices make a quadrangle.
//! That is the dual of the surface of marching cubes, which is closed, and so it is closed itself. Two cells can
//! share two of its edges only across a face whose corners alternate; there each of the two edges is given a
//! vertex of its own in the middle.

use std::{collections::BTreeMap, sync::LazyLock};

use glam::DVec3;
use rayon::prelude::*;

use super::{
    cell_vertex::{CellVertex, cell_vertex},
    lattice::{BLOCK_POINTS, BLOCK_SIDE, Lattice, LatticePoint, bits, number_in_block},
};
use crate::{Cancel, Cancelled, TriMesh, caps::OpenEdges};

/// What a cell holds, by which of its corners are inside.
struct Case {
    /// The sheets, each by the cell's edges that it crosses.
    sheets: Vec<u16>,
    /// Whether the corners of one of its faces alternate.
    alternates: bool,
}

/// No vertex.
const NONE: u32 = u32::MAX;

/// A cell below the board with all corners on the board inside: it needs no vertex, the foot is closed as a whole.
const UNDER: u8 = 0xf0;

/// The vertices of one block.
struct Cells {
    /// Which corners of each cell are inside, a bit each.
    case: [u8; BLOCK_POINTS],
    /// The first vertex of each cell.
    first: [u32; BLOCK_POINTS],
    vertices: Vec<CellVertex>,
}

/// The surface at one level.
pub(super) struct DualContour<'a> {
    lattice: &'a Lattice<'a>,
    level: f64,
    cells: Vec<Cells>,
    positions: Vec<DVec3>,
    /// The nearest triangle of the solid for each position.
    nearest: Vec<u32>,
}

impl<'a> DualContour<'a> {
    pub fn new(lattice: &'a Lattice<'a>, level: f64, cancel: &Cancel) -> Result<Self, Cancelled> {
        let mut contour =
            Self { lattice, level, cells: Vec::new(), positions: Vec::new(), nearest: Vec::new() };
        contour.cells = (0..lattice.near.len())
            .into_par_iter()
            .with_min_len(4)
            .map(|index| {
                cancel.check()?;
                Ok(contour.cells_of(index))
            })
            .collect::<Result<_, Cancelled>>()?;
        let mut first = 0;
        for cells in &mut contour.cells {
            for vertex in cells.first.iter_mut().filter(|vertex| **vertex != NONE) {
                *vertex += first;
            }
            first += cells.vertices.len() as u32;
        }
        let all = contour.cells.iter_mut().flat_map(|cells| std::mem::take(&mut cells.vertices));
        (contour.positions, contour.nearest) = all.map(|vertex| (vertex.at, vertex.nearest)).unzip();
        Ok(contour)
    }

    /// The surface, closed at the board.
    pub fn into_mesh(mut self, cancel: &Cancel) -> Result<TriMesh, Cancelled> {
        let rings: Vec<Vec<[RingCell; 4]>> =
            (0..self.cells.len()).into_par_iter().with_min_len(4).map(|index| self.rings_of(index)).collect();
        cancel.check()?;
        let triangles: Vec<Vec<[u32; 3]>> = rings
            .par_iter()
            .with_min_len(4)
            .map(|rings| {
                cancel.check()?;
                let plain = rings.iter().filter(|ring| ring.iter().all(|cell| cell.doubled.is_none()));
                Ok(plain.flat_map(|ring| self.split_quad(ring.map(|cell| cell.vertex))).collect())
            })
            .collect::<Result<_, Cancelled>>()?;
        let mut triangles = triangles.concat();
        let mut middles = BTreeMap::new();
        for ring in rings.iter().flatten().filter(|ring| ring.iter().any(|cell| cell.doubled.is_some())) {
            self.fan(ring, &mut middles, &mut triangles);
        }
        let mut mesh = TriMesh { positions: self.positions, triangles };
        close_foot(&mut mesh);
        cancel.check()?;
        Ok(mesh.without_flat())
    }

    fn is_inside(&self, corner: LatticePoint) -> bool {
        self.lattice.at(corner).0 >= self.level
    }

    fn cells_of(&self, index: usize) -> Cells {
        let (block, samples) = &self.lattice.near[index];
        let first = self.lattice.first(*block);
        let mut cells = Cells { case: [0; BLOCK_POINTS], first: [NONE; BLOCK_POINTS], vertices: Vec::new() };
        for number in 0..BLOCK_POINTS {
            let local =
                [number % BLOCK_SIDE, number / BLOCK_SIDE % BLOCK_SIDE, number / (BLOCK_SIDE * BLOCK_SIDE)];
            let cell = [0, 1, 2].map(|axis| first[axis] + local[axis]);
            if (0..3).any(|axis| cell[axis] + 1 >= self.lattice.blocks[axis] * BLOCK_SIDE) {
                continue;
            }
            let in_block = local.iter().all(|along| along + 1 < BLOCK_SIDE);
            let is_inside = |corner: usize| {
                let corner = bits(corner);
                if in_block {
                    samples.depth[number_in_block([0, 1, 2].map(|axis| local[axis] + corner[axis]))]
                        >= self.level
                } else {
                    self.is_inside([0, 1, 2].map(|axis| cell[axis] + corner[axis]))
                }
            };
            let case = (0..8).fold(0u8, |case, corner| case | u8::from(is_inside(corner)) << corner);
            cells.case[number] = case;
            let under = case == UNDER && cell[2] == 0;
            if case == 0 || case == u8::MAX || under {
                continue;
            }
            cells.first[number] = cells.vertices.len() as u32;
            let sheets = &CASES[case as usize].sheets;
            cells
                .vertices
                .extend(sheets.iter().map(|sheet| cell_vertex(self.lattice, self.level, cell, *sheet)));
        }
        cells
    }

    /// Which corners of a cell are inside, and its first vertex.
    fn cell(&self, cell: LatticePoint) -> (u8, u32) {
        let (block, number) = self.lattice.block_of(cell);
        self.lattice.near_index(block).map_or((0, NONE), |index| {
            let cells = &self.cells[index];
            (cells.case[number], cells.first[number])
        })
    }

    /// The four sheets around every edge of a block that is crossed, counter-clockwise seen from outside.
    fn rings_of(&self, index: usize) -> Vec<[RingCell; 4]> {
        let (block, samples) = &self.lattice.near[index];
        let first = self.lattice.first(*block);
        let mut rings = Vec::new();
        for number in 0..BLOCK_POINTS {
            let local =
                [number % BLOCK_SIDE, number / BLOCK_SIDE % BLOCK_SIDE, number / (BLOCK_SIDE * BLOCK_SIDE)];
            let corner = [0, 1, 2].map(|axis| first[axis] + local[axis]);
            let here = samples.depth[number] >= self.level;
            for axis in 0..3 {
                let mut next = corner;
                next[axis] += 1;
                // What is crossed at the board is the foot.
                if next[axis] >= self.lattice.blocks[axis] * BLOCK_SIDE || axis == 2 && corner[2] == 0 {
                    continue;
                }
                if here != self.is_inside(next) {
                    rings.push(self.ring(corner, axis, here));
                }
            }
        }
        rings
    }

    fn ring(&self, corner: LatticePoint, axis: usize, outwards: bool) -> [RingCell; 4] {
        let (b, c) = ((axis + 1) % 3, (axis + 2) % 3);
        let mut round = [(0, 0), (1, 0), (1, 1), (0, 1)];
        if !outwards {
            round.reverse();
        }
        let cells = round.map(|(ob, oc)| {
            let mut cell = corner;
            cell[b] -= ob;
            cell[c] -= oc;
            let (case, first) = self.cell(cell);
            (cell, case, first, 1u16 << (axis * 4 + ob + 2 * oc))
        });
        [0, 1, 2, 3].map(|i| {
            let (cell, case, first, edge) = cells[i];
            let (other, other_case, _, other_edge) = cells[(i + 1) % 4];
            let one = &CASES[case as usize];
            let two = &CASES[other_case as usize];
            let sheet = one.sheet_with(edge);
            let doubled = (one.alternates && two.alternates)
                .then(|| self.doubled((cell, one, edge), (other, two, other_edge), corner, axis))
                .flatten();
            RingCell { vertex: first + sheet, doubled }
        })
    }

    /// If both edges across the face between two cells join the same two sheets: which one this is.
    fn doubled(
        &self,
        (cell, one, edge): (LatticePoint, &Case, u16),
        (other, two, other_edge): (LatticePoint, &Case, u16),
        corner: LatticePoint,
        axis: usize,
    ) -> Option<DoubledEdge> {
        let across = (0..3).find(|n| cell[*n] != other[*n])?;
        let upper = cell[across] > other[across];
        let face = if upper { cell } else { other };
        let [u, v] = [(across + 1) % 3, (across + 2) % 3];
        let corners = [(0, 0), (1, 0), (1, 1), (0, 1)].map(|(x, y)| {
            let mut corner = face;
            corner[u] += x;
            corner[v] += y;
            corner
        });
        let within = corners.map(|corner| self.is_inside(corner));
        if within[0] != within[2] || within[1] != within[3] || within[0] == within[1] {
            return None;
        }
        let all_on = |case: &Case, mine: u16, side: usize| {
            let sheet = case.sheets[case.sheet_with(mine) as usize];
            face_edges(across, side).iter().all(|edge| sheet & 1 << edge != 0)
        };
        let (side_one, side_two) = if upper { (0, 1) } else { (1, 0) };
        if !all_on(one, edge, side_one) || !all_on(two, other_edge, side_two) {
            return None;
        }
        let mut end = corner;
        end[axis] += 1;
        let inner = if self.is_inside(corner) { corner } else { end };
        Some(DoubledEdge { face, across, inner })
    }

    /// A quadrangle in two triangles, split along the diagonal that lies nearer the level.
    fn split_quad(&self, [a, b, c, d]: [u32; 4]) -> [[u32; 3]; 2] {
        let off = |one: u32, two: u32| {
            let middle = (self.positions[one as usize] + self.positions[two as usize]) / 2.0;
            let near =
                [a, b, c, d].map(|v| self.lattice.field.bvh.distance_to(middle, self.nearest[v as usize]));
            (near.into_iter().fold(f64::INFINITY, f64::min) - self.level.abs()).abs()
        };
        if off(a, c) <= off(b, d) { [[a, b, c], [a, c, d]] } else { [[b, c, d], [b, d, a]] }
    }

    /// A ring in triangles round its middle, with a vertex more on each doubled edge.
    fn fan(
        &mut self,
        ring: &[RingCell; 4],
        middles: &mut BTreeMap<DoubledEdge, u32>,
        triangles: &mut Vec<[u32; 3]>,
    ) {
        let mut round = Vec::with_capacity(8);
        for i in 0..4 {
            let (here, next) = (ring[i].vertex, ring[(i + 1) % 4].vertex);
            round.push(here);
            if let Some(doubled) = ring[i].doubled {
                round.push(*middles.entry(doubled).or_insert_with(|| {
                    let between = (self.positions[here as usize] + self.positions[next as usize]) / 2.0;
                    // Towards the corner that this edge goes round.
                    let at = between.lerp(self.lattice.position(doubled.inner), 0.1);
                    self.positions.push(at);
                    self.nearest.push(self.nearest[here as usize]);
                    (self.positions.len() - 1) as u32
                }));
            }
        }
        let sum: DVec3 = round.iter().map(|v| self.positions[*v as usize]).sum();
        let middle = self.positions.len() as u32;
        self.positions.push(sum / round.len() as f64);
        self.nearest.push(self.nearest[round[0] as usize]);
        triangles.extend((0..round.len()).map(|i| [middle, round[i], round[(i + 1) % round.len()]]));
    }
}

/// The vertex of one of the four cells round an edge, and whether the edge to the next one is doubled.
#[derive(Debug, Clone, Copy)]
struct RingCell {
    vertex: u32,
    doubled: Option<DoubledEdge>,
}

/// One of two edges between the same sheets: the face that they cross, the axis across it, and the inner corner that
/// the edge goes round.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct DoubledEdge {
    face: LatticePoint,
    across: usize,
    inner: LatticePoint,
}

/// Closes the surface over the foot.
fn close_foot(mesh: &mut TriMesh) {
    let mut open = OpenEdges::default();
    for &[a, b, c] in &mesh.triangles {
        for (from, to) in [(a, b), (b, c), (c, a)] {
            let on_board = |v: u32| mesh.positions[v as usize].z == 0.0;
            if on_board(from) && on_board(to) {
                open.add(from, to);
            }
        }
    }
    open.close(mesh, false);
}

impl Case {
    /// The number of the sheet that crosses an edge.
    fn sheet_with(&self, edge: u16) -> u32 {
        self.sheets.iter().position(|sheet| sheet & edge != 0).unwrap_or(0) as u32
    }
}

static CASES: LazyLock<Vec<Case>> = LazyLock::new(|| (0..=u8::MAX).map(case).collect());

/// Number of the cell's edge along `axis` whose first corner has these bits.
fn edge_number(axis: usize, corner: usize) -> usize {
    let corner = bits(corner);
    axis * 4 + corner[(axis + 1) % 3] + 2 * corner[(axis + 2) % 3]
}

/// The two corners of a cell's edge.
pub(super) fn edge_ends(edge: usize) -> [usize; 2] {
    let axis = edge / 4;
    let first = (edge & 1) << ((axis + 1) % 3) | (edge >> 1 & 1) << ((axis + 2) % 3);
    [first, first | 1 << axis]
}

/// The four corners of a cell's face across `axis`, in turn.
fn face_corners(axis: usize, side: usize) -> [usize; 4] {
    let (u, v) = (1 << ((axis + 1) % 3), 1 << ((axis + 2) % 3));
    [0, u, u | v, v].map(|corner| corner | side << axis)
}

/// The four edges of a cell's face across `axis`: from each of its corners to the next.
fn face_edges(axis: usize, side: usize) -> [usize; 4] {
    let corners = face_corners(axis, side);
    [0, 1, 2, 3].map(|i| {
        let (a, b) = (corners[i], corners[(i + 1) % 4]);
        edge_number((a ^ b).trailing_zeros() as usize, a & b)
    })
}

/// Follows the surface from edge to edge through the faces of a cell. Where the corners of a face alternate, the
/// inner ones are kept apart; both cells at the face do so.
fn case(inside: u8) -> Case {
    let is_inside = |corner: usize| inside >> corner & 1 == 1;
    let mut links: [Vec<usize>; 12] = Default::default();
    let mut alternates = false;
    for (axis, side) in (0..3).flat_map(|axis| [(axis, 0), (axis, 1)]) {
        let corners = face_corners(axis, side).map(is_inside);
        let edges = face_edges(axis, side);
        let crossed: Vec<usize> = (0..4).filter(|i| corners[*i] != corners[(i + 1) % 4]).collect();
        let mut link = |a: usize, b: usize| {
            links[edges[a]].push(edges[b]);
            links[edges[b]].push(edges[a]);
        };
        match crossed[..] {
            [a, b] => link(a, b),
            [_, _, _, _] => {
                alternates = true;
                (0..4).filter(|i| corners[*i]).for_each(|i| link((i + 3) % 4, i));
            }
            _ => {}
        }
    }
    let mut sheets = Vec::new();
    let mut seen = 0u16;
    for start in 0..12 {
        let mut pending = vec![start];
        let mut sheet = 0u16;
        while let Some(edge) = pending.pop() {
            if links[edge].is_empty() || seen >> edge & 1 == 1 {
                continue;
            }
            seen |= 1 << edge;
            sheet |= 1 << edge;
            pending.extend(&links[edge]);
        }
        if sheet != 0 {
            sheets.push(sheet);
        }
    }
    Case { sheets, alternates }
}
