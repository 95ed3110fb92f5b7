//! A timetable for a person at a terminal.

use std::fmt::Write;

use super::Timetable;
use make::{
    language::filled,
    report::{table, wrapped},
};

/// The timetable as text, in its language.
pub fn text(timetable: &Timetable) -> String {
    let language = &timetable.language;
    let words = &language.timetable;
    let deliver = language.short_time(timetable.deliver);
    let mut out = filled(&words.heading, &[("cake", &timetable.name), ("time", &deliver)]) + "\n";
    for found in &timetable.findings {
        let fix = filled(&language.check.fix, &[("fix", &found.fix)]);
        let _ = write!(out, "\n  {}\n    {fix}\n", found.message);
    }
    let rows = timetable.steps.iter().map(|step| {
        let waits = step.waits_for.filter(|_| step.waits > 0.0).map_or_else(String::new, |wait| {
            let hours = timetable.hours(step.waits);
            filled(&words.waits, &[("hours", &hours), ("wait", wait.told(language))])
        });
        let tight = if step.tight { "*" } else { "" };
        let (from, to) = (language.short_time(step.from), language.short_time(step.to));
        vec![from, to, step.what.told(language), tight.into(), waits]
    });
    out.push('\n');
    out += &table(&[&words.begin, &words.done, &words.what, "", &words.then_wait], 5, rows.collect());
    wrapped(&mut out, "  ", &words.tight);
    out
}
