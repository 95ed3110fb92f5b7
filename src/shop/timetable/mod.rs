//! What must be done when, counted back from the hour that the cake is handed over.
//!
//! Work lies within the working day, waiting runs through the night. Each step is put as late as what follows it
//! allows; two steps that one person would have to do at once stand side by side. Nothing here reads a clock: today
//! is an argument.

mod ical;
mod task;
mod text;

use jiff::{SignedDuration, civil::DateTime};
use serde::{Serialize, Serializer};

pub use ical::calendar;
pub use task::{Task, Wait};
pub use text::text;

use crate::{
    amounts::Amounts,
    work::{WorkKind, WorkMinutes},
};
use plan::{
    Plan,
    design::{MaterialKind, Operation, Trim},
    pantry::Trouble,
};

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
    #[error("the cake file does not say when the cake is handed over")]
    NoDate,
    /// A time falls outside the calendar.
    #[error("a time falls outside the calendar")]
    Beyond,
}

impl TimeError {
    /// How to mend it.
    pub fn mend(&self) -> &'static str {
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

/// A task before it has a time.
struct Planned {
    what: Task,
    /// Minutes of work.
    work: f64,
    /// Hours of waiting after it.
    waits: f64,
    /// Whether the working day holds it.
    by_day: bool,
    /// Tasks that follow it, by their place in the list.
    then: Vec<usize>,
}

impl Timetable {
    /// When everything is done for `plan`, handed over as its order says.
    ///
    /// # Errors
    /// Without a date, or where a time falls outside the calendar.
    pub fn new(plan: &Plan, amounts: &Amounts, today: DateTime) -> Result<Self, TimeError> {
        let deliver = plan.order.deliver.as_ref().ok_or(TimeError::NoDate)?.time();
        let tasks = tasks(plan, amounts);
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
            times[i] =
                if task.by_day { day.before(end, task.work)? } else { (earlier(end, task.work)?, end) };
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
            message: format!("the cake is to be handed over on {}, which has passed", written(deliver)),
            mend: "correct deliver under [order]".into(),
        }]);
    }
    // In whole days, so that the hours stay as they are.
    let short = today.duration_since(first.from).as_hours().div_euclid(24) + 1;
    let met = deliver.checked_add(SignedDuration::from_hours(24 * short)).map_err(|_| TimeError::Beyond)?;
    Ok(vec![Trouble {
        code: "date-not-met",
        message: format!("\"{}\" would have had to begin on {}", first.what, written(first.from)),
        mend: format!(
            "the first day that can be met at that hour is {}; or shorten what waits under [pantry.times], if your \
             cake allows it",
            written(met)
        ),
    }])
}

fn hours(hours: f64) -> SignedDuration {
    SignedDuration::from_mins((hours * 60.0).round() as i64)
}

fn earlier(time: DateTime, minutes: f64) -> Result<DateTime, TimeError> {
    time.checked_sub(SignedDuration::from_mins(minutes.ceil() as i64)).map_err(|_| TimeError::Beyond)
}

/// The working day, in hours.
#[derive(Clone, Copy)]
struct Day {
    from: f64,
    to: f64,
}

impl Day {
    /// The latest stretch of `minutes` of work that ends by `end`; nights between are left out.
    fn before(self, end: DateTime, minutes: f64) -> Result<(DateTime, DateTime), TimeError> {
        let at = |time: DateTime, hour: f64| {
            let midnight = time.date().at(0, 0, 0, 0);
            midnight.checked_add(hours(hour)).map_err(|_| TimeError::Beyond)
        };
        let mut end = end;
        let (opens, closes) = (at(end, self.from)?, at(end, self.to)?);
        if end > closes {
            end = closes;
        } else if end <= opens {
            end = at(earlier(end.date().at(0, 0, 0, 0), 1.0)?, self.to)?;
        }
        let mut left = minutes.ceil();
        let mut from = end;
        loop {
            let opens = at(from, self.from)?;
            let room = from.duration_since(opens).as_mins() as f64;
            if left <= room {
                return Ok((earlier(from, left)?, end));
            }
            left -= room;
            from = at(earlier(opens.date().at(0, 0, 0, 0), 1.0)?, self.to)?;
        }
    }
}

