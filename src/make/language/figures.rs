//! How a language writes numbers, dates and money.

use std::collections::BTreeMap;

use geom::units::{NumberStyle, ShortWord, UnitStyle};
use jiff::civil::{Date, DateTime};
use serde::{Deserialize, Deserializer, de};

use super::{Language, filled};

/// Numbers and units.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct NumberWords {
    #[serde(deserialize_with = "decimal_mark")]
    decimal: char,
    #[serde(deserialize_with = "short_word")]
    inch: ShortWord,
    #[serde(deserialize_with = "short_word")]
    cup: ShortWord,
    #[serde(deserialize_with = "short_word")]
    cups: ShortWord,
    #[serde(deserialize_with = "short_word")]
    tablespoon: ShortWord,
}

/// Days and times.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct DateWords {
    day: String,
    time: String,
    short: String,
    months: [String; 12],
    weekdays: [String; 7],
    short_months: [String; 12],
    short_weekdays: [String; 7],
}

/// Prices.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct MoneyWords {
    form: String,
    decimal: String,
    group: String,
    signs: BTreeMap<String, String>,
}

fn decimal_mark<'de, D: Deserializer<'de>>(reader: D) -> Result<char, D::Error> {
    match char::deserialize(reader)? {
        mark @ ('.' | ',') => Ok(mark),
        other => Err(de::Error::custom(format!("the decimal mark is \".\" or \",\", not \"{other}\""))),
    }
}

fn short_word<'de, D: Deserializer<'de>>(reader: D) -> Result<ShortWord, D::Error> {
    let text = String::deserialize(reader)?;
    ShortWord::new(&text).ok_or_else(|| {
        let most = ShortWord::MOST;
        de::Error::custom(format!("\"{text}\": the name of a unit is one word of at most {most} bytes"))
    })
}

impl Language {
    /// `style` with numbers and units as the language writes them.
    pub fn style(&self, style: UnitStyle) -> UnitStyle {
        let NumberWords { decimal, inch, cup, cups, tablespoon } = self.number;
        UnitStyle { numbers: NumberStyle { decimal, inch, cup, cups, tablespoon }, ..style }
    }

    /// A number to `places` decimals.
    pub fn number(&self, number: f64, places: usize) -> String {
        self.style(UnitStyle::default()).numbers.fixed(number, places)
    }

    /// A day.
    pub fn day(&self, day: Date) -> String {
        self.dated(&self.date.day, day.at(0, 0, 0, 0))
    }

    /// A day with its weekday, hour and minute.
    pub fn time(&self, time: DateTime) -> String {
        self.dated(&self.date.time, time)
    }

    /// The same in few letters, for tables.
    pub fn short_time(&self, time: DateTime) -> String {
        self.dated(&self.date.short, time)
    }

    fn dated(&self, form: &str, time: DateTime) -> String {
        let words = &self.date;
        let month = usize::try_from(time.month() - 1).unwrap_or(0);
        let weekday = usize::try_from(time.weekday().to_monday_zero_offset()).unwrap_or(0);
        let names = [
            ("%B", &words.months[month]),
            ("%b", &words.short_months[month]),
            ("%A", &words.weekdays[weekday]),
            ("%a", &words.short_weekdays[weekday]),
        ];
        let form = names
            .iter()
            .fold(form.to_owned(), |form, (place, name)| form.replace(place, &name.replace('%', "%%")));
        time.strftime(&form).to_string()
    }

    /// A price of whole numbers of the smallest coin, where the language has a way of its own to write it.
    pub fn price(&self, coins: i64, currency: &str, decimals: u32) -> Option<String> {
        let words = self.money.as_ref()?;
        let unit = 10_u64.pow(decimals);
        let (whole, rest) = (coins.unsigned_abs() / unit, coins.unsigned_abs() % unit);
        let places = decimals as usize;
        let mut amount = grouped(whole, &words.group);
        if places > 0 {
            amount += &format!("{}{rest:0places$}", words.decimal);
        }
        if coins < 0 {
            amount.insert(0, '-');
        }
        let sign = words.signs.get(currency).map_or(currency, String::as_str);
        Some(filled(&words.form, &[("amount", &amount), ("sign", sign)]))
    }
}

/// A number in groups of three.
pub fn grouped(whole: u64, between: &str) -> String {
    let digits = whole.to_string();
    let mut out = String::new();
    for (i, digit) in digits.chars().enumerate() {
        if i > 0 && (digits.len() - i).is_multiple_of(3) {
            out.push_str(between);
        }
        out.push(digit);
    }
    out
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;

    /// Dates and prices as CLDR has them for Germany: `format_date` and `format_currency` of babel 2.19.
    #[test]
    fn dates_and_prices_are_those_of_cldr() {
        let german = Language::shipped("de").unwrap();
        assert_eq!(german.day(date(2026, 12, 5)), "5. Dezember 2026");
        assert!(german.time(date(2026, 12, 5).at(9, 30, 0, 0)).starts_with("Samstag, 5. Dezember 2026"));
        assert_eq!(german.short_time(date(2026, 12, 5).at(9, 30, 0, 0)), "Sa, 5. Dez. 2026, 09:30");
        assert_eq!(german.price(123_456_705, "EUR", 2).unwrap(), "1.234.567,05\u{a0}€");
        assert_eq!(german.price(-5, "SEK", 2).unwrap(), "-0,05\u{a0}SEK");
    }

    #[test]
    fn figures_have_the_mark_and_the_units_of_the_language() {
        let german = Language::shipped("de").unwrap();
        let style = german.style(UnitStyle::new(geom::units::Unit::Inch));
        assert_eq!(style.length(203.2), "8 Zoll (203 mm)");
        assert_eq!(
            (style.volume(946_353.0), german.number(2.5, 1)),
            ("4 Tassen (946 mL)".into(), "2,5".into())
        );
        let refused = Language::read("[number]\ndecimal = \"·\"").unwrap_err().to_string();
        assert!(refused.contains("the decimal mark is"), "{refused}");
        let refused = Language::read("[number]\ncup = \"große Tasse\"").unwrap_err().to_string();
        assert!(refused.contains("one word"), "{refused}");
    }
}
