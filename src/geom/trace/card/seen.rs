//! Four marks that lie as on the card: which is which, the homography, and how well the bars agree with it.

use glam::{DVec2, dvec2};

use super::{
    CardFault,
    candidates::Candidate,
    crossing,
    layout::{BARS, Bar, MARK_RADIUS, MARKS, ROW},
    mark::{Shades, singular_values},
};
use crate::{Homography, trace::grey_levels::GreyLevels};

/// The card as it is seen.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::trace) struct SeenCard {
    /// From the picture, [right, down] in pixels, to the card, [right, up] in mm from its middle.
    pub to_card: Homography,
    /// The crossings of the marks in the picture, in the order of [`MARKS`].
    pub marks: [DVec2; 4],
    /// How many crossings of the bars are seen.
    pub crossings: usize,
    /// How far the farthest control point lies from where it should, mm.
    pub off: f64,
    /// The standard deviation of a coordinate of a control point, pixels: measured on the bars, and never less than
    /// [`LEAST_DEVIATION`].
    pub deviation: f64,
    /// Halfway between the card's black and white.
    pub middle_grey: f64,
}

/// Nothing is found more closely, pixels.
const LEAST_DEVIATION: f64 = 0.05;
/// Where a bar is hidden, nothing measures how well the card is seen, pixels.
const UNMEASURED_DEVIATION: f64 = 0.5;
/// With fewer crossings of a bar the deviation is not measured along it.
const LEAST_CROSSINGS: usize = 4;
/// A card whose control points lie farther off is refused, mm.
const MOST_OFF: f64 = 3.0;
/// How far the middle and the radius of a ring may be from where they should, parts of the radius: paper that is not
/// quite flat, edges that are not quite sharp.
const RING_OFF: f64 = 0.07;

impl SeenCard {
    /// The card with these four marks, if they are those of one.
    pub(super) fn of(levels: &GreyLevels, four: [Candidate; 4]) -> Option<Self> {
        let four = in_order(levels, four)?;
        let marks = four.map(|mark| mark.crossing);
        let pairs: Vec<(DVec2, DVec2)> = marks.into_iter().zip(MARKS).collect();
        let rough = Homography::from_points(&pairs)?;
        if !four.iter().zip(MARKS).all(|(seen, mark)| is_ring(&rough, seen, mark)) {
            return None;
        }
        let black = four.iter().map(|mark| mark.shades.black).sum::<f64>() / 4.0;
        let white = four.iter().map(|mark| mark.shades.white).sum::<f64>() / 4.0;
        let shades = Shades { black, white };
        let crossings = crossings(levels, &rough, shades);
        let all: Vec<(DVec2, DVec2)> = pairs.into_iter().chain(crossings.iter().copied()).collect();
        let to_card = Homography::from_points(&all)?;
        let (mut off, mut sum) = (0.0_f64, 0.0);
        for &(seen, card) in &all {
            off = off.max(to_card.apply(seen)?.distance(card));
            sum += to_card.inverse().apply(card)?.distance_squared(seen);
        }
        // Two coordinates each, and eight figures of the homography.
        let free = 2.0 * all.len() as f64 - 8.0;
        let of_bar = |bar: &Bar| {
            crossings.iter().filter(|(_, card)| bar.crossings().any(|(place, _)| place == *card)).count()
        };
        let is_measured = BARS.iter().all(|bar| of_bar(bar) >= LEAST_CROSSINGS);
        let least = if is_measured { LEAST_DEVIATION } else { UNMEASURED_DEVIATION };
        let deviation = (sum / free.max(1.0)).sqrt().max(least);
        Some(Self {
            to_card,
            marks,
            crossings: crossings.len(),
            off,
            deviation,
            middle_grey: shades.middle(),
        })
    }

    /// The card, unless it is bent.
    pub fn checked(self) -> Result<Self, CardFault> {
        if self.off > MOST_OFF { Err(CardFault::Bent { off: self.off }) } else { Ok(self) }
    }

    /// How far lengths that are measured with the card may be off, mm: twice the root of the sum of the squares of
    /// what each coordinate of a mark changes when it is moved by the standard deviation. `lengths` measures with a
    /// homography from the picture to the card.
    pub fn error(&self, lengths: impl Fn(&Homography) -> Option<DVec2>) -> Option<f64> {
        let with = |marks: [DVec2; 4]| {
            let pairs: Vec<(DVec2, DVec2)> = marks.into_iter().zip(MARKS).collect();
            lengths(&Homography::from_points(&pairs)?)
        };
        let still = with(self.marks)?;
        let mut sum = DVec2::ZERO;
        for i in 0..4 {
            for axis in [DVec2::X, DVec2::Y] {
                let mut moved = self.marks;
                moved[i] += axis * self.deviation;
                let change = with(moved)? - still;
                sum += change * change;
            }
        }
        Some(2.0 * sum.max_element().sqrt())
    }

