//! A middle line → the strands that lie along it; whether these would lie in each other.

use std::f64::consts::TAU;

use glam::{DVec2, DVec3};

use super::courses::{Course, Spot};
use crate::design::{Roll, Strand};
use geom::{Tolerance, real, sweep};

/// Two strands go once round each other in so many times the thickness over both (common practice, no source).
pub const PITCH: f64 = 2.5;

/// Places on each turn of a strand.
const TURN: u32 = 20;

/// What lies along `course`.
pub(super) fn strands(roll: &Roll, course: &Course, tolerance: Tolerance) -> Vec<Strand> {
    if roll.twisted {
        return twisted(roll, course);
    }
    let thick = roll.diameter / 2.0;
    if let Some(DVec2 { x: radius, y: height }) = course.ring {
        return vec![Strand::Ring { radius, height, thick }];
    }
    let line = Line::of(course);
    let stations = if course.closed {
        line.spots(line.count(step(thick, tolerance))).into_iter().map(|(_, spot)| (spot.at, thick)).collect()
    } else {
        let points: Vec<DVec3> =
            line.spots(line.count(step(thick, tolerance))).into_iter().map(|(_, spot)| spot.at).collect();
        bar(roll, thick).stations(&points)
    };
    vec![Strand::Line { stations, closed: course.closed }]
}

/// How far places along a bar of this radius lie apart, mm.
fn step(thick: f64, tolerance: Tolerance) -> f64 {
    // As far as a bend as tight as the bar is thick strays four times the tolerance from its chord.
    (8.0 * thick * 4.0 * tolerance.chord_mm()).sqrt().clamp(0.5, 4.0)
}

fn bar(roll: &Roll, radius: f64) -> sweep::Bar {
    let share = roll.end_diameter / roll.diameter;
    sweep::Bar { radius, taper: roll.taper, end_radius: radius * share }
}

/// Two strands round a middle line: each a helix about it.
fn twisted(roll: &Roll, course: &Course) -> Vec<Strand> {
    let radius = roll.strand_radius();
    let line = Line::of(course);
    let length = line.length();
    // All round the turns are whole, so that each strand meets itself.
    let turns = length / (PITCH * roll.diameter);
    let turns = if course.closed { turns.round().max(1.0) } else { turns };
    let count = ((turns * f64::from(TURN)).ceil() as u32).max(12);
    let bar = bar(roll, radius);
    let taper = if course.closed { 0.0 } else { bar.taper.min(length / 2.0) };
    let spots = line.spots(count);
    let n = spots.len();
    let way = |i: usize| {
        let (before, after) = match course.closed {
            true => ((i + n - 1) % n, (i + 1) % n),
            false => (i.saturating_sub(1), (i + 1).min(n - 1)),
        };
        (spots[after].1.at - spots[before].1.at).normalize_or_zero()
    };
    let strand = |first: f64| {
        let station = |(i, &(along, spot)): (usize, &(f64, Spot))| {
            let out = (spot.out - way(i) * spot.out.dot(way(i))).normalize_or(spot.out);
            let beside = way(i).cross(out);
            let thick = if taper > 0.0 { bar.radius_at(along.min(length - along), taper) } else { radius };
            let (sin, cos) = real::sin_cos(TAU * (turns * along / length + first));
            (spot.at + (out * cos + beside * sin) * (thick * Roll::TOGETHER), thick)
        };
        let stations = spots.iter().enumerate().map(station).collect();
        Strand::Line { stations, closed: course.closed }
    };
    vec![strand(0.0), strand(0.5)]
}

/// A course by arc length.
struct Line<'a> {
    course: &'a Course,
    /// Arc length at every place, and at the end of a closed one.
    along: Vec<f64>,
}

impl<'a> Line<'a> {
    fn of(course: &'a Course) -> Self {
        let mut along = vec![0.0];
        let places = &course.places;
        let pairs = if course.closed { places.len() } else { places.len().saturating_sub(1) };
        for i in 0..pairs {
            let next = &places[(i + 1) % places.len()];
            along.push(along[i] + places[i].at.distance(next.at));
        }
        Self { course, along }
    }

