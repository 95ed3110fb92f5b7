//! What a page tells of its cake in a few facts, so that the next page can say what has changed.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

/// The element of a page that holds its facts.
pub(super) const ELEMENT: &str = "facts";

/// Facts of one page, by what the client reads.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Facts {
    /// The mark of the page.
    pub mark: String,
    /// The language of the page, by its code: only pages of one language are compared.
    pub language: String,
    /// What is told, in its order: what it is of, and what it is.
    pub told: Vec<(String, String)>,
}

/// Why a page has no facts.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum FactsError {
    /// It is not a page of this program.
    #[error("it is not a page that `crumbline share` wrote")]
    NoPage,
    /// Its facts cannot be read.
    #[error("what the page says of the cake is broken: {0}")]
    Broken(String),
}

impl Facts {
    /// The facts in the text of a page.
    ///
    /// # Errors
    /// A text that is no such page.
    pub fn of_page(html: &str) -> Result<Self, FactsError> {
        let begin = format!("<script type=\"application/json\" id=\"{ELEMENT}\">");
        let (_, rest) = html.split_once(&begin).ok_or(FactsError::NoPage)?;
        let (json, _) = rest.split_once("</script>").ok_or(FactsError::NoPage)?;
        serde_json::from_str(json).map_err(|error| FactsError::Broken(error.to_string()))
    }

    /// What is other than in `before`: what it is of, what it was, what it is. What is told in one of them only is empty in the
    /// other.
    pub fn changed_since<'a>(&'a self, before: &'a Self) -> Vec<[&'a str; 3]> {
        let known: BTreeMap<&str, &str> =
            before.told.iter().map(|(of, what)| (of.as_str(), what.as_str())).collect();
        let mut changed: Vec<[&str; 3]> = self
            .told
            .iter()
            .map(|(of, now)| [of.as_str(), known.get(of.as_str()).copied().unwrap_or(""), now.as_str()])
            .filter(|[_, before, now]| before != now)
            .collect();
        let gone = before.told.iter().filter(|(of, _)| self.told.iter().all(|(other, _)| other != of));
        changed.extend(gone.map(|(of, what)| [of.as_str(), what.as_str(), ""]));
        changed
    }
}
