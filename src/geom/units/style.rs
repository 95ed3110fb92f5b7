//! Figures for people: the maker's own unit first and the other one beside it.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{
    GRAMS_PER_POUND, MM_PER_INCH, MM3_PER_US_CUP, NumberStyle, Unit, parse_length, parse_temperature,
};

/// How a report writes figures. Rounded to what a maker can measure; not for computing on.
///
/// ```
/// use geom::units::{Unit, UnitStyle};
/// assert_eq!(UnitStyle::new(Unit::Millimetre).length(203.2), "203 mm (8 in)");
/// assert_eq!(UnitStyle::new(Unit::Inch).length(203.2), "8 in (203 mm)");
/// ```
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct UnitStyle {
    /// Lengths.
    pub length: Unit,
    /// Masses, and what weighs on an area.
    pub mass: MassUnit,
    /// Volumes.
    pub volume: VolumeUnit,
    /// Which cups and spoons are meant.
    pub cups: Cups,
    /// Temperatures.
    pub temperature: TemperatureUnit,
    /// How numbers and names of units are written.
    pub numbers: NumberStyle,
}

/// Unit of masses.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Hash, Deserialize, Serialize, JsonSchema)]
pub enum MassUnit {
    /// Grams and kilograms.
    #[default]
    #[serde(rename = "g")]
    Gram,
    /// Ounces and pounds.
    #[serde(rename = "oz")]
    Ounce,
}

/// Unit of volumes.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Hash, Deserialize, Serialize, JsonSchema)]
pub enum VolumeUnit {
    /// Millilitres and litres.
    #[default]
    #[serde(rename = "mL")]
    Millilitre,
    /// Cups and tablespoons.
    #[serde(rename = "cup")]
    Cup,
}

/// Unit of temperatures.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Hash, Deserialize, Serialize, JsonSchema)]
pub enum TemperatureUnit {
    /// Degrees Celsius.
    #[default]
    #[serde(rename = "°C")]
    Celsius,
    /// Degrees Fahrenheit.
    #[serde(rename = "°F")]
    Fahrenheit,
}

/// Cups and tablespoons of a country.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Hash, Deserialize, Serialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Cups {
    /// A cup of 236.588 mL, a sixteenth of a US gallon; 16 tablespoons (NIST Handbook 44, Appendix C).
    #[default]
    Us,
    /// A cup of 250 mL and a tablespoon of 15 mL, as in the United Kingdom, New Zealand and much of Europe (NIST Special
    /// Publication 811 has them as metric cup and metric tablespoon, from memory).
    Metric,
    /// A cup of 250 mL and a tablespoon of 20 mL (Standards Australia AS 1325, from memory).
    Australian,
}

impl Cups {
    /// A cup and a tablespoon, mm³.
    pub fn sizes(self) -> (f64, f64) {
        match self {
            Self::Us => (MM3_PER_US_CUP, MM3_PER_US_CUP / 16.0),
            Self::Metric => (250_000.0, 15_000.0),
            Self::Australian => (250_000.0, 20_000.0),
        }
    }
}

impl UnitStyle {
    /// The style that goes with a unit of lengths: with inches ounces, US cups and degrees Fahrenheit, else grams,
    /// millilitres and degrees Celsius.
    pub fn new(length: Unit) -> Self {
        let metric = Self { length, ..Self::default() };
        if length != Unit::Inch {
            return metric;
        }
        Self {
            mass: MassUnit::Ounce,
            volume: VolumeUnit::Cup,
            temperature: TemperatureUnit::Fahrenheit,
            ..metric
        }
    }

    /// A length in mm, as "203 mm (8 in)".
    pub fn length(self, mm: f64) -> String {
        format!(
            "{} ({})",
            self.in_own(mm),
            if self.length == Unit::Inch { self.numbers.millimetres(mm) } else { self.numbers.inches(mm) }
        )
    }

    /// A length in mm, in the maker's own unit only, as "203 mm"; below an inch millimetres stand beside the fraction,
    /// which would be off by up to a fifth.
    ///
    /// ```
    /// use geom::units::{Unit, UnitStyle};
    /// let inch = UnitStyle::new(Unit::Inch);
    /// assert_eq!((inch.length_alone(203.2), inch.length_alone(2.0)), ("8 in".into(), "1/16 in (2 mm)".into()));
    /// ```
    pub fn length_alone(self, mm: f64) -> String {
        if self.length == Unit::Inch && (0.05..MM_PER_INCH - 0.05).contains(&mm.abs()) {
            self.length(mm)
        } else {
            self.in_own(mm)
        }
    }

