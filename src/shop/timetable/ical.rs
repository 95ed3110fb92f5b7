//! A timetable as an iCalendar file (RFC 5545), in the maker's local times without a zone.

use icalendar::{Calendar, Component, Event, Property};
use jiff::civil::DateTime;

use super::Timetable;
use formats::{escape, export::slug};
use make::language::filled;

/// The calendar of `timetable`, stamped as made at `stamp`, universal time.
pub fn calendar(timetable: &Timetable, stamp: DateTime) -> String {
    let mut calendar = Calendar::empty();
    calendar.append_property(Property::new("VERSION", "2.0"));
    calendar.append_property(Property::new("PRODID", "-//Crumbline//Timetable//EN"));
    calendar.append_property(Property::new("CALSCALE", "GREGORIAN"));
    let language = &timetable.language;
    let slug = slug(&timetable.name);
    let time = |time: DateTime| time.strftime("%Y%m%dT%H%M%S").to_string();
    for (number, step) in timetable.steps.iter().enumerate() {
        let mut event = Event::new();
        event.summary(&escape::line(&format!("{}: {}", timetable.name, step.what.told(language))));
        if let Some(wait) = step.waits_for.filter(|_| step.waits > 0.0) {
            let hours = timetable.hours(step.waits);
            let said = [("hours", hours.as_str()), ("wait", wait.told(language))];
            event.description(&filled(&language.timetable.described, &said));
        }
        event.add_property("UID", format!("{slug}-{}-{}@crumbline", time(timetable.deliver), number + 1));
        event.add_property("DTSTAMP", format!("{}Z", time(stamp)));
        event.add_property("DTSTART", time(step.from));
        event.add_property("DTEND", time(step.to));
        calendar.push(event.done());
    }
    calendar.to_string()
}
