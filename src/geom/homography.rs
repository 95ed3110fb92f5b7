//! Homographies: maps of a plane onto a plane that keep lines straight, as a camera without lens distortion makes them.
//!
//! Found by the normalised direct linear transformation (*Multiple View Geometry in Computer Vision*, 2nd edition,
//! algorithm 4.2). Points on and beyond the horizon of the map have no image.

use glam::{DMat2, DMat3, DVec2, DVec3, dvec2};

/// A homography and its inverse. Points on the near side of its horizon are those of the points it was found from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Homography {
    forward: DMat3,
    inverse: DMat3,
}

/// Points nearer to the horizon than this part of the mean depth of the points it was found from have no image.
const LEAST_DEPTH: f64 = 1e-6;
/// A map whose determinant is below this, with both planes scaled to unit size, flattens the plane.
const LEAST_DETERMINANT: f64 = 1e-9;

impl Homography {
    /// The map that takes each first point to its second one, by least squares of the algebraic error where there are
    /// more than four. `None` for fewer than four, and where three of four lie on a line.
    pub fn from_points(pairs: &[(DVec2, DVec2)]) -> Option<Self> {
        if pairs.len() < 4 {
            return None;
        }
        let from = normalising(pairs.iter().map(|pair| pair.0))?;
        let to = normalising(pairs.iter().map(|pair| pair.1))?;
        let mut normal = [[0.0; 9]; 9];
        for &(p, q) in pairs {
            let (p, q) = (from.transform_point2(p), to.transform_point2(q));
            // Both rows of q × (H p) = 0.
            let rows = [
                [0.0, 0.0, 0.0, -p.x, -p.y, -1.0, q.y * p.x, q.y * p.y, q.y],
                [p.x, p.y, 1.0, 0.0, 0.0, 0.0, -q.x * p.x, -q.x * p.y, -q.x],
            ];
            for row in rows {
                for (i, a) in row.iter().enumerate() {
                    for (j, b) in row.iter().enumerate() {
                        normal[i][j] += a * b;
                    }
                }
            }
        }
        let (h, second) = least_eigenvector(normal);
        // A second map that fits as well: the points do not settle one.
        if second < LEAST_DETERMINANT {
            return None;
        }
        let h = DMat3::from_cols_array(&[h[0], h[3], h[6], h[1], h[4], h[7], h[2], h[5], h[8]]);
        if h.determinant().abs() < LEAST_DETERMINANT {
            return None;
        }
        let forward = to.inverse() * h * from;
        // The depth is positive, and 1 on the mean.
        let depth =
            pairs.iter().map(|pair| (forward * pair.0.extend(1.0)).z).sum::<f64>() / pairs.len() as f64;
        Self::from_matrix(forward * depth.recip())
    }

    /// The map of homogeneous coordinates by `matrix`. `None` where it flattens the plane.
    fn from_matrix(matrix: DMat3) -> Option<Self> {
        let inverse = matrix.inverse();
        (matrix.is_finite() && inverse.is_finite()).then_some(Self { forward: matrix, inverse })
    }

    /// The affine map by `linear`, then moved by `by`. `None` where it flattens the plane.
    pub fn affine(linear: DMat2, by: DVec2) -> Option<Self> {
        Self::from_matrix(DMat3::from_cols(
            linear.x_axis.extend(0.0),
            linear.y_axis.extend(0.0),
            by.extend(1.0),
        ))
    }

    /// From [right, down] to [right, up] in a picture of this height; its own inverse, exactly.
    pub fn upright(height: f64) -> Self {
        let flip = DMat3::from_cols(DVec3::X, DVec3::NEG_Y, DVec3::new(0.0, height, 1.0));
        Self { forward: flip, inverse: flip }
    }

    /// The way back.
    #[must_use]
    pub fn inverse(self) -> Self {
        Self { forward: self.inverse, inverse: self.forward }
    }

    /// This map, then `linear` about the origin. `None` where that flattens the plane.
    pub fn then(self, linear: DMat2) -> Option<Self> {
        Self::from_matrix(DMat3::from_mat2(linear) * self.forward)
    }

    /// Where `p` comes to lie. `None` on and beyond the horizon.
    pub fn apply(&self, p: DVec2) -> Option<DVec2> {
        let q = self.forward * p.extend(1.0);
        (q.z > LEAST_DEPTH).then(|| q.truncate() / q.z)
    }

    /// How it maps the surroundings of `p`: the matrix of its first derivatives. `None` on and beyond the horizon.
    pub fn derivative(&self, p: DVec2) -> Option<DMat2> {
        let q = self.apply(p)?;
        let depth = (self.forward * p.extend(1.0)).z;
        let column = |axis: DVec3| (axis.truncate() - q * axis.z) / depth;
        Some(DMat2::from_cols(column(self.forward.x_axis), column(self.forward.y_axis)))
    }
}

/// Moves the middle of the points to the origin and their mean distance from it to √2.
fn normalising(points: impl Iterator<Item = DVec2> + Clone) -> Option<DMat3> {
    let count = points.clone().count() as f64;
    let middle = points.clone().sum::<DVec2>() / count;
    let mean = points.map(|p| p.distance(middle)).sum::<f64>() / count;
    let scale = std::f64::consts::SQRT_2 / mean;
    (mean > 0.0 && scale.is_finite()).then(|| {
        DMat3::from_cols(
            DVec3::X * scale,
            DVec3::Y * scale,
            dvec2(-middle.x * scale, -middle.y * scale).extend(1.0),
        )
    })
}