    /// How far the camera was tilted against the card, degrees, from how much a small circle in the middle of its
    /// picture of this size is foreshortened; the picture must be uncropped.
    pub fn tilt(&self, size: DVec2) -> Option<f64> {
        let (long, short) = singular_values(self.to_card.derivative(size / 2.0)?);
        Some(crate::real::acos((short / long).clamp(0.0, 1.0)).to_degrees())
    }
}

/// The marks in the order of [`MARKS`]: counter-clockwise from the one whose quarter towards the middle is white.
fn in_order(levels: &GreyLevels, four: [Candidate; 4]) -> Option<[Candidate; 4]> {
    let middle = four.iter().map(|mark| mark.crossing).sum::<DVec2>() / 4.0;
    let mut four = four;
    // Down is positive: the angle of the mirrored direction rises counter-clockwise as seen.
    let angle = |mark: &Candidate| crate::real::direction_angle((mark.crossing - middle) * dvec2(1.0, -1.0));
    four.sort_by(|a, b| angle(a).total_cmp(&angle(b)));
    let corner = |i: usize| four[i % 4].crossing;
    let is_convex = (0..4).all(|i| (corner(i + 1) - corner(i)).perp_dot(corner(i + 2) - corner(i + 1)) < 0.0);
    if !is_convex {
        return None;
    }
    // The image of the card's middle is where the diagonals cross.
    let (a, b) = (corner(2) - corner(0), corner(3) - corner(1));
    let across = corner(0) + a * ((corner(1) - corner(0)).perp_dot(b) / a.perp_dot(b));
    let is_white_inwards = |mark: &Candidate| {
        /// Looked at from the crossing towards the middle, of the shorter half axis.
        const INWARDS: f64 = 0.4;
        let towards = (across - mark.crossing).normalize() * INWARDS * mark.ring.half_axes().1;
        levels.sample(mark.crossing + towards).is_some_and(|value| value > mark.shades.middle())
    };
    let white: Vec<usize> = (0..4).filter(|&i| is_white_inwards(&four[i])).collect();
    let [first] = white[..] else { return None };
    Some([0, 1, 2, 3].map(|i| four[(first + i) % 4]))
}

/// Whether the ring of a mark lies round it, with its radius.
fn is_ring(to_card: &Homography, seen: &Candidate, mark: DVec2) -> bool {
    const POINTS: usize = 24;
    let Some(points) = seen.ring.points(POINTS).map(|p| to_card.apply(p)).collect::<Option<Vec<_>>>() else {
        return false;
    };
    let Some(derivative) = to_card.derivative(seen.crossing) else { return false };
    let allowed = RING_OFF * MARK_RADIUS + seen.blur * 2.0 * singular_values(derivative).0;
    points.iter().all(|p| (p.distance(mark) - MARK_RADIUS).abs() < allowed)
}

/// The crossings of the bars that are seen where they should be nearly, with their places on the card.
fn crossings(levels: &GreyLevels, to_card: &Homography, shades: Shades) -> Vec<(DVec2, DVec2)> {
    /// Looked at round a crossing, of the width of a row.
    const REACH: f64 = 0.85;
    let to_picture = to_card.inverse();
    let all = BARS.iter().flat_map(|bar| bar.crossings().map(move |crossing| (bar, crossing)));
    let seen = all.filter_map(|(bar, (card, black_ahead))| {
        let (_, pixels) = singular_values(to_picture.derivative(card)?);
        let aside = bar.along.perp();
        // A bent card shows it farther off than one look reaches.
        let starts = [DVec2::ZERO, aside * ROW, -aside * ROW, bar.along * ROW, -bar.along * ROW];
        starts.into_iter().find_map(|start| {
            let at = crossing::refined(levels, to_picture.apply(card + start)?, REACH * ROW * pixels)?;
            // The four fields round it are as they should be.
            let place = to_card.apply(at)?;
            let is_as_printed =
                [(1.0, 1.0), (-1.0, 1.0), (-1.0, -1.0), (1.0, -1.0)].into_iter().all(|(x, y)| {
                    let field = place + (bar.along * x + aside * y) * (ROW / 2.0);
                    let value = to_picture.apply(field).and_then(|p| levels.sample(p));
                    value.is_some_and(|value| (value < shades.middle()) == (black_ahead == (x * y > 0.0)))
                });
            (is_as_printed && place.distance(card) < 3.0 * MOST_OFF).then_some((at, card))
        })
    });
    seen.collect()
}
