//! A region of a picture that may be the image of a mark: an ellipse, dark all round, with four quarters in it.

use glam::{DMat2, DVec2, dvec2};

use super::layout::{MARK_INSIDE, MARK_RADIUS};
use crate::{real, trace::grey_levels::GreyLevels};

/// The image of a mark's ring: the unit circle by an affine map.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Ellipse {
    /// Its middle, [right, down] in pixels.
    pub centre: DVec2,
    /// Half axes as columns, though not the longest and the shortest.
    axes: DMat2,
}

/// The smallest half axis on which the quarters can be told apart, pixels.
const LEAST_AXIS: f64 = 5.0;
/// The longest half axis to the shortest: a circle seen at more than 70°.
const MOST_OBLIQUE: f64 = 3.0;
/// How far points of an ellipse may lie from it, in parts of its axes, and pixels.
const NEAR: (f64, f64) = (0.06, 0.9);
/// Points looked at on each circle.
const POINTS: usize = 48;

impl Ellipse {
    /// The ellipse that a closed line is, if it is one: that of the same area and second moments.
    pub fn of(contour: &[DVec2]) -> Option<Self> {
        let origin = *contour.first()?;
        let (mut area, mut first, mut xx, mut xy, mut yy) = (0.0, DVec2::ZERO, 0.0, 0.0, 0.0);
        for (i, &a) in contour.iter().enumerate() {
            let (a, b) = (a - origin, contour[(i + 1) % contour.len()] - origin);
            let cross = a.perp_dot(b);
            area += cross / 2.0;
            first += (a + b) * (cross / 6.0);
            xx += cross * (a.x * a.x + a.x * b.x + b.x * b.x) / 12.0;
            yy += cross * (a.y * a.y + a.y * b.y + b.y * b.y) / 12.0;
            xy += cross * (2.0 * (a.x * a.y + b.x * b.y) + a.x * b.y + b.x * a.y) / 24.0;
        }
        let middle = first / area;
        let (xx, xy, yy) = (
            xx / area - middle.x * middle.x,
            xy / area - middle.x * middle.y,
            yy / area - middle.y * middle.y,
        );
        // Cholesky: of an ellipse the second moments are a quarter of the squares of its axes.
        let l11 = xx.sqrt();
        let l21 = xy / l11;
        let l22 = (yy - l21 * l21).sqrt();
        let axes = DMat2::from_cols(dvec2(2.0 * l11, 2.0 * l21), dvec2(0.0, 2.0 * l22));
        let ellipse = Self { centre: origin + middle, axes };
        let (long, short) = ellipse.half_axes();
        if !(short >= LEAST_AXIS && long <= MOST_OBLIQUE * short) {
            return None;
        }
        let near = NEAR.0 + NEAR.1 / short;
        let inverse = axes.inverse();
        let fits = |p: &DVec2| ((inverse * (*p - ellipse.centre)).length() - 1.0).abs() < near;
        contour.iter().all(fits).then_some(ellipse)
    }

    /// Its longest and shortest half axis, pixels: the singular values of the map.
    pub fn half_axes(&self) -> (f64, f64) {
        singular_values(self.axes)
    }

    /// The point at `share` of the way from the middle to the line, at an angle of the circle.
    pub fn at(&self, share: f64, angle: f64) -> DVec2 {
        self.centre + self.axes * real::unit_vector(angle) * share
    }

    /// The same in a picture of so many times as many pixels.
    pub fn enlarged(self, times: f64) -> Self {
        Self { centre: self.centre * times, axes: self.axes * times }
    }

    /// Points of the line, evenly spaced on the circle.
    pub fn points(&self, count: usize) -> impl Iterator<Item = DVec2> {
        let ellipse = *self;
        (0..count).map(move |i| ellipse.at(1.0, std::f64::consts::TAU * i as f64 / count as f64))
    }
}

