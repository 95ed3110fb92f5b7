//! Many orders at once: one shopping list, oven loads shared, a row for each order.
//!
//! An order that cannot be read or planned is told and left out; the others go on. An order without tiers gets the
//! best stack of the pantry's pans.

use std::{
    panic::{AssertUnwindSafe, catch_unwind},
    thread,
};

use rayon::prelude::*;
use serde::Serialize;

use crate::{
    amounts::{self, Amounts, Lots, Shopping},
    arrange::{self, Aim, ArrangeError, Effort},
    quote::Quote,
    spreadsheet::Spreadsheet,
    steps::Steps,
};
use geom::{
    Cancel, Cancelled,
    progress::{NoProgress, Progress},
    units::{Unit, UnitStyle},
};
use make::report::table;
use plan::{
    Plan, Planner, Quality, Source,
    pantry::{Pan, PanShape, Pantry, by_pan, loads_needed},
};

/// One order.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Row {
    /// The file.
    pub file: String,
    /// The cake.
    pub name: String,
    /// Who ordered it.
    pub client: Option<String>,
    /// When it is handed over.
    pub deliver: Option<String>,
    /// Whether the plan found no error.
    pub sound: bool,
    /// Whether its stack was found by the search.
    pub arranged: bool,
    /// Bakes.
    pub bakes: usize,
    /// Oven loads if it were baked alone.
    pub loads: u32,
    /// Offcut.
    pub offcut_g: f64,
    /// Servings by cutting, in the maker's own portion.
    pub serves: u32,
    /// How many were ordered.
    pub ordered: Option<u32>,
    /// Its price, with tax; a dash while something has no price.
    pub price: String,
}

/// All orders.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Batch {
    /// Those that could be planned, in the order of their files.
    pub rows: Vec<Row>,
    /// Those that could not: file, and why.
    pub failed: Vec<(String, String)>,
    /// Files of those at which the program itself failed; they are among those that could not be planned.
    #[serde(skip)]
    pub faults: Vec<String>,
    /// Bakes of each pan, all orders together.
    pub bakes: Vec<(String, u32)>,
    /// Oven loads, shared.
    pub loads: u32,
    /// What to buy for all.
    pub shopping: Shopping,
    #[serde(skip)]
    unit: Unit,
    #[serde(skip)]
    style: UnitStyle,
}

/// What is said of an order at which the program itself failed.
const FAULT: &str = "the program failed at it, which is the program's fault and not yours";

/// What came of one order.
struct Done {
    row: Row,
    pans: Vec<(Pan, u32)>,
    lots: Lots,
    unit: Unit,
    style: UnitStyle,
}

impl Batch {
    /// Plans every order. Oven and packs are those of `pantry`, which all of them share; each cake file's own
    /// `[pantry]` lies over it. Each order is a step of `progress`.
    ///
    /// # Errors
    /// [`Cancelled`] once `cancel` asks to stop.
    pub fn new(
        orders: &[Source],
        pantry: &Pantry,
        cancel: &Cancel,
        progress: &dyn Progress,
    ) -> Result<Self, Cancelled> {
        let steps = Steps::new(progress, "planning the orders", orders.len() as u64);
        let one = |order: &Source| {
            // A fault of the program at one order stops none of the others.
            let done = catch_unwind(AssertUnwindSafe(|| one(order, cancel)));
            steps.done_one();
            (order.cake.name().to_owned(), done)
        };
        let done: Vec<(String, thread::Result<Result<Done, String>>)> = orders.par_iter().map(one).collect();
        cancel.check()?;
        progress.finish();
        let mut batch = Self {
            rows: Vec::new(),
            failed: Vec::new(),
            faults: Vec::new(),
            bakes: Vec::new(),
            loads: 0,
            shopping: Shopping::default(),
            unit: Unit::default(),
            style: UnitStyle::default(),
        };
        let mut lots = Lots::new();
        let mut pans: Vec<(Pan, u32)> = Vec::new();
        for (file, done) in done {
            match done {
                Err(_) => {
                    batch.faults.push(file.clone());
                    batch.failed.push((file, FAULT.into()));
                }
                Ok(Err(why)) => batch.failed.push((file, why)),
                Ok(Ok(done)) => {
                    (batch.unit, batch.style) = (done.unit, done.style);
                    batch.rows.push(done.row);
                    for (what, mass) in done.lots {
                        *lots.entry(what).or_default() += mass;
                    }
                    pans.extend(done.pans);
                }
            }
        }
        let mut pans = by_pan(pans);
        pans.sort_by(|a, b| a.0.shape.area().total_cmp(&b.0.shape.area()));
        batch.loads = loads_needed(pans.iter().map(|(pan, count)| (pan, *count)), pantry.at_once);
        let name = |shape: PanShape| shape.name(batch.unit);
        batch.bakes = pans.iter().map(|(pan, count)| (name(pan.shape), *count)).collect();
        batch.shopping = Shopping::of(&lots, pantry);
        Ok(batch)
    }

    /// Oven loads that sharing saves.
    pub fn saved(&self) -> u32 {
        self.rows.iter().map(|row| row.loads).sum::<u32>().saturating_sub(self.loads)
    }
}

