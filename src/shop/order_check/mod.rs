//! What keeps an order from being met, said before the client hears a price.
//!
//! Servings, room, prices, allergens, what must not be in it, whether it stands, and the date: each point that is
//! open comes with its fix. What cannot be known from the cake file and the pantry is a note and keeps nothing open.
//! Today is an argument; nothing here reads a clock.

mod contents;
mod room;
mod text;

use jiff::civil::DateTime;
use serde::Serialize;

pub use room::LEAST_BOARD_MARGIN;
pub use text::text;

use crate::{
    amounts::Amounts,
    quote::{Quote, QuoteError},
    timetable::{TimeError, Timetable},
    words::listed,
};
use cakefile::Severity;
use make::language::Language;
use plan::{
    Plan,
    support::{Answer, Question},
};

/// What an open point is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Concern {
    /// The plan found errors, or the cake does not stand or travel.
    Unsafe,
    /// Something is in it that must not be.
    Without,
    /// Of something nobody has written down which allergens are in it.
    UndeclaredAllergens,
    /// It serves fewer than are wanted.
    Servings,
    /// It reaches too close to the edge of its presentation board, or beyond.
    Board,
    /// It does not go into the box, the fridge, the car.
    Room,
    /// The date cannot be met.
    Date,
    /// Something has no price.
    Price,
}

impl Concern {
    /// Every one.
    pub const ALL: [Self; 8] = [
        Self::Unsafe,
        Self::Without,
        Self::UndeclaredAllergens,
        Self::Servings,
        Self::Board,
        Self::Room,
        Self::Date,
        Self::Price,
    ];

    /// Its name in files, which never changes.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Unsafe => "unsafe",
            Self::Without => "without",
            Self::UndeclaredAllergens => "undeclared-allergens",
            Self::Servings => "servings",
            Self::Board => "board",
            Self::Room => "room",
            Self::Date => "date",
            Self::Price => "price",
        }
    }
}

/// Why something could not be looked at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoteKind {
    /// The order has no date.
    NoDate,
    /// The cake has no presentation board.
    NoBoard,
    /// What it is to be without is nothing that labels must name.
    NotRegulated,
}

impl NoteKind {
    /// Every one.
    pub const ALL: [Self; 3] = [Self::NoDate, Self::NoBoard, Self::NotRegulated];

    /// Its name in files, which never changes.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::NoDate => "no-date",
            Self::NoBoard => "no-board",
            Self::NotRegulated => "not-regulated",
        }
    }
}

/// What could not be looked at.
#[derive(Debug, Clone, PartialEq)]
pub struct Note {
    /// Why.
    pub kind: NoteKind,
    /// What it names.
    pub about: Vec<String>,
    /// The same in one sentence without a full stop.
    pub message: String,
}

impl Serialize for Note {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(&self.message)
    }
}

/// One thing that keeps the order from being met.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OpenPoint {
    /// What it is about.
    pub concern: Concern,
    /// What it names: ingredients, a room.
    #[serde(skip)]
    pub about: Vec<String>,
    /// What is wrong, in one sentence without a full stop.
    pub message: String,
    /// How to fix it.
    pub fix: String,
}

impl OpenPoint {
    /// What is wrong and how to fix it, in `language`.
    pub fn told(&self, language: &Language) -> (String, String) {
        language.told(self.concern.as_str(), &self.about, (&self.message, &self.fix))
    }
}

impl Note {
    /// What could not be looked at, in `language`.
    pub fn told(&self, language: &Language) -> String {
        language.told(self.kind.as_str(), &self.about, (&self.message, "")).0
    }
}

/// Everything that keeps an order from being met.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OrderCheck {
    /// Points that are open, the most harmful first.
    pub open: Vec<OpenPoint>,
    /// What could not be looked at, and why.
    pub notes: Vec<Note>,
    /// The time that counted as now.
    #[serde(skip)]
    pub today: DateTime,
}

impl OrderCheck {
    /// Looks at the order of `plan` at the time `today`. `quote` is what it costs.
    pub fn new(plan: &Plan, amounts: &Amounts, quote: Result<&Quote, &QuoteError>, today: DateTime) -> Self {
        let mut check = Self { open: Vec::new(), notes: Vec::new(), today };
        check.verdict(plan);
        contents::look(plan, amounts, &mut check);
        check.servings(plan, amounts);
        room::look(plan, &mut check);
        check.date(plan, amounts);
        check.price(quote);
        check
    }

