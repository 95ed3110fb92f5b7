//! What to charge: ingredients, boards, printing, hours by step, margin, tax, deposit.
//!
//! Every line is rounded to the smallest coin and sums are sums of lines, so that what is printed adds up. What
//! the pantry has no price for is listed, never guessed. The client's page holds none of the maker's costs.

mod csv;
mod item;
mod page;
mod text;

use std::collections::BTreeSet;

use serde::Serialize;

pub use self::csv::csv;
pub use item::{Group, Item, Sum};
pub use page::{Side, pages};
pub use text::text;

use crate::{amounts::Amounts, work::WorkMinutes};
use geom::units::UnitStyle;
use plan::{
    Plan,
    pantry::{Allergen, Money, Price, share_of},
    stack::SlabKind,
    support::HiddenCount,
};

/// A line of the costs. Prices are whole numbers of the smallest coin.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Line {
    /// What it belongs to.
    pub group: Group,
    /// What it is.
    pub what: Item,
    /// How much of it.
    pub amount: String,
    /// Its price.
    pub price: i64,
}

/// A quote. Prices are whole numbers of the smallest coin.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Quote {
    /// The cake.
    pub name: String,
    /// Who asked for it.
    pub client: Option<String>,
    /// When it is handed over, as written.
    pub deliver: Option<String>,
    /// How many it serves by the cutting plan, in the maker's own portion.
    pub serves: u32,
    /// ISO 4217 code.
    pub currency: String,
    /// Decimal places.
    pub decimals: u32,
    /// The costs.
    pub lines: Vec<Line>,
    /// Minutes of work.
    pub minutes: f64,
    /// All lines.
    pub costs: i64,
    /// Margin on them.
    pub margin: i64,
    /// Price before tax.
    pub net: i64,
    /// Tax.
    pub tax: i64,
    /// Share of that.
    pub tax_share: f64,
    /// Price with tax.
    pub gross: i64,
    /// Deposit.
    pub deposit: i64,
    /// What is due on delivery.
    pub balance: i64,
    /// What the pantry has no price for.
    pub unpriced: Vec<Item>,
    /// What the client sees of the cake.
    pub seen: Vec<String>,
    /// Allergens, as the pantry has them.
    pub allergens: Vec<Allergen>,
    /// What is hidden in the cake and must be taken out before it is served.
    pub hidden: Vec<HiddenCount>,
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
    /// How to mend it.
    pub fn mend(&self) -> &'static str {
        "check the prices, and the shares under [pantry.money] and [pantry.extra]"
    }
}

impl Quote {
    /// What `plan` costs to make and to buy. `plastic_g` is the mass of what is printed for it.
    ///
    /// # Errors
    /// [`QuoteError`] where a price or a sum is too large.
    pub fn new(plan: &Plan, amounts: &Amounts, plastic_g: f64) -> Result<Self, QuoteError> {
        let (money, order) = (&plan.pantry.money, &plan.order);
        let mut costing = Costing { money, lines: Vec::new(), unpriced: Vec::new() };
        ingredients(&mut costing, amounts)?;
        boards(&mut costing, amounts, UnitStyle::new(plan.design.unit))?;
        if plastic_g > 0.0 {
            costing.rated(Item::Plastic, format!("{plastic_g:.0} g"), money.plastic, plastic_g / 1000.0)?;
        }
        let minutes = work(&mut costing, WorkMinutes::new(plan, amounts))?;
        if let Some(travel) = order.travel.filter(|minutes| *minutes > 0.0) {
            // There and back.
            let hours = 2.0 * travel / 60.0;
            costing.rated(Item::Road, format!("{hours:.1} h"), money.road, hours)?;
        }
        let too_large = QuoteError::SumTooLarge;
        let mut prices = costing.lines.iter().map(|line| line.price);
        let costs = prices.try_fold(0_i64, i64::checked_add).ok_or(too_large(Sum::Costs))?;
        let margin = share_of(costs, money.margin).ok_or(too_large(Sum::Margin))?;
        let net = costs.checked_add(margin).ok_or(too_large(Sum::Net))?;
        let tax = share_of(net, money.tax).ok_or(too_large(Sum::Tax))?;
        let gross = net.checked_add(tax).ok_or(too_large(Sum::Gross))?;
        let deposit = share_of(gross, money.deposit).ok_or(too_large(Sum::Deposit))?;
        Ok(Self {
            name: plan.design.name.clone(),
            client: order.client.clone(),
            deliver: order.deliver.as_ref().map(ToString::to_string),
            serves: amounts.servings.served.first().map_or(0, |served| served.by_cutting),
            currency: money.currency.clone(),
            decimals: money.decimals,
            lines: costing.lines,
            minutes,
            costs,
            margin,
            net,
            tax,
            tax_share: money.tax,
            gross,
            deposit,
            balance: gross - deposit,
            unpriced: costing.unpriced,
            seen: seen(plan),
            allergens: amounts.shopping.allergens.clone(),
            hidden: plan.support.hidden.clone(),
        })
    }