/// What share of the errands is done before the bakes; the rest is boxing (common practice, no source).
const BEFORE_BAKING: f64 = 0.75;
/// Minutes to put on a part that was modelled before (common practice, no source).
const PUT_ON: f64 = 5.0;

/// Everything that is done, each task before those that follow it.
fn tasks(plan: &Plan, amounts: &Amounts) -> Vec<Planned> {
    let (times, rates) = (&plan.pantry.times, &plan.pantry.work);
    let minutes = WorkMinutes::new(plan, amounts);
    let mut tasks: Vec<Planned> = Vec::new();
    let mut add = |what: Task, work: f64, waits: f64| {
        tasks.push(Planned { what, work, waits, by_day: true, then: Vec::new() });
        tasks.len() - 1
    };
    let is_modelled = |trim: &&Trim| {
        let paste = trim.material.as_ref().is_some_and(|m| m.kind == MaterialKind::Paste);
        trim.operation == Operation::Add && paste
    };
    let modelled = plan.design.trims.iter().filter(is_modelled).count() as f64;
    let details = plan.design.trims.len() as f64;
    let each = if details > 0.0 { minutes.of(WorkKind::Details) / details } else { 0.0 };
    let model = (modelled > 0.0).then(|| add(Task::Model, modelled * each, times.dry));
    let errands = minutes.of(WorkKind::Errands);
    let mut chain = vec![add(Task::Prepare, errands * BEFORE_BAKING, 0.0)];
    let bakes: usize = amounts.bakes.iter().map(|group| group.bakes.len()).sum();
    let loads = amounts.loads;
    if bakes > 0 {
        let work = minutes.of(WorkKind::Mixing) + rates.oven * f64::from(loads);
        chain.push(add(Task::Bake { bakes, loads }, work, times.cool + times.chill));
    }
    let level = minutes.of(WorkKind::Levelling) + minutes.of(WorkKind::Supports);
    chain.push(add(Task::Level, level, 0.0));
    chain.push(add(Task::Fill, minutes.of(WorkKind::Stacking), times.settle + times.firm));
    chain.push(add(Task::Carve, minutes.of(WorkKind::Carving), 0.0));
    let coverings = |paste: bool| -> Vec<String> {
        let of_kind =
            plan.design.coverings.iter().filter(|c| (c.material.kind == MaterialKind::Paste) == paste);
        of_kind.map(|covering| covering.material.name.clone()).collect()
    };
    let coats = coverings(false);
    let each_coat = minutes.of(WorkKind::Coating) / coats.len().max(1) as f64;
    for coat in coats.into_iter().rev() {
        chain.push(add(Task::Coat(coat), each_coat, times.set));
    }
    let icing = coverings(true);
    if !icing.is_empty() {
        chain.push(add(Task::Cover(icing), minutes.of(WorkKind::Covering), times.rest));
    }
    if details > 0.0 {
        chain.push(add(Task::Details, (details - modelled) * each + modelled * PUT_ON, 0.0));
    }
    let dressed = chain[chain.len() - 1];
    chain.push(add(Task::Box, errands * (1.0 - BEFORE_BAKING), 0.0));
    let travel = add(Task::Travel, plan.order.travel.unwrap_or(0.0), 0.0);
    chain.push(travel);
    for pair in chain.windows(2) {
        tasks[pair[0]].then.push(pair[1]);
    }
    if let Some(model) = model {
        tasks[model].then.push(dressed);
    }
    // The road does not keep the maker's hours.
    tasks[travel].by_day = false;
    tasks
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn work_lies_within_the_day_and_runs_on_the_day_before() {
        let day = Day { from: 8.0, to: 20.0 };
        let noon: DateTime = "2026-12-05T10:00".parse().unwrap();
        let (from, to) = day.before(noon, 300.0).unwrap();
        // Two hours in the morning, three the evening before.
        assert_eq!(
            (written(from), written(to)),
            ("Fri 04 Dec 2026 17:00".into(), "Sat 05 Dec 2026 10:00".into())
        );
        let (_, to) = day.before("2026-12-05T03:00".parse().unwrap(), 10.0).unwrap();
        assert_eq!(written(to), "Fri 04 Dec 2026 20:00");
    }
}
