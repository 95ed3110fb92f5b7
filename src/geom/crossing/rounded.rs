//! Crossings whose upright edges are rounded.
//!
//! Where both views continue without a step there is a stack of sections, one mesh each; their union is the crossing.
//! Where a shape divides, as a body into head and tail, stacks meet in a section, and are equally round in the corners
//! that continue. A section that steps, by however little, keeps the radius of its corners: only where parts of it
//! touch are their corners pointed, so that no level face opens between them.

use glam::{DVec2, DVec3, dvec2};

use super::{EdgeRounding, LEVEL, Trapezoid, Trapezoids};
use crate::real;
use crate::{Cancel, Cancelled, Region, Tolerance, TriMesh, region::distance_to_segment, ruled::ruled};

/// Sections of a rounded crossing lie at most this far apart, mm.
const SECTION_DISTANCE: f64 = 3.0;

/// What rounding made.
pub(super) struct Rounded {
    /// Closed meshes, one for each stack of sections, with the outlines from above that each is to be cut to.
    pub meshes: Vec<(TriMesh, Vec<Region>)>,
    /// Edges that are rounded less than asked for, from the lowest up.
    pub tighter: Vec<TighterEdge>,
}

/// A stretch of an upright edge that is rounded less than asked for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TighterEdge {
    /// Which edge.
    pub corner: SectionCorner,
    /// From where to where it is so, mm.
    pub heights: (f64, f64),
    /// The least radius there, mm.
    pub radius: f64,
    /// The radius that its sections have room for there, mm.
    pub room: f64,
    /// The corner of the section where the radius is least, mm.
    pub at: DVec3,
}

