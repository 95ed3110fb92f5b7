//! The language of a page that leaves the program. A language is a file: English and German come with the program, others are
//! read from the maker's own, and what such a file leaves out is said in English. Every text has the places of the English
//! one; a file whose texts have others is refused.

mod figures;
mod things;
mod words;

use std::{
    collections::{BTreeMap, BTreeSet},
    sync::LazyLock,
};

use plan::support::Rule;
use serde::Deserialize;

use figures::{DateWords, MoneyWords, NumberWords};

pub use figures::grouped;
pub use words::{
    AllergenWords, AmountWords, CautionWords, CheckWords, CostWords, FindingWords, FirstWords, HiddenWords,
    IcingWords, JoinWords, KitWords, NoteWords, PageWords, PiecesWords, PriceWords, ReachWords, ReportWords,
    RuleWords, ShareWords, SheetWords, SideWords, SteadyWords, StepWords, TemplateWords, ThingWords,
    TimeWords,
};

const ENGLISH: &str = include_str!("../../../assets/languages/en.toml");
const GERMAN: &str = include_str!("../../../assets/languages/de.toml");

/// The languages that come with the program: their codes (ISO 639-1) and files.
const SHIPPED: [(&str, &str); 2] = [("en", ENGLISH), ("de", GERMAN)];

/// A language, as its file has it.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Language {
    /// Its code (ISO 639-1).
    pub language: String,
    /// The client's page.
    pub page: PageWords,
    /// Price and deposit.
    pub price: PriceWords,
    /// What is hidden in the cake, on the client's page.
    pub hidden: HiddenWords,
    /// Allergens.
    pub allergens: AllergenWords,
    /// What the client must know.
    pub note: NoteWords,
    /// The page that the client turns the cake on.
    pub share: ShareWords,
    /// The first screen.
    pub first: FirstWords,
    /// Things in the stack.
    pub thing: ThingWords,
    /// Things one after the other.
    pub join: JoinWords,
    /// Directions as seen from above.
    pub side: SideWords,
    /// Headings of the cutting sheet.
    pub sheet: SheetWords,
    /// Dowels, thin places and how far to carve.
    pub reach: ReachWords,
    /// The cautions.
    pub caution: CautionWords,
    /// The steps of the making.
    pub step: StepWords,
    /// Sheet cakes cut into pieces.
    pub pieces: PiecesWords,
    /// How rolled icing is laid.
    pub icing: IcingWords,
    /// Whether it stands and travels.
    pub steady: SteadyWords,
    /// What a cake costs to make.
    pub cost: CostWords,
    /// The plan in figures.
    pub report: ReportWords,
    /// Templates.
    pub template: TemplateWords,
    /// Printed parts.
    pub kit: KitWords,
    /// The order check.
    pub check: CheckWords,
    /// The timetable.
    pub timetable: TimeWords,
    /// What to bake, mix and buy.
    pub amounts: AmountWords,
    /// What is found, by its code; nothing where the plan's own sentences stand.
    findings: BTreeMap<String, FindingWords>,
    rules: BTreeMap<String, RuleWords>,
    number: NumberWords,
    date: DateWords,
    money: Option<MoneyWords>,
    names: BTreeMap<String, String>,
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
        Self::english().clone()
    }
}

impl Language {
    /// The language of the program's own messages.
    pub fn english() -> &'static Self {
        static READ: LazyLock<Language> = LazyLock::new(|| {
            Language::shipped("en").expect("a unit test reads the languages that are shipped")
        });
        &READ
    }

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
    /// [`LanguageError::Wrong`] for what is not TOML, for keys that a language does not have, and for texts whose places in
    /// braces are not those of the English text.
    pub fn read(text: &str) -> Result<Self, LanguageError> {
        let wrong = |error: toml::de::Error| LanguageError::Wrong(error.to_string());
        let mut all: toml::Table = toml::from_str(ENGLISH).map_err(wrong)?;
        let own: toml::Table = toml::from_str(text).map_err(wrong)?;
        check_places(&all, &own)?;
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

    /// What is said of a finding of this code, where the language has words of its own for it.
    pub fn finding(&self, code: &str) -> Option<&FindingWords> {
        self.findings.get(code)
    }

    /// What a rule says and where it comes from: in words of the language's own by its code, else as the plan says it.
    pub fn rule(&self, rule: Rule) -> (&str, &str) {
        match self.rules.get(rule.as_str()) {
            Some(words) => (&words.says, &words.source),
            None => (rule.says(), rule.source()),
        }
    }

    /// Whether it is the language of the program's own messages.
    pub fn is_english(&self) -> bool {
        self.language == "en"
    }

    /// Every language that comes with the program.
    pub fn every_shipped() -> impl Iterator<Item = Self> {
        SHIPPED.iter().filter_map(|(code, _)| Self::shipped(code).ok())
    }

    /// What a material, a thing or an allergen is called.
    pub fn name<'a>(&'a self, name: &'a str) -> &'a str {
        self.names.get(name).map_or(name, String::as_str)
    }

    /// Names one after the other.
    pub fn names<S: AsRef<str>>(&self, names: impl IntoIterator<Item = S>) -> String {
        let all: Vec<String> = names.into_iter().map(|name| self.name(name.as_ref()).to_owned()).collect();
        all.join(", ")
    }
}

