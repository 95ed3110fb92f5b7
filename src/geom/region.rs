//! Closed regions of the plane, with holes: area, booleans, inset and outset.
//!
//! A region is kept normal: outer contours counter-clockwise, holes clockwise, no contour crossing
//! itself or another. Booleans and offsets run on a grid of [`GRID`] mm, far below anything that a
//! knife or a printer can do and far above the round-off of `f64` at cake sizes.

mod heights;
mod sides;
mod strokes;

use clipper2_rust as clipper;
use glam::{DVec2, dvec2};

use super::Tolerance;
use crate::real;
pub use strokes::comes_back;

/// Decimal places of the grid that booleans and offsets snap to.
const DECIMALS: i32 = 8;

/// Spacing of the grid that booleans and offsets snap to, mm.
pub const GRID: f64 = 1e-8;

/// The place on the grid nearest to `x`. Lengths written with up to eight decimals stay as they are.
pub fn on_grid(x: f64) -> f64 {
    /// A whole number, so that dividing by it gives the nearest `f64` to the decimal figure.
    const PER_MM: f64 = 1e8;
    // Adding zero turns −0.0 into 0.0.
    (x * PER_MM).round() / PER_MM + 0.0
}

/// A closed region of the plane; may be empty, in several pieces and have holes.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Region {
    contours: Vec<Vec<DVec2>>,
}

impl Region {
    /// The region inside `contours` by the non-zero rule, made normal. Contours may come in any
    /// direction only if they do not overlap; holes must run against their outer contour.
    pub fn new(contours: Vec<Vec<DVec2>>) -> Self {
        Self::from_paths(clipper::union_subjects_d(
            &to_paths(&contours),
            clipper::FillRule::NonZero,
            DECIMALS,
        ))
    }

    /// The region inside `contours` by the even-odd rule, whatever way they run.
    pub fn even_odd(contours: Vec<Vec<DVec2>>) -> Self {
        Self::from_paths(clipper::union_subjects_d(
            &to_paths(&contours),
            clipper::FillRule::EvenOdd,
            DECIMALS,
        ))
    }

    /// The inside of one contour that does not cross itself; turned counter-clockwise.
    pub fn from_simple(mut contour: Vec<DVec2>) -> Self {
        if signed_area(&contour) < 0.0 {
            contour.reverse();
        }
        Self { contours: vec![contour] }
    }

    /// The rectangle between two corners; empty if they do not span one.
    pub fn rectangle(min: DVec2, max: DVec2) -> Self {
        if min.x >= max.x || min.y >= max.y {
            return Self::default();
        }
        Self { contours: vec![vec![min, dvec2(max.x, min.y), max, dvec2(min.x, max.y)]] }
    }

    /// A disc as a polygon with its corners on the circle, starting straight right.
    pub fn disc(centre: DVec2, radius: f64, tolerance: Tolerance) -> Self {
        let n = tolerance.segments(radius);
        let contour = (0..n)
            .map(|i| centre + radius * real::unit_vector(std::f64::consts::TAU * i as f64 / n as f64))
            .collect();
        Self { contours: vec![contour] }
    }

    /// Outer contours counter-clockwise and holes clockwise, each without its closing point repeated.
    pub fn contours(&self) -> &[Vec<DVec2>] {
        &self.contours
    }

    /// Whether nothing is inside.
    pub fn is_empty(&self) -> bool {
        self.contours.is_empty()
    }

    /// Area, mm².
    pub fn area(&self) -> f64 {
        self.contours.iter().map(|c| signed_area(c)).sum()
    }

    /// Lower left and upper right corner of the bounding box; `None` when empty.
    pub fn bounds(&self) -> Option<(DVec2, DVec2)> {
        let mut points = self.contours.iter().flatten();
        let first = *points.next()?;
        Some(points.fold((first, first), |(lo, hi), &p| (lo.min(p), hi.max(p))))
    }

