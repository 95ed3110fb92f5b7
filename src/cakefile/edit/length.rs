//! The form in which a maker writes a length, and new lengths written in it.

use super::EditValue;
use geom::units::{SMALLEST, Unit, UnitError, check_length, parse_length};

/// A written length is as long as the one that was to be written up to this, mm: less than anybody can measure
/// on a cake, and enough that numbers stay short.
pub const LENGTH_TOLERANCE: f64 = 0.005;

/// How a length is written: as a bare number or as text, in which unit, with decimals or as a fraction.
///
/// ```
/// use cakefile::edit::{EditValue, LengthForm};
/// use geom::units::Unit;
/// let form = LengthForm::of(&"4 in".into(), Unit::Millimetre).unwrap();
/// assert_eq!(form.write(120.142), Ok("4.73 in".into()));
/// let form = LengthForm::of(&"1 1/2 in".into(), Unit::Millimetre).unwrap();
/// assert_eq!(form.write(2.25 * 25.4), Ok("2 1/4 in".into()));
/// assert_eq!(LengthForm::bare(Unit::Inch).write(203.2), Ok(EditValue::Integer(8)));
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct LengthForm {
    /// Unit of the file's bare numbers.
    file_unit: Unit,
    kind: Kind,
}

#[derive(Debug, Clone, PartialEq)]
enum Kind {
    /// A bare number in the file's unit; `whole` where it has no decimal point unless it needs one.
    Number { whole: bool },
    /// Text. `unit` is all that follows the number, blanks too; it is `in_mm` long.
    Text { number: NumberForm, unit: String, in_mm: f64 },
}

#[derive(Debug, Clone, PartialEq)]
enum NumberForm {
    Decimal,
    /// "8 1/2": in this many parts of the unit, with `joint` before the fraction.
    Fraction {
        parts: u32,
        joint: char,
    },
    /// "8½": with `joint` before the sign.
    Sign {
        joint: String,
    },
}

/// Signs for fractions, with how many parts of how many they are.
const SIGNS: [(char, u32, u32); 9] = [
    ('½', 1, 2),
    ('⅓', 1, 3),
    ('⅔', 2, 3),
    ('¼', 1, 4),
    ('¾', 3, 4),
    ('⅛', 1, 8),
    ('⅜', 3, 8),
    ('⅝', 5, 8),
    ('⅞', 7, 8),
];

/// Fractions of an inch are written in eighths at least, also where a maker wrote only a half so far.
const LEAST_PARTS: u32 = 8;

impl LengthForm {
    /// The form of the length `value` in a file whose bare numbers are in `file_unit`; `None` if it is none.
    pub fn of(value: &EditValue, file_unit: Unit) -> Option<Self> {
        let kind = match value {
            EditValue::Integer(_) => Kind::Number { whole: true },
            EditValue::Float(_) => Kind::Number { whole: false },
            EditValue::String(text) => Kind::of_text(text, file_unit)?,
            _ => return None,
        };
        Some(Self { file_unit, kind })
    }

    /// The form where nothing is written yet: a bare number in the file's unit.
    pub fn bare(file_unit: Unit) -> Self {
        Self { file_unit, kind: Kind::Number { whole: true } }
    }

    /// A length of `mm` in this form, up to [`LENGTH_TOLERANCE`] and with no more digits than that takes. A
    /// fraction becomes a decimal number where no fraction in the maker's parts (eighths at least) is as near.
    ///
    /// # Errors
    /// When the length is not finite or no cake can have it.
    pub fn write(&self, mm: f64) -> Result<EditValue, UnitError> {
        self.write_within(mm, LENGTH_TOLERANCE)
    }

    /// The same up to `tolerance`, mm, as for the unit of a drawing, where a hundredth of a millimetre is much.
    ///
    /// # Errors
    /// As [`Self::write`].
    pub fn write_within(&self, mm: f64, tolerance: f64) -> Result<EditValue, UnitError> {
        check_length(mm)?;
        match &self.kind {
            Kind::Number { whole } => {
                let in_mm = self.file_unit.in_mm();
                let text = decimal(mm / in_mm, |number| near(number * in_mm, mm, tolerance));
                Ok(match text.parse::<i64>() {
                    Ok(number) if *whole => EditValue::Integer(number),
                    _ => EditValue::Float(text.parse().unwrap_or(mm / in_mm)),
                })
            }
            Kind::Text { number, unit, in_mm } => {
                let fits = |text: &str| {
                    let read = parse_length(&format!("{text}{unit}"), self.file_unit);
                    read.is_ok_and(|read| near(read, mm, tolerance))
                };
                let fraction = number.fraction(mm / in_mm).filter(|text| fits(text));
                let text = fraction.unwrap_or_else(|| decimal(mm / in_mm, |number| fits(&plain(number))));
                Ok(EditValue::String(text + unit))
            }
        }
    }

