//! Parts laid out on the printer's bed.

use std::f64::consts::FRAC_PI_2;

use glam::{DAffine3, DVec2, dvec2};
use rayon::prelude::*;

use geom::real;
use geom::{Region, Tolerance};
use plan::design::Printing;

use super::Part;

/// Kept free along the rim of the bed, mm.
const RIM: f64 = 2.0;

/// Kept free between parts, mm; common practice, no source.
const APART: f64 = 5.0;

/// One bed, full of parts.
#[derive(Debug, Clone, Default)]
pub struct Bed {
    /// What lies on it.
    pub placed: Vec<Placed>,
}

/// One part at its place.
#[derive(Debug, Clone, Copy)]
pub struct Placed {
    /// Which of the kit's parts.
    pub part: usize,
    /// By how many quarters it is turned, counter-clockwise.
    pub turns: usize,
    /// Where its lower left corner lies, mm from the front left corner of the bed.
    pub at: DVec2,
    frame: DAffine3,
}

impl Placed {
    /// Takes the part from where it was made to its place on the bed.
    pub fn frame(&self) -> DAffine3 {
        self.frame
    }
}

fn room(printing: &Printing) -> DVec2 {
    printing.bed.truncate() - 2.0 * RIM
}

/// Whether a part of this width and depth fits the bed one way or the other.
pub fn fits(size: DVec2, printing: &Printing) -> bool {
    let room = room(printing);
    size.cmple(room).all() || dvec2(size.y, size.x).cmple(room).all()
}

/// The least number of pieces that a rectangle of this size can be cut into.
pub fn pieces_for(size: DVec2, printing: &Printing) -> u64 {
    let room = room(printing);
    let count = |size: DVec2| {
        let each = (size / room).ceil().max(DVec2::ONE);
        (each.x * each.y) as u64
    };
    count(size).min(count(dvec2(size.y, size.x)))
}

/// Lays all parts, each as often as it is needed, on beds: the largest first, each on the first bed that has
/// room for it, as far to the front and then to the left as it goes, in whichever of the four quarter turns
/// goes furthest. Parts may lie in each other's hollows. The room is looked at in squares, a part taking every
/// square that it comes near.
pub fn lay_out(parts: &[Part], printing: &Printing) -> Vec<Bed> {
    let grid = Grid::new(printing);
    let shapes: Vec<Vec<Shape>> = parts
        .par_iter()
        .map(|part| (0..4).map(|turn| Shape::new(&part.footprint, turn, &grid)).collect())
        .collect();
    let mut waiting: Vec<usize> =
        parts.iter().enumerate().flat_map(|(i, part)| std::iter::repeat_n(i, part.copies)).collect();
    let extent = |i: &usize| {
        let size = parts[*i].size();
        size.x * size.y
    };
    waiting.sort_by(|i, j| extent(j).total_cmp(&extent(i)).then(i.cmp(j)));
    let mut beds: Vec<(Bed, Vec<u64>)> = Vec::new();
    for part in waiting {
        let spot =
            beds.iter().enumerate().find_map(|(b, (_, taken))| Some((b, grid.spot(taken, &shapes[part])?)));
        let (bed, spot) = spot.unwrap_or_else(|| {
            beds.push((Bed::default(), vec![0; grid.rows]));
            let alone = grid.spot(&beds[beds.len() - 1].1, &shapes[part]);
            // A part that just fits may come near a square too many: then it lies alone at the front left.
            (
                beds.len() - 1,
                alone.unwrap_or(Spot { turn: grid.turn_that_fits(&shapes[part]), row: 0, column: 0 }),
            )
        });
        let shape = &shapes[part][spot.turn];
        for (row, squares) in shape.rows.iter().enumerate() {
            if let Some(taken) = beds[bed].1.get_mut(spot.row + row) {
                *taken |= squares << spot.column;
            }
        }
        let corner = grid.corner(&spot, shape);
        let frame = DAffine3::from_translation((corner - shape.low).extend(0.0))
            * real::turned_z(FRAC_PI_2 * spot.turn as f64);
        beds[bed].0.placed.push(Placed { part, turns: spot.turn, at: corner, frame });
    }
    beds.into_iter().map(|(bed, _)| bed).collect()
}

