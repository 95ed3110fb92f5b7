//! A line of some width along other lines.

use clipper2_rust as clipper;
use glam::DVec2;

use super::{DECIMALS, Region, to_paths};
use crate::Tolerance;

impl Region {
    /// Every point within half of `width` mm of one of `lines`: the area of a line drawn along each of them, with round
    /// ends and joins. One that comes back to its first point goes round and has no ends; each needs two points or more.
    ///
    /// Ends and joins stay within `tolerance` of the true arc.
    #[must_use]
    pub fn along(lines: &[Vec<DVec2>], width: f64, tolerance: Tolerance) -> Self {
        /// Only square and mitred corners have a mitre limit; round ones ignore it.
        const UNUSED_MITER_LIMIT: f64 = 2.0;
        let (round, open): (Vec<_>, Vec<_>) = lines.iter().partition(|line| comes_back(line));
        // The library closes a line by itself.
        let round: Vec<Vec<DVec2>> = round.into_iter().map(|line| line[..line.len() - 1].to_vec()).collect();
        let open: Vec<Vec<DVec2>> = open.into_iter().cloned().collect();
        let widened = |lines: &[Vec<DVec2>], ends| {
            if lines.is_empty() {
                return Self::default();
            }
            Self::from_paths(clipper::inflate_paths_d(
                &to_paths(lines),
                width / 2.0,
                clipper::JoinType::Round,
                ends,
                UNUSED_MITER_LIMIT,
                DECIMALS,
                tolerance.chord_mm(),
            ))
        };
        let (round, open) =
            (widened(&round, clipper::EndType::Joined), widened(&open, clipper::EndType::Round));
        if round.is_empty() {
            return open;
        }
        if open.is_empty() { round } else { round.union(&open) }
    }
}

/// Whether a line ends where it begins, having been somewhere else.
pub fn comes_back(line: &[DVec2]) -> bool {
    line.len() > 3 && line.first() == line.last()
}

#[cfg(test)]
mod tests {
    use std::f64::consts::PI;

    use glam::dvec2;

    use super::*;

    const FINE: f64 = 1e-4;

    fn drawn(line: &[DVec2], width: f64) -> Region {
        Region::along(&[line.to_vec()], width, Tolerance::new(FINE).unwrap())
    }

    /// A straight line is a rectangle and two half discs (closed forms).
    #[test]
    fn a_straight_line_has_its_width_and_round_ends() {
        let region = drawn(&[dvec2(1.0, 2.0), dvec2(31.0, 42.0)], 3.0);
        assert!((region.area() - (50.0 * 3.0 + PI * 2.25)).abs() < 2e-3, "{}", region.area());
        assert_eq!(region.contours().len(), 1);
    }

    /// A ring of mean radius r and width w holds 2 π r w (Pappus).
    #[test]
    fn a_line_that_comes_back_goes_round() {
        let (n, r) = (2000, 20.0);
        let mut circle: Vec<DVec2> =
            (0..n).map(|i| r * crate::real::unit_vector(2.0 * PI * f64::from(i) / f64::from(n))).collect();
        circle.push(circle[0]);
        let region = drawn(&circle, 4.0);
        assert!((region.area() - 2.0 * PI * r * 4.0).abs() < 0.02, "{}", region.area());
        assert_eq!(region.contours().len(), 2);
        let (lo, hi) = region.bounds().unwrap();
        assert!((hi.x - 22.0).abs() < 1e-3 && (lo.y + 22.0).abs() < 1e-3);
    }

    #[test]
    fn a_square_line_has_sharp_insides_and_round_outsides() {
        let square =
            [dvec2(0.0, 0.0), dvec2(30.0, 0.0), dvec2(30.0, 30.0), dvec2(0.0, 30.0), dvec2(0.0, 0.0)];
        // 30² + 4 · 30 · 1 + π · 1² outside (Steiner), less 28² inside.
        let expected = 900.0 + 120.0 + PI - 784.0;
        assert!((drawn(&square, 2.0).area() - expected).abs() < 1e-3);
        // Without its last side it has ends.
        let open = drawn(&square[..4], 2.0).area();
        assert!((open - (90.0 * 2.0 + PI - 2.0 * (1.0 - PI / 4.0))).abs() < 1e-3, "{open}");
    }

    #[test]
    fn lines_that_cross_count_once() {
        let lines = [vec![dvec2(-10.0, 0.0), dvec2(10.0, 0.0)], vec![dvec2(0.0, -10.0), dvec2(0.0, 10.0)]];
        let area = Region::along(&lines, 2.0, Tolerance::new(FINE).unwrap()).area();
        assert!((area - (2.0 * (40.0 + PI) - 4.0)).abs() < 2e-3, "{area}");
    }
}
