//! Tipping: the whole cake on its foot, the cake with its board, and what stands on each board inside.

use glam::{DVec2, DVec3};

use geom::real;
use geom::{Hull, Tolerance, hull::tipping_angle, revolve::bearing_of};

use super::{
    case::Case,
    check::{Check, Question, place},
    code::CheckCode,
    levels::hull,
    rule::Rule,
    wording::bearing,
};

/// A turntable that is out of level, a knock, a board set down hard: what any cake must bear, degrees (common
/// practice, no source).
pub const KNOCK: f64 = 5.0;

/// How something tips.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tipping {
    /// The least tilt that tips it, degrees; below zero if it falls by itself.
    pub least: f64,
    /// Which way, degrees counter-clockwise from the front.
    pub towards: f64,
    /// Tilt that tips it to the front, the right side, the back and the left side, degrees.
    pub sides: [f64; 4],
    /// Distance of its centre of mass from the edge that it tips over, mm.
    pub inside: f64,
    /// Height of its centre of mass above the edge, mm.
    pub height: f64,
    /// The edge that it tips over, seen from above, mm.
    pub edge: DVec2,
}

impl Tipping {
    /// How a body with its centre of mass at `centre` tips off `seat` at height `z`.
    pub fn new(seat: &Hull, z: f64, centre: DVec3) -> Self {
        let (at, height) = (centre.truncate(), (centre.z - z).max(1e-9));
        let (inside, edge) = seat.nearest_edge(at).unwrap_or((f64::NEG_INFINITY, at));
        let front_right_back_left = [DVec2::NEG_Y, DVec2::X, DVec2::Y, DVec2::NEG_X];
        // On a seat without breadth it has no way to tip without falling.
        let inside = if inside.is_finite() { inside } else { 0.0 };
        let side = |along: DVec2| {
            let reach = seat.reach(at, along);
            tipping_angle(if reach.is_finite() { reach } else { 0.0 }, height)
        };
        Self {
            least: tipping_angle(inside, height),
            towards: bearing_of((edge - at) * inside.signum()),
            sides: front_right_back_left.map(side),
            inside,
            height,
            edge,
        }
    }

    /// The same where something holds it as if its centre of mass stood `arm` mm further inside.
    #[must_use]
    pub fn held(self, arm: f64) -> Self {
        let inside = self.inside + arm;
        Self { inside, least: tipping_angle(inside, self.height), ..self }
    }

    /// The side force that tips it, as a share of its weight.
    pub fn share(&self) -> f64 {
        self.inside / self.height
    }
}

/// What tips, in words, with how.
pub fn tippings(case: &Case<'_>) -> Vec<(String, usize, Tipping)> {
    let mut found = Vec::new();
    for (i, level) in case.levels.iter().enumerate() {
        let Some(centre) = level.load.centroid() else { continue };
        let what = match level.slab {
            None => "the cake on its board".to_owned(),
            Some(_) if level.is_on_dowels() && level.on_firm => format!("what stands on {}", level.name),
            Some(_) if level.is_on_dowels() => format!("what stands on {}, on the dowels alone", level.name),
            Some(_) => format!("what stands on {}, on the sponge under it", level.name),
        };
        found.push((what, i, Tipping::new(&level.seat, level.z, centre)));
    }
    found
}

/// How the cake tips together with its presentation board.
pub fn with_board(case: &Case<'_>) -> Option<Tipping> {
    let board = case.design.board.as_ref()?;
    let middle = board.footprint.centre.extend(-board.height() / 2.0);
    let all = case.levels.first()?.load + geom::Moments::at(board.mass(), middle);
    let outline = hull(&board.footprint.region(Tolerance::PREVIEW));
    Some(Tipping::new(&outline, -board.height(), all.centroid()?))
}

pub(super) fn check(case: &Case<'_>, checks: &mut Vec<Check>) {
    for (what, index, tipping) in tippings(case) {
        let level = &case.levels[index];
        let falls = tipping.inside <= 0.0;
        let said = if falls {
            format!(
                "the centre of mass of {what} stands {} outside what it stands on: it falls over by itself",
                case.mm(-tipping.inside)
            )
        } else {
            format!(
                "{what} tips over at a tilt of {:.0}°, towards {}: its centre of mass is {} up and {} inside the edge",
                tipping.least,
                bearing(tipping.towards),
                case.mm(tipping.height),
                case.mm(tipping.inside)
            )
        };
        checks.push(Check {
            question: Question::Bench,
            code: if falls { CheckCode::Topples } else { CheckCode::Tips },
            about: level.name.clone(),
            said,
            margin: tipping.share() / real::tan(KNOCK.to_radians()),
            needed: real::tan(case.design.support.tilt.to_radians()) / real::tan(KNOCK.to_radians()),
            rule: Rule::Tipping,
            fix: if level.slab.is_some() && level.is_on_dowels() {
                "set its dowels on a wider circle".into()
            } else {
                "make the foot wider, or the top lighter, or move what stands off the middle".into()
            },
            place: Some(place(tipping.edge, level.z)),
            field: case.field_of(index),
        });
    }
}