    /// What lies in this region or in `other`.
    #[must_use]
    pub fn union(&self, other: &Self) -> Self {
        Self::from_paths(clipper::union_d(
            &to_paths(&self.contours),
            &to_paths(&other.contours),
            clipper::FillRule::NonZero,
            DECIMALS,
        ))
    }

    /// What lies in both this region and `other`.
    #[must_use]
    pub fn intersection(&self, other: &Self) -> Self {
        if self.is_empty() || other.is_empty() {
            return Self::default();
        }
        Self::from_paths(clipper::intersect_d(
            &to_paths(&self.contours),
            &to_paths(&other.contours),
            clipper::FillRule::NonZero,
            DECIMALS,
        ))
    }

    /// What lies in this region and not in `other`.
    #[must_use]
    pub fn difference(&self, other: &Self) -> Self {
        if self.is_empty() || other.is_empty() {
            return self.clone();
        }
        Self::from_paths(clipper::difference_d(
            &to_paths(&self.contours),
            &to_paths(&other.contours),
            clipper::FillRule::NonZero,
            DECIMALS,
        ))
    }

    /// Every point further than `distance` mm from the outside (erosion by a disc).
    ///
    /// Arcs that appear at re-entrant corners stay within `tolerance` of the true arc.
    #[must_use]
    pub fn inset(&self, distance: f64, tolerance: Tolerance) -> Self {
        self.offset(-distance, tolerance)
    }

    /// Every point within `distance` mm of the inside (dilation by a disc).
    #[must_use]
    pub fn outset(&self, distance: f64, tolerance: Tolerance) -> Self {
        self.offset(distance, tolerance)
    }

    fn offset(&self, delta: f64, tolerance: Tolerance) -> Self {
        /// Only square and mitred corners have a mitre limit; round ones ignore it.
        const UNUSED_MITER_LIMIT: f64 = 2.0;
        if delta == 0.0 || self.is_empty() {
            return self.clone();
        }
        Self::from_paths(clipper::inflate_paths_d(
            &to_paths(&self.contours),
            delta,
            clipper::JoinType::Round,
            clipper::EndType::Polygon,
            UNUSED_MITER_LIMIT,
            DECIMALS,
            tolerance.chord_mm(),
        ))
    }

    /// The part between two heights (y).
    #[must_use]
    pub fn between(&self, low: f64, high: f64) -> Self {
        let Some((lo, hi)) = self.bounds() else { return Self::default() };
        if low <= lo.y && hi.y <= high {
            return self.clone();
        }
        self.intersection(&Self::rectangle(dvec2(lo.x - 1.0, low), dvec2(hi.x + 1.0, high)))
    }

    /// The part right of the axis x = 0.
    #[must_use]
    pub fn right_half(&self) -> Self {
        let Some((lo, hi)) = self.bounds() else { return Self::default() };
        if lo.x >= 0.0 {
            return self.clone();
        }
        self.intersection(&Self::rectangle(dvec2(0.0, lo.y - 1.0), dvec2(hi.x + 1.0, hi.y + 1.0)))
    }

    /// The same region mirrored in the axis x = 0.
    #[must_use]
    pub fn mirrored(&self) -> Self {
        let flip = |c: &Vec<DVec2>| c.iter().rev().map(|p| dvec2(-p.x, p.y)).collect();
        Self { contours: self.contours.iter().map(flip).collect() }
    }

    /// The same region moved and turned: turned by `angle` radians about the origin, then moved.
    #[must_use]
    pub fn placed(&self, angle: f64, by: DVec2) -> Self {
        let turn = real::unit_vector(angle);
        let place = |c: &Vec<DVec2>| c.iter().map(|p| by + turn.rotate(*p)).collect();
        Self { contours: self.contours.iter().map(place).collect() }
    }

    /// The region without its holes.
    #[must_use]
    pub fn filled(&self) -> Self {
        Self { contours: self.contours.iter().filter(|c| signed_area(c) > 0.0).cloned().collect() }
    }

