//! The meridian of a turned surface with arc lengths, and where it has edges and ledges.

use glam::DVec2;

use super::part::{Part, PartForm, Strain};
use crate::{develop::FlatPattern, real};

/// Where a profile turns by more than this between two pieces, it has a corner, degrees: curves are straightened finely
/// enough to turn by less.
pub const CORNER: f64 = 25.0;

/// Most places at which a meridian may be parted, besides its corners: the work goes with their cube.
const MOST_PLACES: f64 = 160.0;

/// Places are no nearer to each other than this, mm.
const NEAREST: f64 = 1.0;

/// How far to both sides of a place its turning is looked for, mm: an edge that is rounded by less is an edge.
const WINDOW: f64 = 8.0;

/// Where it turns outwards by more within the window, it is a ledge that no sheet follows in one piece, degrees.
const LEDGE: f64 = 50.0;

/// Where it turns by more within the window, it is an edge over which a sheet may be turned, degrees.
const EDGE: f64 = 40.0;

/// Points closer to the axis lie on it, mm.
const ON_AXIS: f64 = 1e-6;

/// Lengths are never divided by less than this, mm.
const LEAST: f64 = 1e-9;

/// A place on a meridian.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Place {
    /// (radius, height), mm.
    at: DVec2,
    /// Arc length from the foot, mm.
    along: f64,
    /// How far the meridian turns here within the window, degrees: above 0 towards the axis, as over the edge of a top.
    turn: f64,
}

/// The meridian of a turned surface from its foot up, at places that lie close together.
#[derive(Debug, Clone, PartialEq)]
pub struct Meridian {
    places: Vec<Place>,
    ledges: Vec<usize>,
    edges: Vec<usize>,
}

impl Meridian {
    /// The meridian that runs through `profile`, corners (radius, height) from its foot up with the solid on the left.
    /// `None` where they have no length.
    pub fn new(profile: &[DVec2]) -> Option<Self> {
        let mut profile = profile.to_vec();
        profile.dedup();
        let mut lengths = vec![0.0];
        for pair in profile.windows(2) {
            lengths.push(lengths[lengths.len() - 1] + pair[0].distance(pair[1]));
        }
        let whole = *lengths.last()?;
        if profile.len() < 2 || whole < NEAREST / 1e3 {
            return None;
        }
        let line = Polyline { points: &profile, lengths: &lengths };
        let step = (whole / MOST_PLACES).max(NEAREST);
        let is_corner = |i: usize| {
            let (before, after) = (profile[i] - profile[i - 1], profile[i + 1] - profile[i]);
            real::angle_from_to(before, after).to_degrees().abs() > CORNER
        };
        let mut ends: Vec<f64> =
            (1..profile.len() - 1).filter(|&i| is_corner(i)).map(|i| lengths[i]).collect();
        ends.push(whole);
        let mut along = vec![0.0];
        for end in ends {
            let from = along[along.len() - 1];
            let pieces = ((end - from) / step).ceil().max(1.0) as u32;
            along.extend((1..=pieces).map(|k| {
                if k == pieces { end } else { from + (end - from) * f64::from(k) / f64::from(pieces) }
            }));
        }
        let places: Vec<Place> = along
            .into_iter()
            .map(|s| Place { at: line.at(s), along: s, turn: line.turn(s, whole) })
            .collect();
        let ledges = peaks(&places, |turn| -turn, LEDGE);
        let edges = peaks(&places, f64::abs, EDGE);
        Some(Self { places, ledges, edges })
    }

    /// Number of its last place; its first is 0.
    pub fn last(&self) -> usize {
        self.places.len() - 1
    }

    /// (radius, height) of a place, mm.
    pub fn at(&self, place: usize) -> DVec2 {
        self.places[place].at
    }

    /// Arc length from one place to another above it, mm.
    pub fn length(&self, from: usize, to: usize) -> f64 {
        self.places[to].along - self.places[from].along
    }

    /// Whether it ends on the axis.
    pub fn ends_on_axis(&self) -> bool {
        self.places[self.last()].at.x < ON_AXIS
    }

    /// Places of the ledges, from the foot up: there it turns outwards sharply, as where a side stands on a step.
    pub fn ledges(&self) -> &[usize] {
        &self.ledges
    }

    /// Places of the edges over which a sheet may be turned, ledges among them.
    pub(super) fn edges(&self) -> &[usize] {
        &self.edges
    }

    /// How sharply it turns at a place, degrees.
    pub(super) fn sharpness(&self, place: usize) -> f64 {
        self.places[place].turn.abs()
    }

    /// How far the meridian goes in below something wider, seen from the axis outwards down to `from`: the greatest drop
    /// of the radius below the widest that lies nearer to the axis, as a share of that, and the place of it.
    pub fn undercut(&self, from: usize) -> (f64, usize) {
        let (mut widest, mut worst) = (0.0_f64, (0.0, self.last()));
        for i in (from..=self.last()).rev() {
            let radius = self.places[i].at.x;
            widest = widest.max(radius);
            let drop = (widest - radius) / widest.max(LEAST);
            if drop > worst.0 {
                worst = (drop, i);
            }
        }
        worst
    }

