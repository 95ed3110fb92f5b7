//! Superlevel sets: where a quantity known at the corners of a grid is at least a level.

use glam::{DVec2, dvec2};

use super::Region;

/// A quantity at the corners of a grid of rectangles.
#[derive(Debug, Clone, PartialEq)]
pub struct Grid {
    /// x of the columns, rising.
    pub x: Vec<f64>,
    /// y of the rows, rising.
    pub y: Vec<f64>,
    /// The quantity, row by row; finite.
    pub values: Vec<Vec<f64>>,
}

impl Grid {
    /// The part of the plane where the quantity is at least `level`: each rectangle is two triangles, and in a
    /// triangle the quantity is interpolated linearly.
    pub fn at_least(&self, level: f64) -> Region {
        let mut pieces: Vec<Vec<DVec2>> = Vec::new();
        for row in 0..self.y.len().saturating_sub(1) {
            // Rectangles wholly inside that lie side by side are one.
            let mut from: Option<usize> = None;
            for column in 0..self.x.len().saturating_sub(1) {
                let corners = self.corners(row, column);
                let inside = corners.iter().filter(|corner| corner.1 >= level).count();
                if inside == 4 {
                    from.get_or_insert(column);
                    continue;
                }
                pieces.extend(from.take().map(|from| self.rectangle(row, from, column)));
                if inside > 0 {
                    let [a, b, c, d] = corners;
                    pieces.extend([[a, b, c], [a, c, d]].into_iter().filter_map(|t| clipped(t, level)));
                }
            }
            pieces.extend(from.take().map(|from| self.rectangle(row, from, self.x.len() - 1)));
        }
        Region::new(pieces)
    }

    /// Corners of a rectangle, counter-clockwise, with the quantity there.
    fn corners(&self, row: usize, column: usize) -> [(DVec2, f64); 4] {
        [(0, 0), (1, 0), (1, 1), (0, 1)].map(|(right, up)| {
            let place = dvec2(self.x[column + right], self.y[row + up]);
            (place, self.values[row + up][column + right])
        })
    }

    fn rectangle(&self, row: usize, from: usize, to: usize) -> Vec<DVec2> {
        let (lo, hi) = (dvec2(self.x[from], self.y[row]), dvec2(self.x[to], self.y[row + 1]));
        vec![lo, dvec2(hi.x, lo.y), hi, dvec2(lo.x, hi.y)]
    }
}

/// The part of a triangle where the quantity is at least `level`.
fn clipped(triangle: [(DVec2, f64); 3], level: f64) -> Option<Vec<DVec2>> {
    let mut contour = Vec::new();
    for i in 0..3 {
        let ((a, at_a), (b, at_b)) = (triangle[i], triangle[(i + 1) % 3]);
        if at_a >= level {
            contour.push(a);
        }
        if (at_a >= level) != (at_b >= level) {
            // From the lesser to the greater, so that neighbours find the same point.
            let ((p, low), (q, high)) =
                if at_a < at_b { ((a, at_a), (b, at_b)) } else { ((b, at_b), (a, at_a)) };
            contour.push(p.lerp(q, (level - low) / (high - low)));
        }
    }
    (contour.len() > 2).then_some(contour)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn grid(n: u32, of: impl Fn(f64, f64) -> f64) -> Grid {
        let along: Vec<f64> = (0..=n).map(|i| f64::from(i) / f64::from(n)).collect();
        let values = along.iter().map(|&y| along.iter().map(|&x| of(x, y)).collect()).collect();
        Grid { x: along.clone(), y: along, values }
    }

    #[test]
    fn a_plane_is_cut_exactly() {
        let slope = grid(7, |x, y| x + y);
        // The corner of the unit square beyond x + y = 1.5 is a triangle with legs of 0.5.
        assert!((slope.at_least(1.5).area() - 0.125).abs() < 1e-9);
        assert!((slope.at_least(-1.0).area() - 1.0).abs() < 1e-9);
        assert!(slope.at_least(2.5).is_empty());
    }

    #[test]
    fn a_round_hill_is_cut_in_a_disc() {
        let hill = grid(100, |x, y| 1.0 - (x - 0.5).hypot(y - 0.5));
        let disc = hill.at_least(0.7);
        assert_eq!(disc.contours().len(), 1);
        assert!((disc.area() / (std::f64::consts::PI * 0.09) - 1.0).abs() < 2e-3);
    }
}
