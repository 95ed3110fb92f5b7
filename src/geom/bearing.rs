//! Ranges of bearings: degrees counter-clockwise seen from above, 0 at the front (−y).

use glam::DVec3;

use super::{MeridianRange, revolve::bearing_of};

/// The angle from bearing `from` to bearing `to`, −180 ≤ angle < 180 degrees.
pub fn bearing_difference(to: f64, from: f64) -> f64 {
    (to - from + 180.0).rem_euclid(360.0) - 180.0
}

/// Bearings from `middle` − `half` to `middle` + `half`, degrees.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BearingRange {
    middle: f64,
    half: f64,
}

impl BearingRange {
    /// All the way round.
    pub const FULL: Self = Self { middle: 0.0, half: 180.0 };

    /// A range about the bearing `middle`, no wider than all the way round.
    pub fn new(middle: f64, half: f64) -> Self {
        Self { middle: middle.rem_euclid(360.0), half: half.min(180.0) }
    }

    /// The least range about the middle of `points` that holds them, seen from above; all the way round if
    /// their bounding box holds the axis.
    pub fn around(points: &[DVec3]) -> Self {
        let Some(&first) = points.first() else { return Self::new(0.0, 0.0) };
        let (lo, hi) = points.iter().fold((first, first), |(lo, hi), &p| (lo.min(p), hi.max(p)));
        if lo.x <= 0.0 && lo.y <= 0.0 && hi.x >= 0.0 && hi.y >= 0.0 {
            return Self::FULL;
        }
        let middle = bearing_of(((lo + hi) / 2.0).truncate());
        let from_middle = points.iter().map(|p| bearing_difference(bearing_of(p.truncate()), middle));
        let (least, most) =
            from_middle.fold((0.0f64, 0.0f64), |(least, most), t| (least.min(t), most.max(t)));
        Self::new(middle + (least + most) / 2.0, (most - least) / 2.0)
    }

    /// How far it reaches to either side of its middle, degrees.
    pub fn half(self) -> f64 {
        self.half
    }

    /// Whether it goes all the way round.
    pub fn is_full(self) -> bool {
        self.half >= 180.0
    }

    /// Whether a bearing lies in it.
    pub fn contains(self, bearing: f64) -> bool {
        bearing_difference(bearing, self.middle).abs() <= self.half
    }

    /// Whether two ranges share a bearing.
    pub fn overlaps(self, other: Self) -> bool {
        bearing_difference(other.middle, self.middle).abs() <= self.half + other.half
    }

    /// The least range of meridians, out of `n`, that holds these bearings and one more step at each end; all
    /// the way round where more than three quarters are needed.
    pub fn meridians(self, n: u32) -> MeridianRange {
        let step = 360.0 / f64::from(n);
        let first = ((self.middle - self.half) / step).floor() as i64 - 1;
        let last = ((self.middle + self.half) / step).ceil() as i64 + 1;
        let steps = (last - first) as u32;
        // Past three quarters the whole is no dearer and has no ends.
        if self.is_full() || 4 * steps > 3 * n {
            return MeridianRange::full(n);
        }
        MeridianRange { first: first.rem_euclid(i64::from(n)) as u32, steps }
    }
}

#[cfg(test)]
mod tests {
    use glam::dvec3;

    use super::*;

    #[test]
    fn ranges_overlap_across_the_front() {
        let (left, right) = (BearingRange::new(350.0, 15.0), BearingRange::new(20.0, 20.0));
        assert!(left.overlaps(right) && !left.overlaps(BearingRange::new(180.0, 100.0)));
        assert!(left.contains(336.0) && left.contains(4.0) && !left.contains(6.0) && !left.contains(330.0));
        assert_eq!(BearingRange::new(10.0, 5.0).meridians(36), MeridianRange { first: 35, steps: 4 });
        assert!(BearingRange::FULL.meridians(36).is_full(36));
    }

    #[test]
    fn points_round_the_axis_need_all_of_it() {
        let points = [dvec3(5.0, -9.0, 0.0), dvec3(-3.0, -7.0, 4.0)];
        let range = BearingRange::around(&points);
        assert!(points.iter().all(|p| range.contains(bearing_of(p.truncate()))));
        assert!(!range.contains(90.0));
        assert!(BearingRange::around(&[dvec3(5.0, 1.0, 0.0), dvec3(-5.0, -1.0, 0.0)]).is_full());
    }
}