    /// A price as it is written: figures with the currency behind them.
    pub fn price(&self, coins: i64) -> String {
        format!("{} {}", self.figures(coins), self.currency)
    }

    /// A price without its currency. It has a decimal point whatever the locale.
    fn figures(&self, coins: i64) -> String {
        let unit = 10_u64.pow(self.decimals);
        let sign = if coins < 0 { "-" } else { "" };
        let (whole, rest) = (coins.unsigned_abs() / unit, coins.unsigned_abs() % unit);
        let places = self.decimals as usize;
        let figures = if places == 0 { whole.to_string() } else { format!("{whole}.{rest:0places$}") };
        format!("{sign}{figures}")
    }

    /// From the costs to what is due, in the order in which they add up.
    fn sums(&self) -> [(Sum, i64); 7] {
        Sum::ALL.map(|sum| {
            let coins = match sum {
                Sum::Costs => self.costs,
                Sum::Margin => self.margin,
                Sum::Net => self.net,
                Sum::Tax => self.tax,
                Sum::Gross => self.gross,
                Sum::Deposit => self.deposit,
                Sum::Balance => self.balance,
            };
            (sum, coins)
        })
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

/// The lines so far.
struct Costing<'a> {
    money: &'a Money,
    lines: Vec<Line>,
    unpriced: Vec<Item>,
}

impl Costing<'_> {
    /// Adds a line; what has no price goes among those without.
    fn line(&mut self, what: Item, amount: String, price: Option<Price>) -> Result<(), QuoteError> {
        let Some(price) = price else {
            self.unpriced.push(what);
            return Ok(());
        };
        let Some(price) = price.coins(self.money.decimals) else {
            return Err(QuoteError::LineTooLarge(what));
        };
        self.lines.push(Line { group: what.group(), what, amount, price });
        Ok(())
    }

    /// Adds a line for so much at a rate, which is none if it is 0.
    fn rated(&mut self, what: Item, amount: String, rate: Price, count: f64) -> Result<(), QuoteError> {
        if rate.is_zero() {
            return self.line(what, amount, None);
        }
        match rate.times(count) {
            None => Err(QuoteError::LineTooLarge(what)),
            price => self.line(what, amount, price),
        }
    }
}

fn ingredients(costing: &mut Costing<'_>, amounts: &Amounts) -> Result<(), QuoteError> {
    let style = UnitStyle::new(amounts.unit);
    // What costs nothing, as water out of the tap, is not worth a line.
    let charged =
        amounts.shopping.bought.iter().filter(|bought| !bought.used_price.is_some_and(Price::is_zero));
    for bought in charged {
        let what = Item::Ingredient(bought.name.clone());
        costing.line(what, style.mass_alone(bought.used_g), bought.used_price)?;
    }
    Ok(())
}

fn boards(costing: &mut Costing<'_>, amounts: &Amounts, style: UnitStyle) -> Result<(), QuoteError> {
    for board in &amounts.boards {
        costing.line(Item::Board(board.name.clone()), "1".into(), board.price)?;
    }
    for dowel in &amounts.dowels {
        let what = Item::Dowels(format!("{} {}", dowel.material, style.length_alone(dowel.diameter_mm)));
        costing.line(what, dowel.bought.to_string(), dowel.price)?;
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
            costing.rated(Item::Work(kind), format!("{minutes:.0} min"), hour, minutes / 60.0)?;
        }
    }
    let hours = minutes.total() / 60.0;
    if !overhead.is_zero() {
        costing.rated(Item::Overhead, format!("{hours:.1} h"), overhead, hours)?;
    }
    Ok(minutes.total())
}

/// What the client sees of the cake, in words.
fn seen(plan: &Plan) -> Vec<String> {
    let materials = |kind: SlabKind| -> Vec<&str> {
        let slabs = plan.stack.slabs.iter().filter(|slab| slab.kind == kind);
        let names: BTreeSet<&str> = slabs.map(|slab| slab.material.name.as_str()).collect();
        names.into_iter().collect()
    };
    let mut seen = vec![format!("Inside: {}", materials(SlabKind::Layer).join(", "))];
    let fillings = materials(SlabKind::Filling);
    if !fillings.is_empty() {
        seen.push(format!("Filling: {}", fillings.join(", ")));
    }
    let coverings: Vec<&str> = plan.design.coverings.iter().map(|c| c.material.name.as_str()).collect();
    if !coverings.is_empty() {
        seen.push(format!("Covered with {}", coverings.join(" over ")));
    }
    let details: Vec<&str> = plan.design.trims.iter().map(|trim| trim.name.as_str()).collect();
    if !details.is_empty() {
        seen.push(format!("Details: {}", details.join(", ")));
    }
    seen
}
