//! What must be done when, counted back from the hour that the cake is handed over.
//!
//! Work lies within the working day, waiting runs through the night. Each step is put as late as what follows it
//! allows; where two steps would want the same hands at once they are told as they are, side by side. Nothing here
//! reads a clock: today is handed in.

mod ical;
mod tell;

use jiff::{SignedDuration, civil::DateTime};
use serde::Serialize;

pub use ical::calendar;
pub use tell::text;

use crate::{amounts::Amounts, quote};
use cakefile::schema_pantry::Order;
use plan::{
    Plan,
    design::{MaterialKind, Operation},
    pantry::{Pantry, Trouble},
};

/// A step with its time.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Step {
    /// What is done.
    pub what: String,
    /// When it begins at the latest.
    #[serde(serialize_with = "as_text")]
    pub from: DateTime,
    /// When the work on it ends.
    #[serde(serialize_with = "as_text")]
    pub to: DateTime,
    /// Hours of waiting after it.
    pub waits: f64,
    /// What it waits for, for those who read it.
    pub waits_for: String,
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
    /// The date cannot be read.
    #[error("\"{0}\" is no date and time")]
    Unreadable(String),
    /// A time falls outside the calendar.
    #[error("a time falls outside the calendar")]
    Beyond,
}

impl TimeError {
    /// How to mend it.
    pub fn mend(&self) -> &'static str {
        match self {
            Self::NoDate => "add [order] with deliver = \"2026-12-05 10:00\"",
            Self::Unreadable(_) => "write year, month, day and hour, as \"2026-12-05 10:00\"",
            Self::Beyond => "check the date and the times under [pantry.times]",
        }
    }
}

fn as_text<S: serde::Serializer>(time: &DateTime, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_str(&written(*time))
}

/// A time as a maker writes it.
fn written(time: DateTime) -> String {
    time.strftime("%a %d %b %Y %H:%M").to_string()
}

/// A step before it has a time.
struct Task {
    what: String,
    /// Minutes of work.
    work: f64,
    /// Hours of waiting after it.
    waits: f64,
    waits_for: &'static str,
    /// Whether the working day holds it.
    by_day: bool,
    /// Steps that follow it.
    then: Vec<usize>,
}

impl Timetable {
    /// When everything is done for `plan`, handed over as its order says.
    ///
    /// # Errors
    /// Without a date that can be read.
    pub fn new(plan: &Plan, amounts: &Amounts, today: DateTime) -> Result<Self, TimeError> {
        let (pantry, order) = (&plan.pantry, &plan.order);
        let deliver = delivery(order)?;
        let tasks = tasks(plan, amounts, pantry, order);
        let day = Day { from: pantry.times.from, to: pantry.times.to };
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
                what: task.what,
                from,
                to,
                waits: task.waits,
                waits_for: task.waits_for.into(),
                tight,
            })
            .collect();
        steps.sort_by_key(|step| step.from);
        let findings = late(&steps, deliver, today)?;
        Ok(Self { name: plan.design.name.clone(), deliver, steps, findings })
    }
}

/// When the order says that the cake is handed over.
fn delivery(order: &Order) -> Result<DateTime, TimeError> {
    let text = order.deliver.as_deref().ok_or(TimeError::NoDate)?;
    let tidy = text.trim().replacen(' ', "T", 1);
    // A date alone would mean midnight, which nobody means.
    if !tidy.contains('T') {
        return Err(TimeError::Unreadable(text.to_owned()));
    }
    tidy.parse().map_err(|_| TimeError::Unreadable(text.to_owned()))
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

fn tasks(plan: &Plan, amounts: &Amounts, pantry: &Pantry, order: &Order) -> Vec<Task> {
    let (times, work) = (&pantry.times, &pantry.work);
    let steps = quote::steps(plan, amounts, pantry);
    let minutes =
        |name: &str| steps.iter().find(|(step, _)| *step == name).map_or(0.0, |(_, minutes)| *minutes);
    let mut tasks: Vec<Task> = Vec::new();
    let mut task = |what: String, work: f64, waits: f64, waits_for: &'static str| {
        tasks.push(Task { what, work, waits, waits_for, by_day: true, then: Vec::new() });
        tasks.len() - 1
    };
    let modelled = plan.design.trims.iter().filter(|trim| {
        let paste = trim.material.as_ref().is_some_and(|m| m.kind == MaterialKind::Paste);
        trim.operation == Operation::Add && paste
    });
    let modelled = modelled.count() as f64;
    let details = plan.design.trims.len() as f64;
    let each = if details > 0.0 { minutes("details") / details } else { 0.0 };
    let model = (modelled > 0.0)
        .then(|| task("model the paste parts".into(), modelled * each, times.dry, "the parts dry"));
    let shop = task(
        "shop, weigh, line the pans".into(),
        minutes("talking, drawing, shopping, boxing") * 0.75,
        0.0,
        "",
    );
    let bakes: usize = amounts.bakes.iter().map(|group| group.bakes.len()).sum();
    let loads = amounts.loads;
    let mut chain = vec![shop];
    if bakes > 0 {
        let bake = minutes("mixing and filling pans") + work.oven * f64::from(loads);
        chain.push(task(
            format!("bake {bakes} in {loads} oven load{}", if loads == 1 { "" } else { "s" }),
            bake,
            times.cool + times.chill,
            "the bakes cool, then chill",
        ));
    }
    let level = minutes("levelling and splitting") + minutes("boards and dowels");
    chain.push(task("level, split, cut boards and dowels".into(), level, 0.0, ""));
    let settle = times.settle + times.firm;
    chain.push(task(
        "fill and stack".into(),
        minutes("filling and stacking"),
        settle,
        "the stack settles, then firms up in the cold",
    ));
    let coats: Vec<&str> = plan
        .design
        .coverings
        .iter()
        .rev()
        .filter(|covering| covering.material.kind != MaterialKind::Paste)
        .map(|covering| covering.material.name.as_str())
        .collect();
    chain.push(task("carve, cold".into(), minutes("carving"), 0.0, ""));
    for coat in &coats {
        let share = minutes("coating") / coats.len() as f64;
        chain.push(task(format!("coat with {coat}"), share, times.set, "the coat sets"));
    }
    let iced: Vec<&str> = plan
        .design
        .coverings
        .iter()
        .filter(|covering| covering.material.kind == MaterialKind::Paste)
        .map(|covering| covering.material.name.as_str())
        .collect();
    if !iced.is_empty() {
        chain.push(task(
            format!("cover with {}", iced.join(" and ")),
            minutes("covering"),
            times.rest,
            "the icing rests",
        ));
    }
    if details > 0.0 {
        chain.push(task(
            "put on and press in the details".into(),
            (details - modelled) * each + modelled * 5.0,
            0.0,
            "",
        ));
    }
    let dressed = chain[chain.len() - 1];
    chain.push(task("box it".into(), minutes("talking, drawing, shopping, boxing") * 0.25, 0.0, ""));
    chain.push(task("travel".into(), order.travel.unwrap_or(0.0), 0.0, ""));
    for pair in chain.windows(2) {
        tasks[pair[0]].then.push(pair[1]);
    }
    if let Some(model) = model {
        tasks[model].then.push(dressed);
    }
    if let Some(last) = tasks.last_mut() {
        // The road does not keep the maker's hours.
        last.by_day = false;
    }
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