    /// The holes of the region, as regions.
    #[must_use]
    pub fn holes(&self) -> Self {
        let holes = self.contours.iter().filter(|c| signed_area(c) < 0.0);
        Self { contours: holes.map(|c| c.iter().rev().copied().collect()).collect() }
    }

    /// The same region with points put into its edges so that none is longer than `length` mm.
    #[must_use]
    pub fn refined(&self, length: f64) -> Self {
        let refine = |c: &Vec<DVec2>| {
            let edge = |i: usize| (c[i], c[(i + 1) % c.len()]);
            (0..c.len())
                .flat_map(|i| {
                    let (a, b) = edge(i);
                    let pieces = (a.distance(b) / length).ceil().max(1.0) as u32;
                    (0..pieces).map(move |k| a.lerp(b, f64::from(k) / f64::from(pieces)))
                })
                .collect()
        };
        Self { contours: self.contours.iter().map(refine).collect() }
    }

    /// The same region with a point put in the middle of every edge that `rough` names, and so on until it names
    /// none.
    #[must_use]
    pub fn with_points_where(&self, rough: impl Fn(DVec2, DVec2) -> bool) -> Self {
        let refine = |contour: &Vec<DVec2>| {
            let mut points = Vec::with_capacity(contour.len());
            for (i, &a) in contour.iter().enumerate() {
                // Ends of the pieces of this edge still to be looked at, the next one last.
                let mut ends = vec![contour[(i + 1) % contour.len()]];
                let mut from = a;
                while let Some(&to) = ends.last() {
                    if rough(from, to) {
                        ends.push((from + to) / 2.0);
                    } else {
                        points.push(from);
                        from = to;
                        ends.pop();
                    }
                }
            }
            points
        };
        Self { contours: self.contours.iter().map(refine).collect() }
    }

    /// The region piece by piece: each outer contour with the holes inside it.
    pub fn pieces(&self) -> Vec<Self> {
        let (outers, holes): (Vec<_>, Vec<_>) = self.contours.iter().partition(|c| signed_area(c) > 0.0);
        let mut pieces: Vec<Self> = outers.into_iter().map(|c| Self { contours: vec![c.clone()] }).collect();
        for hole in holes {
            // A hole belongs to the smallest outer contour around it.
            let owner = pieces
                .iter_mut()
                .filter(|p| winding(&p.contours[0], hole[0]) != 0)
                .min_by(|a, b| signed_area(&a.contours[0]).total_cmp(&signed_area(&b.contours[0])));
            if let Some(piece) = owner {
                piece.contours.push(hole.clone());
            }
        }
        pieces
    }

    /// Whether `p` lies inside. Points on the boundary may fall either way.
    pub fn contains(&self, p: DVec2) -> bool {
        self.contours.iter().map(|c| winding(c, p)).sum::<i32>() != 0
    }

    /// Distance from `p` to the boundary, mm: positive inside, negative outside.
    pub fn depth(&self, p: DVec2) -> f64 {
        let distance = self.edges().map(|(a, b)| distance_to_segment(p, a, b)).fold(f64::INFINITY, f64::min);
        if self.contains(p) { distance } else { -distance }
    }

    /// The same region with every point moved to the grid that booleans snap to, so that what a boolean
    /// makes of it adds up to it exactly.
    #[must_use]
    pub fn snapped(mut self) -> Self {
        self.contours.iter_mut().flatten().for_each(|p| *p = dvec2(on_grid(p.x), on_grid(p.y)));
        self
    }

