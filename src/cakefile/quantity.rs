//! Lengths, sizes, angles and colours as a cake file writes them.

use std::borrow::Cow;

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::{Deserialize, Serialize};

use geom::units::{self, Unit, UnitError};

/// A number in the file's unit, or text with a unit of its own.
#[derive(Debug, Clone, PartialEq, Deserialize, Serialize)]
#[serde(untagged)]
pub enum Quantity {
    /// A bare number.
    Number(f64),
    /// A number with a unit, as "8 1/2 in".
    Text(String),
}

macro_rules! quantity {
    ($(#[$doc:meta])* $name:ident, $format:literal, $text:literal) => {
        $(#[$doc])*
        #[derive(Debug, Clone, PartialEq, Deserialize, Serialize)]
        #[serde(transparent)]
        pub struct $name(pub Quantity);

        impl JsonSchema for $name {
            fn inline_schema() -> bool {
                true
            }

            fn schema_name() -> Cow<'static, str> {
                stringify!($name).into()
            }

            fn json_schema(_: &mut SchemaGenerator) -> Schema {
                json_schema!({ "type": ["number", "string"], "format": $format, "description": $text })
            }
        }

        impl From<f64> for $name {
            fn from(number: f64) -> Self {
                Self(Quantity::Number(number))
            }
        }

        impl From<&str> for $name {
            fn from(text: &str) -> Self {
                Self(Quantity::Text(text.to_owned()))
            }
        }
    };
}

quantity!(
    /// A length that may be zero or negative, such as a coordinate.
    Length, "length", "A length: a number in the file's unit, or text such as \"8 in\", \"1 1/2 in\", \"203 mm\", \"20 cm\"."
);
quantity!(
    /// A length above zero, such as a size or a thickness.
    Size, "size", "A length above zero: a number in the file's unit, or text such as \"8 in\", \"1 1/2 in\", \"203 mm\", \"20 cm\"."
);
quantity!(
    /// An angle in degrees. Bearings run counter-clockwise seen from above, 0 at the front.
    Angle, "angle", "An angle in degrees: a number, or text such as \"45 deg\"."
);

quantity!(
    /// A temperature.
    Temperature, "temperature", "A temperature: a number in °C, or text such as \"24 °C\" or \"75 °F\"."
);

impl Quantity {
    fn to_mm(&self, file_unit: Unit) -> Result<f64, UnitError> {
        match self {
            Self::Number(number) => units::check_length(number * file_unit.in_mm()),
            Self::Text(text) => units::parse_length(text, file_unit),
        }
    }
}

impl Length {
    /// The length in mm; a bare number is in `file_unit`.
    ///
    /// # Errors
    /// When it cannot be read, is not finite, or is beyond [`units::LONGEST`] either way.
    pub fn to_mm(&self, file_unit: Unit) -> Result<f64, UnitError> {
        self.0.to_mm(file_unit)
    }
}

impl Size {
    /// The size in mm, at least [`units::SMALLEST`]; a bare number is in `file_unit`.
    ///
    /// # Errors
    /// As for [`Length::to_mm`], and when it is zero, negative or below [`units::SMALLEST`].
    pub fn to_mm(&self, file_unit: Unit) -> Result<f64, UnitError> {
        units::check_size(self.0.to_mm(file_unit)?)
    }
}

impl Angle {
    /// The angle in degrees.
    ///
    /// # Errors
    /// When it cannot be read, is not finite, or is beyond [`units::WIDEST`] either way.
    pub fn to_degrees(&self) -> Result<f64, UnitError> {
        match &self.0 {
            Quantity::Number(number) => units::check_angle(*number),
            Quantity::Text(text) => units::parse_angle(text),
        }
    }
}

impl Temperature {
    /// The temperature in °C.
    ///
    /// # Errors
    /// When it cannot be read, is not finite, or is none that a cake meets.
    pub fn to_celsius(&self) -> Result<f64, UnitError> {
        match &self.0 {
            Quantity::Number(number) => units::check_temperature(*number),
            Quantity::Text(text) => units::parse_temperature(text),
        }
    }
}

/// A colour written as `#rrggbb`.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize, Serialize)]
#[serde(transparent)]
pub struct Colour(pub String);

impl Colour {
    /// Red, green and blue, 0 to 255 each; `None` unless it is written as `#rrggbb`.
    pub fn to_rgb(&self) -> Option<[u8; 3]> {
        let digits = self.0.strip_prefix('#')?;
        if digits.len() != 6 || !digits.bytes().all(|b| b.is_ascii_hexdigit()) {
            return None;
        }
        let [_, red, green, blue] = u32::from_str_radix(digits, 16).ok()?.to_be_bytes();
        Some([red, green, blue])
    }
}

impl JsonSchema for Colour {
    fn inline_schema() -> bool {
        true
    }

    fn schema_name() -> Cow<'static, str> {
        "Colour".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({
            "type": "string", "format": "colour", "pattern": "^#[0-9a-fA-F]{6}$",
            "description": "A colour as \"#rrggbb\".",
        })
    }
}
