//! A region cut at heights without losing or moving a point, so that solids made of the parts meet vertex to
//! vertex.

use glam::{DVec2, dvec2};
use rustc_hash::FxHashMap;

use super::Region;

impl Region {
    /// The same region with a point put in wherever an edge crosses one of `heights`, which must rise.
    #[must_use]
    pub fn split_at(&self, heights: &[f64]) -> Self {
        let split = |contour: &Vec<DVec2>| {
            let mut points = Vec::with_capacity(contour.len() + heights.len());
            for (i, &a) in contour.iter().enumerate() {
                let b = contour[(i + 1) % contour.len()];
                points.push(a);
                let low = heights.partition_point(|h| *h <= a.y.min(b.y));
                let high = heights.partition_point(|h| *h < a.y.max(b.y));
                let cut = |h: &f64| dvec2(a.x + (b.x - a.x) * ((h - a.y) / (b.y - a.y)), *h);
                let between = heights.get(low..high).unwrap_or_default();
                if a.y < b.y {
                    points.extend(between.iter().map(cut));
                } else {
                    points.extend(between.iter().rev().map(cut));
                }
            }
            points
        };
        Self { contours: self.contours.iter().map(split).collect() }
    }

    /// The part between two heights that no edge crosses and no level edge lies at, but for the lowest and
    /// the highest of the region ([`Region::split_at`]). Every point stays.
    #[must_use]
    pub fn cut_between(&self, low: f64, high: f64) -> Self {
        let holds = |p: DVec2| low <= p.y && p.y <= high;
        let bits = |p: DVec2| (p + DVec2::ZERO).to_array().map(f64::to_bits);
        let inside = |(a, b): &(DVec2, DVec2)| holds(*a) && holds(*b);
        let mut edges: Vec<(DVec2, DVec2)> = self.edges().filter(inside).collect();
        for (height, sign) in [(low, 1.0), (high, -1.0)] {
            // The inside lies left of every edge: along the bottom from where one comes down to where the
            // next goes up, along the top the other way.
            let mut ends: FxHashMap<[u64; 2], (DVec2, i32)> = FxHashMap::default();
            for (a, b) in &edges {
                for (p, step) in [(a, -1), (b, 1)] {
                    if p.y == height {
                        ends.entry(bits(*p)).or_insert((*p, 0)).1 += step;
                    }
                }
            }
            let mut loose: Vec<(DVec2, i32)> = ends.into_values().filter(|(_, open)| *open != 0).collect();
            loose.sort_by(|a, b| (a.0.x * sign).total_cmp(&(b.0.x * sign)));
            edges.extend(loose.chunks_exact(2).map(|pair| (pair[0].0, pair[1].0)));
        }
        let mut next: FxHashMap<[u64; 2], Vec<DVec2>> = FxHashMap::default();
        for (a, b) in edges.iter().rev() {
            next.entry(bits(*a)).or_default().push(*b);
        }
        let mut contours = Vec::new();
        for &(start, _) in &edges {
            let mut contour = Vec::new();
            let mut at = start;
            while let Some(end) = next.get_mut(&bits(at)).and_then(Vec::pop) {
                contour.push(at);
                at = end;
            }
            if contour.len() > 2 {
                contours.push(contour);
            }
        }
        Self { contours }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::test_regions::hollow_cup;

    /// Cut through an undercut and a hole, the parts keep every point and add up.
    #[test]
    fn parts_keep_every_point_and_add_up() {
        let region = hollow_cup();
        let heights = [5.0, 20.0, 48.0, 60.0];
        let split = region.split_at(&heights);
        assert!((split.area() / region.area() - 1.0).abs() < 1e-12);
        let bounds = [0.0, 5.0, 20.0, 48.0, 60.0, 90.0];
        let parts: Vec<Region> = bounds.windows(2).map(|b| split.cut_between(b[0], b[1])).collect();
        for (part, pair) in parts.iter().zip(bounds.windows(2)) {
            assert!((part.area() / region.between(pair[0], pair[1]).area() - 1.0).abs() < 1e-7);
        }
        let points: usize = split.contours().iter().map(Vec::len).sum();
        // Every point put in at a height is in two parts.
        let put_in = points - region.contours().iter().map(Vec::len).sum::<usize>();
        let in_parts: usize = parts.iter().flat_map(|p| p.contours()).map(Vec::len).sum();
        assert_eq!(in_parts, points + put_in);
    }
}
