//! What to buy: everything that goes into the mixes, in whole packs.

use std::collections::{BTreeMap, BTreeSet};

use serde::Serialize;

use super::{Made, Purpose};
use crate::spreadsheet::Spreadsheet;
use formats::model::Rgb;
use plan::pantry::{Allergen, Declared, Pantry, Price, Trouble};

/// What to buy.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Shopping {
    /// Every thing, by name.
    pub bought: Vec<Bought>,
    /// What the pantry declares to be in them. Labels of what is bought come first.
    pub allergens: Vec<Allergen>,
    /// Things of which no allergens are declared, which does not mean that there are none.
    pub undeclared: Vec<String>,
}

/// One thing to buy.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Bought {
    /// What it is.
    pub name: String,
    /// Mass that is used.
    pub used_g: f64,
    /// Mass of one, where it is counted.
    pub each_g: Option<f64>,
    /// Whole packs; `None` if it is bought by the gram.
    pub packs: Option<u32>,
    /// Mass of a pack.
    pub pack_g: Option<f64>,
    /// Mass that is bought.
    pub bought_g: f64,
    /// Price of what is bought, if the pantry knows one and it is not beyond all figures.
    pub price: Option<Price>,
    /// Price of what is used: the rest of a pack stays in the pantry.
    pub used_price: Option<Price>,
    /// What is declared of its allergens; null in JSON where nothing is.
    pub allergens: Declared,
    /// Mass that is used of each colour.
    #[serde(skip)]
    lots: Vec<(Option<Rgb>, f64)>,
}

/// Masses in grams of what is bought, by name, and by colour where each colour is a pot of its own.
pub type Lots = BTreeMap<(String, Option<Rgb>), f64>;

/// What the mixes take.
pub fn shopping(made: &[Made], pantry: &Pantry, findings: &mut Vec<Trouble>) -> Shopping {
    let mut grams = Lots::new();
    for made in made {
        // What is mixed from its parts is coloured while it is mixed; a finish is bought in its colour.
        let colour = made.colour.filter(|_| made.purpose == Purpose::Finish);
        for (part, mass) in &made.parts {
            *grams.entry((part.clone(), colour)).or_default() += mass;
        }
    }
    let list = Shopping::of(&grams, pantry);
    let unknown: Vec<&str> =
        list.bought.iter().filter(|b| !pantry.goods.contains_key(&b.name)).map(|b| b.name.as_str()).collect();
    if !unknown.is_empty() {
        findings.push(Trouble {
            code: "goods-unknown",
            about: plan::pantry::About::Names(unknown.iter().map(|&name| name.to_owned()).collect()),
            message: format!("the pantry does not say how these are bought: {}", unknown.join(", ")),
            fix:
                "write down how they are bought: a recipe of that name, or the pack and what its label says of allergens ([pantry.goods])"
                    .into(),
        });
    }
    list
}

/// The list for spreadsheets. Figures have a decimal point whatever the locale.
///
/// # Errors
/// When the writer fails, which memory does not.
pub fn csv(shopping: &Shopping) -> Result<Vec<u8>, ::csv::Error> {
    let mut table = Spreadsheet::new(["what", "used g", "packs", "pack g", "bought g", "price"])?;
    let maybe = |figure: Option<String>| figure.unwrap_or_default();
    for bought in &shopping.bought {
        table.row([
            bought.name.clone(),
            format!("{:.0}", bought.used_g),
            maybe(bought.packs.map(|packs| packs.to_string())),
            maybe(bought.pack_g.map(|pack| format!("{pack:.0}"))),
            format!("{:.0}", bought.bought_g),
            maybe(bought.price.map(|price| price.figures(2))),
        ])?;
    }
    table.bytes()
}

impl Bought {
    /// How many are used, rounded up to whole ones, where they are counted.
    pub fn count(&self) -> Option<u32> {
        self.each_g.map(|each| (self.used_g / each - 1e-9).ceil().max(0.0) as u32)
    }
}

impl Shopping {
    /// Whole packs for these masses.
    pub fn of(grams: &Lots, pantry: &Pantry) -> Self {
        let mut allergens = BTreeSet::new();
        let mut by_name: BTreeMap<&str, Vec<(Option<Rgb>, f64)>> = BTreeMap::new();
        for ((name, colour), mass) in grams {
            by_name.entry(name).or_default().push((*colour, *mass));
        }
        let bought: Vec<Bought> = by_name
            .into_iter()
            .map(|(name, lots)| {
                let used_g: f64 = lots.iter().map(|(_, mass)| mass).sum();
                let goods = pantry.goods.get(name).cloned().unwrap_or_default();
                allergens.extend(goods.allergens.named().iter().cloned());
                // A pack that costs nothing has a price that is not known.
                let price = goods.price.filter(|price| goods.pack.is_none() || !price.is_zero());
                let whole = |pack: f64, mass: f64| (mass / pack - 1e-9).ceil().max(0.0) as u32;
                let packs = goods.pack.map(|pack| lots.iter().map(|(_, mass)| whole(pack, *mass)).sum());
                // Without a pack the price is for a kilogram.
                let unit = goods.pack.unwrap_or(1000.0);
                Bought {
                    name: name.to_owned(),
                    used_g,
                    each_g: goods.each,
                    packs,
                    pack_g: goods.pack,
                    bought_g: goods.pack.zip(packs).map_or(used_g, |(pack, count)| pack * f64::from(count)),
                    price: price.and_then(|price| price.times(packs.map_or(used_g / unit, f64::from))),
                    used_price: price.and_then(|price| price.times(used_g / unit)),
                    allergens: goods.allergens,
                    lots,
                }
            })
            .collect();
        // Traces of what is in it anyway say nothing.
        let says_more = |allergen: &&Allergen| {
            !allergen.traces || !allergens.contains(&Allergen { traces: false, ..(*allergen).clone() })
        };
        let undeclared = bought.iter().filter(|bought| bought.allergens == Declared::Nothing);
        Self {
            allergens: allergens.iter().filter(says_more).cloned().collect(),
            undeclared: undeclared.map(|bought| bought.name.clone()).collect(),
            bought,
        }
    }

    /// What is used, by name and colour.
    pub fn lots(&self) -> Lots {
        let of = |bought: &Bought| -> Vec<_> {
            bought.lots.iter().map(|(colour, mass)| ((bought.name.clone(), *colour), *mass)).collect()
        };
        self.bought.iter().flat_map(of).collect()
    }
}