    /// All from `from` up to the axis under one flat disc that is laid on from its middle: its girth is 2π times the arc
    /// length from the axis. `None` where the meridian does not end on the axis.
    pub fn disc(&self, from: usize) -> Option<Part> {
        if !self.ends_on_axis() || from >= self.last() {
            return None;
        }
        let reach = self.length(from, self.last());
        let strains = (from..=self.last()).map(|i| self.strain(i, self.length(i, self.last()))).collect();
        Some(Part {
            form: PartForm::Disc,
            flat: FlatPattern { lower: reach, upper: 0.0, slant: reach },
            bottom: self.at(from),
            top: self.at(self.last()),
            turned: [0.0; 2],
            strains,
        })
    }

    /// What lies between two places as the frustum that has the true girth at both; with `edges` (places between them)
    /// it has the true girth there, and what lies beyond is turned over.
    pub fn band(&self, (from, to): (usize, usize), edges: [usize; 2]) -> Part {
        let radius = self.band_radius(edges);
        Part {
            form: PartForm::Band,
            flat: FlatPattern { lower: radius(from), upper: radius(to), slant: self.length(from, to) },
            bottom: self.at(from),
            top: self.at(to),
            turned: [self.length(from, edges[0]), self.length(edges[1], to)],
            strains: self.band_strains((from, to), edges).collect(),
        }
    }

    /// The strains of [`Meridian::band`].
    pub(super) fn band_strains(
        &self,
        (from, to): (usize, usize),
        edges: [usize; 2],
    ) -> impl DoubleEndedIterator<Item = Strain> + Clone {
        let radius = self.band_radius(edges);
        (from..=to).map(move |i| self.strain(i, radius(i)))
    }

    /// The radius of the flat sheet at each place.
    fn band_radius(&self, edges: [usize; 2]) -> impl Fn(usize) -> f64 + Clone {
        let (low, high) = (self.at(edges[0]), self.at(edges[1]));
        let slant = self.length(edges[0], edges[1]).max(LEAST);
        move |i| {
            let share = (self.places[i].along - self.places[edges[0]].along) / slant;
            (low.x + (high.x - low.x) * share).max(0.0)
        }
    }

    /// What lies between two places as a strip that has the girth of its widest place all over: its edges gather.
    /// `None` where the widest place is an end.
    pub fn strip(&self, from: usize, to: usize) -> Option<Part> {
        let radius = self.strip_radius(from, to)?;
        Some(Part {
            form: PartForm::Strip,
            flat: FlatPattern { lower: radius, upper: radius, slant: self.length(from, to) },
            bottom: self.at(from),
            top: self.at(to),
            turned: [0.0; 2],
            strains: self.strip_strains((from, to), radius).collect(),
        })
    }

    /// The radius all over of [`Meridian::strip`], if there is one.
    pub(super) fn strip_radius(&self, from: usize, to: usize) -> Option<f64> {
        let widest = (from..=to).max_by(|&a, &b| self.at(a).x.total_cmp(&self.at(b).x))?;
        (widest != from && widest != to).then(|| self.at(widest).x)
    }

    /// The strains of a strip of this radius all over.
    pub(super) fn strip_strains(
        &self,
        (from, to): (usize, usize),
        radius: f64,
    ) -> impl DoubleEndedIterator<Item = Strain> + Clone {
        (from..=to).map(move |i| self.strain(i, radius))
    }

    /// The place of the greatest radius, the lowest of several.
    pub fn widest(&self) -> usize {
        let all = 0..=self.last();
        all.reduce(|a, b| if self.at(b).x > self.at(a).x { b } else { a }).unwrap_or(0)
    }

    /// The strain at a place where the flat sheet has the girth of a circle of this radius, mm.
    fn strain(&self, place: usize, flat: f64) -> Strain {
        /// Nearer to the axis no girth is measured, mm.
        const MIDDLE: f64 = 0.5;
        let at = self.at(place);
        let none = flat.max(at.x) < MIDDLE;
        let share = if none { 0.0 } else { at.x / flat.max(LEAST) - 1.0 };
        Strain { at, along: self.places[place].along, share, off: std::f64::consts::TAU * (at.x - flat) }
    }
}