/// Rounds the upright edges of a crossing, stack by stack.
pub(super) fn section_meshes(
    front: &Trapezoids,
    side: &Trapezoids,
    rounding: EdgeRounding,
    tolerance: Tolerance,
    cancel: &Cancel,
) -> Result<Rounded, Cancelled> {
    let mut stacks: Vec<SectionStack> = Vec::new();
    for pair in front.pairs(side) {
        match stacks.iter_mut().find(|stack| stack.continues_in(&pair)) {
            Some(stack) => stack.pairs.push(pair),
            None => {
                stacks.push(SectionStack { pairs: vec![pair], limits: Vec::new(), within: Vec::new() });
            }
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
    let meshes = stacks
        .iter()
        .map(|stack| {
            let outline = |&(other, upper): &(usize, bool)| {
                let other: &SectionStack = &stacks[other];
                let row = other.row(&other.end(upper), rounding, &quarter);
                Region::new(vec![row.into_iter().map(DVec3::truncate).collect()])
            };
            let outlines = stack.within.iter().map(outline).collect();
            Ok((ruled(&stack.rows(rounding, &quarter, rests(stack)), cancel)?, outlines))
        })
        .collect::<Result<_, Cancelled>>()?;
    Ok(Rounded { meshes, tighter: tighter_edges(&stacks, rounding) })
}

/// The stretches of all edges whose radius is less than [`TIGHTER`] of what their sections have room for.
fn tighter_edges(stacks: &[SectionStack], rounding: EdgeRounding) -> Vec<TighterEdge> {
    let mut found: Vec<TighterEdge> = Vec::new();
    for stack in stacks.iter().filter(|stack| !stack.limits.is_empty()) {
        for corner in CORNERS {
            let mut open: Option<TighterEdge> = None;
            for section in stack.sections() {
                let room = rounding.radii(section.half()).min_element();
                let radius = stack.radii(&section, corner, rounding).min_element();
                let height = section.height;
                if radius >= TIGHTER * room || room < LEAST_ROOM {
                    found.extend(open.take());
                    continue;
                }
                let here = TighterEdge {
                    corner,
                    heights: (height, height),
                    radius,
                    room,
                    at: section.corner(corner).extend(height),
                };
                let edge = open.get_or_insert(here);
                edge.heights.1 = height;
                if radius < edge.radius {
                    (edge.radius, edge.room, edge.at) = (here.radius, here.room, here.at);
                }
            }
            found.extend(open);
        }
    }
    joined(found)
}

/// An edge is told to be rounded less than asked for below this part of the radius that there is room for.
const TIGHTER: f64 = 0.75;
/// Sections with room for a smaller radius are not looked at, mm: nobody sees it.
const LEAST_ROOM: f64 = 2.0;

/// Stretches of the same edge that continue one another, as one.
fn joined(mut edges: Vec<TighterEdge>) -> Vec<TighterEdge> {
    edges.sort_by(|a, b| a.heights.0.total_cmp(&b.heights.0));
    let mut joined: Vec<TighterEdge> = Vec::new();
    for edge in edges {
        let continued = joined.iter_mut().rev().find(|last| {
            last.corner == edge.corner
                && edge.heights.0 <= last.heights.1 + SECTION_DISTANCE
                && last.at.truncate().distance(edge.at.truncate()) < last.room.max(edge.room)
        });
        match continued {
            Some(last) => {
                let heights = (last.heights.0, last.heights.1.max(edge.heights.1));
                let tightest = if edge.radius < last.radius { edge } else { *last };
                *last = TighterEdge { heights, ..tightest };
            }
            None => joined.push(edge),
        }
    }
    joined
}

/// Trapezoids of the front with ones of the side, over heights through which both continue without a step.
struct SectionStack {
    pairs: Vec<(Trapezoid, Trapezoid)>,
    /// Limits of the radii of its corners where it meets other stacks.
    limits: Vec<RadiusLimit>,
    /// Stacks, and whether their upper ends, inside whose end section it is cut.
    within: Vec<(usize, bool)>,
}

/// A corner of a section.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SectionCorner {
    /// Whether it is right, else left.
    pub right: bool,
    /// Whether it is back, else front.
    pub back: bool,
}

/// All corners of a section, counter-clockwise from the back right one.
const CORNERS: [SectionCorner; 4] = [
    SectionCorner { right: true, back: true },
    SectionCorner { right: false, back: true },
    SectionCorner { right: false, back: false },
    SectionCorner { right: true, back: false },
];

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
        rows.extend(self.sections().map(|section| self.row(&section, rounding, quarter)));
        rows
    }

    /// The sections, from the lowest up.
    fn sections(&self) -> impl Iterator<Item = Section> + '_ {
        self.pairs.iter().enumerate().flat_map(|(i, (a, b))| {
            let pieces = ((a.high - a.low) / SECTION_DISTANCE).ceil().max(1.0) as u32;
            (u32::from(i > 0)..=pieces).map(move |k| {
                // The last exactly at its end, so that stacks on each other meet.
                let share = f64::from(k) / f64::from(pieces);
                let height = if k == pieces { a.high } else { a.low + (a.high - a.low) * share };
                Section { height, front: a.at(height), side: b.at(height) }
            })
        })
    }

    fn row(&self, section: &Section, rounding: EdgeRounding, quarter: &[DVec2]) -> Vec<DVec3> {
        let (middle, half) = (section.middle(), section.half());
        let corner = |(i, corner): (usize, &SectionCorner)| {
            let radii = self.radii(section, *corner, rounding);
            let towards = dvec2(if corner.right { 1.0 } else { -1.0 }, if corner.back { 1.0 } else { -1.0 });
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

    /// Whether it has a part in common with `other`.
    fn overlaps(&self, other: &Self) -> bool {
        let share = |a: DVec2, b: DVec2| a.y.min(b.y) - a.x.max(b.x) > SAME;
        share(self.front, other.front) && share(self.side, other.side)
    }

    fn corner(&self, SectionCorner { right, back }: SectionCorner) -> DVec2 {
        dvec2(if right { self.front.y } else { self.front.x }, if back { self.side.y } else { self.side.x })
    }
}

/// What rests on what.
struct Meeting {
    /// Lower and upper end of each stack.
    ends: Vec<[Section; 2]>,
    /// Stacks that rest on one another: the lower, the upper.
    resting: Vec<(usize, usize)>,
    /// How far the shape goes on from the lower end of each stack upwards, and from its upper end downwards, mm.
    extents: Vec<[f64; 2]>,
}

impl Meeting {
    fn of(stacks: &[SectionStack]) -> Self {
        let ends: Vec<[Section; 2]> =
            stacks.iter().map(|stack| [stack.end(false), stack.end(true)]).collect();
        let mut resting: Vec<(usize, usize)> = Vec::new();
        for (below, [_, top]) in ends.iter().enumerate() {
            let rests = |[bottom, _]: &[Section; 2]| {
                (bottom.height - top.height).abs() <= LEVEL && bottom.overlaps(top)
            };
            resting.extend((0..ends.len()).filter(|i| rests(&ends[*i])).map(|above| (below, above)));
        }
        let mut meeting = Self { ends, resting, extents: Vec::new() };
        let extent = |stack: usize| {
            let [bottom, top] = meeting.ends[stack].map(|end| end.height);
            let highest = meeting.reached(stack, true).into_iter().map(|i| meeting.ends[i][1].height);
            let lowest = meeting.reached(stack, false).into_iter().map(|i| meeting.ends[i][0].height);
            [highest.fold(top, f64::max) - bottom, top - lowest.fold(bottom, f64::min)]
        };
        meeting.extents = (0..stacks.len()).map(extent).collect();
        meeting
    }

    /// The stack and all that rests on it, directly or not, or that it rests on.
    fn reached(&self, stack: usize, upwards: bool) -> Vec<usize> {
        let mut reached = vec![stack];
        let mut next = 0;
        while let Some(&here) = reached.get(next) {
            for &(below, above) in &self.resting {
                let (from, to) = if upwards { (below, above) } else { (above, below) };
                if from == here && !reached.contains(&to) {
                    reached.push(to);
                }
            }
            next += 1;
        }
        reached
    }
}

/// Where one stack rests on another, the radii of a corner that continues are equal, or differ by no more than the step
/// between them lets: a larger radius below a smaller one would leave a part of the upper section without a rest. Where
/// two stacks touch, as head and tail above a body, or legs below it, the corners that touch are pointed: so a shape
/// that divides has no level face where it does.
///
/// What is so low that the other would be rounded less over a greater height than its own, as a notch where a foot
/// begins, changes no radius: it is cut to the outline of what it meets.
fn limit_radii(stacks: &mut [SectionStack], rounding: EdgeRounding) {
    let meeting = Meeting::of(stacks);
    let mut limits: Vec<(usize, RadiusLimit)> = Vec::new();
    for stack in 0..stacks.len() {
        for upwards in [true, false] {
            limit_at_gaps(&meeting, stack, upwards, rounding, &mut limits);
        }
    }
    // A limit reaches through low stacks to the next ones.
    loop {
        for (stack, limit) in limits.drain(..) {
            stacks[stack].limits.push(limit);
        }
        for &(below, above) in &meeting.resting {
            let (top, bottom) = (&meeting.ends[below][1], &meeting.ends[above][0]);
            for corner in CORNERS {
                let step = top.corner(corner).distance(bottom.corner(corner));
                let lower = stacks[below].radii(top, corner, rounding);
                let upper = stacks[above].radii(bottom, corner, rounding);
                let most = lower.min(upper) + RADIUS_GROWTH * step;
                for (stack, own, other, is_above) in
                    [(below, lower, above, true), (above, upper, below, false)]
                {
                    let excess = (own - most).max_element();
                    if excess <= SAME {
                        continue;
                    }
                    if RADIUS_GROWTH * meeting.extents[other][usize::from(!is_above)] < excess {
                        for low in meeting.reached(other, is_above) {
                            if !stacks[low].within.contains(&(stack, is_above)) {
                                stacks[low].within.push((stack, is_above));
                            }
                        }
                    } else {
                        limits.push((stack, RadiusLimit { corner, height: top.height, radii: most }));
                    }
                }
            }
        }
        if limits.is_empty() {
            return;
        }
    }
}

/// Limits the radii of corners that face each other across a gap by the gap, among the stacks that meet one end of
/// `common`.
fn limit_at_gaps(
    meeting: &Meeting,
    common: usize,
    upwards: bool,
    rounding: EdgeRounding,
    limits: &mut Vec<(usize, RadiusLimit)>,
) {
    let end = &meeting.ends[common][usize::from(upwards)];
    // What is lower than the rounding changes no radius.
    let least = rounding.radii(end.half()).min_element() / RADIUS_GROWTH;
    let sides: Vec<usize> = meeting
        .resting
        .iter()
        .filter_map(|&(below, above)| {
            let (from, to) = if upwards { (below, above) } else { (above, below) };
            (from == common && meeting.extents[to][usize::from(!upwards)] > least).then_some(to)
        })
        .collect();
    for &one in &sides {
        for &other in &sides {
            let [a, b] = [one, other].map(|i| &meeting.ends[i][usize::from(!upwards)]);
            let along_front = a.side.distance(b.side) <= SAME && b.front.x - a.front.y > -SAME;
            let along_side = a.front.distance(b.front) <= SAME && b.side.x - a.side.y > -SAME;
            if one == other || !(along_front || along_side) {
                continue;
            }
            let gap = if along_front { b.front.x - a.front.y } else { b.side.x - a.side.y };
            let radii = DVec2::splat(RADIUS_GROWTH * gap.max(0.0));
            for corner in CORNERS {
                let faces = if along_front { corner.right } else { corner.back };
                let stack = if faces { one } else { other };
                limits.push((stack, RadiusLimit { corner, height: end.height, radii }));
            }
        }
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
