//! The edges in a picture, between pixels: marching squares, followed from one square to the next.
//!
//! Each square has the middles of four pixels for corners. An edge enters between a corner inside and one
//! outside and leaves between two others; where it could leave two ways, the mean of the four decides.
//! An edge starts where, going right, a row changes from outside to inside; every closed edge has such a pixel. Rows
//! are kept as bits, so that even parts of a picture take hardly any time.

use glam::{DVec2, dvec2};

use super::{TraceError, grey_levels::GreyLevels};

/// A closed edge in pixels, right and down, the inside on its left as seen: outer edges run counter-clockwise, holes
/// clockwise.
pub(super) type Contour = Vec<DVec2>;

/// Most points of all edges together; a 12-megapixel outline has some ten thousand.
const MOST_POINTS: usize = 6_000_000;
/// Edges that hold fewer square pixels than this are not kept at all.
const LEAST_AREA: f64 = 2.0;

/// What is inside: values above or below the threshold.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Inside {
    Above,
    Below,
}

/// All closed edges in `levels`, in the order of their uppermost rows.
pub(super) fn contours(
    levels: &GreyLevels,
    threshold: f64,
    inside: Inside,
) -> Result<Vec<Contour>, TraceError> {
    let mut squares = Squares::new(levels, threshold, inside);
    let mut found = Vec::new();
    let (mut kept, mut followed) = (0, 0);
    for y in 0..levels.height {
        for word in 0..squares.words {
            while let bits @ 1.. = squares.starts[y * squares.words + word] {
                let x = word * 64 + bits.trailing_zeros() as usize;
                let contour = squares.follow(x, y);
                followed += contour.len();
                if signed_area(&contour).abs() >= LEAST_AREA {
                    kept += contour.len();
                    found.push(contour);
                }
                if kept > MOST_POINTS || followed > 4 * MOST_POINTS {
                    return Err(TraceError::Noise);
                }
            }
        }
    }
    Ok(found)
}

/// Area inside, in square pixels: positive for outer edges, negative for holes.
pub(super) fn signed_area(contour: &[DVec2]) -> f64 {
    // Down is positive here.
    -crate::region::signed_area(contour)
}

struct Squares<'a> {
    levels: &'a GreyLevels,
    threshold: f64,
    inside: Inside,
    words: usize,
    /// One bit for each pixel: inside.
    mask: Vec<u64>,
    /// One bit for each pixel that is inside with the one left of it outside, until an edge was followed there.
    starts: Vec<u64>,
}

/// The directions in which an edge enters a square: down, right, up, left. The next one is a turn to the left.
const STEPS: [(isize, isize); 4] = [(0, 1), (1, 0), (0, -1), (-1, 0)];
/// The corners of a square for each direction into it, from its upper left one: near left, near right, far left, far
/// right.
const CORNERS: [[(isize, isize); 4]; 4] = [
    [(1, 0), (0, 0), (1, 1), (0, 1)],
    [(0, 0), (0, 1), (1, 0), (1, 1)],
    [(0, 1), (1, 1), (0, 0), (1, 0)],
    [(1, 1), (1, 0), (0, 1), (0, 0)],
];

impl<'a> Squares<'a> {
    fn new(levels: &'a GreyLevels, threshold: f64, inside: Inside) -> Self {
        let words = levels.width.div_ceil(64);
        let mut mask = vec![0; words * levels.height];
        // The threshold lies between two values.
        let first_above = threshold.ceil().clamp(0.0, f64::from(u32::MAX)) as u32;
        for (row, bits) in levels.values.chunks_exact(levels.width).zip(mask.chunks_exact_mut(words)) {
            for (values, word) in row.chunks(64).zip(bits) {
                let above = values
                    .iter()
                    .enumerate()
                    .fold(0, |word, (i, &value)| word | u64::from(u32::from(value) >= first_above) << i);
                let all = u64::MAX >> (64 - values.len());
                *word = if inside == Inside::Above { above } else { !above & all };
            }
        }
        let mut starts = vec![0; mask.len()];
        for (bits, starts) in mask.chunks_exact(words).zip(starts.chunks_exact_mut(words)) {
            let mut before = 0;
            for (word, start) in bits.iter().zip(starts) {
                *start = word & !(word << 1 | before);
                before = word >> 63;
            }
        }
        Self { levels, threshold, inside, words, mask, starts }
    }

    fn is_inside(&self, x: isize, y: isize) -> bool {
        let (width, height) = (self.levels.width as isize, self.levels.height as isize);
        (0..width).contains(&x)
            && (0..height).contains(&y)
            && self.mask[y as usize * self.words + x as usize / 64] >> (x as usize % 64) & 1 == 1
    }

