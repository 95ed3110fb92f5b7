//! Crossings whose upright edges are rounded.
//!
//! Where both views go on without a step there is a run of sections, one mesh each; runs are then joined. Where a
//! shape parts, as a body into head and tail, runs meet in a section, and are equally round in the corners that
//! go on.

use glam::{DVec2, DVec3, dvec2};

use super::{Band, LEVEL, Rows, Softening};
use crate::{Tolerance, TriMesh, region::distance_to_segment, tower::tower};

/// Rows of a softened crossing lie at most this far apart, mm.
const ROW: f64 = 3.0;

/// Closed meshes, each over stretches that go on from height to height without a step.
pub(super) fn towers(front: &Rows, side: &Rows, softening: Softening, tolerance: Tolerance) -> Vec<TriMesh> {
    let mut runs: Vec<Run> = Vec::new();
    for pair in front.beside(side) {
        match runs.iter_mut().find(|run| run.goes_on(&pair)) {
            Some(run) => run.bands.push(pair),
            None => runs.push(Run { bands: vec![pair], held: Vec::new() }),
        }
    }
    hold_corners(&mut runs, softening);
    let half = |ends: DVec2| (ends.y - ends.x) / 2.0;
    let widest =
        |view: &Rows| view.bands.iter().flat_map(|b| [half(b.at_low), half(b.at_high)]).fold(0.0, f64::max);
    let largest = dvec2(widest(front), widest(side)).min(DVec2::splat(softening.most()));
    let quarter = quarter(softening.exponent(), largest, tolerance);
    let stands = |run: &Run| {
        let foot = run.end(false).height;
        runs.iter().any(|below| (below.end(true).height - foot).abs() <= LEVEL)
    };
    runs.iter().map(|run| tower(&run.rows(softening, &quarter, stands(run)))).collect()
}

/// A stretch of the front with one of the side, over heights through which both go on.
struct Run {
    bands: Vec<(Band, Band)>,
    /// Corners that another run goes on from, which has room for less: so much roundness there, and so on.
    held: Vec<Held>,
}

/// A corner of a section, by its sides: left or right, front or back.
type Side4 = [bool; 2];

/// All corners of a section, counter-clockwise from the right of the back.
const SIDES: [Side4; 4] = [[true, true], [false, true], [false, false], [true, false]];

/// A corner that may be no rounder at a height than that of the run it meets there.
struct Held {
    corner: Side4,
    height: f64,
    radii: DVec2,
}

/// What stands on another run reaches so far into it, mm: solids that only touch are no one solid.
const ROOT: f64 = 0.01;
/// How fast corners may grow rounder with height, away from where they are held.
const GROWS: f64 = 2.0;
/// Ends that are closer than this are one, mm.
const SAME: f64 = 1e-6;

impl Run {
    fn goes_on(&self, (c, d): &(Band, Band)) -> bool {
        self.bands.last().is_some_and(|(a, b)| {
            (c.low - a.high).abs() <= LEVEL
                && a.at_high.distance(c.at_low) < SAME
                && b.at_high.distance(d.at_low) < SAME
        })
    }

    /// The lower (or upper) end: its height and the ends of both views there.
    fn end(&self, upper: bool) -> Section {
        let (a, b) = if upper { &self.bands[self.bands.len() - 1] } else { &self.bands[0] };
        if upper {
            Section { height: a.high, front: a.at_high, side: b.at_high }
        } else {
            Section { height: a.low, front: a.at_low, side: b.at_low }
        }
    }

    /// How round a corner is in both directions, mm.
    fn radii(&self, section: &Section, corner: Side4, softening: Softening) -> DVec2 {
        let own = softening.radii(section.half());
        let held = self.held.iter().filter(|held| held.corner == corner);
        held.fold(own, |radii, held| radii.min(held.radii + GROWS * (section.height - held.height).abs()))
    }

    /// The points of all rows, from the lowest up; one more below where it stands on another run.
    fn rows(&self, softening: Softening, quarter: &[DVec2], stands: bool) -> Vec<Vec<DVec3>> {
        let mut rows = Vec::new();
        if stands {
            let row = self.row(&self.end(false), softening, quarter);
            rows.push(row.into_iter().map(|p| p - DVec3::Z * ROOT).collect());
        }
        for (i, (a, b)) in self.bands.iter().enumerate() {
            let pieces = ((a.high - a.low) / ROW).ceil().max(1.0) as u32;
            for k in u32::from(i > 0)..=pieces {
                // The last exactly at its end, so that runs on each other touch.
                let share = f64::from(k) / f64::from(pieces);
                let height = if k == pieces { a.high } else { a.low + (a.high - a.low) * share };
                let section = Section { height, front: a.at(height), side: b.at(height) };
                rows.push(self.row(&section, softening, quarter));
            }
        }
        rows
    }

