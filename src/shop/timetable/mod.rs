//! What must be done when, counted back from the hour that the cake is handed over.
//!
//! Work lies within the working day, waiting runs through the night. Each step is put as late as what follows it
//! allows; two steps that one person would have to do at once stand side by side. A load in the oven is not split by
//! the night. Nothing here reads a clock: today
//! is an argument.

mod chilling;
mod day;
mod ical;
mod task;
mod tasks;
mod text;

use jiff::{SignedDuration, civil::DateTime};
use serde::{Serialize, Serializer};

pub use chilling::Cooled;
pub use ical::calendar;
pub use task::{Task, Wait};
pub use text::text;

use self::day::{Day, earlier, hours};
use self::tasks::When;
use crate::amounts::Amounts;
use geom::units::UnitStyle;
use make::language::{Language, filled};
use plan::{Plan, pantry::Trouble};

/// A step with its time.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Step {
    /// What is done.
    pub what: Task,
    /// When it begins at the latest.
    #[serde(serialize_with = "as_text")]
    pub from: DateTime,
    /// When the work on it ends.
    #[serde(serialize_with = "as_text")]
    pub to: DateTime,
    /// Hours of waiting after it.
    pub waits: f64,
    /// What it waits for.
    #[serde(serialize_with = "as_words")]
    pub waits_for: Option<Wait>,
    /// Whether it is on the longest chain: later is too late.
    pub tight: bool,
}

/// When everything is done.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Timetable {
    /// The cake.
    pub name: String,
    /// When it is handed over.
    #[serde(serialize_with = "as_text")]
    pub deliver: DateTime,
    /// Steps by the time that they begin.
    pub steps: Vec<Step>,
    /// What cannot be met.
    pub findings: Vec<Trouble>,
    /// What steps are told in.
    #[serde(skip)]
    pub language: Language,
}

/// Why there is no timetable.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum TimeError {
    /// The order names no date.
    #[error("the cake file does not say when the cake is delivered")]
    NoDate,
    /// A time falls outside the calendar.
    #[error("a time falls outside the calendar")]
    Beyond,
}

impl TimeError {
    /// How to fix it.
    pub fn fix(&self) -> &'static str {
        match self {
            Self::NoDate => "say when it is delivered ([order] deliver = \"2026-12-05 10:00\")",
            Self::Beyond => "check the date of the delivery and the waiting times ([pantry.times])",
        }
    }
}

fn as_words<S: Serializer>(wait: &Option<Wait>, serializer: S) -> Result<S::Ok, S::Error> {
    match wait {
        Some(wait) => serializer.collect_str(wait),
        None => serializer.serialize_str(""),
    }
}

fn as_text<S: Serializer>(time: &DateTime, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_str(&written(*time))
}

/// A time as files have it, in the language of the program's own messages.
fn written(time: DateTime) -> String {
    Language::english().short_time(time)
}

impl Timetable {
    /// So many hours in figures, to a hundredth.
    fn hours(&self, hours: f64) -> String {
        self.language.style(UnitStyle::default()).numbers.rounded(hours, 2)
    }

    /// When everything is done for `plan`, handed over as its order says.
    ///
    /// # Errors
    /// Without a date, or where a time falls outside the calendar.
    pub fn new(plan: &Plan, amounts: &Amounts, today: DateTime) -> Result<Self, TimeError> {
        Self::in_language(plan, amounts, today, Language::english())
    }

    /// The same, told in `language`.
    ///
    /// # Errors
    /// As [`Self::new`].
    pub fn in_language(
        plan: &Plan,
        amounts: &Amounts,
        today: DateTime,
        language: &Language,
    ) -> Result<Self, TimeError> {
        let deliver = plan.order.deliver.as_ref().ok_or(TimeError::NoDate)?.time();
        let tasks = tasks::tasks(plan, amounts, language);
        let day = Day { from: plan.pantry.times.from, to: plan.pantry.times.to };
        let count = tasks.len();
        let mut times: Vec<(DateTime, DateTime)> = vec![(deliver, deliver); count];
        // Those that follow come later in the list.
        for i in (0..count).rev() {
            let task = &tasks[i];
            let end = match task.then.iter().map(|next| times[*next].0).min() {
                Some(next) => next.checked_sub(hours(task.waits)).map_err(|_| TimeError::Beyond)?,
                None => deliver,
            };
            times[i] = match task.when {
                When::ByDay => day.before(end, task.work)?,
                When::Unbroken => day.unbroken(end, task.work)?,
                When::Any => (earlier(end, task.work)?, end),
            };
        }
        let mut tight = vec![false; count];
        // The longest chain begins with what begins first, and goes on with what leaves it no time.
        let mut at = (0..count).min_by_key(|i| times[*i].0);
        while let Some(i) = at {
            tight[i] = true;
            at = tasks[i].then.iter().copied().min_by_key(|next| times[*next].0);
        }
        let mut steps: Vec<Step> = tasks
            .into_iter()
            .zip(times)
            .zip(tight)
            .map(|((task, (from, to)), tight)| Step {
                waits_for: task.what.wait(),
                what: task.what,
                from,
                to,
                waits: task.waits,
                tight,
            })
            .collect();
        steps.sort_by_key(|step| step.from);
        let findings = late(&steps, deliver, today, language)?;
        let name = plan.design.name.clone();
        Ok(Self { name, deliver, steps, findings, language: language.clone() })
    }
}

/// What cannot be met, seen from `today`.
fn late(
    steps: &[Step],
    deliver: DateTime,
    today: DateTime,
    language: &Language,
) -> Result<Vec<Trouble>, TimeError> {
    let words = &language.timetable;
    let Some(first) = steps.first().filter(|first| first.from < today) else { return Ok(Vec::new()) };
    if deliver <= today {
        return Ok(vec![Trouble {
            code: "date-in-the-past",
            about: plan::pantry::About::Nothing,
            message: filled(&words.past, &[("time", &language.short_time(deliver))]),
            fix: words.past_fix.clone(),
        }]);
    }
    // In whole days, so that the hours stay as they are.
    let short = today.duration_since(first.from).as_hours().div_euclid(24) + 1;
    let met = deliver.checked_add(SignedDuration::from_hours(24 * short)).map_err(|_| TimeError::Beyond)?;
    Ok(vec![Trouble {
        code: "date-not-met",
        about: plan::pantry::About::Nothing,
        message: filled(
            &words.late,
            &[("step", &first.what.told(language)), ("time", &language.short_time(first.from))],
        ),
        fix: filled(&words.late_fix, &[("time", &language.short_time(met))]),
    }])
}
