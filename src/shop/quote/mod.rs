//! What to charge: ingredients, boards, printing, hours by step, margin, tax, deposit.
//!
//! Every line is rounded to the smallest coin and sums are sums of lines, so that what is printed adds up. What
//! the pantry has no price for is listed, never guessed. The client's page holds none of the maker's costs.

mod client_text;
mod contents;
mod csv;
mod item;
mod page;
mod quantity;
mod text;
mod written;

use jiff::{ToSpan, civil::Date};
use serde::Serialize;

pub use self::csv::csv;
pub use client_text::{ClientText, PriceLine};
pub use contents::Contents;
pub use item::{Group, Item, Sum};
pub use page::{ClientPage, Side, pages, title};
pub use quantity::Quantity;
pub use text::text;
pub use written::Writing;

use crate::{amounts::Amounts, work::WorkMinutes};
use cakefile::LocalTime;
use geom::units::UnitStyle;
use make::language::Language;
use plan::{
    Plan,
    pantry::{Allergen, Maker, Money, Price, list_of, share_of},
    support::HiddenCount,
};

/// A line of the costs. Prices are whole numbers of the smallest coin.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Line {
    /// What it belongs to.
    pub group: Group,
    /// What it is.
    pub what: Item,
    /// How much of it, as the maker's units have it and with a decimal point.
    pub amount: String,
    /// The same to write in any language.
    #[serde(skip)]
    pub quantity: Quantity,
    /// Its price.
    pub price: i64,
}

/// What the client is charged, in whole numbers of the smallest coin.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Charged {
    /// Price before tax.
    pub net: i64,
    /// Tax.
    pub tax: i64,
    /// Price with tax.
    pub gross: i64,
    /// Deposit.
    pub deposit: i64,
    /// What is due on delivery.
    pub balance: i64,
}

/// A quote. Prices are whole numbers of the smallest coin.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Quote {
    /// The cake.
    pub name: String,
    /// Who asked for it.
    pub client: Option<String>,
    /// When it is handed over, as written.
    pub deliver: Option<LocalTime>,
    /// Who makes it.
    #[serde(skip)]
    pub maker: Maker,
    /// How many it serves by the cutting plan, in the maker's own portion.
    pub serves: u32,
    /// How money and dates are written.
    #[serde(flatten)]
    pub writing: Writing,
    /// The costs.
    pub lines: Vec<Line>,
    /// Minutes of work.
    pub minutes: f64,
    /// All lines.
    pub costs: i64,
    /// Margin on them.
    pub margin: i64,
    /// What the client is charged; `None` while something has no price, or nothing has one above 0.
    pub charged: Option<Charged>,
    /// What the tax is called.
    pub tax_name: String,
    /// Share of the price that is tax.
    pub tax_share: f64,
    /// Days that the quote is valid.
    pub valid_days: u32,
    /// What the pantry has no price for.
    pub unpriced: Vec<Item>,
    /// What the client sees of the cake.
    pub seen: Vec<String>,
    /// The same by what it is.
    #[serde(skip)]
    pub contents: Contents,
    /// How lengths are written.
    #[serde(skip)]
    pub style: UnitStyle,
    /// Allergens, as the pantry has them.
    pub allergens: Vec<Allergen>,
    /// Things of which no allergens are declared.
    pub undeclared: Vec<String>,
    /// The list of allergens that counts.
    pub allergen_list: &'static str,
    /// What is hidden in the cake and must be taken out before it is served.
    pub hidden: Vec<HiddenCount>,
    /// Whether two people must carry it.
    pub heavy: bool,
}

/// Why there is no quote.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum QuoteError {
    /// A line is too large to be counted in the smallest coin.
    #[error("the price of {0} is beyond all figures")]
    LineTooLarge(Item),
    /// A sum is.
    #[error("the sum \"{}\" is beyond all figures", .0.name())]
    SumTooLarge(Sum),
}

impl QuoteError {
    /// How to fix it.
    pub fn fix(&self) -> &'static str {
        "check the prices, the margin and the tax ([pantry.money]), and what is made beyond what is used ([pantry.extra])"
    }
}

