//! A date with an hour, as a cake file writes it.

use std::{borrow::Cow, fmt, str::FromStr};

use jiff::civil::DateTime;
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::{Deserialize, Serialize};

/// A date and time of the maker's own clock, without a time zone: "2026-12-05 10:00".
#[derive(Debug, Clone, PartialEq, Eq, Deserialize, Serialize)]
#[serde(try_from = "String", into = "String")]
pub struct LocalTime {
    text: String,
    time: DateTime,
}

/// Why a text is no date and time.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum LocalTimeError {
    /// It is a date alone, which would mean midnight.
    #[error("\"{0}\" is a date without an hour")]
    NoHour(String),
    /// It is written as a date and time, but there is no such day or hour.
    #[error("\"{0}\" is not in the calendar")]
    NotInCalendar(String),
    /// It is written otherwise.
    #[error("\"{0}\" is no date and time")]
    Unreadable(String),
}

impl LocalTimeError {
    /// How to fix it.
    pub fn fix(&self) -> &'static str {
        match self {
            Self::NoHour(_) => "add the hour, as \"2026-12-05 10:00\"",
            Self::NotInCalendar(_) => "check the month, the number of its days, and the hour",
            Self::Unreadable(_) => "write year, month, day and hour, as \"2026-12-05 10:00\"",
        }
    }
}

impl LocalTime {
    /// The time.
    pub fn time(&self) -> DateTime {
        self.time
    }

    /// The time as it is written.
    pub fn text(&self) -> &str {
        &self.text
    }
}

impl FromStr for LocalTime {
    type Err = LocalTimeError;

    fn from_str(text: &str) -> Result<Self, LocalTimeError> {
        let tidy = text.trim().replacen(' ', "T", 1);
        // A date alone would be read as midnight.
        let time = if tidy.contains('T') { tidy.parse().ok() } else { None };
        if let Some(time) = time {
            return Ok(Self { text: text.to_owned(), time });
        }
        let text = text.to_owned();
        Err(match form(&tidy).as_str() {
            "0-0-0" => LocalTimeError::NoHour(text),
            "0-0-0T0:0" | "0-0-0T0:0:0" => LocalTimeError::NotInCalendar(text),
            _ => LocalTimeError::Unreadable(text),
        })
    }
}

/// `text` with a 0 in the place of every run of digits.
fn form(text: &str) -> String {
    let mut form = String::new();
    for c in text.chars() {
        match c {
            '0'..='9' if form.ends_with('0') => {}
            '0'..='9' => form.push('0'),
            other => form.push(other),
        }
    }
    form
}

impl TryFrom<String> for LocalTime {
    type Error = LocalTimeError;

    fn try_from(text: String) -> Result<Self, LocalTimeError> {
        text.parse()
    }
}

impl From<LocalTime> for String {
    fn from(time: LocalTime) -> Self {
        time.text
    }
}

impl fmt::Display for LocalTime {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.text)
    }
}

impl JsonSchema for LocalTime {
    fn inline_schema() -> bool {
        true
    }

    fn schema_name() -> Cow<'static, str> {
        "LocalTime".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({
            "type": "string", "format": "local-time",
            "description": "A date and time of the maker's own clock, as \"2026-12-05 10:00\".",
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_times_that_are_in_the_calendar_are_read() {
        let read = |text: &str| text.parse::<LocalTime>();
        assert_eq!(read("2026-12-05 10:00").unwrap().time().hour(), 10);
        assert_eq!(read(" 2028-02-29T08:30 ").unwrap().time().day(), 29);
        for wrong in ["2026-02-30 10:00", "2027-02-29 10:00", "2026-13-01 10:00", "2026-12-05 25:00"] {
            assert_eq!(read(wrong).unwrap_err(), LocalTimeError::NotInCalendar(wrong.into()));
        }
        assert_eq!(read("2026-12-05").unwrap_err(), LocalTimeError::NoHour("2026-12-05".into()));
        for wrong in ["soon", "", "5.12.2026 10:00", "2026-12-05 10 o'clock"] {
            assert_eq!(read(wrong).unwrap_err(), LocalTimeError::Unreadable(wrong.into()));
        }
    }
}