/// The unit eigenvector of the least eigenvalue of a symmetric matrix, and the second least eigenvalue, by cyclic
/// Jacobi rotations (*Matrix Computations*, algorithm 8.5.3).
fn least_eigenvector(mut matrix: [[f64; 9]; 9]) -> ([f64; 9], f64) {
    const SWEEPS: usize = 40;
    let mut vectors = [[0.0; 9]; 9];
    (0..9).for_each(|i| vectors[i][i] = 1.0);
    for _ in 0..SWEEPS {
        let off: f64 =
            (0..9).flat_map(|i| (0..i).map(move |j| (i, j))).map(|(i, j)| matrix[i][j].abs()).sum();
        if off == 0.0 {
            break;
        }
        for p in 0..9 {
            for q in p + 1..9 {
                if matrix[p][q] == 0.0 {
                    continue;
                }
                let theta = (matrix[q][q] - matrix[p][p]) / (2.0 * matrix[p][q]);
                let t = 1.0_f64.copysign(theta) / (theta.abs() + (theta * theta + 1.0).sqrt());
                let c = 1.0 / (t * t + 1.0).sqrt();
                let s = t * c;
                for row in &mut matrix {
                    (row[p], row[q]) = (c * row[p] - s * row[q], s * row[p] + c * row[q]);
                }
                let (upper, lower) = matrix.split_at_mut(q);
                for (a, b) in upper[p].iter_mut().zip(&mut lower[0]) {
                    (*a, *b) = (c * *a - s * *b, s * *a + c * *b);
                }
                for row in &mut vectors {
                    (row[p], row[q]) = (c * row[p] - s * row[q], s * row[p] + c * row[q]);
                }
            }
        }
    }
    let mut order: Vec<usize> = (0..9).collect();
    order.sort_by(|&a, &b| matrix[a][a].total_cmp(&matrix[b][b]));
    (vectors.map(|row| row[order[0]]), matrix[order[1]][order[1]])
}

#[cfg(test)]
mod tests {
    use super::*;

    fn square() -> [DVec2; 4] {
        [dvec2(0.0, 0.0), dvec2(4.0, 0.0), dvec2(4.0, 3.0), dvec2(0.0, 3.0)]
    }

    #[test]
    fn four_points_go_where_they_are_to_and_back() {
        let to = [dvec2(10.0, 20.0), dvec2(400.0, 60.0), dvec2(330.0, 300.0), dvec2(70.0, 280.0)];
        let pairs: Vec<(DVec2, DVec2)> = square().into_iter().zip(to).collect();
        let map = Homography::from_points(&pairs).unwrap();
        for (p, q) in pairs {
            assert!(map.apply(p).unwrap().distance(q) < 1e-9);
            assert!(map.inverse().apply(q).unwrap().distance(p) < 1e-11);
        }
        let (p, step) = (dvec2(1.3, 2.1), 1e-6);
        let derivative = map.derivative(p).unwrap();
        for axis in [DVec2::X, DVec2::Y] {
            let slope =
                (map.apply(p + axis * step).unwrap() - map.apply(p - axis * step).unwrap()) / (2.0 * step);
            assert!((derivative * axis).distance(slope) < 1e-5, "{derivative}");
        }
    }

    #[test]
    fn points_beyond_the_horizon_have_no_image() {
        // Seen along y: the farther, the smaller, with the horizon at y = -10.
        let seen = |p: DVec2| dvec2(p.x, p.y) / (1.0 + p.y / 10.0);
        let pairs = square().map(|p| (p, seen(p)));
        let map = Homography::from_points(&pairs).unwrap();
        assert!(map.apply(dvec2(1.0, -9.0)).unwrap().distance(seen(dvec2(1.0, -9.0))) < 1e-8);
        assert_eq!(map.apply(dvec2(1.0, -11.0)), None);
        assert_eq!(map.derivative(dvec2(1.0, -11.0)), None);
    }

    #[test]
    fn points_on_a_line_settle_no_map() {
        let along = [0.0, 1.0, 2.0, 5.0].map(|x| dvec2(x, 2.0 * x));
        let pairs: Vec<(DVec2, DVec2)> = square().into_iter().zip(along).collect();
        assert_eq!(Homography::from_points(&pairs), None);
        let back: Vec<(DVec2, DVec2)> = pairs.iter().map(|&(p, q)| (q, p)).collect();
        assert_eq!(Homography::from_points(&back), None);
        assert_eq!(Homography::from_points(&pairs[..3]), None);
        assert_eq!(Homography::from_points(&[(DVec2::ONE, DVec2::ONE); 4]), None);
    }

    #[test]
    fn a_picture_is_turned_upright_without_rounding() {
        let map = Homography::upright(977.0);
        let p = dvec2(0.1 + 0.2, 1.0 / 3.0);
        assert_eq!(map.apply(p), Some(dvec2(p.x, 977.0 - p.y)));
        assert_eq!(map.inverse(), map);
    }
}
