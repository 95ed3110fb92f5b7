//! Checks one value that is neither a table nor a list of the right kind.

use toml::de::{DeFloat, DeInteger, DeValue};

use super::{
    Diagnostic, FieldPath, LocalTime,
    choice::listed,
    nearest::nearest,
    rule::Rule,
    schema::{Angle, Colour, Length, Quantity, Size, Temperature},
};
use geom::units::{Unit, UnitError};

/// Checks `value` against `rule`; a table or a list is of the wrong kind here. The problem has no place
/// yet.
pub(super) fn check(rule: &Rule, value: &DeValue, unit: Unit) -> Result<(), Diagnostic> {
    match rule {
        Rule::Length => check_quantity(rule, value, |q| Length(q).to_mm(unit)),
        Rule::Size => check_quantity(rule, value, |q| Size(q).to_mm(unit)),
        Rule::Angle => check_quantity(rule, value, |q| Angle(q).to_degrees()),
        Rule::Temperature => check_quantity(rule, value, |q| Temperature(q).to_celsius()),
        Rule::Colour => check_colour(value),
        Rule::Choice(words) => check_choice(words, value),
        Rule::LocalTime => check_local_time(value),
        Rule::Number { least, most } => check_number(value, *least, *most),
        Rule::Whole { least, most } => check_whole(value, *least, *most),
        Rule::Text if value.is_str() => Ok(()),
        Rule::Flag if value.is_bool() => Ok(()),
        rule => Err(wrong_kind(rule, value)),
    }
}

fn check_quantity(
    rule: &Rule,
    value: &DeValue,
    convert: impl Fn(Quantity) -> Result<f64, UnitError>,
) -> Result<(), Diagnostic> {
    let quantity = match value {
        DeValue::String(text) => Quantity::Text(text.to_string()),
        value => Quantity::Number(number(value).ok_or_else(|| wrong_kind(rule, value))?),
    };
    match convert(quantity) {
        Ok(_) => Ok(()),
        Err(error) => {
            let problem = nowhere(error.to_string());
            Err(match error.fix() {
                Some(fix) => problem.fix(fix),
                None => problem,
            })
        }
    }
}

fn check_colour(value: &DeValue) -> Result<(), Diagnostic> {
    let text = value.as_str().ok_or_else(|| wrong_kind(&Rule::Colour, value))?;
    match Colour(text.to_owned()).to_rgb() {
        Some(_) => Ok(()),
        None => Err(nowhere(format!("\"{text}\" is not a colour"))
            .fix("write red, green and blue as six digits, as \"#f4e1c1\"")),
    }
}

fn check_choice(words: &[String], value: &DeValue) -> Result<(), Diagnostic> {
    let fix = format!("write {}", listed(words.iter().map(|word| format!("\"{word}\"")), "or"));
    match value.as_str() {
        Some(text) if words.iter().any(|word| word == text) => Ok(()),
        Some(text) => Err(nowhere(format!("\"{text}\" cannot be chosen here")).fix(
            match nearest(text, words.iter().map(String::as_str)) {
                Some(word) => format!("did you mean \"{word}\"?"),
                None => fix,
            },
        )),
        None => Err(nowhere(format!("this is {}, but it has to be a word", kind(value))).fix(fix)),
    }
}

fn check_local_time(value: &DeValue) -> Result<(), Diagnostic> {
    let text = value.as_str().ok_or_else(|| wrong_kind(&Rule::LocalTime, value))?;
    match text.parse::<LocalTime>() {
        Ok(_) => Ok(()),
        Err(error) => Err(nowhere(error.to_string()).fix(error.fix())),
    }
}

fn check_number(value: &DeValue, least: f64, most: f64) -> Result<(), Diagnostic> {
    match number(value) {
        Some(number) if !number.is_finite() => Err(nowhere("this is not a finite number")),
        Some(number) if number < least || number > most => {
            let fix = match (least > f64::MIN, most < f64::MAX) {
                (true, true) => format!("give a number from {least} to {most}"),
                (true, false) => format!("give a number that is {least} or more"),
                _ => format!("give a number that is {most} or less"),
            };
            Err(nowhere(format!("this cannot be {}", written(value, number))).fix(fix))
        }
        Some(_) => Ok(()),
        None => Err(wrong_kind(&Rule::Number { least, most }, value)),
    }
}

/// A number as the file writes it.
fn written(value: &DeValue, number: f64) -> String {
    match value {
        DeValue::Integer(integer) => integer.as_str().to_owned(),
        DeValue::Float(float) => float.as_str().to_owned(),
        _ => number.to_string(),
    }
}