/// Texts of a language's tables by their path, whatever holds names or forms of figures left out.
fn texts(language: &toml::Table) -> BTreeMap<String, String> {
    fn walk(path: &str, value: &toml::Value, found: &mut BTreeMap<String, String>) {
        match value {
            toml::Value::String(text) => {
                found.insert(path.to_owned(), text.clone());
            }
            toml::Value::Array(all) => {
                all.iter().enumerate().for_each(|(i, one)| walk(&format!("{path}[{i}]"), one, found));
            }
            toml::Value::Table(table) => {
                table.iter().for_each(|(key, one)| walk(&format!("{path}.{key}"), one, found));
            }
            _ => {}
        }
    }
    let mut found = BTreeMap::new();
    for (section, value) in
        language.iter().filter(|(section, _)| !["names", "money"].contains(&section.as_str()))
    {
        walk(section, value, &mut found);
    }
    found
}

/// The places in braces of a text.
fn places(text: &str) -> BTreeSet<&str> {
    text.split('{').skip(1).filter_map(|part| Some(part.split_once('}')?.0)).collect()
}

/// Whether every text of `own` has the places of the English one, findings those that findings may have.
fn check_places(english: &toml::Table, own: &toml::Table) -> Result<(), LanguageError> {
    let english = texts(english);
    for (path, text) in texts(own) {
        let own = places(&text);
        let told = |places: &BTreeSet<&str>| {
            let all: Vec<String> = places.iter().map(|place| format!("{{{place}}}")).collect();
            if all.is_empty() { "none".to_owned() } else { all.join(", ") }
        };
        if path.starts_with("rules.") {
            continue;
        }
        if path.starts_with("findings.") {
            if let Some(other) = own.iter().find(|place| **place != "about") {
                return Err(LanguageError::Wrong(format!(
                    "{path} has the place {{{other}}}; there is only {{about}}"
                )));
            }
            continue;
        }
        // A key that a language does not have is found when it is read.
        let Some(wanted) = english.get(&path).map(|text| places(text)) else { continue };
        if own != wanted {
            let (own, wanted) = (told(&own), told(&wanted));
            return Err(LanguageError::Wrong(format!(
                "the places of {path} are {own}, and must be {wanted}"
            )));
        }
    }
    Ok(())
}

/// `words` with their places filled in by what was written for them.
pub fn filled_with(words: &str, values: &[(&str, String)]) -> String {
    let values: Vec<(&str, &str)> = values.iter().map(|(place, told)| (*place, told.as_str())).collect();
    filled(words, &values)
}

/// `words` with their places filled in.
pub fn filled(words: &str, values: &[(&str, &str)]) -> String {
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
    use super::*;

    #[test]
    fn every_shipped_language_says_everything_with_the_same_places() {
        let keys = |text: &str| {
            let all = texts(&toml::from_str(text).unwrap());
            all.into_keys()
                .filter(|path| !path.starts_with("findings.") && !path.starts_with("rules."))
                .collect::<Vec<_>>()
        };
        for (code, text) in SHIPPED {
            assert_eq!(Language::shipped(code).unwrap().language, code);
            assert_eq!(keys(text), keys(ENGLISH), "{code}");
        }
        for (name, _) in plan::design::material::built_in_names().map(|name| (name, ())) {
            assert_ne!(Language::shipped("de").unwrap().name(name), "", "{name}");
        }
    }

    #[test]
    fn a_language_of_ones_own_may_leave_words_out() {
        let own = Language::read("language = \"fr\"\n[page]\nquote = \"Devis\"\n").unwrap();
        assert_eq!((own.page.quote.as_str(), own.page.cake.as_str()), ("Devis", "The cake"));
        let places = Language::read("[page]\nserves = \"Sert {n} personnes\"").unwrap_err().to_string();
        assert!(places.contains("page.serves are {n}, and must be {count}"), "{places}");
        let places =
            Language::read("[findings]\ntips = { what = \"{x}\", fix = \"\" }").unwrap_err().to_string();
        assert!(places.contains("findings.tips.what has the place {x}"), "{places}");
        assert!(matches!(Language::read("[page]\nquota = \"x\""), Err(LanguageError::Wrong(_))));
        assert!(matches!(Language::shipped("xx"), Err(LanguageError::Unknown(_))));
        assert_eq!(filled("{a} and {b} {", &[("a", "1")]), "1 and {b} {");
    }
}
