//! Where in its cell a vertex stands.

use glam::{DMat3, DVec3};

use super::{
    lattice::{Corner, Lattice, NOT_EXACT, bits},
    net::edge_ends,
    tree::Hit,
};

/// A vertex and the triangle of the solid nearest to it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Placed {
    pub at: DVec3,
    pub nearest: u32,
}

/// A plane that the level lies in nearby: a point of it and its normal, towards greater depth.
type Plane = (DVec3, DVec3);

/// How far inside its cell a vertex is kept, steps: no two stand in the same place.
const KEPT_INSIDE: f64 = 1e-5;

/// Off the level by no more than this is on it, steps.
const ON_LEVEL: f64 = 3e-5;

/// How often a vertex is looked at while it is moved onto the level.
const MOVES: usize = 4;

/// How often a crossed edge is halved to find where.
const HALVINGS: usize = 18;

/// The vertex of the sheet of `cell` that crosses the edges in `sheet`.
pub(super) fn placed(lattice: &Lattice<'_>, level: f64, cell: Corner, sheet: u16) -> Placed {
    let depths = lattice.depths;
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
    for edge in edges {
        let [a, b] = edge_ends(edge);
        used |= 1 << a | 1 << b;
        let [(from, p), (to, q)] =
            [a, b].map(|end| (lattice.at(corner(end)).0, lattice.position(corner(end))));
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
            let inwards = depths.inwards(p, depth, &depths.tree.nearest_of(p, triangle));
            planes.push((p + inwards * (level - depth), inwards));
            near = Some(triangle);
        }
    }
    let place = Place { lattice, level, room: Room::new(lattice, cell), on_board };
    let start = mean + meeting(mean, &planes, on_board);
    // Where the planes mislead, the middle of where edges are crossed may do; where one edge is crossed always does.
    place
        .settled(start, near)
        .or_else(|| place.settled(mean, near))
        .unwrap_or_else(|| place.between(crossed, near))
}

/// A cell in which a vertex is to be put on the level.
struct Place<'a> {
    lattice: &'a Lattice<'a>,
    level: f64,
    room: Room,
    on_board: bool,
}

impl Place<'_> {
    fn measured(&self, at: DVec3, near: Option<u32>) -> (f64, Hit) {
        let (depth, hit) = self.lattice.depths.depth(at, near);
        (self.level - depth, hit)
    }

    /// A place on the level, along the steepest way from `start`; `None` if that leads out of the cell.
    fn settled(&self, start: DVec3, mut near: Option<u32>) -> Option<Placed> {
        let mut at = self.room.kept(start);
        for _ in 0..MOVES {
            let (off, hit) = self.measured(at, near);
            if off.abs() <= ON_LEVEL * self.lattice.step {
                return Some(Placed { at, nearest: hit.triangle });
            }
            near = Some(hit.triangle);
            let along = self.lattice.depths.inwards(at, self.level - off, &hit);
            let along = if self.on_board { along.with_z(0.0) } else { along };
            at = self.room.kept(at + along * (off / along.length_squared().max(1e-2)));
        }
        None
    }

    /// The place on the level between two corners, the first inside.
    fn between(&self, (mut inside, mut outside): (DVec3, DVec3), near: Option<u32>) -> Placed {
        for _ in 0..HALVINGS {
            let middle = (inside + outside) / 2.0;
            if self.measured(middle, near).0 <= 0.0 {
                inside = middle;
            } else {
                outside = middle;
            }
        }
        let at = self.room.kept(inside);
        Placed { at, nearest: self.measured(at, near).1.triangle }
    }
}

/// The cell as room for a vertex.
struct Room {
    lo: DVec3,
    hi: DVec3,
}

impl Room {
    fn new(lattice: &Lattice<'_>, cell: Corner) -> Self {
        let lo = lattice.position(cell);
        let hi = lo + DVec3::splat(lattice.step);
        let kept = DVec3::splat(KEPT_INSIDE * lattice.step);
        let (mut lo, mut hi) = (lo + kept, hi - kept);
        if cell[2] == 0 {
            (lo.z, hi.z) = (0.0, 0.0);
        }
        Self { lo, hi }
    }

    fn kept(&self, p: DVec3) -> DVec3 {
        p.clamp(self.lo, self.hi)
    }
}

/// How far from `mean` the planes meet, as nearly as they do; only along the board if `level`.
fn meeting(mean: DVec3, planes: &[Plane], level: bool) -> DVec3 {
    /// Directions in which the planes hold a point less than this much of the most are left alone: they turn by
    /// less than 25°, and where they meet is anyone's guess.
    const HELD: f64 = 0.05;
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
        .filter(|i| values[*i] > HELD * most)
        .map(|i| {
            let direction = directions.col(i);
            direction * (direction.dot(right) / values[i])
        })
        .sum()
}

/// Eigenvalues and, as columns, eigenvectors of a symmetric matrix, by Jacobi's rotations.
fn eigen(mut a: DMat3) -> (DVec3, DMat3) {
    let mut vectors = DMat3::IDENTITY;
    // Off the diagonal what is left shrinks as its square: six sweeps are plenty.
    for _ in 0..6 {
        for (p, q) in [(0, 1), (0, 2), (1, 2)] {
            let off = a.col(q)[p];
            if off.abs() < 1e-30 {
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
