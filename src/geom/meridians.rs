//! Ranges of meridians: part of the way round a turned mesh, in whole steps.

/// Steps between neighbouring meridians of a turned mesh, counted counter-clockwise from the front: none, some, or
/// all the way round. How many meridians there are is given beside it as `n`.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct MeridianRange {
    /// The meridian that the first step begins at.
    pub first: u32,
    /// How many steps.
    pub steps: u32,
}

impl MeridianRange {
    /// All the way round.
    pub fn full(n: u32) -> Self {
        Self { first: 0, steps: n }
    }

    /// Whether it goes all the way round.
    pub fn is_full(self, n: u32) -> bool {
        self.steps >= n
    }

    /// Whether it holds the step from meridian `k` to the next.
    pub fn contains(self, k: u32, n: u32) -> bool {
        (k + n - self.first) % n < self.steps
    }

    /// Its steps, each by the meridian that it begins at.
    pub fn iter(self, n: u32) -> impl Iterator<Item = u32> {
        (0..self.steps).map(move |i| (self.first + i) % n)
    }

    /// The meridian after the last step.
    pub fn end(self, n: u32) -> u32 {
        (self.first + self.steps) % n
    }

    /// Whether two ranges share a step.
    pub fn overlaps(self, other: Self, n: u32) -> bool {
        self.steps > 0 && other.steps > 0 && (self.contains(other.first, n) || other.contains(self.first, n))
    }

    /// The shorter range that holds both.
    #[must_use]
    pub fn hull(self, other: Self, n: u32) -> Self {
        if self.steps == 0 || other.steps == 0 {
            return if self.steps == 0 { other } else { self };
        }
        let from = |a: Self, b: Self| {
            let ahead = (b.first + n - a.first) % n;
            Self { first: a.first, steps: a.steps.max(ahead + b.steps).min(n) }
        };
        let (a, b) = (from(self, other), from(other, self));
        if a.steps <= b.steps { a } else { b }
    }
}
