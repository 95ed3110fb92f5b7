//! What to charge: ingredients, boards, printing, hours by step, margin, tax, deposit.
//!
//! Every line is rounded to the smallest coin and sums are sums of lines, so that what is printed adds up. What
//! the pantry has no price for is listed, never guessed. The client's page holds none of the maker's costs.

mod csv;
mod page;
mod tell;

use std::collections::BTreeSet;

use serde::Serialize;

pub use self::csv::csv;
pub use page::{Side, pages};
pub use tell::text;

use crate::amounts::Amounts;
use geom::units::UnitStyle;
use plan::{
    Plan,
    design::MaterialKind,
    pantry::{Money, Pantry},
    stack::SlabKind,
    support::HiddenCount,
};

/// What a line of the costs belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Group {
    /// What is eaten.
    Ingredients,
    /// Boards and dowels.
    Boards,
    /// Printed tools.
    Printing,
    /// Hours of work.
    Work,
    /// Rent, power, cleaning.
    Overhead,
    /// The road.
    Delivery,
}

impl Group {
    /// Every group, in the order of the bench page.
    pub const ALL: [Self; 6] =
        [Self::Ingredients, Self::Boards, Self::Printing, Self::Work, Self::Overhead, Self::Delivery];

    /// Its name.
    pub fn name(self) -> &'static str {
        match self {
            Self::Ingredients => "ingredients",
            Self::Boards => "boards and dowels",
            Self::Printing => "printed tools",
            Self::Work => "work",
            Self::Overhead => "overhead",
            Self::Delivery => "delivery",
        }
    }
}

/// A line of the costs. Prices are whole numbers of the smallest coin.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Line {
    /// What it belongs to.
    pub group: Group,
    /// What it is.
    pub what: String,
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
    pub unpriced: Vec<String>,
    /// What the client sees of the cake.
    pub seen: Vec<String>,
    /// Allergens, as the pantry has them.
    pub allergens: Vec<String>,
    /// What is hidden in the cake and must be taken out before it is served.
    pub hidden: Vec<HiddenCount>,
}

impl Quote {
    /// What `plan` costs to make and to buy. `plastic_g` is the mass of what is printed for it.
    pub fn new(plan: &Plan, amounts: &Amounts, plastic_g: f64) -> Self {
        let (pantry, order) = (&plan.pantry, &plan.order);
        let money = &pantry.money;
        let mut sum = Sum { money, lines: Vec::new(), unpriced: Vec::new() };
        ingredients(&mut sum, amounts);
        boards(&mut sum, amounts, UnitStyle::new(plan.design.unit));
        if plastic_g > 0.0 {
            let price = (money.plastic > 0.0).then_some(money.plastic * plastic_g / 1000.0);
            sum.line(Group::Printing, "plastic", format!("{plastic_g:.0} g"), price);
        }
        let minutes = work(&mut sum, plan, amounts, pantry);
        if let Some(travel) = order.travel.filter(|minutes| *minutes > 0.0) {
            // There and back.
            let hours = 2.0 * travel / 60.0;
            let price = (money.road > 0.0).then_some(money.road * hours);
            sum.line(Group::Delivery, "on the road, there and back", format!("{hours:.1} h"), price);
        }
        let costs: i64 = sum.lines.iter().map(|line| line.price).sum();
        let part = |of: i64, share: f64| (of as f64 * share).round() as i64;
        let margin = part(costs, money.margin);
        let net = costs + margin;
        let tax = part(net, money.tax);
        let gross = net + tax;
        let deposit = part(gross, money.deposit);
        Self {
            name: plan.design.name.clone(),
            client: order.client.clone(),
            deliver: order.deliver.clone(),
            serves: amounts.servings.served.first().map_or(0, |served| served.by_cutting),
            currency: money.currency.clone(),
            decimals: money.decimals,
            lines: sum.lines,
            minutes,
            costs,
            margin,
            net,
            tax,
            tax_share: money.tax,
            gross,
            deposit,
            balance: gross - deposit,
            unpriced: sum.unpriced,
            seen: seen(plan),
            allergens: amounts.shopping.allergens.clone(),
            hidden: plan.support.hidden.clone(),
        }
    }

    /// A price as it is written: figures with the currency behind them.
    pub fn price(&self, coins: i64) -> String {
        format!("{} {}", self.figures(coins), self.currency)
    }

    /// A price without its currency. It has a decimal point whatever the locale.
    fn figures(&self, coins: i64) -> String {
        let unit = 10_i64.pow(self.decimals);
        let sign = if coins < 0 { "-" } else { "" };
        let (whole, rest) = (coins.abs() / unit, coins.abs() % unit);
        let places = self.decimals as usize;
        let figures = if places == 0 { whole.to_string() } else { format!("{whole}.{rest:0places$}") };
        format!("{sign}{figures}")
    }

