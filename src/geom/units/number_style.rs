//! How a language writes numbers and names the units that have no sign of their own everywhere.

use super::{Cups, GRAMS_PER_POUND, MM_PER_INCH};

/// The decimal mark of a language, and its names of units.
///
/// ```
/// use geom::units::{NumberStyle, ShortWord, UnitStyle};
/// let numbers = NumberStyle { decimal: ',', inch: ShortWord::new("Zoll").unwrap(), ..NumberStyle::default() };
/// let style = UnitStyle { numbers, ..UnitStyle::default() };
/// assert_eq!((style.length(7.5), style.mass_alone(1250.0)), ("7,5 mm (5/16 Zoll)".into(), "1,25 kg".into()));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct NumberStyle {
    /// What stands before the decimals.
    pub decimal: char,
    /// Inches.
    pub inch: ShortWord,
    /// One cup or less.
    pub cup: ShortWord,
    /// More than one cup.
    pub cups: ShortWord,
    /// Tablespoons.
    pub tablespoon: ShortWord,
}

impl Default for NumberStyle {
    /// As files and programs write numbers, and as cake files name units.
    fn default() -> Self {
        Self {
            decimal: '.',
            inch: ShortWord::literal("in"),
            cup: ShortWord::literal("cup"),
            cups: ShortWord::literal("cups"),
            tablespoon: ShortWord::literal("tbsp"),
        }
    }
}

impl NumberStyle {
    /// A number to `places` decimals.
    pub fn fixed(self, number: f64, places: usize) -> String {
        let text = format!("{number:.places$}");
        // Of nothing there is no less.
        let is_zero = text.chars().all(|c| matches!(c, '-' | '0' | '.'));
        let text = if is_zero { text.trim_start_matches('-').to_owned() } else { text };
        if self.decimal == '.' { text } else { text.replace('.', self.decimal.encode_utf8(&mut [0; 4])) }
    }

    /// A number to at most `places` decimals, without zeros that say nothing.
    pub fn rounded(self, number: f64, places: usize) -> String {
        let text = self.fixed(number, places);
        let has_decimals = text.contains(self.decimal);
        let text =
            if has_decimals { text.trim_end_matches('0').trim_end_matches(self.decimal) } else { &text };
        text.to_owned()
    }

    pub(super) fn degrees_c(self, celsius: f64) -> String {
        format!("{} °C", self.rounded(celsius, 0))
    }

    pub(super) fn degrees_f(self, celsius: f64) -> String {
        format!("{} °F", self.rounded(celsius * 1.8 + 32.0, 0))
    }

    /// Whole millimetres, tenths below 10 mm.
    pub(super) fn millimetres(self, mm: f64) -> String {
        format!("{} mm", self.rounded(mm, if mm.abs() < 9.95 { 1 } else { 0 }))
    }

    /// The nearest sixteenth as a mixed fraction; a decimal where that would be none at all.
    pub(super) fn inches(self, mm: f64) -> String {
        let inches = mm / MM_PER_INCH;
        if inches.abs() < 1.0 / 16.0 {
            format!("{} {}", self.rounded(inches, 2), self.inch)
        } else {
            format!("{} {}", mixed(inches, 16), self.inch)
        }
    }

    pub(super) fn litres(self, mm3: f64) -> String {
        let millilitres = mm3 / 1000.0;
        if millilitres.abs() < 999.5 {
            format!("{} mL", self.three_digits(millilitres))
        } else {
            format!("{} L", self.rounded(millilitres / 1000.0, 2))
        }
    }

    /// Quarter cups, or half tablespoons where that would be none at all.
    pub(super) fn cups(self, mm3: f64, of: Cups) -> String {
        let (cup, spoon) = of.sizes();
        let cups = mm3 / cup;
        if cups.abs() < 0.25 {
            return format!("{} {}", mixed(mm3 / spoon, 2), self.tablespoon);
        }
        let text = mixed(cups, 4);
        let name = if cups.abs() < 1.125 { self.cup } else { self.cups };
        format!("{text} {name}")
    }

    pub(super) fn kilograms(self, grams: f64) -> String {
        if grams.abs() < 999.5 {
            format!("{} g", self.three_digits(grams))
        } else {
            format!("{} kg", self.rounded(grams / 1000.0, 2))
        }
    }

    /// Ounces to a tenth below a pound, what is less than that to a hundredth, then pounds and ounces.
    pub(super) fn pounds(self, grams: f64) -> String {
        let ounces = grams / (GRAMS_PER_POUND / 16.0);
        if ounces.abs() < 15.95 {
            return format!("{} oz", self.rounded(ounces, if ounces.abs() < 0.15 { 2 } else { 1 }));
        }
        let sign = if ounces < 0.0 { "-" } else { "" };
        let whole = ounces.abs().round();
        match ((whole / 16.0).floor(), whole % 16.0) {
            (pounds, 0.0) => format!("{sign}{pounds} lb"),
            (pounds, ounces) => format!("{sign}{pounds} lb {ounces} oz"),
        }
    }

    /// Whole from 10 up, tenths below.
    pub(super) fn three_digits(self, number: f64) -> String {
        self.rounded(number, if number.abs() < 9.95 { 1 } else { 0 })
    }
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

/// A word of at most [`ShortWord::MOST`] bytes without white space, kept in place so that a style can be copied.
#[derive(Clone, Copy, PartialEq, Eq)]
pub struct ShortWord {
    bytes: [u8; Self::MOST],
    length: u8,
}

impl ShortWord {
    /// Bytes that a word may have.
    pub const MOST: usize = 15;

    /// A word; `None` if it is empty, too long or has white space in it.
    pub fn new(word: &str) -> Option<Self> {
        let fits = (1..=Self::MOST).contains(&word.len()) && !word.contains(char::is_whitespace);
        fits.then(|| Self::literal(word))
    }

    /// A word that is known to fit; what is beyond the room is cut off.
    const fn literal(word: &str) -> Self {
        let from = word.as_bytes();
        let mut bytes = [0; Self::MOST];
        let mut length = 0;
        while length < from.len() && length < Self::MOST {
            bytes[length] = from[length];
            length += 1;
        }
        Self { bytes, length: length as u8 }
    }

    /// The word.
    pub fn as_str(&self) -> &str {
        std::str::from_utf8(&self.bytes[..usize::from(self.length)]).unwrap_or_default()
    }
}

impl std::fmt::Debug for ShortWord {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        self.as_str().fmt(f)
    }
}

impl std::fmt::Display for ShortWord {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(self.as_str())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_have_the_mark_of_their_language() {
        let comma = NumberStyle { decimal: ',', ..NumberStyle::default() };
        for (number, places, point, with_comma) in [
            (1.25, 1, "1.2", "1,2"),
            (1.0, 1, "1", "1"),
            (-0.04, 1, "0", "0"),
            (100.0, 0, "100", "100"),
            (-2.5, 2, "-2.5", "-2,5"),
        ] {
            assert_eq!(NumberStyle::default().rounded(number, places), point);
            assert_eq!(comma.rounded(number, places), with_comma);
        }
        assert_eq!((comma.fixed(3.0, 1), comma.fixed(-0.01, 1)), ("3,0".into(), "0,0".into()));
    }

    #[test]
    fn a_short_word_is_kept_whole_or_refused() {
        assert_eq!(ShortWord::new("Esslöffel").unwrap().as_str(), "Esslöffel");
        for wrong in ["", "two words", "Hundertmillimeter"] {
            assert_eq!(ShortWord::new(wrong), None, "{wrong}");
        }
    }
}