/// The bed as squares: at most 64 of them from left to right, so that a row is one number.
struct Grid {
    square: f64,
    columns: usize,
    rows: usize,
    room: DVec2,
}

/// A part turned by quarters, as the squares that it takes; its lower left corner is the first one's.
struct Shape {
    rows: Vec<u64>,
    columns: usize,
    /// Lower left corner of the turned part, mm.
    low: DVec2,
    size: DVec2,
}

/// A place for a part.
struct Spot {
    turn: usize,
    row: usize,
    column: usize,
}

impl Grid {
    fn new(printing: &Printing) -> Self {
        // Parts keep half of their distance to the rim as well, so the room reaches out by that.
        let room = room(printing) + APART;
        let square = room.x / 63.0;
        Self { square, columns: 63, rows: (room.y / square).floor() as usize, room }
    }

    /// The spot furthest to the front, then to the left, of all turns.
    fn spot(&self, taken: &[u64], turns: &[Shape]) -> Option<Spot> {
        let free = |shape: &Shape, row: usize, column: usize| {
            shape.rows.iter().enumerate().all(|(i, squares)| taken[row + i] & (squares << column) == 0)
        };
        let spots = turns.iter().enumerate().filter_map(|(turn, shape)| {
            let (last_row, last_column) =
                (self.rows.checked_sub(shape.rows.len())?, self.columns.checked_sub(shape.columns)?);
            (0..=last_row)
                .flat_map(|row| (0..=last_column).map(move |column| (row, column)))
                .find(|&(row, column)| free(shape, row, column))
                .map(|(row, column)| ((row + shape.rows.len(), column), Spot { turn, row, column }))
        });
        spots.min_by_key(|(rank, _)| *rank).map(|(_, spot)| spot)
    }

    fn turn_that_fits(&self, turns: &[Shape]) -> usize {
        turns.iter().position(|shape| shape.size.cmple(self.room - APART + 1e-6).all()).unwrap_or(0)
    }

    /// Where the lower left corner of a part comes to lie, from the front left corner of the bed, mm.
    fn corner(&self, spot: &Spot, shape: &Shape) -> DVec2 {
        let at = dvec2(spot.column as f64, spot.row as f64) * self.square;
        at.min(self.room - APART - shape.size).max(DVec2::ZERO) + RIM
    }
}

impl Shape {
    fn new(footprint: &Region, turn: usize, grid: &Grid) -> Self {
        let turned = footprint.placed(FRAC_PI_2 * turn as f64, DVec2::ZERO);
        let (low, high) = turned.bounds().unwrap_or_default();
        // Half of the distance to its neighbours, and what a square's middle may lie off its corner.
        let coarse = Tolerance::PREVIEW;
        let near = turned.outset(APART / 2.0 + grid.square * std::f64::consts::FRAC_1_SQRT_2, coarse);
        let from = low - APART / 2.0;
        let extent = (high - low + APART) / grid.square;
        let (columns, count) = (extent.x.ceil() as usize, extent.y.ceil() as usize);
        let rows = (0..count)
            .map(|row| {
                let y = from.y + (row as f64 + 0.5) * grid.square;
                near.row(y).into_iter().fold(0u64, |squares, (left, right)| {
                    let first = (((left - from.x) / grid.square - 0.5).ceil().max(0.0) as usize).min(columns);
                    let last = (((right - from.x) / grid.square - 0.5).floor() as i64 + 1)
                        .clamp(0, columns as i64) as usize;
                    squares | (first..last).filter(|i| *i < 64).fold(0, |row, i| row | 1 << i)
                })
            })
            .collect();
        Self { rows, columns, low, size: high - low }
    }
}
