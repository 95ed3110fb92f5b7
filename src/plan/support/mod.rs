//! Will it stand, and will it travel: an estimate of what carries what, to be checked by a practised person.
//!
//! A [`Case`] is a stack with its masses and what is asked of it. Each file here makes [`Check`]s of one kind
//! out of it: a margin (how many times it holds), what margin is needed, the rule and its source. [`Support`]
//! is what all of them say together. Where the calculation and a rule of the trade differ, the more cautious of
//! the two decides, and the check says which.
//!
//! It refuses nothing: whatever it cannot judge is a check of its own that says so, or stands in
//! [`NOT_COVERED`].

mod advice;
mod boards;
mod carving;
mod dowels;
mod journey;
mod levels;
mod masses;
mod people;
pub mod plate;
mod ring;
mod rule;
mod scene;
pub mod share;
mod soft;
mod sponge;
mod standing;
pub mod strut;
mod sums;
mod trials;
mod words;

use crate::carve::Place;
use cakefile::FieldPath;

pub use journey::Event;
pub use levels::{Level, Misfit};
pub use masses::{Masses, Stage, Volumes};
pub use people::HiddenCount;
pub use ring::Advised;
pub use rule::{Basis, Rule};
pub use scene::{Case, Scene};
pub use sums::{Carried, Support, Weight};
pub use words::{capital, warmth};

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
            Self::People => "for people".into(),
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
    /// A short stable name for programs.
    pub code: &'static str,
    /// What part of the cake.
    pub about: String,
    /// What was found, in one sentence without a full stop, with the figures.
    pub said: String,
    /// How many times it holds: 1 is just so.
    pub margin: f64,
    /// How many times it ought to hold.
    pub needed: f64,
    /// The rule.
    pub rule: Rule,
    /// The least change that mends it and was found to, or what to look at.
    pub mend: String,
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

/// What the check leaves out.
pub const NOT_COVERED: &[&str] = &[
    "how well cake is baked, filled and chilled: a crumbly or wet sponge bears less",
    "freezing, sun on the cake, a draught, damp",
    "how crooked boards are laid and dowels are cut, beyond one dowel a hair short",
    "knocks, children, pets, stairs, carrying by hand over steps",
    "what adds (handles, chimneys) hang by: their weight is counted, their fixing is not",
    "tables, stands and pillars under the presentation board",
];

/// Standard gravity, m/s² (ISO 80000-3).
pub const GRAVITY: f64 = 9.806_65;

/// The weight of `grams`, N.
pub fn weight(grams: f64) -> f64 {
    grams * GRAVITY / 1000.0
}

/// A check that says that nothing is known about a material.
fn unknown(question: Question, material: &str, about: &str, field: FieldPath) -> Check {
    Check {
        question,
        code: "strength-unknown",
        about: about.to_owned(),
        said: format!("nothing is known of how {material} bears a load: {about} is not checked"),
        margin: 1.0,
        needed: 1.5,
        rule: Rule::Unknown,
        mend: "write what it is like under [material], or test it with a weight".into(),
        place: None,
        field,
    }
}
