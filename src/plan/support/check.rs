//! One thing checked: the question it belongs to, how many times it holds, and what that comes to.

use glam::DVec2;

use crate::{carve::Place, fix::Fix};
use cakefile::FieldPath;
use geom::revolve::bearing_of;

use super::{code::CheckCode, rule::Rule};

/// What a check is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Question {
    /// Does it stand on the bench?
    Bench,
    /// Does it stand while it is carved?
    Carving,
    /// Does it stand at the venue on a warm afternoon?
    Venue,
    /// Does it travel in a car?
    Car,
    /// Can anyone get hurt?
    People,
}

impl Question {
    /// All of them, in the order of the work.
    pub const ALL: [Self; 5] = [Self::Bench, Self::Carving, Self::Venue, Self::Car, Self::People];

    /// When and where, with how warm it is there.
    pub fn asked(self, room: &str) -> String {
        match self {
            Self::Bench => "on the bench".into(),
            Self::Carving => "while it is carved".into(),
            Self::Venue => format!("at the venue, {room}"),
            Self::Car => "in a car".into(),
            Self::People => "to lift and serve".into(),
        }
    }
}

/// An answer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Answer {
    /// With the margin that is asked for.
    Yes,
    /// It holds, with less margin than is asked for.
    Careful,
    /// It does not hold.
    No,
}

/// One thing checked.
#[derive(Debug, Clone, PartialEq)]
pub struct Check {
    /// What it is about.
    pub question: Question,
    /// What was checked.
    pub code: CheckCode,
    /// What part of the cake, by its name: with the code it finds the check again after a change.
    pub about: String,
    /// What was found, in one sentence without a full stop, with the figures.
    pub said: String,
    /// How many times it holds: 1 is just so.
    pub margin: f64,
    /// How many times it ought to hold.
    pub needed: f64,
    /// The rule.
    pub rule: Rule,
    /// The least change that fixes it and was found to, or what to look at.
    pub fix: Fix,
    /// Where on the cake.
    pub place: Option<Place>,
    /// Where in the cake file.
    pub field: FieldPath,
}

impl Check {
    /// What it comes to.
    pub fn answer(&self) -> Answer {
        /// Round-off must not decide.
        const EQUAL: f64 = 1e-9;
        match self.margin {
            margin if margin.is_nan() || margin < 1.0 - EQUAL => Answer::No,
            margin if margin < self.needed - EQUAL => Answer::Careful,
            _ => Answer::Yes,
        }
    }

    /// The share of what is needed: the least is the weakest place.
    pub fn share(&self) -> f64 {
        if self.margin.is_nan() { f64::NEG_INFINITY } else { self.margin / self.needed }
    }
}

impl Check {
    /// A check that says that nothing is known about a material.
    pub(super) fn unknown(question: Question, material: &str, about: &str, field: FieldPath) -> Self {
        Self {
            question,
            code: CheckCode::StrengthUnknown,
            about: about.to_owned(),
            said: format!("nothing is known of how {material} holds a load: {about} is not checked"),
            margin: 1.0,
            needed: 1.5,
            rule: Rule::Unknown,
            fix: "write down what it is like ([material]), or test it with a weight".into(),
            place: None,
            field,
        }
    }
}

/// What the check leaves out.
pub const NOT_COVERED: &[&str] = &[
    "how well cake is baked, filled and chilled: a crumbly or wet sponge holds less",
    "freezing, sun on the cake, a draught, damp",
    "how crooked boards are laid and dowels are cut, beyond one dowel slightly short",
    "knocks, children, pets, stairs, carrying by hand over steps",
    "what adds (handles, chimneys) hang by: their weight is counted, their fixing is not",
    "tables, stands and pillars under the presentation board",
];

/// A place on the cake.
pub(super) fn place(at: DVec2, height: f64) -> Place {
    Place { height, bearing: bearing_of(at), radius: at.length() }
}