/// The places where `measure` of the turning is greatest in each run of places where it is above `least`.
fn peaks(places: &[Place], measure: impl Fn(f64) -> f64, least: f64) -> Vec<usize> {
    /// Turnings that differ by less are one, degrees.
    const SAME: f64 = 1e-6;
    let mut found = Vec::new();
    let mut i = 0;
    while i < places.len() {
        if measure(places[i].turn) <= least {
            i += 1;
            continue;
        }
        let start = i;
        let sign = places[i].turn.signum();
        while i < places.len() && measure(places[i].turn) > least && places[i].turn.signum() == sign {
            i += 1;
        }
        let greatest = (start..i).map(|k| measure(places[k].turn)).fold(0.0, f64::max);
        let tied: Vec<usize> = (start..i).filter(|&k| measure(places[k].turn) > greatest - SAME).collect();
        found.push(tied[tied.len() / 2]);
    }
    found
}

/// Straight pieces with the arc length up to each corner.
struct Polyline<'a> {
    points: &'a [DVec2],
    lengths: &'a [f64],
}

impl Polyline<'_> {
    /// The point at an arc length, mm.
    fn at(&self, s: f64) -> DVec2 {
        let next = self.lengths.partition_point(|length| *length < s).clamp(1, self.points.len() - 1);
        let (from, to) = (self.lengths[next - 1], self.lengths[next]);
        let share = ((s - from) / (to - from).max(LEAST)).clamp(0.0, 1.0);
        // An end is the end itself, to the last digit.
        if share == 1.0 { self.points[next] } else { self.points[next - 1].lerp(self.points[next], share) }
    }

    /// How far it turns within the window at an arc length, degrees: 0 near its ends.
    fn turn(&self, s: f64, whole: f64) -> f64 {
        let window = WINDOW.min(s).min(whole - s);
        if window < NEAREST / 2.0 {
            return 0.0;
        }
        let (before, here, after) = (self.at(s - window), self.at(s), self.at(s + window));
        real::angle_from_to(here - before, after - here).to_degrees()
    }
}

#[cfg(test)]
mod tests {
    use std::f64::consts::PI;

    use glam::dvec2;

    use super::*;

    fn quarter(radius: f64) -> Vec<DVec2> {
        (0..=720)
            .map(|i| {
                let angle = PI / 2.0 * f64::from(i) / 720.0;
                if i == 720 { dvec2(0.0, radius) } else { radius * dvec2(angle.cos(), angle.sin()) }
            })
            .collect()
    }

    /// Half a ball of radius R under one disc: at arc length s from the top its girth is 2πR sin(s/R), that of the disc
    /// 2πs, so the share is sin(s/R)/(s/R) − 1, and 2/π − 1 at the foot.
    #[test]
    fn half_a_ball_gathers_as_its_closed_form_says() {
        let ball = Meridian::new(&quarter(90.0)).unwrap();
        let disc = ball.disc(0).unwrap();
        let whole = ball.length(0, ball.last());
        assert!((whole - 45.0 * PI).abs() < 1e-3);
        for strain in &disc.strains {
            let angle = (whole - strain.along) / 90.0;
            let expected = if angle < 0.01 { 0.0 } else { angle.sin() / angle - 1.0 };
            assert!((strain.share - expected).abs() < 1e-4, "{strain:?} is not {expected}");
        }
        assert!((disc.strains[0].share - (2.0 / PI - 1.0)).abs() < 1e-5);
        assert_eq!(ball.undercut(0).0, 0.0);
    }

    #[test]
    fn cone_and_cylinder_develop_without_strain() {
        for profile in [
            vec![dvec2(100.0, 0.0), dvec2(100.0, 80.0)],
            vec![dvec2(100.0, 0.0), dvec2(60.0, 120.0)],
            vec![dvec2(60.0, 0.0), dvec2(100.0, 120.0)],
            vec![dvec2(100.0, 0.0), dvec2(0.0, 300.0)],
        ] {
            let side = Meridian::new(&profile).unwrap();
            let part = side.band((0, side.last()), [0, side.last()]);
            assert!(part.strains.iter().all(|strain| strain.share.abs() < 1e-9), "{profile:?}");
            assert!((part.flat.slant - profile[0].distance(profile[1])).abs() < 1e-9);
        }
    }

    /// A step: a side of 60 mm, a ledge of 30 mm, a side of 60 mm and the top. Only where the upper side stands on the
    /// ledge does it turn outwards.
    #[test]
    fn a_step_has_one_ledge_and_no_undercut() {
        let stepped =
            [(80.0, 0.0), (80.0, 60.0), (50.0, 60.0), (50.0, 120.0), (0.0, 120.0)].map(|(r, z)| dvec2(r, z));
        let step = Meridian::new(&stepped).unwrap();
        assert_eq!(step.ledges().iter().map(|&i| step.at(i)).collect::<Vec<_>>(), [dvec2(50.0, 60.0)]);
        assert_eq!(step.edges().len(), 3);
        assert!(step.undercut(0).0 < 1e-12);
        let cup = Meridian::new(&[dvec2(60.0, 0.0), dvec2(100.0, 120.0), dvec2(0.0, 120.0)]).unwrap();
        let (share, place) = cup.undercut(0);
        assert!((share - 0.4).abs() < 1e-12 && place == 0);
    }
}
