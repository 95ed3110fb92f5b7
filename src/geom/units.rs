//! Length, angle, mass and volume units: read from text, written for people.
//!
//! Inside the program a length is millimetres, an angle degrees, a mass grams and a volume cubic
//! millimetres, each an `f64`. Other units live only here, on the way in ([`parse_length`],
//! [`parse_angle`]) and on the way out ([`UnitStyle`]). Numbers that no cake can have are refused on
//! the way in, so that nothing further on meets a NaN, an infinity or a kilometre.

mod number_style;
mod parse;
mod style;

pub use number_style::{NumberStyle, ShortWord};
pub use parse::{
    UnitError, check_angle, check_length, check_size, check_temperature, parse_angle, parse_length,
    parse_temperature,
};
pub use style::{Cups, MassUnit, TemperatureUnit, UnitStyle, VolumeUnit};

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Millimetres in an inch, exactly (NIST Handbook 44, Appendix C).
pub const MM_PER_INCH: f64 = 25.4;
/// Grams in an avoirdupois pound, exactly (NIST Handbook 44, Appendix C).
pub const GRAMS_PER_POUND: f64 = 453.592_37;
/// Cubic millimetres in a US cup, a sixteenth of the 231 in³ gallon (NIST Handbook 44, Appendix C).
pub const MM3_PER_US_CUP: f64 = 231.0 / 16.0 * MM_PER_INCH * MM_PER_INCH * MM_PER_INCH;

/// The longest length that a cake file may hold, mm: nobody carves a cake of ten metres.
pub const LONGEST: f64 = 10_000.0;
/// The smallest size that a cake file may hold, mm.
pub const SMALLEST: f64 = 0.01;
/// The widest angle that a cake file may hold, degrees: ten turns.
pub const WIDEST: f64 = 3600.0;
/// The coldest and the hottest that a cake file may hold, °C: a deep freezer and a boiling kettle.
pub const TEMPERATURES: (f64, f64) = (-40.0, 100.0);

/// Unit of the bare numbers in a cake file.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Hash, Deserialize, Serialize, JsonSchema)]
pub enum Unit {
    /// Millimetres.
    #[default]
    #[serde(rename = "mm")]
    Millimetre,
    /// Centimetres.
    #[serde(rename = "cm")]
    Centimetre,
    /// Inches.
    #[serde(rename = "in")]
    Inch,
}

impl Unit {
    /// How many millimetres one of it is.
    pub fn in_mm(self) -> f64 {
        match self {
            Self::Millimetre => 1.0,
            Self::Centimetre => 10.0,
            Self::Inch => MM_PER_INCH,
        }
    }

    /// Its sign, as a cake file writes it.
    pub fn sign(self) -> &'static str {
        match self {
            Self::Millimetre => "mm",
            Self::Centimetre => "cm",
            Self::Inch => "in",
        }
    }

    /// Distance of the marks on a maker's ruler, mm: a millimetre, or a sixteenth of an inch.
    pub fn ruler_mark(self) -> f64 {
        match self {
            Self::Millimetre | Self::Centimetre => 1.0,
            Self::Inch => MM_PER_INCH / 16.0,
        }
    }
}
