//! Crossings whose upright edges are rounded.
//!
//! Where both views continue without a step there is a stack of sections, one mesh each; their union is the crossing.
//! Where a shape divides, as a body into head and tail, stacks meet in a section, and are equally round in the corners
//! that continue.

use glam::{DVec2, DVec3, dvec2};

use super::{EdgeRounding, LEVEL, Trapezoid, Trapezoids};
use crate::real;
use crate::{Cancel, Cancelled, Tolerance, TriMesh, region::distance_to_segment, ruled::ruled};

/// Sections of a rounded crossing lie at most this far apart, mm.
const SECTION_DISTANCE: f64 = 3.0;

/// Closed meshes, one for each stack of sections.
pub(super) fn section_meshes(
    front: &Trapezoids,
    side: &Trapezoids,
    rounding: EdgeRounding,
    tolerance: Tolerance,
    cancel: &Cancel,
) -> Result<Vec<TriMesh>, Cancelled> {
    let mut stacks: Vec<SectionStack> = Vec::new();
    for pair in front.pairs(side) {
        match stacks.iter_mut().find(|stack| stack.continues_in(&pair)) {
            Some(stack) => stack.pairs.push(pair),
            None => stacks.push(SectionStack { pairs: vec![pair], limits: Vec::new() }),
        }
    }
    limit_radii(&mut stacks, rounding);
    let half = |ends: DVec2| (ends.y - ends.x) / 2.0;
    let widest = |view: &Trapezoids| {
        view.all.iter().flat_map(|b| [half(b.at_low), half(b.at_high)]).fold(0.0, f64::max)
    };
    let largest = dvec2(widest(front), widest(side)).min(DVec2::splat(rounding.most()));
    let quarter = quarter(rounding.exponent(), largest, tolerance);
    let rests = |stack: &SectionStack| {
        let bottom = stack.end(false).height;
        stacks.iter().any(|below| (below.end(true).height - bottom).abs() <= LEVEL)
    };
    stacks.iter().map(|stack| ruled(&stack.rows(rounding, &quarter, rests(stack)), cancel)).collect()
}

/// Trapezoids of the front with ones of the side, over heights through which both continue without a step.
struct SectionStack {
    pairs: Vec<(Trapezoid, Trapezoid)>,
    /// Limits of the radii of its corners where it meets other stacks.
    limits: Vec<RadiusLimit>,
}

/// A corner of a section: whether it is right (else left) and back (else front).
type SectionCorner = [bool; 2];

/// All corners of a section, counter-clockwise from the back right one.
const CORNERS: [SectionCorner; 4] = [[true, true], [false, true], [false, false], [true, false]];

/// The greatest radii of a corner at the height where it meets another stack, mm.
struct RadiusLimit {
    corner: SectionCorner,
    height: f64,
    radii: DVec2,
}

/// A stack that rests on another overlaps it by this much, mm: the union of solids that only touch is not manifold.
const OVERLAP: f64 = 0.01;
/// Growth of a radius with the distance in height from where it is limited, mm per mm.
const RADIUS_GROWTH: f64 = 2.0;
/// Ends closer than this are equal, mm.
const SAME: f64 = 1e-6;

impl SectionStack {
    fn continues_in(&self, (c, d): &(Trapezoid, Trapezoid)) -> bool {
        self.pairs.last().is_some_and(|(a, b)| {
            (c.low - a.high).abs() <= LEVEL
                && a.at_high.distance(c.at_low) < SAME
                && b.at_high.distance(d.at_low) < SAME
        })
    }

    /// The lower (or upper) end: its height and the ends of both views there.
    fn end(&self, upper: bool) -> Section {
        let (a, b) = if upper { &self.pairs[self.pairs.len() - 1] } else { &self.pairs[0] };
        if upper {
            Section { height: a.high, front: a.at_high, side: b.at_high }
        } else {
            Section { height: a.low, front: a.at_low, side: b.at_low }
        }
    }

    /// The radii of a corner in both directions, mm.
    fn radii(&self, section: &Section, corner: SectionCorner, rounding: EdgeRounding) -> DVec2 {
        let own = rounding.radii(section.half());
        let limits = self.limits.iter().filter(|limit| limit.corner == corner);
        limits.fold(own, |radii, limit| {
            radii.min(limit.radii + RADIUS_GROWTH * (section.height - limit.height).abs())
        })
    }

    /// The points of all sections, from the lowest up; one more below where it rests on another stack.
    fn rows(&self, rounding: EdgeRounding, quarter: &[DVec2], rests: bool) -> Vec<Vec<DVec3>> {
        let mut rows = Vec::new();
        if rests {
            let row = self.row(&self.end(false), rounding, quarter);
            rows.push(row.into_iter().map(|p| p - DVec3::Z * OVERLAP).collect());
        }
        for (i, (a, b)) in self.pairs.iter().enumerate() {
            let pieces = ((a.high - a.low) / SECTION_DISTANCE).ceil().max(1.0) as u32;
            for k in u32::from(i > 0)..=pieces {
                // The last exactly at its end, so that stacks on each other meet.
                let share = f64::from(k) / f64::from(pieces);
                let height = if k == pieces { a.high } else { a.low + (a.high - a.low) * share };
                let section = Section { height, front: a.at(height), side: b.at(height) };
                rows.push(self.row(&section, rounding, quarter));
            }
        }
        rows
    }

