//! The working day.

use jiff::{SignedDuration, civil::DateTime};

use super::TimeError;

/// So many hours, to the minute.
pub fn hours(hours: f64) -> SignedDuration {
    SignedDuration::from_mins((hours * 60.0).round() as i64)
}

/// So many minutes before a time.
pub fn earlier(time: DateTime, minutes: f64) -> Result<DateTime, TimeError> {
    time.checked_sub(SignedDuration::from_mins(minutes.ceil() as i64)).map_err(|_| TimeError::Beyond)
}

/// The working day, in hours.
#[derive(Clone, Copy)]
pub struct Day {
    /// When work begins.
    pub from: f64,
    /// When it ends.
    pub to: f64,
}

impl Day {
    /// The latest stretch of `minutes` of work that ends by `end`; nights between are left out.
    pub fn before(self, end: DateTime, minutes: f64) -> Result<(DateTime, DateTime), TimeError> {
        let end = self.last_minute(end)?;
        let mut left = minutes.ceil();
        let mut from = end;
        loop {
            let opens = at(from, self.from)?;
            let room = from.duration_since(opens).as_mins() as f64;
            if left <= room {
                return Ok((earlier(from, left)?, end));
            }
            left -= room;
            from = self.evening_before(opens)?;
        }
    }

    /// The latest stretch of `minutes` that ends by `end` and is not split by a night. It lies within one working day,
    /// or begins before it where no day is long enough.
    pub fn unbroken(self, end: DateTime, minutes: f64) -> Result<(DateTime, DateTime), TimeError> {
        let mut end = self.last_minute(end)?;
        let room = |end: DateTime| Ok(end.duration_since(at(end, self.from)?).as_mins() as f64);
        if room(end)? < minutes.ceil() && minutes.ceil() <= 60.0 * (self.to - self.from) {
            end = self.evening_before(end)?;
        }
        Ok((earlier(end, minutes)?, end))
    }

    /// The last minute of a working day that is not after `end`.
    fn last_minute(self, end: DateTime) -> Result<DateTime, TimeError> {
        let (opens, closes) = (at(end, self.from)?, at(end, self.to)?);
        if end <= opens { self.evening_before(end) } else { Ok(end.min(closes)) }
    }

    /// The end of the working day before that of `time`.
    fn evening_before(self, time: DateTime) -> Result<DateTime, TimeError> {
        at(earlier(time.date().at(0, 0, 0, 0), 1.0)?, self.to)
    }
}

/// An hour of the day of `time`.
fn at(time: DateTime, hour: f64) -> Result<DateTime, TimeError> {
    let midnight = time.date().at(0, 0, 0, 0);
    midnight.checked_add(hours(hour)).map_err(|_| TimeError::Beyond)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::timetable::written;

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

    #[test]
    fn what_is_unbroken_is_not_split_by_the_night() {
        let day = Day { from: 8.0, to: 20.0 };
        let at = |end: &str, minutes: f64| {
            let (from, to) = day.unbroken(end.parse().unwrap(), minutes).unwrap();
            (written(from), written(to))
        };
        // Two hours of the morning are too few for five: the evening before.
        let evening = ("Fri 04 Dec 2026 15:00".into(), "Fri 04 Dec 2026 20:00".into());
        assert_eq!(at("2026-12-05T10:00", 300.0), evening);
        let noon = ("Sat 05 Dec 2026 08:00".into(), "Sat 05 Dec 2026 13:00".into());
        assert_eq!(at("2026-12-05T13:00", 300.0), noon);
        // Longer than any working day: it begins early.
        let early = ("Sat 05 Dec 2026 06:00".into(), "Sat 05 Dec 2026 20:00".into());
        assert_eq!(at("2026-12-05T23:00", 840.0), early);
    }
}
