//! The support check in figures.

use serde::Serialize;

use geom::Moments;
use plan::{
    Plan,
    support::{
        Advised, Answer, Basis, Carried, Check, Event, GRAVITY, HiddenCount, NOT_COVERED, Question, Rule,
        Weight,
    },
};

/// Whether the cake stands and travels: an estimate, to be checked by a practised person.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SupportEntry {
    /// What this is worth.
    pub estimate: &'static str,
    /// The answer to every question, with its weakest place.
    pub answers: Vec<AnswerEntry>,
    /// What every tier weighs, from the bottom up.
    pub weights: Vec<WeightEntry>,
    /// What every board carries, from the presentation board up.
    pub levels: Vec<LevelEntry>,
    /// Tilt that tips the cake with its presentation board.
    pub tips_with_board_deg: Option<f64>,
    /// What happens on the way.
    pub journey: Vec<Event>,
    /// How warm the room is.
    pub room_c: f64,
    /// The warmest room in which coats and fillings hold as they should.
    pub holds_to_c: Option<f64>,
    /// The warmest room that is allowed.
    pub warmest_c: f64,
    /// What is hidden in the cake, to be counted out again.
    pub hidden: Vec<HiddenCount>,
    /// The whole cake with its presentation board.
    pub carried_g: f64,
    /// Everything checked, the weakest of every question first.
    pub checks: Vec<CheckEntry>,
    /// The rules used.
    pub rules: Vec<RuleEntry>,
    /// What the check leaves out.
    pub not_covered: &'static [&'static str],
}

/// An answer.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct AnswerEntry {
    /// "bench", "carving", "venue", "car" or "people".
    pub question: Question,
    /// "yes", "careful" or "no".
    pub answer: Answer,
    /// The weakest place, in one sentence; `None` where nothing was checked.
    pub weakest: Option<CheckEntry>,
}

/// One thing checked.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CheckEntry {
    /// What it is about.
    pub question: Question,
    /// A short stable name.
    pub code: &'static str,
    /// What part of the cake.
    pub about: String,
    /// "yes", "careful" or "no".
    pub answer: Answer,
    /// What was found.
    pub said: String,
    /// How many times it holds; `None` where nothing pulls at it.
    pub margin: Option<f64>,
    /// How many times it ought to.
    pub needed: f64,
    /// The rule, one of `rules`.
    pub rule: Rule,
    /// How to fix it; `None` where nothing needs to be.
    pub fix: Option<String>,
}

/// A rule.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RuleEntry {
    /// Its name.
    pub rule: Rule,
    /// What it says.
    pub says: &'static str,
    /// Where it comes from.
    pub source: &'static str,
    /// How well it is founded.
    pub basis: Basis,
}

/// What a tier weighs.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WeightEntry {
    /// Its name.
    pub tier: String,
    /// With its board, raw.
    pub raw_g: f64,
    /// With its board, carved.
    pub carved_g: f64,
    /// With its board, coated and decorated.
    pub finished_g: f64,
    /// With all that stands on it, raw.
    pub above_raw: MassEntry,
    /// With all that stands on it, carved.
    pub above_carved: MassEntry,
    /// With all that stands on it, finished.
    pub above_finished: MassEntry,
}

/// A mass and where its middle lies.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct MassEntry {
    /// Mass.
    pub mass_g: f64,
    /// Centre of mass: right, back, up.
    pub centre_mm: [f64; 3],
}

impl From<Moments> for MassEntry {
    fn from(moments: Moments) -> Self {
        let centre = moments.centroid().unwrap_or_default();
        // Round-off beside the axis is the axis.
        let tidy = |x: f64| if x.abs() < 1e-9 { 0.0 } else { x };
        Self { mass_g: moments.amount, centre_mm: centre.to_array().map(tidy) }
    }
}

/// What a board carries.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LevelEntry {
    /// Its name.
    pub board: String,
    /// Height of its underside; of the presentation board of its top.
    pub height_mm: f64,
    /// What stands on it, itself counted unless it is the presentation board.
    pub carries_g: f64,
    /// How many dowels carry it.
    pub dowels: usize,
    /// The greatest load on one dowel, as a mass.
    pub each_dowel_g: Option<f64>,
    /// The same with one dowel slightly short.
    pub each_dowel_uneven_g: Option<f64>,
    /// The load that the weakest dowel gives way at, as a mass.
    pub dowel_bears_g: Option<f64>,
    /// Tilt that tips what stands on it.
    pub tips_deg: Option<f64>,
    /// The same to the front, the right side, the back and the left side.
    pub tips_sides_deg: Option<[f64; 4]>,
    /// How far the board sags by and by.
    pub sags_mm: Option<f64>,
    /// Greatest pressure in the sponge on it.
    pub sponge_pressure_pa: Option<f64>,
    /// How far the sponge on it settles by and by.
    pub sponge_settles_mm: Option<f64>,
    /// The dowels that it ought to stand on.
    pub advised_dowels: Option<AdvisedEntry>,
}