    /// How far a pixel lies from the threshold; `None` outside the picture.
    fn offset(&self, x: isize, y: isize) -> Option<f64> {
        let (width, height) = (self.levels.width as isize, self.levels.height as isize);
        let within = (0..width).contains(&x) && (0..height).contains(&y);
        within.then(|| {
            f64::from(self.levels.values[y as usize * self.levels.width + x as usize]) - self.threshold
        })
    }

    /// Where the edge passes between a pixel inside and one outside; the edge of the picture is halfway.
    fn crossing(&self, inside: (isize, isize), outside: (isize, isize)) -> DVec2 {
        let middle = |(x, y): (isize, isize)| dvec2(x as f64 + 0.5, y as f64 + 0.5);
        let share = match (self.offset(inside.0, inside.1), self.offset(outside.0, outside.1)) {
            (Some(a), Some(b)) => a / (a - b),
            _ => 0.5,
        };
        middle(inside).lerp(middle(outside), share)
    }

    /// Whether the middle of the square with the upper left corner (x, y) is inside.
    fn middle_is_inside(&self, x: isize, y: isize) -> bool {
        let corners = [(0, 0), (1, 0), (0, 1), (1, 1)].map(|(dx, dy)| self.offset(x + dx, y + dy));
        let sum: f64 = corners.iter().flatten().sum();
        // Beside the picture everything is outside.
        corners.iter().all(Option::is_some) && (sum > 0.0) == (self.inside == Inside::Above)
    }

    /// The edge that starts left of the pixel (x, y), going down.
    fn follow(&mut self, x: usize, y: usize) -> Contour {
        let start = (x as isize - 1, y as isize);
        let mut contour = vec![self.crossing((start.0 + 1, start.1), start)];
        let (mut square, mut direction) = (start, 0);
        self.mark(x, y);
        loop {
            let [near_left, near_right, far_left, far_right] =
                CORNERS[direction].map(|(dx, dy)| (square.0 + dx, square.1 + dy));
            let (left, right) =
                (self.is_inside(far_left.0, far_left.1), self.is_inside(far_right.0, far_right.1));
            let (turn, inside, outside) = match (left, right) {
                (false, false) => (1, near_left, far_left),
                (true, false) => (0, far_left, far_right),
                (true, true) => (3, far_right, near_right),
                (false, true) if self.middle_is_inside(square.0, square.1) => (3, far_right, near_right),
                (false, true) => (1, near_left, far_left),
            };
            direction = (direction + turn) % 4;
            square = (square.0 + STEPS[direction].0, square.1 + STEPS[direction].1);
            if direction == 0 && square == start {
                return contour;
            }
            if direction == 0 {
                self.mark(inside.0 as usize, inside.1 as usize);
            }
            contour.push(self.crossing(inside, outside));
        }
    }

    fn mark(&mut self, x: usize, y: usize) {
        self.starts[y * self.words + x / 64] &= !(1 << (x % 64));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trace::SeparateBy;

    fn levels(rows: &[&str]) -> GreyLevels {
        let values = rows.iter().flat_map(|row| row.bytes()).map(|b| u16::from(b - b'0') * 100).collect();
        GreyLevels { width: rows[0].len(), height: rows.len(), values, separated_by: SeparateBy::Brightness }
    }

    fn areas(rows: &[&str]) -> Vec<f64> {
        let found = contours(&levels(rows), 500.5, Inside::Above).unwrap();
        found.iter().map(|contour| signed_area(contour)).collect()
    }

    #[test]
    fn a_block_loses_only_its_corners() {
        // Crossings lie halfway (almost: the threshold is 500.5 of 1000), so each corner loses an eighth.
        let block = areas(&["00000", "09990", "09990", "09990", "00000"]);
        let side = 2.0 + 2.0 * (900.0 - 500.5) / 900.0;
        let cut = (900.0 - 500.5) / 900.0;
        assert_eq!(block.len(), 1);
        assert!((block[0] - (side * side - 4.0 * cut * cut / 2.0)).abs() < 1e-9, "{block:?}");
    }

    #[test]
    fn holes_run_the_other_way_and_the_picture_ends_at_its_edge() {
        let ring = areas(&["99999", "90009", "90009", "90009", "99999"]);
        assert_eq!(ring.len(), 2);
        // At the edge of the picture the corners lose an eighth of a pixel each.
        assert!((ring[0] - 24.5).abs() < 1e-9 && ring[1] < -8.0, "{ring:?}");
    }

    #[test]
    fn corners_that_touch_are_joined_by_their_mean() {
        assert_eq!(areas(&["9900", "9900", "0099", "0099"]).len(), 2);
        assert_eq!(areas(&["9955", "9955", "5599", "5599"]).len(), 1);
    }
}
