//! What the cutting sheet says of standing, travelling and weighing.

use crate::language::{Language, filled};
use geom::units::UnitStyle;
use plan::{
    Plan,
    support::{Answer, GRAVITY, HiddenCount, Question, capital},
};

/// The support check for the bench.
#[derive(Debug, Clone, PartialEq)]
pub struct Steady {
    /// The answers, each in a few sentences.
    pub answers: Vec<String>,
    /// What to find on the scales, with its heading: tier, raw, carved, finished, all above it.
    pub weights: Vec<Vec<String>>,
    /// What carries what, with its heading.
    pub levels: Vec<Vec<String>>,
    /// What happens on the way, with its heading.
    pub journey: Vec<Vec<String>>,
    /// How warm the room may be.
    pub warmth: String,
    /// What is hidden in the cake.
    pub hidden: Vec<Hidden>,
    /// The whole cake with its board in words.
    pub carried: String,
    /// Whether two people must carry it.
    pub heavy: bool,
}

/// What is hidden in the cake, in words.
#[derive(Debug, Clone, PartialEq)]
pub struct Hidden {
    /// How many.
    pub count: usize,
    /// What.
    pub what: String,
    /// Where.
    pub place: String,
}

impl Steady {
    /// What `plan` says of it, in `language`.
    pub fn new(plan: &Plan, language: &Language) -> Self {
        let style = language.style(plan.design.style);
        let support = &plan.support;
        Self {
            answers: Question::ALL.map(|question| answer(plan, language, question)).into(),
            weights: weights(plan, language, style),
            levels: levels(plan, language, style),
            journey: journey(plan, language),
            warmth: warmth(plan, language),
            hidden: support.hidden.iter().map(|hidden| Hidden::new(hidden, plan, language)).collect(),
            carried: style.mass(support.carried),
            heavy: plan.needs_two(),
        }
    }

    /// How many things are hidden in the cake.
    pub fn hidden_count(&self) -> usize {
        self.hidden.iter().map(|hidden| hidden.count).sum()
    }
}

impl Hidden {
    fn new(hidden: &HiddenCount, plan: &Plan, language: &Language) -> Self {
        let (what, place) = language.hidden(hidden, |mm| language.style(plan.design.style).length_alone(mm));
        Self { count: hidden.count, what, place }
    }

    /// "4 × wooden dowel of 6 mm, in stalk".
    pub fn told(&self, language: &Language) -> String {
        let (form, count) = (&language.steady.hidden_row, self.count.to_string());
        filled(form, &[("count", &count), ("what", &self.what), ("place", &self.place)])
    }
}

fn answer(plan: &Plan, language: &Language, question: Question) -> String {
    let words = &language.steady;
    let asked =
        language.asked(question, &language.style(plan.design.style).temperature(plan.design.support.room));
    let asked = ("asked", &*capital(&asked));
    let (answer, weakest) = plan.support.answer(question);
    let Some(check) = weakest else { return filled(&words.nothing, &[asked]) };
    let (said, fix) = language.checked(plan, check);
    match answer {
        Answer::Yes => filled(&words.yes, &[asked, ("said", &said)]),
        Answer::Careful => {
            filled(&words.careful, &[asked, ("said", &capital(&said)), ("fix", &capital(&fix))])
        }
        Answer::No => filled(&words.no, &[asked, ("said", &capital(&said)), ("fix", &capital(&fix))]),
    }
}

/// How warm the room may be: the lower of the stated limit and what coats and fillings hold to.
pub(crate) fn warmth(plan: &Plan, language: &Language) -> String {
    let (words, style) = (&language.steady, language.style(plan.design.style));
    let warmest = plan.design.support.warmest;
    match plan.support.holds_to {
        Some(celsius) if celsius < warmest => {
            filled(&words.holds_to, &[("warm", &style.temperature(celsius))])
        }
        Some(_) => filled(&words.keep, &[("warm", &style.temperature(warmest))]),
        None => words.cold.clone(),
    }
}

fn row<const N: usize>(cells: [&String; N]) -> Vec<String> {
    cells.map(String::clone).to_vec()
}

fn weights(plan: &Plan, language: &Language, style: UnitStyle) -> Vec<Vec<String>> {
    let words = &language.steady;
    let mut rows = vec![row([&words.tier, &words.raw, &words.carved, &words.finished, &words.above])];
    rows.extend(plan.support.weights.iter().rev().map(|weight| {
        let own = weight.own.iter().map(|grams| style.mass_alone(*grams));
        let above = style.mass_alone(weight.above[2].amount);
        std::iter::once(weight.name.clone()).chain(own).chain([above]).collect()
    }));
    rows
}

fn levels(plan: &Plan, language: &Language, style: UnitStyle) -> Vec<Vec<String>> {
    let words = &language.steady;
    let head = [&words.board, &words.carries, &words.on, &words.each_dowel, &words.gives_way, &words.tips_at];
    let mut rows = vec![row(head)];
    let push = |newtons: f64| style.mass_alone(newtons / GRAVITY * 1000.0);
    let none = || "–".to_owned();
    rows.extend(plan.support.levels.iter().rev().map(|carried| {
        let level = &carried.level;
        vec![
            language.part(plan, &level.name),
            style.mass_alone(level.load.amount),
            match level.carriers.len() {
                _ if level.slab.is_none() => words.table.clone(),
                0 => words.cake.clone(),
                1 => words.dowel.clone(),
                n => filled(&words.dowels, &[("count", &n.to_string())]),
            },
            if level.pushes.is_empty() { none() } else { push(level.worst_push) },
            carried.dowel_bears.map_or_else(none, push),
            carried.tipping.map_or_else(none, |tipping| format!("{:.0}°", tipping.least)),
        ]
    }));
    rows
}

fn journey(plan: &Plan, language: &Language) -> Vec<Vec<String>> {
    let words = &language.steady;
    let numbers = language.style(plan.design.style).numbers;
    let times = |margin: f64| match margin.is_finite() {
        true => format!("{} ×", numbers.fixed(margin, 1)),
        false => "–".to_owned(),
    };
    let head = [&words.on_the_way, &words.side_force, &words.tipping, &words.sliding, &words.centre_dowel];
    let mut rows = vec![row(head)];
    rows.extend(plan.support.events.iter().map(|event| {
        vec![
            language.name(event.name).to_owned(),
            format!("{:.0} %", event.share * 100.0),
            times(event.tips),
            times(event.slides),
            times(event.centre_dowel),
        ]
    }));
    rows
}
