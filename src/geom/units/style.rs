//! Figures for people: the maker's own unit first and the other one beside it.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{GRAMS_PER_POUND, MM_PER_INCH, MM3_PER_US_CUP, Unit, parse_length, parse_temperature};

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
            if self.length == Unit::Inch { millimetres(mm) } else { inches(mm) }
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
            Unit::Millimetre => millimetres(mm),
            Unit::Centimetre => format!("{} cm", rounded(mm / 10.0, 1)),
            Unit::Inch => inches(mm),
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
            inches(mm)
        } else if self.length == Unit::Inch && !parts(16.0) {
            millimetres(mm)
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
            Unit::Millimetre => format!("{} mm", rounded(mm, 2)),
            Unit::Centimetre => format!("{} cm", rounded(mm / 10.0, 3)),
            Unit::Inch => format!("{} in", rounded(mm / MM_PER_INCH, 3)),
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
        let metric = format!("{} cm²", three_digits(mm2 / 100.0));
        let inch = format!("{} in²", three_digits(mm2 / (MM_PER_INCH * MM_PER_INCH)));
        both(self.length != Unit::Inch, metric, inch)
    }

    /// A volume in mm³, as "946 mL (4 cups)".
    pub fn volume(self, mm3: f64) -> String {
        both(self.volume == VolumeUnit::Millilitre, litres(mm3), cups(mm3, self.cups))
    }

    /// A volume in mm³, in the maker's own unit only, as "946 mL".
    pub fn volume_alone(self, mm3: f64) -> String {
        match self.volume {
            VolumeUnit::Millilitre => litres(mm3),
            VolumeUnit::Cup => cups(mm3, self.cups),
        }
    }

    /// A mass in grams, in the maker's own unit only, as "454 g".
    pub fn mass_alone(self, grams: f64) -> String {
        match self.mass {
            MassUnit::Gram => kilograms(grams),
            MassUnit::Ounce => pounds(grams),
        }
    }

    /// A mass in grams, as "454 g (1 lb)".
    pub fn mass(self, grams: f64) -> String {
        both(self.mass == MassUnit::Gram, kilograms(grams), pounds(grams))
    }

    /// A temperature in °C, as "24 °C (75 °F)".
    pub fn temperature(self, celsius: f64) -> String {
        both(self.temperature == TemperatureUnit::Celsius, degrees_c(celsius), degrees_f(celsius))
    }

    /// A temperature in °C, in the maker's own unit only, as "24 °C".
    pub fn temperature_alone(self, celsius: f64) -> String {
        match self.temperature {
            TemperatureUnit::Celsius => degrees_c(celsius),
            TemperatureUnit::Fahrenheit => degrees_f(celsius),
        }
    }

    /// A pressure in Pa as what weighs on each bit of area, in the maker's own unit only, as "4.2 g/cm²".
    pub fn pressure_alone(self, pascals: f64) -> String {
        /// 1 g on 1 cm², and 1 oz on 1 in², under standard gravity, Pa.
        const GRAM_ON_CM2: f64 = 98.066_5;
        const OUNCE_ON_IN2: f64 =
            GRAM_ON_CM2 * (GRAMS_PER_POUND / 16.0) / (MM_PER_INCH * MM_PER_INCH / 100.0);
        if self.mass == MassUnit::Ounce {
            format!("{} oz/in²", three_digits(pascals / OUNCE_ON_IN2))
        } else {
            format!("{} g/cm²", three_digits(pascals / GRAM_ON_CM2))
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
        self.read_length(&self.in_own(mm)).unwrap_or(mm)
    }

    /// A temperature in °C that is as warm as [`Self::temperature_alone`] says.
    pub fn temperature_as_told(self, celsius: f64) -> f64 {
        parse_temperature(&self.temperature_alone(celsius)).unwrap_or(celsius)
    }
}

/// The one that comes first, and the other in brackets.
fn both(metric_first: bool, metric: String, other: String) -> String {
    if metric_first { format!("{metric} ({other})") } else { format!("{other} ({metric})") }
}

fn degrees_c(celsius: f64) -> String {
    format!("{} °C", rounded(celsius, 0))
}

fn degrees_f(celsius: f64) -> String {
    format!("{} °F", rounded(celsius * 1.8 + 32.0, 0))
}

/// Whole millimetres, tenths below 10 mm.
fn millimetres(mm: f64) -> String {
    format!("{} mm", rounded(mm, if mm.abs() < 9.95 { 1 } else { 0 }))
}

/// The nearest sixteenth as a mixed fraction; a decimal where that would be none at all.
fn inches(mm: f64) -> String {
    let inches = mm / MM_PER_INCH;
    if inches.abs() < 1.0 / 16.0 {
        format!("{} in", rounded(inches, 2))
    } else {
        format!("{} in", mixed(inches, 16))
    }
}

fn litres(mm3: f64) -> String {
    let millilitres = mm3 / 1000.0;
    if millilitres.abs() < 999.5 {
        format!("{} mL", three_digits(millilitres))
    } else {
        format!("{} L", rounded(millilitres / 1000.0, 2))
    }
}

/// Quarter cups, or half tablespoons where that would be none at all.
fn cups(mm3: f64, of: Cups) -> String {
    let (cup, spoon) = of.sizes();
    let cups = mm3 / cup;
    if cups.abs() < 0.25 {
        return format!("{} tbsp", mixed(mm3 / spoon, 2));
    }
    let text = mixed(cups, 4);
    let name = if cups.abs() < 1.125 { "cup" } else { "cups" };
    format!("{text} {name}")
}

fn kilograms(grams: f64) -> String {
    if grams.abs() < 999.5 {
        format!("{} g", three_digits(grams))
    } else {
        format!("{} kg", rounded(grams / 1000.0, 2))
    }
}

/// Ounces to a tenth below a pound, then pounds and ounces.
fn pounds(grams: f64) -> String {
    let ounces = grams / (GRAMS_PER_POUND / 16.0);
    if ounces.abs() < 15.95 {
        return format!("{} oz", rounded(ounces, 1));
    }
    let sign = if ounces < 0.0 { "-" } else { "" };
    let whole = ounces.abs().round();
    match ((whole / 16.0).floor(), whole % 16.0) {
        (pounds, 0.0) => format!("{sign}{pounds} lb"),
        (pounds, ounces) => format!("{sign}{pounds} lb {ounces} oz"),
    }
}

/// Rounded to `places` decimals, without zeros that say nothing and without a negative zero.
fn rounded(number: f64, places: usize) -> String {
    let text = format!("{number:.places$}");
    let text = if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

/// Whole from 10 up, tenths below.
fn three_digits(number: f64) -> String {
    rounded(number, if number.abs() < 9.95 { 1 } else { 0 })
}

/// A mixed fraction in lowest terms, to the nearest part of `parts` (a power of two): "8 1/2".
fn mixed(number: f64, parts: u32) -> String {
    let count = (number.abs() * f64::from(parts)).round();
    let parts = f64::from(parts);
    let whole = (count / parts).floor();
    let (mut over, mut under) = (count - whole * parts, parts);
    while over > 0.0 && over % 2.0 == 0.0 {
        (over, under) = (over / 2.0, under / 2.0);
    }
    let sign = if number < 0.0 && count > 0.0 { "-" } else { "" };
    match (whole, over) {
        (whole, 0.0) => format!("{sign}{whole}"),
        (0.0, over) => format!("{sign}{over}/{under}"),
        (whole, over) => format!("{sign}{whole} {over}/{under}"),
    }
}