    fn row(&self, section: &Section, softening: Softening, quarter: &[DVec2]) -> Vec<DVec3> {
        let (middle, half) = (section.middle(), section.half());
        let corner = |(i, corner): (usize, &Side4)| {
            let radii = self.radii(section, *corner, softening);
            let towards = dvec2(if corner[0] { 1.0 } else { -1.0 }, if corner[1] { 1.0 } else { -1.0 });
            let point = |u: &DVec2| (middle + towards * (half - radii + radii * *u)).extend(section.height);
            let mut points: Vec<DVec3> = quarter.iter().map(point).collect();
            if i % 2 == 1 {
                points.reverse();
            }
            points
        };
        SIDES.iter().enumerate().flat_map(corner).collect()
    }
}

/// Between which ends both views lie at a height.
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
        // Narrower is an edge or a tip: mirrored points must fall together there.
        DVec2::select(half.cmpgt(DVec2::splat(SAME)), half, DVec2::ZERO)
    }

    fn holds(&self, p: DVec2) -> bool {
        ((p - self.middle()).abs() - self.half()).max_element() <= SAME
    }

    fn corner(&self, [right, back]: Side4) -> DVec2 {
        dvec2(if right { self.front.y } else { self.front.x }, if back { self.side.y } else { self.side.x })
    }
}

/// Where runs meet they are equally round: in a corner that both have, as the less round of the two; in one that only
/// one of them has and that lies in the other, not at all. So what parts into a head and a tail has no shelf where
/// they part.
fn hold_corners(runs: &mut [Run], softening: Softening) {
    let mut held: Vec<(usize, Held)> = Vec::new();
    for below in 0..runs.len() {
        for above in 0..runs.len() {
            let (top, bottom) = (runs[below].end(true), runs[above].end(false));
            if (top.height - bottom.height).abs() > LEVEL {
                continue;
            }
            for corner in SIDES {
                let height = top.height;
                if top.corner(corner).distance(bottom.corner(corner)) <= SAME {
                    let radii = softening.radii(top.half()).min(softening.radii(bottom.half()));
                    held.push((below, Held { corner, height, radii }));
                    held.push((above, Held { corner, height, radii }));
                    continue;
                }
                let radii = DVec2::ZERO;
                if bottom.holds(top.corner(corner)) {
                    held.push((below, Held { corner, height, radii }));
                }
                if top.holds(bottom.corner(corner)) {
                    held.push((above, Held { corner, height, radii }));
                }
            }
        }
    }
    for (run, held) in held {
        runs[run].held.push(held);
    }
}

impl Softening {
    fn exponent(self) -> f64 {
        match self {
            Self::Exponent(n) => n,
            Self::Corner(_) => 2.0,
        }
    }

    /// The most that a corner is rounded, mm.
    fn most(self) -> f64 {
        match self {
            Self::Exponent(_) => f64::INFINITY,
            Self::Corner(radius) => radius,
        }
    }

    /// How round the corners of a rectangle of half sizes `half` are in both directions, mm.
    fn radii(self, half: DVec2) -> DVec2 {
        match self {
            Self::Exponent(_) => half,
            Self::Corner(radius) => DVec2::splat(radius.min(half.min_element())),
        }
    }
}

/// Points of a corner of radii 1, from straight right to straight up.
fn quarter(exponent: f64, largest: DVec2, tolerance: Tolerance) -> Vec<DVec2> {
    let point = |angle: f64| {
        let d = DVec2::from_angle(angle);
        d / (d.x.abs().powf(exponent) + d.y.abs().powf(exponent)).powf(1.0 / exponent)
    };
    fine_angles(point, largest, tolerance)
}

/// Points of a quarter of a curve from straight right to straight up, as many as keep it within `tolerance` once it
/// is stretched by `by`.
fn fine_angles(point: impl Fn(f64) -> DVec2, by: DVec2, tolerance: Tolerance) -> Vec<DVec2> {
    /// Pieces that are always made, and the most.
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