    /// Whether nothing is open.
    pub fn is_clear(&self) -> bool {
        self.open.is_empty()
    }

    fn add(&mut self, concern: Concern, message: impl Into<String>, fix: impl Into<String>) {
        self.add_about(concern, &[], message, fix);
    }

    fn add_about(
        &mut self,
        concern: Concern,
        about: &[String],
        message: impl Into<String>,
        fix: impl Into<String>,
    ) {
        self.open.push(OpenPoint {
            concern,
            about: about.to_vec(),
            message: message.into(),
            fix: fix.into(),
        });
    }

    fn note(&mut self, kind: NoteKind, about: &[String], message: impl Into<String>) {
        self.notes.push(Note { kind, about: about.to_vec(), message: message.into() });
    }

    fn verdict(&mut self, plan: &Plan) {
        let errors: Vec<_> = plan.findings.iter().filter(|found| found.severity == Severity::Error).collect();
        if let Some(first) = errors.first() {
            let more = match errors.len() {
                1 => String::new(),
                n => format!(" (and {} more)", n - 1),
            };
            self.add(
                Concern::Unsafe,
                format!(
                    "the plan has {} to fix first: {}{more}",
                    count(errors.len(), "error"),
                    first.message
                ),
                first.fix.words.clone(),
            );
            return;
        }
        let no = Question::ALL.map(|question| plan.support.answer(question));
        for check in no.into_iter().filter(|(answer, _)| *answer == Answer::No).filter_map(|(_, check)| check)
        {
            self.add(Concern::Unsafe, format!("{}: {}", check.about, check.said), check.fix.words.clone());
        }
    }

    fn servings(&mut self, plan: &Plan, amounts: &Amounts) {
        let Some(wanted) = plan.order.serves else { return };
        let Some(served) = amounts.servings.served.first() else { return };
        let given = served.by_cutting;
        if given >= wanted {
            return;
        }
        self.add(
            Concern::Servings,
            format!(
                "{wanted} servings are wanted, and it gives {given} of the portion {} by the cutting plan ({} by \
                 volume)",
                served.portion.name, served.by_volume
            ),
            format!(
                "make the cake larger (`crumbline stack CAKE --serve {wanted}` scales it); or agree on {given}, on a smaller \
                 portion ([pantry.servings]), or on a plain cake beside it"
            ),
        );
    }

    fn date(&mut self, plan: &Plan, amounts: &Amounts) {
        match Timetable::new(plan, amounts, self.today) {
            Ok(timetable) => {
                for found in timetable.findings {
                    self.add(Concern::Date, found.message, found.fix);
                }
            }
            Err(TimeError::NoDate) => {
                self.note(
                    NoteKind::NoDate,
                    &[],
                    "no date was looked at: nothing says when it is delivered ([order] deliver)",
                );
            }
            Err(error @ TimeError::Beyond) => self.add(Concern::Date, error.to_string(), error.fix()),
        }
    }

    fn price(&mut self, quote: Result<&Quote, &QuoteError>) {
        const FIX: &str = "write down what each costs you, above 0: a pack of what is bought ([pantry.goods]), boards and \
                            dowels ([[pantry.board]], [[pantry.dowel]]), your hour, plastic, the presentation board and \
                            the road ([pantry.money])";
        match quote {
            Err(error) => self.add(Concern::Price, error.to_string(), error.fix()),
            // Nobody has written a price yet.
            Ok(quote) if !quote.unpriced.is_empty() && quote.costs == 0 => {
                let (what, fix) = (
                    "nothing has a price yet",
                    "write your prices into a pantry file (`crumbline new --pantry pantry.toml` makes one) beside the cake",
                );
                self.add(Concern::Price, what, fix);
            }
            Ok(quote) if !quote.unpriced.is_empty() => {
                let what = format!("the pantry has no price for {}", listed(&quote.unpriced));
                self.add(Concern::Price, what, FIX);
            }
            Ok(quote) if quote.charged.is_none() => {
                self.add(Concern::Price, "nothing in the cake has a price above 0", FIX);
            }
            Ok(_) => {}
        }
    }
}

/// So many of them: "1 error", "3 errors".
fn count(n: usize, what: &str) -> String {
    format!("{n} {what}{}", if n == 1 { "" } else { "s" })
}
