//! Lengths and angles from text such as "8 1/2 in".

use super::{LONGEST, MM_PER_INCH, SMALLEST, TEMPERATURES, Unit, WIDEST};

/// Why a length or an angle was refused.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum UnitError {
    /// There is no text.
    #[error("nothing is written here")]
    Empty,
    /// The text holds no number that can be read.
    #[error("\"{text}\" is not a number with a unit")]
    NotANumber {
        /// The text.
        text: String,
    },
    /// The number is written with a decimal comma.
    #[error("\"{text}\" is written with a comma")]
    Comma {
        /// The text.
        text: String,
    },
    /// The unit is none that the program knows.
    #[error("\"{unit}\" is not a unit of {of}")]
    UnknownUnit {
        /// The unit as written.
        unit: String,
        /// What was to be measured: "length", "angle" or "temperature".
        of: &'static str,
    },
    /// The number is NaN or infinite.
    #[error("this is not a finite number")]
    NotFinite,
    /// The length is longer than any cake.
    #[error("{} mm is longer than any cake: at most {LONGEST} mm (10 m) will do", short(*mm))]
    TooLong {
        /// The length, mm.
        mm: f64,
    },
    /// A size is zero, negative, or too small to mean anything.
    #[error("a size must be above zero: at least {SMALLEST} mm, but this is {} mm", short(*mm))]
    TooSmall {
        /// The size, mm.
        mm: f64,
    },
    /// No cake is ever so cold or so hot.
    #[error("{} °C is no temperature for a cake: from {} to {} °C will do", short(*celsius), TEMPERATURES.0, TEMPERATURES.1)]
    TooHotOrCold {
        /// The temperature, °C.
        celsius: f64,
    },
    /// The angle goes round too often.
    #[error("{}° is more than ten turns", short(*degrees))]
    TooWide {
        /// The angle, degrees.
        degrees: f64,
    },
}

impl UnitError {
    /// The remedy, where there is one.
    pub fn fix(&self) -> Option<String> {
        match self {
            Self::Empty | Self::NotANumber { .. } => {
                Some("write a number and a unit, as \"203 mm\" or \"8 1/2 in\"".to_owned())
            }
            Self::Comma { text } => {
                Some(format!("write \"{}\", with a decimal point", text.replace(',', ".")))
            }
            Self::UnknownUnit { of: "angle", .. } => Some("angles are in deg, ° or turn".to_owned()),
            Self::UnknownUnit { of: "temperature", .. } => Some("temperatures are in °C or °F".to_owned()),
            Self::UnknownUnit { .. } => Some("lengths are in mm, cm, m, in or ft".to_owned()),
            Self::TooLong { .. } => Some("check the unit: was mm or cm meant?".to_owned()),
            Self::TooHotOrCold { .. } => {
                Some("a number alone is °C; write \"75 °F\" for Fahrenheit".to_owned())
            }
            Self::NotFinite | Self::TooSmall { .. } | Self::TooWide { .. } => None,
        }
    }
}

/// A number in as few characters as it takes, whatever its size.
fn short(number: f64) -> String {
    let size = number.abs();
    // To six places: what is typed has fewer, what comes of another unit has more than anyone can read.
    let round = (number * 1e6).round() / 1e6;
    if size != 0.0 && !(1e-4..1e7).contains(&size) { format!("{number:e}") } else { format!("{round}") }
}

/// Reads a length such as "203 mm", "20 cm", "8in", "8 1/2 in", "8½\"" or "1 ft"; a bare number is in
/// `file_unit`. Returns millimetres.
///
/// # Errors
/// When there is no number, the unit is not known, or the length is not finite or beyond
/// [`LONGEST`] either way.
///
/// ```
/// use geom::units::{Unit, parse_length};
/// assert_eq!(parse_length("8 1/2 in", Unit::Millimetre), Ok(8.5 * 25.4));
/// assert_eq!(parse_length("8", Unit::Inch), Ok(203.2));
/// ```
pub fn parse_length(text: &str, file_unit: Unit) -> Result<f64, UnitError> {
    let (number, unit) = split_unit(text)?;
    let in_mm = match unit {
        "" => file_unit.in_mm(),
        "mm" => 1.0,
        "cm" => 10.0,
        "m" => 1000.0,
        "in" | "inch" | "inches" | "\"" | "″" | "”" => MM_PER_INCH,
        "ft" | "foot" | "feet" => 12.0 * MM_PER_INCH,
        _ => return Err(UnitError::UnknownUnit { unit: unit.to_owned(), of: "length" }),
    };
    check_length(parse_number(number, text)? * in_mm)
}

/// Reads an angle such as "45 deg", "45°" or "0.5 turn"; a bare number is degrees. Returns degrees.
///
/// # Errors
/// When there is no number, the unit is not known, or the angle is not finite or beyond [`WIDEST`]
/// either way.
pub fn parse_angle(text: &str) -> Result<f64, UnitError> {
    let (number, unit) = split_unit(text)?;
    let in_degrees = match unit {
        "" | "deg" | "degree" | "degrees" | "°" => 1.0,
        "turn" | "turns" => 360.0,
        _ => return Err(UnitError::UnknownUnit { unit: unit.to_owned(), of: "angle" }),
    };
    check_angle(parse_number(number, text)? * in_degrees)
}