    fn length(&self) -> f64 {
        self.along.last().copied().unwrap_or(0.0)
    }

    /// How many steps of at most `step` mm there are along it.
    fn count(&self, step: f64) -> u32 {
        ((self.length() / step).ceil() as u32).max(8)
    }

    /// Places at even steps with their arc length; the end of one that is not closed among them.
    fn spots(&self, count: u32) -> Vec<(f64, Spot)> {
        let last = if self.course.closed { count } else { count + 1 };
        (0..last)
            .map(|i| {
                let along = self.length() * f64::from(i) / f64::from(count);
                (along, self.at(along))
            })
            .collect()
    }

    fn at(&self, along: f64) -> Spot {
        let places = &self.course.places;
        let i = self.along.partition_point(|at| *at <= along).clamp(1, self.along.len() - 1) - 1;
        let (from, to) = (places[i], places[(i + 1) % places.len()]);
        let share =
            ((along - self.along[i]) / (self.along[i + 1] - self.along[i]).max(1e-12)).clamp(0.0, 1.0);
        Spot { at: from.at.lerp(to.at, share), out: from.out.lerp(to.out, share).normalize_or(from.out) }
    }
}

/// Places along the middle of a strand.
struct MiddleLine {
    /// Each with how far along it is, mm.
    places: Vec<(f64, DVec3)>,
    /// How long it is if it is closed, mm.
    round: Option<f64>,
}

/// Whether a roll of this thickness along the middle lines of `roll` would lie in itself: where its line bends back more
/// tightly than it is thick, or comes back to where it was.
pub fn overlaps_itself(roll: &Roll, diameter: f64) -> bool {
    /// Places looked at.
    const MOST: usize = 240;
    /// Of a bend as tight as the roll is thick, half a turn is so many times its thickness long.
    const HALF_TURN: f64 = std::f64::consts::FRAC_PI_2;
    // Flattened and soft, it gives a little.
    let least = diameter * (1.0 - Roll::FLATTENED);
    // Of twisted strands one stands for the middle line, which it winds about.
    let strands = roll.strands().iter().step_by(if roll.twisted { 2 } else { 1 });
    let mut lines: Vec<MiddleLine> = Vec::new();
    for strand in strands {
        let places: Vec<DVec3> = strand.places(diameter / 2.0).iter().map(|(p, _)| *p).collect();
        let mut along = 0.0;
        let mut last = places.first().copied().unwrap_or_default();
        let placed: Vec<(f64, DVec3)> = places
            .iter()
            .map(|p| {
                along += last.distance(*p);
                last = *p;
                (along, *p)
            })
            .collect();
        let every = placed.len().div_ceil(MOST).max(1);
        let round = strand.is_closed().then(|| strand.along());
        if round.is_some_and(|round| round < std::f64::consts::PI * least) {
            return true;
        }
        lines.push(MiddleLine { places: placed.into_iter().step_by(every).collect(), round });
    }
    let winds = if roll.twisted { 2.0 * roll.strand_radius() * Roll::TOGETHER } else { 0.0 };
    let too_near = |p: DVec3, q: DVec3| p.distance(q) < (least - winds).max(0.0);
    lines.iter().enumerate().any(|(i, MiddleLine { places, round })| {
        let own = places.iter().enumerate().any(|(k, (s, p))| {
            places[k + 1..].iter().any(|(t, q)| {
                let apart = round.map_or(t - s, |round| (t - s).min(round - (t - s)));
                apart > HALF_TURN * diameter && too_near(*p, *q)
            })
        });
        own || lines[i + 1..]
            .iter()
            .any(|other| places.iter().any(|(_, p)| other.places.iter().any(|(_, q)| too_near(*p, *q))))
    })
}

/// The greatest thickness, in steps of a twentieth, at which `roll` would not lie in itself, mm; `None` where that is less
/// than half of what it has: its line is too tight for a roll then.
pub fn thickest_that_fits(roll: &Roll) -> Option<f64> {
    (1..=10)
        .map(|i| roll.diameter * f64::from(20 - i) / 20.0)
        .find(|diameter| !overlaps_itself(roll, *diameter))
}