/// The longest and the shortest image of a unit vector.
pub(in crate::trace) fn singular_values(map: DMat2) -> (f64, f64) {
    let (x, y) = (map.x_axis, map.y_axis);
    let half = (x.length_squared() + y.length_squared()) / 2.0;
    let apart = dvec2((x.length_squared() - y.length_squared()) / 2.0, x.dot(y)).length();
    ((half + apart).sqrt(), (half - apart).max(0.0).sqrt())
}

/// Grey levels of a mark.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Shades {
    pub black: f64,
    pub white: f64,
}

impl Shades {
    /// Halfway.
    pub fn middle(self) -> f64 {
        (self.black + self.white) / 2.0
    }
}

/// Whether the ellipse shows a mark: dark along its ring, light round it, and in quarters within.
pub(super) fn shades(levels: &GreyLevels, ellipse: &Ellipse) -> Option<Shades> {
    /// Where the ring and the paper round it are looked at, in radii of the ring.
    const RING: f64 = (MARK_INSIDE + MARK_RADIUS) / 2.0 / MARK_RADIUS;
    const QUARTERS: f64 = 0.45;
    const OUTSIDE: f64 = 1.25;
    /// This part of the points must be as expected.
    const RING_DARK: usize = POINTS * 9 / 10;
    const OUTSIDE_LIGHT: usize = POINTS * 8 / 10;
    /// White must be so much brighter than black, of white.
    const LEAST_CONTRAST: f64 = 0.3;
    let circle = |share: f64| -> Option<Vec<f64>> {
        (0..POINTS)
            .map(|i| levels.sample(ellipse.at(share, std::f64::consts::TAU * i as f64 / POINTS as f64)))
            .collect()
    };
    let (ring, outside, within) = (circle(RING)?, circle(OUTSIDE)?, circle(QUARTERS)?);
    let shades = Shades { black: median(&ring), white: median(&outside) };
    if shades.white - shades.black < LEAST_CONTRAST * shades.white {
        return None;
    }
    let middle = shades.middle();
    let dark = |values: &[f64]| values.iter().filter(|value| **value < middle).count();
    let is_mark =
        dark(&ring) >= RING_DARK && POINTS - dark(&outside) >= OUTSIDE_LIGHT && is_quartered(&within, middle);
    is_mark.then_some(shades)
}

/// Whether values round a circle are dark and light in turn in four quarters.
fn is_quartered(values: &[f64], middle: f64) -> bool {
    /// The shortest and longest run that may be a quarter, parts of the circle.
    const RUN: std::ops::RangeInclusive<usize> = POINTS / 8..=POINTS * 3 / 8;
    let turns: Vec<usize> = (0..values.len())
        .filter(|&i| (values[i] < middle) != (values[(i + 1) % values.len()] < middle))
        .collect();
    let run = |i: usize| (turns[(i + 1) % turns.len()] + values.len() - turns[i]) % values.len();
    turns.len() == 4 && (0..4).all(|i| RUN.contains(&run(i)))
}

fn median(values: &[f64]) -> f64 {
    let mut values = values.to_vec();
    let at = values.len() / 2;
    *values.select_nth_unstable_by(at, f64::total_cmp).1
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_ellipse_is_known_and_a_square_is_none() {
        let axes = DMat2::from_cols(dvec2(20.0, 6.0), dvec2(-4.0, 11.0));
        let centre = dvec2(300.0, 200.0);
        let points = |shape: fn(DVec2) -> DVec2| -> Vec<DVec2> {
            (0..200)
                .map(|i| {
                    centre + axes * shape(real::unit_vector(std::f64::consts::TAU * f64::from(i) / 200.0))
                })
                .collect()
        };
        let found = Ellipse::of(&points(|p| p)).unwrap();
        assert!(found.centre.distance(centre) < 1e-9);
        let (long, short) = singular_values(axes);
        // A polygon of 200 corners is a little smaller.
        assert!((found.half_axes().0 - long).abs() < 0.01 && (found.half_axes().1 - short).abs() < 0.01);
        assert_eq!(Ellipse::of(&points(|p| p / p.abs().max_element())), None);
        assert_eq!(Ellipse::of(&points(|p| p * 0.1)), None);
    }
}
