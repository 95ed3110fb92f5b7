//! The position of a vertex of the dual contour in its cell.

use glam::{DMat3, DVec3};

use super::{
    dual_contour::edge_ends,
    lattice::{Lattice, LatticePoint, NOT_EXACT, bits},
};
use crate::bvh::Hit;

/// A vertex and the triangle of the solid nearest to it.
#[derive(Debug, Clone, Copy)]
pub(super) struct CellVertex {
    pub at: DVec3,
    pub nearest: u32,
}

/// A plane that the level lies in nearby: a point of it and its normal, towards greater depth.
type Plane = (DVec3, DVec3);

/// Distance of a vertex from the sides of its cell at least, steps: no two are at the same position.
const CELL_MARGIN: f64 = 1e-5;

/// Off the level by no more than this is on it, steps.
const ON_LEVEL: f64 = 3e-5;

/// Steps along the gradient, at most, that move a vertex onto the level.
const GRADIENT_STEPS: usize = 4;

/// Bisections that find where the level crosses an edge.
const HALVINGS: usize = 18;

/// The vertex of the sheet of `cell` that crosses the edges in `sheet`.
pub(super) fn cell_vertex(lattice: &Lattice<'_>, level: f64, cell: LatticePoint, sheet: u16) -> CellVertex {
    let field = lattice.field;
    let on_board = cell[2] == 0;
    let corner = |number: usize| {
        let corner = bits(number);
        [0, 1, 2].map(|axis| cell[axis] + corner[axis])
    };
    let edges = (0..12).filter(|edge| sheet >> edge & 1 == 1);
    // Under the board nothing is crossed but edges on it.
    let edges = edges.filter(|edge| !on_board || edge_ends(*edge)[0] & 4 != 0);
    let (mut sum, mut count, mut used) = (DVec3::ZERO, 0.0, 0u8);
    let mut crossed = (DVec3::ZERO, DVec3::ZERO);
    let mut clipped = false;
    for edge in edges {
        let [a, b] = edge_ends(edge);
        used |= 1 << a | 1 << b;
        let [(from, p), (to, q)] =
            [a, b].map(|end| (lattice.at(corner(end)).0, lattice.position(corner(end))));
        clipped |= from == f64::NEG_INFINITY || to == f64::NEG_INFINITY;
        sum += p.lerp(q, ((level - from) / (to - from)).clamp(0.0, 1.0));
        count += 1.0;
        crossed = if from >= level { (p, q) } else { (q, p) };
    }
    let mean = sum / count;
    let mut near = None;
    let mut planes: Vec<Plane> = Vec::with_capacity(8);
    for number in (0..8).filter(|number| used >> number & 1 == 1) {
        let (depth, triangle) = lattice.at(corner(number));
        if triangle != NOT_EXACT {
            let p = lattice.position(corner(number));
            let inwards = field.inwards(p, depth, &field.bvh.nearest_of(p, triangle));
            planes.push((p + inwards * (level - depth), inwards));
            near = Some(triangle);
        }
    }
    let projection = Projection { lattice, level, cell: CellBox::new(lattice, cell), on_board };
    if clipped {
        // There the surface is only closed.
        let middle = lattice.position(cell) + DVec3::splat(lattice.step / 2.0);
        return CellVertex { at: projection.cell.clamp(middle), nearest: near.unwrap_or(0) };
    }
    let start = mean + planes_meet(mean, &planes, on_board);
    // Where the planes mislead, try the mean of the crossings of edges; a crossing itself always lies on the level.
    projection
        .along_gradient(start, near)
        .or_else(|| projection.along_gradient(mean, near))
        .unwrap_or_else(|| projection.by_bisection(crossed, near))
}

/// Moves points of a cell onto the level.
struct Projection<'a> {
    lattice: &'a Lattice<'a>,
    level: f64,
    cell: CellBox,
    on_board: bool,
}