impl Quote {
    /// What `plan` costs to make and to buy. `plastic_g` is the mass of what is printed for it.
    ///
    /// # Errors
    /// [`QuoteError`] where a price or a sum is too large.
    pub fn new(plan: &Plan, amounts: &Amounts, plastic_g: f64) -> Result<Self, QuoteError> {
        let (money, order) = (&plan.pantry.money, &plan.order);
        let style = plan.design.style;
        let mut costing = Costing { money, style, lines: Vec::new(), unpriced: Vec::new() };
        ingredients(&mut costing, amounts)?;
        boards(&mut costing, amounts)?;
        if plastic_g > 0.0 {
            costing.rated(Item::Plastic, Quantity::Plastic(plastic_g), money.plastic, plastic_g / 1000.0)?;
        }
        let minutes = work(&mut costing, WorkMinutes::new(plan, amounts))?;
        if let Some(travel) = order.travel.filter(|minutes| *minutes > 0.0) {
            // There and back.
            let hours = 2.0 * travel / 60.0;
            costing.rated(Item::Road, Quantity::Hours(hours), money.road, hours)?;
        }
        let too_large = QuoteError::SumTooLarge;
        let mut prices = costing.lines.iter().map(|line| line.price);
        let costs = prices.try_fold(0_i64, i64::checked_add).ok_or(too_large(Sum::Costs))?;
        let margin = share_of(costs, money.margin).ok_or(too_large(Sum::Margin))?;
        let charged = Charged::new(costs, margin, money)?;
        let priced = costing.unpriced.is_empty() && charged.gross > 0;
        let region = plan.pantry.region();
        let writing = Writing { region, currency: money.currency.clone(), decimals: money.decimals };
        Ok(Self {
            name: plan.design.name.clone(),
            client: order.client.clone(),
            deliver: order.deliver.clone(),
            maker: plan.pantry.maker.clone(),
            serves: amounts.servings.served.first().map_or(0, |served| served.by_cutting),
            lines: costing.lines,
            minutes,
            costs,
            margin,
            charged: priced.then_some(charged),
            tax_name: money.tax_name.clone().unwrap_or_else(|| writing.tax().to_owned()),
            tax_share: money.tax,
            valid_days: money.valid_days,
            writing,
            unpriced: costing.unpriced,
            seen: Contents::of(plan).said(&Language::default()),
            contents: Contents::of(plan),
            style: plan.design.style,
            allergens: amounts.shopping.allergens.clone(),
            undeclared: amounts.shopping.undeclared.clone(),
            allergen_list: list_of(region),
            hidden: plan.support.hidden.clone(),
            heavy: plan.needs_two(),
        })
    }

    /// A price as it is written.
    pub fn price(&self, coins: i64) -> String {
        self.writing.price(coins)
    }

    /// From the costs to what is due, in the order in which they add up; of what is charged only what is known.
    fn sums(&self) -> Vec<(Sum, i64)> {
        let mut sums = Vec::new();
        if self.costs > 0 || self.charged.is_some() {
            sums.push((Sum::Costs, self.costs));
        }
        if let Some(charged) = self.charged {
            sums.extend([
                (Sum::Margin, self.margin),
                (Sum::Net, charged.net),
                (Sum::Tax, charged.tax),
                (Sum::Gross, charged.gross),
                (Sum::Deposit, charged.deposit),
                (Sum::Balance, charged.balance),
            ]);
        }
        sums
    }

    /// What a sum is called on paper.
    fn name_of(&self, sum: Sum, language: &Language) -> String {
        match sum {
            Sum::Tax => self.tax_in(language).to_owned(),
            Sum::Costs if self.charged.is_none() => language.cost.costs_so_far.clone(),
            sum => sum.told(language).into(),
        }
    }

    /// What the tax is called: by its own name, a value added tax by the language's.
    fn tax_in<'a>(&'a self, language: &'a Language) -> &'a str {
        if self.tax_name == "VAT" { &language.price.vat } else { &self.tax_name }
    }

    /// A price as the language writes it, else as the region does.
    pub fn price_in(&self, coins: i64, language: &Language) -> String {
        let (currency, decimals) = (&self.writing.currency, self.writing.decimals);
        language.price(coins, currency, decimals).unwrap_or_else(|| self.price(coins))
    }

