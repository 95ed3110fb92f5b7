//! A timetable for a person at a terminal.

use std::fmt::Write;

use super::{Timetable, written};
use make::report::table;

/// The timetable as text.
pub fn text(timetable: &Timetable) -> String {
    let mut out = format!("{}: delivered on {}\n", timetable.name, written(timetable.deliver));
    for found in &timetable.findings {
        let _ = write!(out, "\n  {}\n    fix: {}\n", found.message, found.fix);
    }
    let rows = timetable.steps.iter().map(|step| {
        let waits = step.waits_for.filter(|_| step.waits > 0.0);
        let waits = waits.map_or_else(String::new, |wait| format!("{} h: {wait}", step.waits));
        let tight = if step.tight { "*" } else { "" };
        vec![written(step.from), written(step.to), step.what.to_string(), tight.into(), waits]
    });
    out.push('\n');
    out += &table(&["begin", "done", "what", "", "then wait"], 5, rows.collect());
    out.push_str(
        "  * no time to spare: begun later, it makes the cake late. Hours are the pantry's;\n  \
         the local food code says how long what may stand unchilled.\n",
    );
    out
}