fn one(source: &Source, cancel: &Cancel) -> Result<Done, String> {
    let planner = Planner::new();
    let bare = source.cake.parse().document.is_some_and(|cake| cake.tiers.is_empty());
    let plan = if bare { arranged(&planner, source, cancel)? } else { planned(&planner, source, cancel)? };
    let found = Amounts::new(&plan);
    let quote = Quote::new(&plan, &found, 0.0).map_err(|error| format!("{error}; fix: {}", error.fix()))?;
    Ok(done(source, &plan, &found, &quote, bare))
}

fn planned(planner: &Planner, source: &Source, cancel: &Cancel) -> Result<Plan, String> {
    planner.plan(source, Quality::Full, cancel).map_err(|error| error.render())
}

fn arranged(planner: &Planner, source: &Source, cancel: &Cancel) -> Result<Plan, String> {
    let found = arrange::propose(planner, source, &[Aim::Best], Effort::default(), cancel, &NoProgress);
    let found = found.map_err(|error| match error {
        ArrangeError::CakeFile(error) => error.render(false),
        other => other.to_string(),
    })?;
    let trouble = found.trouble.map(|trouble| format!("{}; fix: {}", trouble.message, trouble.fix));
    match (trouble, found.proposals.into_iter().next()) {
        (None, Some(proposal)) => Ok(proposal.plan),
        (trouble, _) => Err(trouble.unwrap_or_else(|| "no stack was found".into())),
    }
}

fn done(source: &Source, plan: &Plan, amounts: &Amounts, quote: &Quote, arranged: bool) -> Done {
    let order = &plan.order;
    let served = amounts.servings.served.first();
    Done {
        row: Row {
            file: source.cake.name().to_owned(),
            name: plan.design.name.clone(),
            client: order.client.clone(),
            deliver: order.deliver.as_ref().map(ToString::to_string),
            sound: !plan.has_errors(),
            arranged,
            bakes: amounts.bakes.iter().map(|group| group.bakes.len()).sum(),
            loads: amounts.loads,
            offcut_g: amounts.offcut_g,
            serves: served.map_or(0, |served| served.by_cutting),
            ordered: order.serves,
            price: quote.charged.map_or_else(|| "–".into(), |charged| quote.price(charged.gross)),
        },
        pans: amounts.bakes.iter().map(|group| (group.pan, group.bakes.len() as u32)).collect(),
        lots: amounts.shopping.lots(),
        unit: plan.design.unit,
        style: plan.design.style,
    }
}

/// A batch as text.
pub fn text(batch: &Batch) -> String {
    use std::fmt::Write;
    let style = batch.style;
    let mut out = format!(
        "{} orders, {} of them cannot be made\n\n",
        batch.rows.len() + batch.failed.len(),
        batch.failed.len()
    );
    let rows = batch.rows.iter().map(|row| {
        vec![
            row.name.clone(),
            row.deliver.clone().unwrap_or_default(),
            if row.sound { "OK".into() } else { "errors".into() },
            row.bakes.to_string(),
            row.loads.to_string(),
            style.mass_alone(row.offcut_g),
            match row.ordered {
                Some(ordered) => format!("{} of {ordered}", row.serves),
                None => row.serves.to_string(),
            },
            row.price.clone(),
        ]
    });
    let head = ["order", "delivered", "plan", "bakes", "loads alone", "offcut", "serves", "price"];
    out += &table(&head, 3, rows.collect());
    let _ = writeln!(out, "\nBaked together: {} oven loads, {} fewer", batch.loads, batch.saved());
    let rows = batch.bakes.iter().map(|(pan, count)| vec![pan.clone(), count.to_string()]);
    out += &table(&["pan", "bakes"], 1, rows.collect());
    out.push_str("\nTo buy for all\n");
    out += &amounts::shopping_text(&batch.shopping, style, make::language::Language::english());
    for (file, why) in &batch.failed {
        let _ = write!(out, "\n{file} cannot be made:\n{why}\n");
    }
    out
}

/// Orders, and what to buy for all, for spreadsheets.
///
/// # Errors
/// When the writer fails, which memory does not.
pub fn csv(batch: &Batch) -> Result<(Vec<u8>, Vec<u8>), ::csv::Error> {
    let mut orders = Spreadsheet::new([
        "file",
        "order",
        "client",
        "delivered",
        "plan",
        "bakes",
        "oven loads alone",
        "offcut g",
        "serves",
        "ordered",
        "price",
        "problem",
    ])?;
    for row in &batch.rows {
        orders.row([
            row.file.as_str(),
            &row.name,
            row.client.as_deref().unwrap_or_default(),
            row.deliver.as_deref().unwrap_or_default(),
            if row.sound { "OK" } else { "errors" },
            &row.bakes.to_string(),
            &row.loads.to_string(),
            &format!("{:.0}", row.offcut_g),
            &row.serves.to_string(),
            &row.ordered.map_or_else(String::new, |n| n.to_string()),
            &row.price,
            "",
        ])?;
    }
    for (file, why) in &batch.failed {
        let mut row = [""; 12];
        (row[0], row[11]) = (file, why);
        orders.row(row)?;
    }
    Ok((orders.bytes()?, amounts::csv(&batch.shopping)?))
}
