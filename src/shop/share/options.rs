//! What the client may choose, in their language, each with the word by which it is told back.

use super::{
    choices::{Serves, Tint, same_words},
    prices::WorkedOut,
};
use crate::quote::Quote;
use formats::model::Rgb;
use make::language::{Language, filled, filled_with};
use plan::{Plan, offer::ColourChoice};

/// A size to choose.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SizeOption {
    /// What is told back.
    pub serves: Serves,
    /// What the client reads.
    pub label: String,
    /// Whether its price was worked out instead of written down.
    pub is_worked_out: bool,
}

/// A colour to choose.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ColourOption {
    /// What is told back.
    pub tint: Tint,
    /// What the client reads.
    pub label: String,
    /// The colour; `None` where what takes it shows none as it is.
    pub colour: Option<Rgb>,
    /// Whether the cake is shown with it.
    pub is_shown: bool,
}

/// The colours to choose from for one part of the cake.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ColourOptions {
    /// What the client reads.
    pub name: String,
    /// The colours.
    pub options: Vec<ColourOption>,
}

/// All that may be chosen.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Options {
    /// The sizes, that of the cake as it is first; none where no other is offered.
    pub sizes: Vec<SizeOption>,
    /// In the order of the offer.
    pub colours: Vec<ColourOptions>,
}

impl Options {
    /// What `plan` offers. `quote` is what it costs as it is, `prices` are those of sizes that are offered without one.
    pub fn new(plan: &Plan, quote: &Quote, prices: &[WorkedOut], language: &Language) -> Self {
        Self {
            sizes: sizes(plan, quote, prices, language),
            colours: plan.offer.colours.iter().map(|choice| colours(plan, choice, language)).collect(),
        }
    }
}

fn sizes(plan: &Plan, quote: &Quote, prices: &[WorkedOut], language: &Language) -> Vec<SizeOption> {
    if plan.offer.sizes.is_empty() {
        return Vec::new();
    }
    let words = &language.share;
    let label = |count: u32, coins: Option<i64>| {
        let count = count.to_string();
        match coins {
            Some(coins) => {
                let price = quote.price_in(coins, language);
                filled(&words.for_about_priced, &[("count", &count), ("price", &price)])
            }
            None => filled(&words.for_about, &[("count", &count)]),
        }
    };
    let wanted = plan.order.serves.unwrap_or(quote.serves);
    let is_new = |serves: u32| plan.offer.sizes.iter().all(|size| size.serves != serves);
    let mut sizes = Vec::new();
    // A size of the file that is among those offered is told once, with the price of the quote.
    if is_new(wanted) {
        let label = label(quote.serves, quote.charged.map(|charged| charged.gross));
        sizes.push(SizeOption { serves: Serves::AsShown(wanted), label, is_worked_out: false });
    }
    sizes.extend(plan.offer.sizes.iter().map(|size| {
        let told = size.price.and_then(|price| price.coins(quote.writing.decimals));
        let coins =
            if size.serves == wanted { quote.charged.map(|charged| charged.gross).or(told) } else { told };
        let serves = Serves::Offered(size.serves);
        let worked_out = prices.iter().find(|price| price.serves == size.serves && coins.is_none());
        match worked_out {
            Some(price) => {
                let price = quote.price_in(price.coins, language);
                let places = [("count", size.serves.to_string()), ("price", price)];
                let label = filled_with(&words.for_about_worked_out, &places);
                SizeOption { serves, label, is_worked_out: true }
            }
            None => SizeOption { serves, label: label(size.serves, coins), is_worked_out: false },
        }
    }));
    let first = sizes.iter().position(|size| size.serves.count() == wanted).unwrap_or(0);
    sizes[..=first].rotate_right(1);
    sizes
}

/// The colour that the first thing that `choice` is about has now.
pub(super) fn shown(plan: &Plan, choice: &ColourChoice) -> Option<Rgb> {
    choice.of.first()?.shown_in(&plan.design)
}

fn colours(plan: &Plan, choice: &ColourChoice, language: &Language) -> ColourOptions {
    let now = shown(plan, choice);
    let mut options: Vec<ColourOption> = choice
        .colours
        .iter()
        .map(|(name, colour)| ColourOption {
            tint: Tint::Offered(name.clone()),
            label: name.clone(),
            colour: Some(*colour),
            is_shown: false,
        })
        .collect();
    let position = options.iter().position(|option| option.colour == now);
    match position {
        Some(position) => options[position].is_shown = true,
        None => options.insert(
            0,
            ColourOption {
                tint: Tint::AsShown(now),
                label: language.share.as_shown.clone(),
                colour: now,
                is_shown: true,
            },
        ),
    }
    debug_assert!(options.iter().all(|option| same_words(&option.label, option.label.trim())));
    ColourOptions { name: choice.name.clone(), options }
}