/// Reads a temperature such as "24 °C", "24 C" or "75 °F"; a bare number is °C. Returns °C.
///
/// # Errors
/// When there is no number, the unit is not known, or the temperature is not finite or outside
/// [`TEMPERATURES`].
///
/// ```
/// use geom::units::parse_temperature;
/// assert_eq!(parse_temperature("77 °F"), Ok(25.0));
/// ```
pub fn parse_temperature(text: &str) -> Result<f64, UnitError> {
    let (number, unit) = split_unit(text)?;
    let number = parse_number(number, text)?;
    check_temperature(match unit.trim_start_matches('°') {
        "" | "C" | "c" => number,
        // NIST Special Publication 811.
        "F" | "f" => (number - 32.0) / 1.8,
        _ => return Err(UnitError::UnknownUnit { unit: unit.to_owned(), of: "temperature" }),
    })
}

/// Lets a temperature through that a cake can meet, °C.
///
/// # Errors
/// [`UnitError::NotFinite`], or [`UnitError::TooHotOrCold`] outside [`TEMPERATURES`].
pub fn check_temperature(celsius: f64) -> Result<f64, UnitError> {
    match celsius {
        celsius if !celsius.is_finite() => Err(UnitError::NotFinite),
        celsius if celsius < TEMPERATURES.0 || celsius > TEMPERATURES.1 => {
            Err(UnitError::TooHotOrCold { celsius })
        }
        celsius => Ok(celsius),
    }
}

/// Lets a length through that a cake can have, mm.
///
/// # Errors
/// [`UnitError::NotFinite`], or [`UnitError::TooLong`] beyond [`LONGEST`] either way.
pub fn check_length(mm: f64) -> Result<f64, UnitError> {
    match mm {
        mm if !mm.is_finite() => Err(UnitError::NotFinite),
        mm if mm.abs() > LONGEST => Err(UnitError::TooLong { mm }),
        mm => Ok(mm),
    }
}

/// Lets a size through that a part of a cake can have, mm.
///
/// # Errors
/// As [`check_length`], and [`UnitError::TooSmall`] below [`SMALLEST`].
pub fn check_size(mm: f64) -> Result<f64, UnitError> {
    match check_length(mm)? {
        mm if mm < SMALLEST => Err(UnitError::TooSmall { mm }),
        mm => Ok(mm),
    }
}

/// Lets an angle through that somebody can have meant, degrees.
///
/// # Errors
/// [`UnitError::NotFinite`], or [`UnitError::TooWide`] beyond [`WIDEST`] either way.
pub fn check_angle(degrees: f64) -> Result<f64, UnitError> {
    match degrees {
        degrees if !degrees.is_finite() => Err(UnitError::NotFinite),
        degrees if degrees.abs() > WIDEST => Err(UnitError::TooWide { degrees }),
        degrees => Ok(degrees),
    }
}

/// Splits "8 1/2 in" into "8 1/2" and "in".
fn split_unit(text: &str) -> Result<(&str, &str), UnitError> {
    let text = text.trim();
    if text.is_empty() {
        return Err(UnitError::Empty);
    }
    let number = text.trim_end_matches(|c: char| c.is_alphabetic() || "\"″”°".contains(c));
    if number.is_empty() {
        return Err(UnitError::NotANumber { text: text.to_owned() });
    }
    Ok((number.trim_end(), &text[number.len()..]))
}

/// Reads "8", "8.5", "8 1/2", "8-1/2", "1/2" or "8½", with or without a sign in front. `whole_text` is
/// what an error quotes.
fn parse_number(number: &str, whole_text: &str) -> Result<f64, UnitError> {
    let not_a_number = || UnitError::NotANumber { text: whole_text.trim().to_owned() };
    if number.contains(',') {
        return Err(UnitError::Comma { text: whole_text.trim().to_owned() });
    }
    let (sign, size) = match number.strip_prefix(['-', '−']) {
        Some(rest) => (-1.0, rest),
        None => (1.0, number.strip_prefix('+').unwrap_or(number)),
    };
    let value = match split_fraction(size.trim_start()) {
        (whole, None) => decimal(whole),
        ("", Some(fraction)) => Some(fraction),
        (whole, Some(fraction)) => whole.parse::<u32>().ok().map(|whole| f64::from(whole) + fraction),
    };
    let value = sign * value.ok_or_else(not_a_number)?;
    if value.is_finite() { Ok(value) } else { Err(UnitError::NotFinite) }
}

/// Splits "8 1/2", "8-1/2" or "8½" into "8" and 0.5; the fraction is `None` where there is none.
fn split_fraction(number: &str) -> (&str, Option<f64>) {
    let last = number.char_indices().next_back();
    if let Some((at, value)) = last.and_then(|(at, c)| Some((at, vulgar_fraction(c)?))) {
        return (number[..at].trim_end(), Some(value));
    }
    let (whole, fraction) = number.rsplit_once([' ', '-']).unwrap_or(("", number));
    match fraction.split_once('/').and_then(|(over, under)| quotient(over, under)) {
        Some(value) => (whole.trim_end(), Some(value)),
        None => (number, None),
    }
}

fn quotient(over: &str, under: &str) -> Option<f64> {
    let (over, under): (u32, u32) = (over.parse().ok()?, under.parse().ok()?);
    (under > 0).then(|| f64::from(over) / f64::from(under))
}

fn vulgar_fraction(character: char) -> Option<f64> {
    Some(match character {
        '½' => 1.0 / 2.0,
        '⅓' => 1.0 / 3.0,
        '⅔' => 2.0 / 3.0,
        '¼' => 1.0 / 4.0,
        '¾' => 3.0 / 4.0,
        '⅛' => 1.0 / 8.0,
        '⅜' => 3.0 / 8.0,
        '⅝' => 5.0 / 8.0,
        '⅞' => 7.0 / 8.0,
        _ => return None,
    })
}

/// A decimal number without a sign. Words that Rust would read as numbers ("inf") are none here.
fn decimal(text: &str) -> Option<f64> {
    text.starts_with(|c: char| c.is_ascii_digit() || c == '.').then(|| text.parse().ok()).flatten()
}