    /// The length of a value of this form, mm.
    ///
    /// # Errors
    /// As [`parse_length`]; [`UnitError::Empty`] where the value is neither a number nor text.
    pub fn read(value: &EditValue, file_unit: Unit) -> Result<f64, UnitError> {
        match value {
            EditValue::String(text) => parse_length(text, file_unit),
            value => check_length(value.as_number().ok_or(UnitError::Empty)? * file_unit.in_mm()),
        }
    }
}

/// Whether a written length may stand for `mm`. A size stays one that the file format allows.
fn near(written: f64, mm: f64, tolerance: f64) -> bool {
    (written - mm).abs() <= tolerance
        && check_length(written).is_ok()
        && !(mm >= SMALLEST && written < SMALLEST)
}

/// `number` with the fewest decimals that will do.
fn decimal(number: f64, will_do: impl Fn(f64) -> bool) -> String {
    const MOST_DECIMALS: usize = 12;
    let rounded = |decimals: usize| {
        let text = format!("{number:.decimals$}");
        // No minus before a zero.
        if text.bytes().all(|byte| !(b'1'..=b'9').contains(&byte)) { text.replace('-', "") } else { text }
    };
    let tried = (0..=MOST_DECIMALS).map(rounded);
    tried.into_iter().find(|text| text.parse().is_ok_and(&will_do)).unwrap_or_else(|| plain(number))
}

fn plain(number: f64) -> String {
    format!("{number}")
}

impl Kind {
    fn of_text(text: &str, file_unit: Unit) -> Option<Self> {
        parse_length(text, file_unit).ok()?;
        let text = text.trim();
        let number = text.trim_end_matches(|c: char| c.is_alphabetic() || "\"″”".contains(c)).trim_end();
        let unit = text[number.len()..].to_owned();
        let in_mm = parse_length(&format!("1{unit}"), file_unit).ok()?;
        Some(Self::Text { number: NumberForm::of(number), unit, in_mm })
    }
}

impl NumberForm {
    fn of(number: &str) -> Self {
        if let Some(whole) = number.strip_suffix(|c| SIGNS.iter().any(|(sign, ..)| *sign == c)) {
            return Self::Sign { joint: whole[whole.trim_end().len()..].to_owned() };
        }
        let Some((over, under)) = number.split_once('/') else { return Self::Decimal };
        let joint = over.chars().rev().find(|c| !c.is_ascii_digit()).filter(|_| {
            // The sign of a number without a whole part is no joint.
            over.trim_start_matches(['-', '−', '+']).contains([' ', '-'])
        });
        let under = under.trim().parse().unwrap_or(LEAST_PARTS);
        let parts = if LEAST_PARTS.is_multiple_of(under) { LEAST_PARTS } else { under };
        Self::Fraction { parts, joint: joint.unwrap_or(' ') }
    }

    /// `number` as the nearest fraction of this form; `None` where it has none.
    fn fraction(&self, number: f64) -> Option<String> {
        let (parts, joint) = match self {
            Self::Decimal => return None,
            Self::Fraction { parts, joint } => (*parts, joint.to_string()),
            Self::Sign { joint } => return with_sign(number, joint),
        };
        let (minus, whole, over) = in_parts(number, parts);
        let divisor = greatest_divisor(over, parts);
        let (over, under) = (over / divisor, parts / divisor);
        Some(match (whole, over) {
            (whole, 0) => format!("{minus}{whole}"),
            (0, over) => format!("{minus}{over}/{under}"),
            (whole, over) => format!("{minus}{whole}{joint}{over}/{under}"),
        })
    }
}

/// `number` with the nearest sign for a fraction.
fn with_sign(number: f64, joint: &str) -> Option<String> {
    let candidates = SIGNS.iter().filter_map(|&(sign, over, under)| {
        let (minus, whole, nearest) = in_parts(number, under);
        (nearest == over).then(|| {
            let off = (number.abs() - f64::from(whole) - f64::from(over) / f64::from(under)).abs();
            let whole = if whole == 0 { String::new() } else { format!("{whole}{joint}") };
            (off, format!("{minus}{whole}{sign}"))
        })
    });
    let (minus, whole, _) = in_parts(number, 1);
    let alone = std::iter::once(((number.abs() - f64::from(whole)).abs(), format!("{minus}{whole}")));
    alone.chain(candidates).min_by(|a, b| a.0.total_cmp(&b.0)).map(|(_, text)| text)
}

/// The sign of a number, its whole part and the rest as a count of `parts`, to the nearest part.
fn in_parts(number: f64, parts: u32) -> (&'static str, u32, u32) {
    // Lengths are at most 10 m, so the count is far within u32.
    let count = (number.abs() * f64::from(parts)).round() as u32;
    (if number < 0.0 && count > 0 { "-" } else { "" }, count / parts, count % parts)
}

fn greatest_divisor(a: u32, b: u32) -> u32 {
    if b == 0 { a.max(1) } else { greatest_divisor(b, a % b) }
}