    fn row(&self, section: &Section, rounding: EdgeRounding, quarter: &[DVec2]) -> Vec<DVec3> {
        let (middle, half) = (section.middle(), section.half());
        let corner = |(i, corner): (usize, &SectionCorner)| {
            let radii = self.radii(section, *corner, rounding);
            let towards = dvec2(if corner[0] { 1.0 } else { -1.0 }, if corner[1] { 1.0 } else { -1.0 });
            let point = |u: &DVec2| (middle + towards * (half - radii + radii * *u)).extend(section.height);
            let mut points: Vec<DVec3> = quarter.iter().map(point).collect();
            if i % 2 == 1 {
                points.reverse();
            }
            points
        };
        CORNERS.iter().enumerate().flat_map(corner).collect()
    }
}

/// The rectangle that both views leave at a height.
#[derive(Debug, Clone, Copy)]
struct Section {
    height: f64,
    /// Left and right.
    front: DVec2,
    /// Front and back.
    side: DVec2,
}

impl Section {
    fn middle(&self) -> DVec2 {
        dvec2(self.front.x + self.front.y, self.side.x + self.side.y) / 2.0
    }

    fn half(&self) -> DVec2 {
        let half = dvec2(self.front.y - self.front.x, self.side.y - self.side.x) / 2.0;
        // Narrower is an edge or a tip: mirrored points must be equal there.
        DVec2::select(half.cmpgt(DVec2::splat(SAME)), half, DVec2::ZERO)
    }

    fn holds(&self, p: DVec2) -> bool {
        ((p - self.middle()).abs() - self.half()).max_element() <= SAME
    }

    fn corner(&self, [right, back]: SectionCorner) -> DVec2 {
        dvec2(if right { self.front.y } else { self.front.x }, if back { self.side.y } else { self.side.x })
    }
}

/// Where stacks meet, their radii are equal: in a corner that both have, the lesser of the two; in one that only one of
/// them has and that lies in the other, zero. So a shape that divides has no level face where it does.
fn limit_radii(stacks: &mut [SectionStack], rounding: EdgeRounding) {
    let mut limits: Vec<(usize, RadiusLimit)> = Vec::new();
    for below in 0..stacks.len() {
        for above in 0..stacks.len() {
            let (top, bottom) = (stacks[below].end(true), stacks[above].end(false));
            if (top.height - bottom.height).abs() > LEVEL {
                continue;
            }
            for corner in CORNERS {
                let height = top.height;
                if top.corner(corner).distance(bottom.corner(corner)) <= SAME {
                    let radii = rounding.radii(top.half()).min(rounding.radii(bottom.half()));
                    limits.push((below, RadiusLimit { corner, height, radii }));
                    limits.push((above, RadiusLimit { corner, height, radii }));
                    continue;
                }
                let radii = DVec2::ZERO;
                if bottom.holds(top.corner(corner)) {
                    limits.push((below, RadiusLimit { corner, height, radii }));
                }
                if top.holds(bottom.corner(corner)) {
                    limits.push((above, RadiusLimit { corner, height, radii }));
                }
            }
        }
    }
    for (stack, limit) in limits {
        stacks[stack].limits.push(limit);
    }
}

impl EdgeRounding {
    fn exponent(self) -> f64 {
        match self {
            Self::Exponent(n) => n,
            Self::Radius(_) => 2.0,
        }
    }

    /// The greatest radius of a corner, mm.
    fn most(self) -> f64 {
        match self {
            Self::Exponent(_) => f64::INFINITY,
            Self::Radius(radius) => radius,
        }
    }

    /// The radii of the corners of a rectangle of half sizes `half` in both directions, mm.
    fn radii(self, half: DVec2) -> DVec2 {
        match self {
            Self::Exponent(_) => half,
            Self::Radius(radius) => DVec2::splat(radius.min(half.min_element())),
        }
    }
}

/// Points of a corner of radii 1, from straight right to straight up.
fn quarter(exponent: f64, largest: DVec2, tolerance: Tolerance) -> Vec<DVec2> {
    let point = |angle: f64| {
        let d = real::unit_vector(angle);
        d / real::powf(real::powf(d.x.abs(), exponent) + real::powf(d.y.abs(), exponent), 1.0 / exponent)
    };
    fine_angles(point, largest, tolerance)
}

/// Points of a quarter of a curve from straight right to straight up, as many as keep it within `tolerance` once it
/// is stretched by `by`.
fn fine_angles(point: impl Fn(f64) -> DVec2, by: DVec2, tolerance: Tolerance) -> Vec<DVec2> {
    /// Number of pieces, at least and at most.
    const PIECES: (u32, usize) = (8, 4096);
    let last = std::f64::consts::FRAC_PI_2;
    let at = |angle: f64| {
        if angle == 0.0 {
            DVec2::X
        } else if angle == last {
            DVec2::Y
        } else {
            point(angle)
        }
    };
    let mut ends: Vec<f64> =
        (1..=PIECES.0).rev().map(|k| last * f64::from(k) / f64::from(PIECES.0)).collect();
    let mut from = 0.0;
    let mut points = vec![DVec2::X];
    while let Some(&to) = ends.last() {
        let middle = (from + to) / 2.0;
        let off = distance_to_segment(at(middle) * by, at(from) * by, at(to) * by);
        if off > tolerance.chord_mm() && points.len() + ends.len() < PIECES.1 {
            ends.push(middle);
        } else {
            points.push(at(to));
            from = to;
            ends.pop();
        }
    }
    points
}
