//! What the cutting sheet says of standing, travelling and weighing.

use geom::units::UnitStyle;
use plan::{
    Plan,
    support::{Answer, GRAVITY, HiddenCount, Question, capital, warmth},
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
    pub hidden: Vec<HiddenCount>,
    /// The whole cake with its board in words.
    pub carried: String,
    /// Whether two people must carry it.
    pub heavy: bool,
}

impl Steady {
    /// What `plan` says of it.
    pub fn new(plan: &Plan) -> Self {
        let style = plan.design.style;
        let support = &plan.support;
        Self {
            answers: Question::ALL.map(|question| answer(plan, question)).into(),
            weights: weights(plan, style),
            levels: levels(plan, style),
            journey: journey(plan),
            warmth: warmth(support.holds_to, plan.design.support.warmest, style),
            hidden: support.hidden.clone(),
            carried: style.mass(support.carried),
            heavy: plan.needs_two(),
        }
    }

    /// How many things are hidden in the cake.
    pub fn hidden_count(&self) -> usize {
        self.hidden.iter().map(|hidden| hidden.count).sum()
    }
}

fn answer(plan: &Plan, question: Question) -> String {
    let style = plan.design.style;
    let asked = capital(&question.asked(&style.temperature(plan.design.support.room)));
    let (answer, weakest) = plan.support.answer(question);
    let Some(check) = weakest else { return format!("{asked}: nothing to check.") };
    let said = capital(&check.said);
    match answer {
        Answer::Yes => format!("{asked}: yes. Weakest: {}.", check.said),
        Answer::Careful => format!("{asked}: careful. {said}. {}.", capital(&check.fix.words)),
        Answer::No => format!("{asked}: no. {said}. {}.", capital(&check.fix.words)),
    }
}

fn row<const N: usize>(cells: [&str; N]) -> Vec<String> {
    cells.map(str::to_owned).to_vec()
}

fn weights(plan: &Plan, style: UnitStyle) -> Vec<Vec<String>> {
    let mut rows = vec![row(["tier with its board", "raw", "carved", "finished", "with all above"])];
    rows.extend(plan.support.weights.iter().rev().map(|weight| {
        let own = weight.own.iter().map(|grams| style.mass_alone(*grams));
        let above = style.mass_alone(weight.above[2].amount);
        std::iter::once(weight.name.clone()).chain(own).chain([above]).collect()
    }));
    rows
}

fn levels(plan: &Plan, style: UnitStyle) -> Vec<Vec<String>> {
    let mut rows = vec![row(["board", "carries", "on", "each dowel", "gives way at", "tips at"])];
    let push = |newtons: f64| style.mass_alone(newtons / GRAVITY * 1000.0);
    let none = || "–".to_owned();
    rows.extend(plan.support.levels.iter().rev().map(|carried| {
        let level = &carried.level;
        vec![
            level.name.clone(),
            style.mass_alone(level.load.amount),
            match level.carriers.len() {
                _ if level.slab.is_none() => "the table".to_owned(),
                0 => "cake".to_owned(),
                1 => "1 dowel".to_owned(),
                n => format!("{n} dowels"),
            },
            if level.pushes.is_empty() { none() } else { push(level.worst_push) },
            carried.dowel_bears.map_or_else(none, push),
            carried.tipping.map_or_else(none, |tipping| format!("{:.0}°", tipping.least)),
        ]
    }));
    rows
}

fn journey(plan: &Plan) -> Vec<Vec<String>> {
    let times = |margin: f64| if margin.is_finite() { format!("{margin:.1} ×") } else { "–".to_owned() };
    let mut rows = vec![row([
        "on the way, how many times it holds",
        "side force",
        "tipping",
        "sliding",
        "centre dowel",
    ])];
    rows.extend(plan.support.events.iter().map(|event| {
        vec![
            event.name.to_owned(),
            format!("{:.0} %", event.share * 100.0),
            times(event.tips),
            times(event.slides),
            times(event.centre_dowel),
        ]
    }));
    rows
}
