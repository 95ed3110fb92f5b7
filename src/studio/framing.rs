//! Where the eye has to be so that everything fits the picture.

use glam::{DVec2, DVec3};

use super::{Lens, View};

/// Height of the field of view through the perspective lens, degrees: about a 70 mm lens on a
/// full-frame camera, so that a cake keeps its proportions.
pub const FIELD_OF_VIEW: f64 = 19.5;

/// The part of the picture that the cake may fill, as shares of width and height to keep free.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Margins {
    /// Free at the left.
    pub left: f64,
    /// Free at the right.
    pub right: f64,
    /// Free at the top.
    pub top: f64,
    /// Free at the bottom.
    pub bottom: f64,
}

impl Margins {
    /// What is left of width and height, as shares.
    fn free(self) -> DVec2 {
        DVec2::new(1.0 - self.left - self.right, 1.0 - self.top - self.bottom)
    }

    /// How far the middle of the picture lies from the middle of what is left, mm, in a picture that
    /// shows this height.
    fn aside(self, height: f64, aspect: f64) -> DVec3 {
        let across = (self.right - self.left) / 2.0 * height * aspect;
        DVec3::new(across, (self.top - self.bottom) / 2.0 * height, 0.0)
    }
}

/// Eye, target and lens of a picture; mm, z up.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pose {
    /// The eye.
    pub eye: DVec3,
    /// What it looks at: the middle of the picture.
    pub target: DVec3,
    /// Which way is up in the picture, unit length, square to the line of sight.
    pub up: DVec3,
    /// How depth is drawn.
    pub lens: Lens,
    /// Height of the picture at the target, mm.
    pub height: f64,
}

/// The axes of a picture: unit vectors, z up.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Axes {
    right: DVec3,
    up: DVec3,
    back: DVec3,
}

impl Axes {
    fn of(view: View) -> Self {
        let (bearing, elevation) = view.bearing_and_elevation();
        let (sin_b, cos_b) = bearing.to_radians().sin_cos();
        let (sin_e, cos_e) = elevation.to_radians().sin_cos();
        Self {
            right: DVec3::new(cos_b, sin_b, 0.0),
            up: DVec3::new(-sin_b * sin_e, cos_b * sin_e, cos_e),
            back: DVec3::new(sin_b * cos_e, -cos_b * cos_e, sin_e),
        }
    }

    fn turn(&self, p: DVec3) -> DVec3 {
        DVec3::new(p.dot(self.right), p.dot(self.up), p.dot(self.back))
    }
}

impl Pose {
    /// The pose from which `points` (mm) fill what `margins` leave of a picture `aspect` times as wide
    /// as high. Without points the eye looks at the origin.
    pub fn framing(
        points: impl Iterator<Item = DVec3> + Clone,
        view: View,
        lens: Lens,
        aspect: f64,
        margins: Margins,
    ) -> Self {
        let axes = Axes::of(view);
        let free = margins.free();
        let turned = points.map(|p| axes.turn(p));
        let Some((lo, hi)) = bounds(turned.clone()) else {
            return Self::looking(axes, DVec3::ZERO, lens, 300.0);
        };
        let size = hi - lo;
        let mut height = (size.y / free.y).max(size.x / (free.x * aspect)).max(1.0);
        let mut target = (lo + hi) / 2.0 + margins.aside(height, aspect);
        if lens == Lens::Perspective {
            (target, height) = fit_perspective(turned, target, height, aspect, margins);
        }
        let target = axes.right * target.x + axes.up * target.y + axes.back * target.z;
        Self::looking(axes, target, lens, height)
    }

    /// The pose that looks at `target` (mm) from a view and sees `height` mm of it.
    pub fn looking_at(target: DVec3, view: View, lens: Lens, height: f64) -> Self {
        Self::looking(Axes::of(view), target, lens, height)
    }

    /// The pose with the eye elsewhere in an opening of this radius (mm), looking at the same target; `at` is a point of
    /// the unit disc.
    #[must_use]
    pub fn moved(&self, at: (f64, f64), opening: f64) -> Self {
        let back = (self.eye - self.target).normalize();
        let right = self.up.cross(back);
        Self { eye: self.eye + (right * at.0 + self.up * at.1) * opening, ..*self }
    }

    fn looking(axes: Axes, target: DVec3, lens: Lens, height: f64) -> Self {
        let distance = distance_for(height);
        Self { eye: target + axes.back * distance, target, up: axes.up, lens, height }
    }

