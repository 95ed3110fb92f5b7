//! What the client is told of an order, in their language, whatever it is written on.

use super::Quote;
use crate::order_check::OrderCheck;
use make::language::{Language, filled};

/// A price and what it is for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PriceLine {
    /// What it is for.
    pub what: String,
    /// The price as it is written.
    pub price: String,
    /// Whether it is the one that is charged.
    pub is_total: bool,
}

/// What the client is told, part by part; none of it holds the maker's costs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ClientText {
    /// When the quote was made.
    pub date: String,
    /// The same, and how long it is valid.
    pub dated: String,
    /// For whom.
    pub for_client: Option<String>,
    /// When it is handed over.
    pub delivered: Option<String>,
    /// How many it serves.
    pub serves: String,
    /// What it is made of, in sentences without full stops.
    pub contents: Vec<String>,
    /// What is charged; nothing while something has no price.
    pub prices: Vec<PriceLine>,
    /// Heading over what is hidden, and a line for each; nothing where nothing is hidden.
    pub hidden: Option<(String, Vec<String>)>,
    /// Allergens to print boldly: what it contains, and of what nobody knows.
    pub allergens: Vec<String>,
    /// What else there is to say of allergens.
    pub no_other_allergens: String,
    /// How to keep, carry and serve it.
    pub notes: Vec<String>,
}

impl ClientText {
    /// What is told of `quote`, dated as its order check is.
    pub fn new(quote: &Quote, check: &OrderCheck, language: &Language) -> Self {
        let words = &language.page;
        let day = check.today.date();
        let dated = |day| if language.is_english() { quote.writing.date(day) } else { language.day(day) };
        let delivered = quote.deliver.as_ref().map(|deliver| {
            let time = deliver.time();
            let time = if language.is_english() { quote.writing.time(time) } else { language.time(time) };
            filled(&words.delivered, &[("time", &time)])
        });
        let (date, until) = (dated(day), dated(quote.valid_until(day)));
        let (allergens, no_other_allergens) = allergens(quote, language);
        let note = &language.note;
        let carry = if quote.heavy { &note.carry_two } else { &note.carry };
        Self {
            dated: filled(&words.dated, &[("date", &date), ("until", &until)]),
            date,
            for_client: quote.client.as_ref().map(|client| filled(&words.for_client, &[("client", client)])),
            delivered,
            serves: filled(&words.serves, &[("count", &quote.serves.to_string())]),
            contents: quote.contents.said(language),
            prices: prices(quote, language),
            hidden: hidden(quote, language),
            allergens,
            no_other_allergens,
            notes: [&note.take_out, carry, &note.estimate].map(String::clone).to_vec(),
        }
    }

    /// For whom, when it is handed over, how many it serves.
    pub fn facts(&self) -> impl Iterator<Item = &String> {
        self.for_client.iter().chain(&self.delivered).chain(std::iter::once(&self.serves))
    }
}

/// What is charged; no price is written while something has none.
fn prices(quote: &Quote, language: &Language) -> Vec<PriceLine> {
    let words = &language.price;
    let Some(charged) = quote.charged else { return Vec::new() };
    let line = |what: &str, coins: i64, is_total| PriceLine {
        what: what.to_owned(),
        price: quote.price_in(coins, language),
        is_total,
    };
    let mut lines = Vec::new();
    if charged.tax > 0 {
        lines.push(line(&words.before_tax, charged.net, false));
        let share = language.style(quote.style).numbers.rounded(100.0 * quote.tax_share, 2);
        lines.push(line(&format!("{}, {share} %", quote.tax_in(language)), charged.tax, false));
    }
    lines.push(line(&words.gross, charged.gross, true));
    if charged.deposit > 0 {
        lines.push(line(&words.deposit, charged.deposit, false));
    }
    if charged.balance > 0 {
        lines.push(line(&words.balance, charged.balance, false));
    }
    lines
}

/// What is hidden in the cake, to be counted out.
fn hidden(quote: &Quote, language: &Language) -> Option<(String, Vec<String>)> {
    let words = &language.hidden;
    if quote.hidden.is_empty() {
        return None;
    }
    let heading = filled(&words.heading, &[("count", &quote.hidden_count().to_string())]);
    let row = |hidden| {
        let (what, place) = language.hidden(hidden, |mm| language.style(quote.style).length_alone(mm));
        filled(&words.row, &[("count", &hidden.count.to_string()), ("what", &what), ("place", &place)])
    };
    Some((heading, quote.hidden.iter().map(row).collect()))
}

/// What is declared and what is not; then by which list there is nothing else.
fn allergens(quote: &Quote, language: &Language) -> (Vec<String>, String) {
    let words = &language.allergens;
    let mut strong = Vec::new();
    if !quote.allergens.is_empty() {
        let named = quote.allergens.iter().map(|allergen| {
            let name = language.name(&allergen.name);
            if allergen.traces { filled(&words.traces, &[("name", name)]) } else { name.to_owned() }
        });
        strong.push(filled(&words.contains, &[("names", &named.collect::<Vec<_>>().join(", "))]));
    }
    if !quote.undeclared.is_empty() {
        strong.push(filled(&words.undeclared, &[("names", &language.names(&quote.undeclared))]));
    }
    let rest = match (quote.allergens.is_empty(), quote.undeclared.is_empty()) {
        (true, true) => &words.none,
        (false, true) => &words.no_other,
        (_, false) => &words.no_other_declared,
    };
    let rest = filled(rest, &[("list", language.name(quote.allergen_list))]);
    (strong, format!("{rest} {}", words.elsewhere))
}