    /// From the costs to what is due, in the order in which they add up.
    fn sums(&self) -> [(&'static str, i64); 7] {
        [
            ("costs", self.costs),
            ("margin", self.margin),
            ("price before tax", self.net),
            ("tax", self.tax),
            ("price", self.gross),
            ("deposit", self.deposit),
            ("due on delivery", self.balance),
        ]
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

struct Sum<'a> {
    money: &'a Money,
    lines: Vec<Line>,
    unpriced: Vec<String>,
}

impl Sum<'_> {
    fn line(&mut self, group: Group, what: &str, amount: String, price: Option<f64>) {
        let Some(price) = price else {
            self.unpriced.push(what.to_owned());
            return;
        };
        let coins = (price * 10_f64.powi(self.money.decimals as i32)).round() as i64;
        self.lines.push(Line { group, what: what.to_owned(), amount, price: coins });
    }
}

fn ingredients(sum: &mut Sum<'_>, amounts: &Amounts) {
    let style = UnitStyle::new(amounts.unit);
    for bought in &amounts.shopping.bought {
        // Water out of the tap costs nothing worth a line.
        if bought.name == "water" && bought.used_price.is_none() {
            continue;
        }
        sum.line(Group::Ingredients, &bought.name, style.mass_alone(bought.used_g), bought.used_price);
    }
}

fn boards(sum: &mut Sum<'_>, amounts: &Amounts, style: UnitStyle) {
    for board in &amounts.boards {
        sum.line(Group::Boards, &board.name, "1".into(), board.price);
    }
    for dowel in &amounts.dowels {
        let what = format!("{} {}", dowel.material, style.length_alone(dowel.diameter_mm));
        sum.line(Group::Boards, &what, dowel.bought.to_string(), dowel.price);
    }
}

/// Lines of the work; gives back its minutes.
fn work(sum: &mut Sum<'_>, plan: &Plan, amounts: &Amounts, pantry: &Pantry) -> f64 {
    let steps = steps(plan, amounts, pantry);
    let (hour, overhead) = (pantry.money.hour, pantry.money.overhead);
    let mut total = 0.0;
    for (step, minutes) in steps {
        total += minutes;
        if hour > 0.0 {
            sum.line(Group::Work, step, format!("{minutes:.0} min"), Some(hour * minutes / 60.0));
        }
    }
    if hour <= 0.0 {
        sum.unpriced.push("hours of work".into());
    }
    if overhead > 0.0 {
        let price = Some(overhead * total / 60.0);
        sum.line(Group::Overhead, "rent, power, cleaning", format!("{:.1} h", total / 60.0), price);
    }
    total
}

/// Minutes of each step of the work, from the pantry's rates.
pub fn steps(plan: &Plan, amounts: &Amounts, pantry: &Pantry) -> Vec<(&'static str, f64)> {
    let rates = &pantry.work;
    let bakes: usize = amounts.bakes.iter().map(|group| group.bakes.len()).sum();
    let layers = plan.stack.slabs.iter().filter(|slab| slab.kind == SlabKind::Layer).count();
    let inside = amounts.boards.len() + plan.stack.dowels.len();
    let shaved: f64 = plan
        .stack
        .slabs
        .iter()
        .zip(&plan.carving.slabs)
        .filter(|(slab, _)| slab.kind == SlabKind::Layer)
        .map(|(_, carved)| carved.volumes.offcut / 1e6)
        .sum();
    let volumes = plan.line_volumes();
    let coverings = || plan.design.coverings.iter().zip(volumes.windows(2));
    // In hundreds of square centimetres.
    let area = |paste: bool| -> f64 {
        let of = |kind: MaterialKind| (kind == MaterialKind::Paste) == paste;
        let kinds = coverings().filter(|(covering, _)| of(covering.material.kind));
        kinds.map(|(covering, pair)| (pair[0] - pair[1]) / covering.thickness / 1e4).sum()
    };
    let all = [
        ("talking, drawing, shopping, boxing", rates.each_cake),
        ("mixing and filling pans", rates.mix * bakes as f64),
        ("levelling and splitting", rates.level * layers as f64),
        ("boards and dowels", rates.board * inside as f64),
        ("filling and stacking", rates.stack * layers as f64),
        ("carving", rates.carve * shaved),
        ("coating", rates.coat * area(false)),
        ("covering", rates.cover * area(true)),
        ("details", rates.detail * plan.design.trims.len() as f64),
    ];
    all.into_iter().filter(|(_, minutes)| *minutes > 0.0).collect()
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