    /// Every edge from its first to its second point, the inside on its left.
    pub fn edges(&self) -> impl Iterator<Item = (DVec2, DVec2)> + '_ {
        self.contours.iter().flat_map(|c| (0..c.len()).map(move |i| (c[i], c[(i + 1) % c.len()])))
    }

    /// The intervals of x that lie inside at height `y`, from left to right.
    pub fn row(&self, y: f64) -> Vec<(f64, f64)> {
        let mut crossings: Vec<f64> = self
            .edges()
            .filter(|(a, b)| (a.y > y) != (b.y > y))
            .map(|(a, b)| a.x + (b.x - a.x) * (y - a.y) / (b.y - a.y))
            .collect();
        crossings.sort_by(f64::total_cmp);
        crossings.chunks_exact(2).map(|pair| (pair[0], pair[1])).collect()
    }

    fn from_paths(paths: clipper::PathsD) -> Self {
        let contours = paths.into_iter().map(|path| path.iter().map(|p| dvec2(p.x, p.y)).collect()).collect();
        // Out of the library a coordinate may lie a last digit beside the grid.
        Self { contours }.snapped()
    }
}

fn to_paths(contours: &[Vec<DVec2>]) -> clipper::PathsD {
    contours.iter().map(|c| c.iter().map(|p| clipper::PointD { x: p.x, y: p.y }).collect()).collect()
}

/// Area inside a contour by the shoelace formula, mm²; negative when it runs clockwise.
pub fn signed_area(contour: &[DVec2]) -> f64 {
    let Some(&origin) = contour.first() else { return 0.0 };
    let cross = |i: usize| {
        let next = contour[(i + 1) % contour.len()] - origin;
        (contour[i] - origin).perp_dot(next)
    };
    (0..contour.len()).map(cross).sum::<f64>() / 2.0
}

/// How often `contour` runs round `p`, counter-clockwise counted positive.
pub fn winding(contour: &[DVec2], p: DVec2) -> i32 {
    let mut turns = 0;
    for i in 0..contour.len() {
        let (a, b) = (contour[i], contour[(i + 1) % contour.len()]);
        let side = (b - a).perp_dot(p - a);
        if a.y <= p.y && b.y > p.y && side > 0.0 {
            turns += 1;
        } else if a.y > p.y && b.y <= p.y && side < 0.0 {
            turns -= 1;
        }
    }
    turns
}

/// Distance from `p` to the segment from `a` to `b`, mm.
pub fn distance_to_segment(p: DVec2, a: DVec2, b: DVec2) -> f64 {
    let along = b - a;
    let length_squared = along.length_squared();
    let t = if length_squared == 0.0 { 0.0 } else { ((p - a).dot(along) / length_squared).clamp(0.0, 1.0) };
    p.distance(a + along * t)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn square(side: f64) -> Region {
        Region::rectangle(DVec2::ZERO, DVec2::splat(side))
    }

    #[test]
    fn a_square_has_its_area_and_holes_take_theirs() {
        let ring = square(10.0).difference(&square(4.0).placed(0.0, dvec2(3.0, 3.0)));
        assert_eq!(square(10.0).area(), 100.0);
        assert!((ring.area() - 84.0).abs() < 1e-9);
        assert_eq!(ring.pieces().len(), 1);
        assert!(ring.contains(dvec2(1.0, 1.0)) && !ring.contains(dvec2(5.0, 5.0)));
        assert_eq!(ring.row(5.0), vec![(0.0, 3.0), (7.0, 10.0)]);
    }

    #[test]
    fn insetting_a_square_keeps_it_square_and_outsetting_rounds_it() {
        let fine = Tolerance::new(1e-4).unwrap();
        assert!((square(10.0).inset(1.0, fine).area() - 64.0).abs() < 1e-6);
        // Steiner's formula for a convex region: A + P d + π d².
        let expected = 100.0 + 40.0 + std::f64::consts::PI;
        assert!((square(10.0).outset(1.0, fine).area() - expected).abs() < 1e-3);
    }

    #[test]
    fn depth_is_signed() {
        assert_eq!(square(10.0).depth(dvec2(5.0, 2.0)), 2.0);
        assert_eq!(square(10.0).depth(dvec2(13.0, 14.0)), -5.0);
    }
}