    /// The last day on which a quote that is written on `day` is valid.
    pub fn valid_until(&self, day: Date) -> Date {
        day.saturating_add(i64::from(self.valid_days).days())
    }

    /// How many things are hidden in the cake.
    pub fn hidden_count(&self) -> usize {
        self.hidden.iter().map(|hidden| hidden.count).sum()
    }

    /// All lines of one group.
    pub fn group(&self, group: Group) -> i64 {
        self.lines.iter().filter(|line| line.group == group).map(|line| line.price).sum()
    }
}

impl Charged {
    fn new(costs: i64, margin: i64, money: &Money) -> Result<Self, QuoteError> {
        let too_large = QuoteError::SumTooLarge;
        let net = costs.checked_add(margin).ok_or(too_large(Sum::Net))?;
        let tax = share_of(net, money.tax).ok_or(too_large(Sum::Tax))?;
        let gross = net.checked_add(tax).ok_or(too_large(Sum::Gross))?;
        let deposit = share_of(gross, money.deposit).ok_or(too_large(Sum::Deposit))?;
        Ok(Self { net, tax, gross, deposit, balance: gross - deposit })
    }
}

/// The lines so far.
struct Costing<'a> {
    money: &'a Money,
    style: UnitStyle,
    lines: Vec<Line>,
    unpriced: Vec<Item>,
}

impl Costing<'_> {
    /// Adds a line; what has no price goes among those without.
    fn line(&mut self, what: Item, quantity: Quantity, price: Option<Price>) -> Result<(), QuoteError> {
        let Some(price) = price else {
            self.unpriced.push(what);
            return Ok(());
        };
        let Some(price) = price.coins(self.money.decimals) else {
            return Err(QuoteError::LineTooLarge(what));
        };
        let (group, amount) = (what.group(), quantity.text(self.style));
        self.lines.push(Line { group, what, amount, quantity, price });
        Ok(())
    }

    /// Adds a line for so much at a rate, which is none if it is 0.
    fn rated(&mut self, what: Item, quantity: Quantity, rate: Price, count: f64) -> Result<(), QuoteError> {
        if rate.is_zero() {
            return self.line(what, quantity, None);
        }
        match rate.times(count) {
            None => Err(QuoteError::LineTooLarge(what)),
            price => self.line(what, quantity, price),
        }
    }
}

fn ingredients(costing: &mut Costing<'_>, amounts: &Amounts) -> Result<(), QuoteError> {
    // What costs nothing, as water out of the tap, is not worth a line.
    let charged =
        amounts.shopping.bought.iter().filter(|bought| !bought.used_price.is_some_and(Price::is_zero));
    for bought in charged {
        let what = Item::Ingredient(bought.name.clone());
        costing.line(what, Quantity::Mass(bought.used_g), bought.used_price)?;
    }
    Ok(())
}

fn boards(costing: &mut Costing<'_>, amounts: &Amounts) -> Result<(), QuoteError> {
    for board in &amounts.boards {
        let what = Item::Board { name: board.name.clone(), tier: board.tier.clone() };
        costing.line(what, Quantity::Count(1), board.price)?;
    }
    for dowel in &amounts.dowels {
        let what = Item::Dowels {
            material: dowel.material.clone(),
            micrometres: (dowel.diameter_mm * 1000.0).round() as u32,
            name: format!("{} {}", dowel.material, costing.style.length_alone(dowel.diameter_mm)),
        };
        costing.line(what, Quantity::Count(dowel.bought), dowel.price)?;
    }
    Ok(())
}

/// Lines of the work; gives back its minutes.
fn work(costing: &mut Costing<'_>, minutes: WorkMinutes) -> Result<f64, QuoteError> {
    let (hour, overhead) = (costing.money.hour, costing.money.overhead);
    if hour.is_zero() {
        costing.unpriced.push(Item::HoursOfWork);
    } else {
        for (kind, minutes) in minutes.each() {
            costing.rated(Item::Work(kind), Quantity::Minutes(minutes), hour, minutes / 60.0)?;
        }
    }
    let hours = minutes.total() / 60.0;
    if !overhead.is_zero() {
        costing.rated(Item::Overhead, Quantity::Hours(hours), overhead, hours)?;
    }
    Ok(minutes.total())
}