    /// Where a point (mm) falls in a picture of this size, pixels from the top left corner.
    pub fn project(&self, p: DVec3, size: (u32, u32)) -> DVec2 {
        let back = (self.eye - self.target).normalize();
        let right = self.up.cross(back);
        let from = p - self.target;
        let shrink = match self.lens {
            Lens::Orthographic => 1.0,
            Lens::Perspective => {
                let distance = (self.eye - self.target).length();
                distance / (distance - from.dot(back)).max(1e-6)
            }
        };
        let pixels = f64::from(size.1) / self.height * shrink;
        DVec2::new(
            f64::from(size.0) / 2.0 + from.dot(right) * pixels,
            f64::from(size.1) / 2.0 - from.dot(self.up) * pixels,
        )
    }
}

/// How much is seen at a distance through the perspective lens, both mm.
pub fn height_at(distance: f64) -> f64 {
    2.0 * distance * (FIELD_OF_VIEW / 2.0).to_radians().tan()
}

/// How far from the target the eye is to see `height` mm at the target.
fn distance_for(height: f64) -> f64 {
    height / 2.0 / (FIELD_OF_VIEW / 2.0).to_radians().tan()
}

fn bounds(points: impl Iterator<Item = DVec3>) -> Option<(DVec3, DVec3)> {
    points.map(|p| (p, p)).reduce(|(lo, hi), (l, h)| (lo.min(l), hi.max(h)))
}

/// Nearer points look larger, so target and height are found by fixed-point iteration; each round leaves a
/// small share of the error of the one before.
fn fit_perspective(
    turned: impl Iterator<Item = DVec3> + Clone,
    mut target: DVec3,
    mut height: f64,
    aspect: f64,
    margins: Margins,
) -> (DVec3, f64) {
    let free = margins.free();
    for _ in 0..12 {
        let distance = distance_for(height);
        let seen = turned.clone().map(|p| {
            let from = p - target;
            (from * (distance / (distance - from.z).max(distance * 0.05))).with_z(0.0)
        });
        let Some((lo, hi)) = bounds(seen) else { break };
        target += (lo + hi) / 2.0 + margins.aside(height, aspect);
        height *= ((hi.y - lo.y) / (free.y * height)).max((hi.x - lo.x) / (free.x * aspect * height));
    }
    (target, height)
}

#[cfg(test)]
mod tests {
    use super::*;

    const MARGINS: Margins = Margins { left: 0.05, right: 0.2, top: 0.1, bottom: 0.05 };

    fn cylinder() -> Vec<DVec3> {
        (0..360)
            .flat_map(|i| {
                let (sin, cos) = f64::from(i).to_radians().sin_cos();
                [DVec3::new(100.0 * cos, 100.0 * sin, 0.0), DVec3::new(100.0 * cos, 100.0 * sin, 240.0)]
            })
            .collect()
    }

    #[test]
    fn everything_fits_between_the_margins_and_touches_two_of_them() {
        let points = cylinder();
        let size = (1600, 1000);
        for lens in [Lens::Perspective, Lens::Orthographic] {
            for view in
                [View::Front, View::Top, View::ThreeQuarter, View::From { bearing: 200.0, elevation: -30.0 }]
            {
                let pose = Pose::framing(points.iter().copied(), view, lens, 1.6, MARGINS);
                let (lo, hi) = bounds(points.iter().map(|p| pose.project(*p, size).extend(0.0))).unwrap();
                let lifts = [lo.x - 80.0, 1280.0 - hi.x, lo.y - 100.0, 950.0 - hi.y];
                assert!(lifts.iter().all(|gap| *gap > -1.5), "{view:?} {lens:?}: {lifts:?}");
                let touching = lifts.iter().filter(|gap| gap.abs() < 4.0).count();
                assert!(touching >= 2, "{view:?} {lens:?}: {lifts:?}");
            }
        }
    }

    #[test]
    fn the_front_is_seen_from_minus_y_with_right_on_the_right() {
        let pose = Pose::framing(cylinder().into_iter(), View::Front, Lens::Orthographic, 1.0, MARGINS);
        assert!(pose.eye.y < -100.0);
        let (left, right) = (pose.project(DVec3::NEG_X, (100, 100)), pose.project(DVec3::X, (100, 100)));
        assert!(right.x > left.x);
        assert!(pose.project(DVec3::Z, (100, 100)).y < pose.project(DVec3::ZERO, (100, 100)).y);
        let top = Pose::framing(cylinder().into_iter(), View::Top, Lens::Orthographic, 1.0, MARGINS);
        assert!(
            top.project(DVec3::NEG_Y, (100, 100)).y > top.project(DVec3::Y, (100, 100)).y,
            "front at the bottom"
        );
    }
}