fn check_whole(value: &DeValue, least: i128, most: i128) -> Result<(), Diagnostic> {
    let DeValue::Integer(integer) = value else {
        return Err(wrong_kind(&Rule::Whole { least, most }, value));
    };
    match whole(integer) {
        Some(number) if (least..=most).contains(&number) => Ok(()),
        _ => Err(nowhere(format!("this whole number must lie between {least} and {most}"))
            .fix(format!("give a whole number from {least} to {most}"))),
    }
}

fn number(value: &DeValue) -> Option<f64> {
    match value {
        DeValue::Integer(integer) => whole(integer).map(|number| number as f64),
        DeValue::Float(float) => parse_float(float),
        _ => None,
    }
}

/// A whole number of any size; beyond 128 bits it is as good as the largest.
pub(super) fn whole(integer: &DeInteger) -> Option<i128> {
    use std::num::IntErrorKind::{NegOverflow, PosOverflow};
    match i128::from_str_radix(integer.as_str(), integer.radix()) {
        Ok(number) => Some(number),
        Err(error) if *error.kind() == PosOverflow => Some(i128::MAX),
        Err(error) if *error.kind() == NegOverflow => Some(i128::MIN),
        Err(_) => None,
    }
}

fn parse_float(float: &DeFloat) -> Option<f64> {
    float.as_str().parse().ok()
}

fn wrong_kind(rule: &Rule, value: &DeValue) -> Diagnostic {
    let problem = nowhere(format!("this is {}, but it has to be {}", kind(value), wanted(rule)));
    match fix_kind(rule, value) {
        Some(fix) => problem.fix(fix),
        None => problem,
    }
}

fn fix_kind(rule: &Rule, value: &DeValue) -> Option<String> {
    match (rule, value) {
        (Rule::Text, DeValue::Integer(integer)) => Some(format!("write \"{integer}\", in quotes")),
        (Rule::Text, DeValue::Float(float)) => Some(format!("write \"{float}\", in quotes")),
        (Rule::Number { .. } | Rule::Whole { .. }, DeValue::String(text)) => {
            text.trim().parse::<f64>().ok().map(|_| format!("write {}, without quotes", text.trim()))
        }
        (Rule::LocalTime, DeValue::Datetime(_)) => {
            Some("put it in quotes, as \"2026-12-05 10:00\"".to_owned())
        }
        (Rule::Flag, DeValue::String(_)) => Some("write true or false, without quotes".to_owned()),
        (Rule::List { .. }, DeValue::Table(_)) => {
            Some("put the name in double brackets, as [[tier]]: there may be several".to_owned())
        }
        (Rule::Table(_), DeValue::Array(_)) => {
            Some("put the name in single brackets, as [board]: there is only one".to_owned())
        }
        (Rule::Table(_), _) => Some("write a table: its name in brackets, and its keys below".to_owned()),
        (Rule::Length | Rule::Size, _) => Some("write a number, or text such as \"8 in\"".to_owned()),
        (Rule::Temperature, _) => Some("write a number of °C, or text such as \"75 °F\"".to_owned()),
        (Rule::Angle, _) => Some("write a number of degrees, or text such as \"45 deg\"".to_owned()),
        _ => None,
    }
}

/// What a value is, in a maker's words.
fn kind(value: &DeValue) -> &'static str {
    match value {
        DeValue::String(_) => "text",
        DeValue::Integer(_) | DeValue::Float(_) => "a number",
        DeValue::Boolean(true) => "true",
        DeValue::Boolean(false) => "false",
        DeValue::Datetime(_) => "a date or time",
        DeValue::Array(_) => "a list",
        DeValue::Table(_) => "a table",
    }
}

/// What a rule asks for, in a maker's words.
fn wanted(rule: &Rule) -> &'static str {
    match rule {
        Rule::Table(_) | Rule::Map(_) => "a table",
        Rule::List { .. } => "a list",
        Rule::Length | Rule::Size => "a length",
        Rule::Angle => "an angle",
        Rule::Temperature => "a temperature",
        Rule::Colour => "a colour",
        Rule::LocalTime => "text with a date and an hour",
        Rule::Text => "text",
        Rule::Number { .. } => "a number",
        Rule::Whole { .. } => "a whole number",
        Rule::Flag => "true or false",
        Rule::Choice(_) | Rule::Named(_) => "a word",
    }
}

fn nowhere(message: impl Into<String>) -> Diagnostic {
    Diagnostic::error(FieldPath::root(), message)
}