    /// A length in mm in the maker's own unit and nothing else, for a small drawing.
    pub fn in_own(self, mm: f64) -> String {
        match self.length {
            Unit::Millimetre => self.numbers.millimetres(mm),
            Unit::Centimetre => format!("{} cm", self.numbers.rounded(mm / 10.0, 1)),
            Unit::Inch => self.numbers.inches(mm),
        }
    }

    /// The size of a pan as its maker writes it: in inches where it is made in quarters of an inch, as bakeware is, else
    /// in the maker's own unit, in millimetres where that has no fraction for it.
    ///
    /// ```
    /// use geom::units::{Unit, UnitStyle};
    /// let metric = UnitStyle::new(Unit::Millimetre);
    /// assert_eq!((metric.pan_size(177.8), metric.pan_size(180.0)), ("7 in".into(), "180 mm".into()));
    /// assert_eq!(UnitStyle::new(Unit::Inch).pan_size(180.0), "180 mm");
    /// ```
    pub fn pan_size(self, mm: f64) -> String {
        const SAME: f64 = 0.01;
        let parts = |count: f64| {
            let parts = mm / MM_PER_INCH * count;
            (parts - parts.round()).abs() * MM_PER_INCH < SAME * count
        };
        if parts(4.0) {
            self.numbers.inches(mm)
        } else if self.length == Unit::Inch && !parts(16.0) {
            self.numbers.millimetres(mm)
        } else {
            self.in_own(mm)
        }
    }

    /// A length in mm for a message about what was typed, in the maker's own unit only, to a hundredth of a millimetre or
    /// a thousandth of an inch: "23.86 mm", "0.939 in".
    ///
    /// ```
    /// use geom::units::{Unit, UnitStyle};
    /// assert_eq!(UnitStyle::new(Unit::Millimetre).length_fine(23.862235293273283), "23.86 mm");
    /// assert_eq!(UnitStyle::new(Unit::Inch).length_fine(25.4 * 0.49999999999999994), "0.5 in");
    /// ```
    pub fn length_fine(self, mm: f64) -> String {
        match self.length {
            Unit::Millimetre => format!("{} mm", self.numbers.rounded(mm, 2)),
            Unit::Centimetre => format!("{} cm", self.numbers.rounded(mm / 10.0, 3)),
            Unit::Inch => format!("{} {}", self.numbers.rounded(mm / MM_PER_INCH, 3), self.numbers.inch),
        }
    }

    /// Whether one length is greater than another by more than the rounding of [`Self::length_fine`], and that shows it.
    /// What a maker typed is compared so: half of 219.153 mm, typed as 109.577 mm, is not too much.
    pub fn is_above(self, one: f64, other: f64) -> bool {
        let rounding = if self.length == Unit::Inch { 0.0005 * MM_PER_INCH } else { 0.005 };
        one - other > rounding * (1.0 + 1e-9) && self.length_fine(one) != self.length_fine(other)
    }

    /// How wide, deep and high something is, mm, in the maker's own unit only, as "165 × 210 × 195 mm".
    pub fn sides(self, mm: &[f64]) -> String {
        let told: Vec<String> = mm.iter().map(|side| self.in_own(*side)).collect();
        let unit = told.first().and_then(|side| side.rsplit_once(' ')).map_or("", |(_, unit)| unit);
        let numbers: Vec<&str> = told.iter().map(|side| side.trim_end_matches(unit).trim_end()).collect();
        format!("{} {unit}", numbers.join(" × "))
    }

    /// An area in mm², as "324 cm² (50 in²)".
    pub fn area(self, mm2: f64) -> String {
        let metric = format!("{} cm²", self.numbers.three_digits(mm2 / 100.0));
        let inch = format!("{} in²", self.numbers.three_digits(mm2 / (MM_PER_INCH * MM_PER_INCH)));
        both(self.length != Unit::Inch, metric, inch)
    }