impl Projection<'_> {
    fn offset(&self, at: DVec3, near: Option<u32>) -> (f64, Hit) {
        let (depth, hit) = self.lattice.field.depth(at, near);
        (self.level - depth, hit)
    }

    /// The point on the level that steps along the gradient from `start` lead to; `None` if they lead out of the cell.
    fn along_gradient(&self, start: DVec3, mut near: Option<u32>) -> Option<CellVertex> {
        let mut at = self.cell.clamp(start);
        for _ in 0..GRADIENT_STEPS {
            let (off, hit) = self.offset(at, near);
            if off.abs() <= ON_LEVEL * self.lattice.step {
                return Some(CellVertex { at, nearest: hit.triangle });
            }
            near = Some(hit.triangle);
            let depth = self.level - off;
            let along = self.lattice.field.inwards(at, depth, &hit);
            let along = if self.on_board { along.with_z(0.0) } else { along };
            let to = at + along * (off / along.length_squared().max(1e-2));
            at = self.cell.clamp(to);
            // On the way to the nearest point it stays the nearest, so that this step ends on the level.
            let nearer = self.level.abs() < depth.abs() && self.level * depth >= 0.0;
            if nearer && at == to && !self.on_board {
                return Some(CellVertex { at, nearest: hit.triangle });
            }
        }
        None
    }

    /// The point on the level between two lattice points, the first inside.
    fn by_bisection(&self, (mut inside, mut outside): (DVec3, DVec3), near: Option<u32>) -> CellVertex {
        for _ in 0..HALVINGS {
            let middle = (inside + outside) / 2.0;
            if self.offset(middle, near).0 <= 0.0 {
                inside = middle;
            } else {
                outside = middle;
            }
        }
        let at = self.cell.clamp(inside);
        CellVertex { at, nearest: self.offset(at, near).1.triangle }
    }
}

/// The part of a cell that its vertices may lie in.
struct CellBox {
    lo: DVec3,
    hi: DVec3,
}

impl CellBox {
    fn new(lattice: &Lattice<'_>, cell: LatticePoint) -> Self {
        let lo = lattice.position(cell);
        let hi = lo + DVec3::splat(lattice.step);
        let margin = DVec3::splat(CELL_MARGIN * lattice.step);
        let (mut lo, mut hi) = (lo + margin, hi - margin);
        if cell[2] == 0 {
            (lo.z, hi.z) = (0.0, 0.0);
        }
        Self { lo, hi }
    }

    fn clamp(&self, p: DVec3) -> DVec3 {
        p.clamp(self.lo, self.hi)
    }
}

/// The offset from `mean` to the point nearest to all planes by least squares (the minimiser of the quadratic error
/// function of dual contouring); only along the board if `level`.
fn planes_meet(mean: DVec3, planes: &[Plane], level: bool) -> DVec3 {
    /// Eigenvalues below this part of the largest are left out: planes that turn by less than 25° leave their
    /// direction undetermined.
    const LEAST_EIGENVALUE: f64 = 0.05;
    let (mut matrix, mut right) = (DMat3::ZERO, DVec3::ZERO);
    for (point, normal) in planes {
        let off = normal.dot(*point - mean);
        let normal = if level { normal.with_z(0.0) } else { *normal };
        matrix += DMat3::from_cols(normal * normal.x, normal * normal.y, normal * normal.z);
        right += normal * off;
    }
    let (values, directions) = eigen(matrix);
    let most = values.max_element();
    [0, 1, 2]
        .into_iter()
        .filter(|i| values[*i] > LEAST_EIGENVALUE * most)
        .map(|i| {
            let direction = directions.col(i);
            direction * (direction.dot(right) / values[i])
        })
        .sum()
}

/// Eigenvalues and, as columns, eigenvectors of a symmetric matrix, by Jacobi rotations.
fn eigen(mut a: DMat3) -> (DVec3, DMat3) {
    let mut vectors = DMat3::IDENTITY;
    // Less than this off the diagonal is round-off.
    let none = 1e-17 * (a.x_axis.x.abs() + a.y_axis.y.abs() + a.z_axis.z.abs()).max(1e-13);
    // What is left off the diagonal is squared with each sweep: six are plenty.
    for _ in 0..6 {
        for (p, q) in [(0, 1), (0, 2), (1, 2)] {
            let off = a.col(q)[p];
            if off.abs() < none {
                continue;
            }
            let theta = (a.col(q)[q] - a.col(p)[p]) / (2.0 * off);
            let t = theta.signum() / (theta.abs() + (theta * theta + 1.0).sqrt());
            let c = 1.0 / (t * t + 1.0).sqrt();
            let s = t * c;
            let mut turn = DMat3::IDENTITY;
            turn.col_mut(p)[p] = c;
            turn.col_mut(q)[q] = c;
            turn.col_mut(q)[p] = s;
            turn.col_mut(p)[q] = -s;
            a = turn.transpose() * a * turn;
            vectors *= turn;
        }
    }
    (DVec3::new(a.x_axis.x, a.y_axis.y, a.z_axis.z), vectors)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn eigenvectors_make_the_matrix_again() {
        let a = DMat3::from_cols(
            DVec3::new(4.0, 1.0, -0.5),
            DVec3::new(1.0, 3.0, 0.25),
            DVec3::new(-0.5, 0.25, 1.0),
        );
        let (values, vectors) = eigen(a);
        let again = vectors * DMat3::from_diagonal(values) * vectors.transpose();
        assert!((again - a).abs_diff_eq(DMat3::ZERO, 1e-12), "{again}");
    }
}