/// Dowels that a board ought to stand on.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct AdvisedEntry {
    /// How many: what the trade or the calculation asks for, whichever is more.
    pub count: usize,
    /// Diameter.
    pub diameter_mm: f64,
    /// Diameter of the circle that they stand on.
    pub circle_mm: f64,
    /// What to cut them to: the height of the board above their feet.
    pub length_mm: f64,
    /// Where they stand: right and back of the middle.
    pub at_mm: Vec<[f64; 2]>,
    /// The trade's circle, 1 1/2 in inside the board's edge.
    pub trade_circle_mm: f64,
    /// The circle on which an evenly loaded round board bends least.
    pub calculated_circle_mm: f64,
}

impl SupportEntry {
    pub(super) fn new(plan: &Plan) -> Self {
        let support = &plan.support;
        let answers = Question::ALL.map(|question| {
            let (answer, weakest) = support.answer(question);
            AnswerEntry { question, answer, weakest: weakest.map(check) }
        });
        let mut rules: Vec<Rule> = support.checks.iter().map(|check| check.rule).collect();
        rules.sort_unstable();
        rules.dedup();
        Self {
            estimate: "an estimate, to be checked by a practised person; local food codes and licensing come first",
            answers: answers.into(),
            weights: support.weights.iter().map(weight).collect(),
            levels: support.levels.iter().map(level).collect(),
            tips_with_board_deg: support.with_board.map(|tipping| tipping.least),
            journey: support.events.clone(),
            room_c: plan.design.support.room,
            holds_to_c: support.holds_to,
            warmest_c: plan.design.support.warmest,
            hidden: support.hidden.clone(),
            carried_g: support.carried,
            checks: support.checks.iter().map(check).collect(),
            rules: rules.into_iter().map(rule).collect(),
            not_covered: NOT_COVERED,
        }
    }
}

fn check(check: &Check) -> CheckEntry {
    CheckEntry {
        question: check.question,
        code: check.code.as_str(),
        about: check.about.clone(),
        answer: check.answer(),
        said: check.said.clone(),
        margin: Some(check.margin).filter(|margin| margin.is_finite()),
        needed: check.needed,
        rule: check.rule,
        fix: (check.answer() != Answer::Yes).then(|| check.fix.words.clone()),
    }
}

fn rule(rule: Rule) -> RuleEntry {
    RuleEntry { rule, says: rule.says(), source: rule.source(), basis: rule.basis() }
}

fn weight(weight: &Weight) -> WeightEntry {
    let [raw_g, carved_g, finished_g] = weight.own;
    let [above_raw, above_carved, above_finished] = weight.above.map(Into::into);
    WeightEntry {
        tier: weight.name.clone(),
        raw_g,
        carved_g,
        finished_g,
        above_raw,
        above_carved,
        above_finished,
    }
}

fn advised(advised: &Advised) -> AdvisedEntry {
    AdvisedEntry {
        count: advised.count,
        diameter_mm: advised.diameter,
        circle_mm: advised.circle,
        length_mm: advised.length,
        at_mm: advised.at.iter().map(|at| at.to_array()).collect(),
        trade_circle_mm: advised.trade_circle,
        calculated_circle_mm: advised.calculated_circle,
    }
}

fn level(carried: &Carried) -> LevelEntry {
    let level = &carried.level;
    let grams = |newtons: f64| newtons / GRAVITY * 1000.0;
    let on_dowels = !level.pushes.is_empty();
    LevelEntry {
        board: level.name.clone(),
        height_mm: level.z,
        carries_g: level.load.amount,
        dowels: level.carriers.len(),
        each_dowel_g: on_dowels.then(|| grams(level.pushes.iter().copied().fold(0.0, f64::max))),
        each_dowel_uneven_g: on_dowels.then(|| grams(level.worst_push)),
        dowel_bears_g: carried.dowel_bears.map(grams),
        tips_deg: carried.tipping.map(|tipping| tipping.least),
        tips_sides_deg: carried.tipping.map(|tipping| tipping.sides),
        sags_mm: carried.sag,
        sponge_pressure_pa: carried.pressure,
        sponge_settles_mm: carried.settles,
        advised_dowels: carried.advised.as_ref().map(advised),
    }
}
