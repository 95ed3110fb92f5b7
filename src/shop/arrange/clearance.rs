//! Whether points lie deep enough inside outlines, asked of many points.

use std::ops::RangeInclusive;

use glam::DVec2;

use geom::{Region, region::distance_to_segment};

/// Outlines with their edges sorted into level strips, so that a point is compared with the few edges near it.
pub struct Clearance {
    outlines: Vec<Strips>,
    /// The least distance from every outline, mm.
    least: f64,
}

/// More than round-off of a place on a cake, mm.
const ROUND_OFF: f64 = 1e-6;

struct Strips {
    low: f64,
    height: f64,
    /// Edges that reach into each strip.
    edges: Vec<Vec<(DVec2, DVec2)>>,
}

impl Clearance {
    /// Asks for `least` mm inside each of `outlines`.
    pub fn new(outlines: &[Region], least: f64) -> Self {
        Self { outlines: outlines.iter().map(Strips::new).collect(), least }
    }

    /// Whether `p` lies inside all outlines and far enough from them.
    pub fn holds(&self, p: DVec2) -> bool {
        self.outlines.iter().all(|outline| outline.holds(p, self.least))
    }
}

impl Strips {
    fn new(outline: &Region) -> Self {
        /// Strips to an outline; more hold few edges each, fewer are soon made.
        const COUNT: usize = 48;
        let (low, high) = outline.bounds().map_or((0.0, 0.0), |(lo, hi)| (lo.y, hi.y));
        let height = ((high - low) / COUNT as f64).max(1e-9);
        let mut strips = Self { low, height, edges: vec![Vec::new(); COUNT] };
        for (a, b) in outline.edges() {
            for strip in strips.between(a.y.min(b.y), a.y.max(b.y)) {
                strips.edges[strip].push((a, b));
            }
        }
        strips
    }

    fn between(&self, low: f64, high: f64) -> RangeInclusive<usize> {
        let last = self.edges.len() - 1;
        // A float below 0 becomes 0.
        let strip = |y: f64| (((y - self.low) / self.height) as usize).min(last);
        strip(low)..=strip(high)
    }

    fn holds(&self, p: DVec2, least: f64) -> bool {
        let near = self.between(p.y - least, p.y + least);
        // Most edges of a strip lie far to one side; by more than round-off.
        let (left, right) = (p.x - least - ROUND_OFF, p.x + least + ROUND_OFF);
        let is_far = |(a, b): &(DVec2, DVec2)| {
            a.x.max(b.x) < left || a.x.min(b.x) > right || distance_to_segment(p, *a, *b) >= least
        };
        self.contains(p) && self.edges[near].iter().flatten().all(is_far)
    }

    /// Whether the outline winds round `p`.
    fn contains(&self, p: DVec2) -> bool {
        let strip = *self.between(p.y, p.y).start();
        let winding: i32 = self.edges[strip]
            .iter()
            .map(|&(a, b)| {
                let side = (b - a).perp_dot(p - a);
                match (a.y <= p.y, b.y <= p.y) {
                    (true, false) if side > 0.0 => 1,
                    (false, true) if side < 0.0 => -1,
                    _ => 0,
                }
            })
            .sum();
        winding != 0
    }
}

#[cfg(test)]
mod tests {
    use geom::Tolerance;
    use glam::dvec2;

    use super::*;

    /// Against the distance to every edge.
    #[test]
    fn a_point_holds_where_it_is_deep_enough() {
        let ring = Region::disc(dvec2(10.0, -4.0), 60.0, Tolerance::PREVIEW).difference(&Region::disc(
            dvec2(25.0, 10.0),
            12.0,
            Tolerance::PREVIEW,
        ));
        let outlines = [ring, Region::rectangle(dvec2(-45.0, -50.0), dvec2(70.0, 40.0))];
        let mut held = 0;
        for least in [0.5, 8.0, 30.0] {
            let clearance = Clearance::new(&outlines, least);
            for i in 0..60 {
                for j in 0..60 {
                    let p = dvec2(f64::from(i) * 3.1 - 80.0, f64::from(j) * 2.9 - 85.0);
                    let expected = outlines.iter().all(|outline| outline.depth(p) >= least);
                    assert_eq!(clearance.holds(p), expected, "{p} {least}");
                    held += u32::from(expected);
                }
            }
        }
        assert!(held > 500, "{held}");
    }
}
