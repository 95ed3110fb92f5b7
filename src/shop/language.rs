//! The language of the client's page. A language is a file: English and German come with the program, others are read from
//! the maker's own, and what such a file leaves out is said in English.

use std::collections::BTreeMap;

use jiff::civil::{Date, DateTime};
use serde::Deserialize;

const ENGLISH: &str = include_str!("../../assets/languages/en.toml");
const GERMAN: &str = include_str!("../../assets/languages/de.toml");

/// The languages that come with the program: their codes (ISO 639-1) and files.
const SHIPPED: [(&str, &str); 2] = [("en", ENGLISH), ("de", GERMAN)];

/// A language, as its file has it.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Language {
    /// Its code (ISO 639-1).
    pub language: String,
    /// The page.
    pub(crate) page: PageWords,
    /// Price and deposit.
    pub(crate) price: PriceWords,
    /// What is hidden in the cake.
    pub(crate) hidden: HiddenWords,
    /// Allergens.
    pub(crate) allergens: AllergenWords,
    /// What the client must know.
    pub(crate) note: NoteWords,
    date: DateWords,
    money: Option<MoneyWords>,
    names: BTreeMap<String, String>,
}

/// Words with places in braces that are filled in.
macro_rules! words {
    ($(#[$doc:meta])* $name:ident { $($field:ident),+ $(,)? }) => {
        $(#[$doc])*
        #[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
        #[serde(deny_unknown_fields)]
        #[allow(missing_docs)]
        pub(crate) struct $name { $(pub $field: String),+ }
    };
}

words!(PageWords {
    quote,
    incomplete,
    dated,
    for_client,
    delivered,
    serves,
    cake,
    inside,
    filling,
    covered,
    over,
    details,
    signature,
});
words!(PriceWords { heading, follows, before_tax, gross, deposit, balance, vat });
words!(HiddenWords { heading, row, sized, under, r#in, middle, somewhere });
words!(AllergenWords { heading, contains, undeclared, none, no_other, no_other_declared, elsewhere, traces });
words!(NoteWords { heading, take_out, carry, carry_two, estimate });

#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
struct DateWords {
    day: String,
    time: String,
    months: [String; 12],
    weekdays: [String; 7],
}

#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
struct MoneyWords {
    form: String,
    decimal: String,
    group: String,
    signs: BTreeMap<String, String>,
}

/// Why a language file is not read.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum LanguageError {
    /// There is no such language.
    #[error("the program has no language \"{0}\"")]
    Unknown(String),
    /// The file is wrong.
    #[error("the language file is wrong: {0}")]
    Wrong(String),
}

impl LanguageError {
    /// How to fix it.
    pub fn fix(&self) -> &'static str {
        match self {
            Self::Unknown(_) => "name \"en\" or \"de\", or a file with the words of another language (.toml)",
            Self::Wrong(_) => {
                "keep to the keys of the shipped assets/languages/en.toml, and leave out what you do not change"
            }
        }
    }
}

impl Default for Language {
    fn default() -> Self {
        Self::shipped("en").expect("a unit test reads the languages that are shipped")
    }
}

impl Language {
    /// A language that comes with the program, by its code.
    ///
    /// # Errors
    /// [`LanguageError::Unknown`] for any other.
    pub fn shipped(code: &str) -> Result<Self, LanguageError> {
        let found = SHIPPED.iter().find(|(known, _)| known.eq_ignore_ascii_case(code));
        Self::read(found.ok_or_else(|| LanguageError::Unknown(code.to_owned()))?.1)
    }

    /// The language of a file's text; what it leaves out is English.
    ///
    /// # Errors
    /// [`LanguageError::Wrong`] for what is not TOML, and for keys that a language does not have.
    pub fn read(text: &str) -> Result<Self, LanguageError> {
        let wrong = |error: toml::de::Error| LanguageError::Wrong(error.to_string());
        let mut all: toml::Table = toml::from_str(ENGLISH).map_err(wrong)?;
        let own: toml::Table = toml::from_str(text).map_err(wrong)?;
        for (key, value) in own {
            match (all.get_mut(&key), value) {
                (Some(toml::Value::Table(known)), toml::Value::Table(own)) => known.extend(own),
                (_, value) => {
                    all.insert(key, value);
                }
            }
        }
        all.try_into().map_err(wrong)
    }

    /// Whether it is the language of the program's own messages.
    pub fn is_english(&self) -> bool {
        self.language == "en"
    }

    /// What a material, a thing or an allergen is called.
    pub(crate) fn name<'a>(&'a self, name: &'a str) -> &'a str {
        self.names.get(name).map_or(name, String::as_str)
    }

    /// Names one after the other.
    pub(crate) fn names<S: AsRef<str>>(&self, names: impl IntoIterator<Item = S>) -> String {
        let all: Vec<String> = names.into_iter().map(|name| self.name(name.as_ref()).to_owned()).collect();
        all.join(", ")
    }

    /// A day.
    pub(crate) fn day(&self, day: Date) -> String {
        day.strftime(&self.dated(&self.date.day, day)).to_string()
    }

    /// A day with its weekday, hour and minute.
    pub(crate) fn time(&self, time: DateTime) -> String {
        time.strftime(&self.dated(&self.date.time, time.date())).to_string()
    }

    fn dated(&self, form: &str, day: Date) -> String {
        let month = &self.date.months[usize::try_from(day.month() - 1).unwrap_or(0)];
        let weekday =
            &self.date.weekdays[usize::try_from(day.weekday().to_monday_zero_offset()).unwrap_or(0)];
        form.replace("%B", &month.replace('%', "%%")).replace("%A", &weekday.replace('%', "%%"))
    }

    /// A price of whole numbers of the smallest coin, where the language has a way of its own to write it.
    pub(crate) fn price(&self, coins: i64, currency: &str, decimals: u32) -> Option<String> {
        let words = self.money.as_ref()?;
        let unit = 10_u64.pow(decimals);
        let (whole, rest) = (coins.unsigned_abs() / unit, coins.unsigned_abs() % unit);
        let places = decimals as usize;
        let mut amount = crate::quote::grouped(whole, &words.group);
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

/// `words` with their places filled in.
pub(crate) fn filled(words: &str, values: &[(&str, &str)]) -> String {
    let mut out = String::with_capacity(words.len() + 32);
    let mut rest = words;
    while let Some(open) = rest.find('{') {
        out.push_str(&rest[..open]);
        let Some(close) = rest[open..].find('}') else {
            rest = &rest[open..];
            break;
        };
        let key = &rest[open + 1..open + close];
        match values.iter().find(|(name, _)| *name == key) {
            Some((_, value)) => out.push_str(value),
            None => out.push_str(&rest[open..=open + close]),
        }
        rest = &rest[open + close + 1..];
    }
    out + rest
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use jiff::civil::date;

    use super::*;

    /// Places in braces, by the path of the words that they stand in.
    fn places(text: &str) -> BTreeMap<String, BTreeSet<String>> {
        let table: toml::Table = toml::from_str(text).unwrap();
        let mut found = BTreeMap::new();
        for (head, value) in &table {
            let Some(table) = value.as_table().filter(|_| head != "names" && head != "money") else {
                continue;
            };
            for (key, words) in table {
                let words = words.as_str().unwrap_or_default();
                let inside =
                    words.split('{').skip(1).filter_map(|part| Some(part.split_once('}')?.0.to_owned()));
                found.insert(format!("{head}.{key}"), inside.collect());
            }
        }
        found
    }

    #[test]
    fn every_shipped_language_says_everything_with_the_same_places() {
        let english = places(ENGLISH);
        for (code, text) in SHIPPED {
            assert_eq!(Language::shipped(code).unwrap().language, code);
            assert_eq!(places(text), english, "{code}");
        }
        for (name, _) in plan::design::material::built_in_names().map(|name| (name, ())) {
            assert_ne!(Language::shipped("de").unwrap().name(name), "", "{name}");
        }
    }

    /// Dates and prices as CLDR has them for Germany: `format_date` and `format_currency` of babel 2.19.
    #[test]
    fn dates_and_prices_are_those_of_cldr() {
        let german = Language::shipped("de").unwrap();
        assert_eq!(german.day(date(2026, 12, 5)), "5. Dezember 2026");
        assert!(german.time(date(2026, 12, 5).at(9, 30, 0, 0)).starts_with("Samstag, 5. Dezember 2026"));
        assert_eq!(german.price(123_456_705, "EUR", 2).unwrap(), "1.234.567,05\u{a0}€");
        assert_eq!(german.price(-5, "SEK", 2).unwrap(), "-0,05\u{a0}SEK");
    }

    #[test]
    fn a_language_of_ones_own_may_leave_words_out() {
        let own = Language::read("language = \"fr\"\n[page]\nquote = \"Devis\"\n").unwrap();
        assert_eq!((own.page.quote.as_str(), own.page.cake.as_str()), ("Devis", "The cake"));
        assert!(matches!(Language::read("[page]\nquota = \"x\""), Err(LanguageError::Wrong(_))));
        assert!(matches!(Language::shipped("xx"), Err(LanguageError::Unknown(_))));
        assert_eq!(filled("{a} and {b} {", &[("a", "1")]), "1 and {b} {");
    }
}