    /// A volume in mm³, as "946 mL (4 cups)".
    pub fn volume(self, mm3: f64) -> String {
        both(
            self.volume == VolumeUnit::Millilitre,
            self.numbers.litres(mm3),
            self.numbers.cups(mm3, self.cups),
        )
    }

    /// A volume in mm³, in the maker's own unit only, as "946 mL".
    pub fn volume_alone(self, mm3: f64) -> String {
        match self.volume {
            VolumeUnit::Millilitre => self.numbers.litres(mm3),
            VolumeUnit::Cup => self.numbers.cups(mm3, self.cups),
        }
    }

    /// A mass in grams, in the maker's own unit only, as "454 g".
    pub fn mass_alone(self, grams: f64) -> String {
        match self.mass {
            MassUnit::Gram => self.numbers.kilograms(grams),
            MassUnit::Ounce => self.numbers.pounds(grams),
        }
    }

    /// A mass in grams, as "454 g (1 lb)".
    pub fn mass(self, grams: f64) -> String {
        both(self.mass == MassUnit::Gram, self.numbers.kilograms(grams), self.numbers.pounds(grams))
    }

    /// A temperature in °C, as "24 °C (75 °F)".
    pub fn temperature(self, celsius: f64) -> String {
        both(
            self.temperature == TemperatureUnit::Celsius,
            self.numbers.degrees_c(celsius),
            self.numbers.degrees_f(celsius),
        )
    }

    /// A temperature in °C, in the maker's own unit only, as "24 °C".
    pub fn temperature_alone(self, celsius: f64) -> String {
        match self.temperature {
            TemperatureUnit::Celsius => self.numbers.degrees_c(celsius),
            TemperatureUnit::Fahrenheit => self.numbers.degrees_f(celsius),
        }
    }

    /// A pressure in Pa as what weighs on each bit of area, in the maker's own unit only, as "4.2 g/cm²".
    pub fn pressure_alone(self, pascals: f64) -> String {
        /// 1 g on 1 cm², and 1 oz on 1 in², under standard gravity, Pa.
        const GRAM_ON_CM2: f64 = 98.066_5;
        const OUNCE_ON_IN2: f64 =
            GRAM_ON_CM2 * (GRAMS_PER_POUND / 16.0) / (MM_PER_INCH * MM_PER_INCH / 100.0);
        if self.mass == MassUnit::Ounce {
            format!("{} oz/in²", self.numbers.three_digits(pascals / OUNCE_ON_IN2))
        } else {
            format!("{} g/cm²", self.numbers.three_digits(pascals / GRAM_ON_CM2))
        }
    }

    /// A place beside the middle, mm to the right and to the back, as "20 mm right, 20 mm front".
    pub fn place(self, right: f64, back: f64) -> String {
        let along = |mm: f64, more: &str, less: &str| {
            let text = self.length_alone(mm.abs());
            (!text.starts_with("0 ")).then(|| format!("{text} {}", if mm < 0.0 { less } else { more }))
        };
        match (along(right, "right", "left"), along(back, "back", "front")) {
            (None, None) => "in the middle".to_owned(),
            (Some(one), None) | (None, Some(one)) => one,
            (Some(x), Some(y)) => format!("{x}, {y}"),
        }
    }

    /// A length in mm as a maker writes it, bare numbers in their own unit; `None` if it is none.
    pub fn read_length(self, text: &str) -> Option<f64> {
        parse_length(text, self.length).ok()
    }

    /// A length in mm that is as long as [`Self::in_own`] says.
    pub fn length_as_told(self, mm: f64) -> f64 {
        self.read_length(&self.as_in_files().in_own(mm)).unwrap_or(mm)
    }

    /// A temperature in °C that is as warm as [`Self::temperature_alone`] says.
    pub fn temperature_as_told(self, celsius: f64) -> f64 {
        parse_temperature(&self.as_in_files().temperature_alone(celsius)).unwrap_or(celsius)
    }

    /// The same units, written as cake files write them.
    fn as_in_files(self) -> Self {
        Self { numbers: NumberStyle::default(), ..self }
    }
}

/// The one that comes first, and the other in brackets.
fn both(metric_first: bool, metric: String, other: String) -> String {
    if metric_first { format!("{metric} ({other})") } else { format!("{other} ({metric})") }
}
