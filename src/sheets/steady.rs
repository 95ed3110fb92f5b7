//! What the cutting sheet says of standing, travelling and weighing.

use crate::{
    plan::Plan,
    support::{Answer, HiddenCount, Question},
    units::UnitStyle,
};

/// The support check in a few lines for the bench.
#[derive(Debug, Clone, PartialEq)]
pub struct Steady {
    /// The answers, each in a sentence.
    pub answers: Vec<String>,
    /// What to find on the scales: tier, raw, carved, finished.
    pub weights: Vec<[String; 4]>,
    /// What is hidden in the cake.
    pub hidden: Vec<HiddenCount>,
    /// The whole cake with its board in words, if two people must carry it.
    pub heavy: Option<String>,
}

impl Steady {
    /// What `plan` says of it.
    pub fn new(plan: &Plan) -> Self {
        let style = UnitStyle::new(plan.design.unit);
        let support = &plan.support;
        let asked = |question| match question {
            Question::Bench => "On the bench".to_owned(),
            Question::Carving => "While it is carved".to_owned(),
            Question::Venue => format!("At the venue, {:.0} °C", plan.design.support.room),
            Question::Car => "In a car".to_owned(),
            Question::People => "For people".to_owned(),
        };
        let sentence = |question| {
            let (answer, weakest) = support.answer(question);
            let asked = asked(question);
            match (answer, weakest) {
                (Answer::Yes, _) | (_, None) => format!("{asked}: yes."),
                (Answer::Careful, Some(check)) => {
                    format!("{asked}: careful. {}. {}.", capital(&check.said), capital(&check.mend))
                }
                (Answer::No, Some(check)) => {
                    format!("{asked}: no. {}. {}.", capital(&check.said), capital(&check.mend))
                }
            }
        };
        let weights = support.weights.iter().rev().map(|weight| {
            let [raw, carved, finished] = weight.own.map(|grams| style.mass_alone(grams));
            [weight.name.clone(), raw, carved, finished]
        });
        Self {
            answers: Question::ALL.map(sentence).into(),
            weights: weights.collect(),
            hidden: support.hidden.clone(),
            heavy: (support.carried >= plan.design.support.two_people).then(|| style.mass(support.carried)),
        }
    }

    /// How many things are hidden in the cake.
    pub fn hidden_count(&self) -> usize {
        self.hidden.iter().map(|hidden| hidden.count).sum()
    }
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters
        .next()
        .map_or_else(String::new, |first| first.to_uppercase().collect::<String>() + letters.as_str())
}
