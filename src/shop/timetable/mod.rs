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
            Self::NoDate => "add [order] with deliver = \"2026-12-05 10:00\"",
            Self::Beyond => "check the date and the times under [pantry.times]",
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

/// A time as a maker writes it.
fn written(time: DateTime) -> String {
    time.strftime("%a %d %b %Y %H:%M").to_string()
}

impl Timetable {
    /// When everything is done for `plan`, handed over as its order says.
    ///
    /// # Errors
    /// Without a date, or where a time falls outside the calendar.
    pub fn new(plan: &Plan, amounts: &Amounts, today: DateTime) -> Result<Self, TimeError> {
        let deliver = plan.order.deliver.as_ref().ok_or(TimeError::NoDate)?.time();
        let tasks = tasks::tasks(plan, amounts);
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
        let findings = late(&steps, deliver, today)?;
        Ok(Self { name: plan.design.name.clone(), deliver, steps, findings })
    }
}

/// What cannot be met, seen from `today`.
fn late(steps: &[Step], deliver: DateTime, today: DateTime) -> Result<Vec<Trouble>, TimeError> {
    let Some(first) = steps.first().filter(|first| first.from < today) else { return Ok(Vec::new()) };
    if deliver <= today {
        return Ok(vec![Trouble {
            code: "date-in-the-past",
            message: format!("the cake is to be delivered on {}, which has passed", written(deliver)),
            fix: "correct deliver under [order]".into(),
        }]);
    }
    // In whole days, so that the hours stay as they are.
    let short = today.duration_since(first.from).as_hours().div_euclid(24) + 1;
    let met = deliver.checked_add(SignedDuration::from_hours(24 * short)).map_err(|_| TimeError::Beyond)?;
    Ok(vec![Trouble {
        code: "date-not-met",
        message: format!("\"{}\" would have had to begin on {}", first.what, written(first.from)),
        fix: format!(
            "the first day that can be met at that hour is {}; or shorten what waits under [pantry.times], if your \
             cake allows it",
            written(met)
        ),
    }])
}
