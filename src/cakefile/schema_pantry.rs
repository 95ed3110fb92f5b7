//! The pantry as written: what the maker owns, mixes, buys and charges.
//!
//! The same tables stand in a pantry file, which serves for every cake, and in a cake file, where they come
//! before it. Lists are replaced as a whole, named entries one by one. Masses are grams, volumes millilitres,
//! times minutes or hours as the key says, shares from 0 to 1, prices in the pantry's currency.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{
    LocalTime,
    quantity::{Length, Size},
    schema::{Carving, Colour, Filling, IcingSheets, Paper, Printing, Units},
};
use geom::units::{Cups, Unit};

/// The highest price that is read: beyond it the file is a mistake, whatever the currency.
pub const MOST_PRICE: f64 = 1e9;

/// A pantry file: what a maker owns and how they work, for every cake.
#[derive(Debug, Clone, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PantryFile {
    /// Version of the format; write 1.
    pub crumbline: u32,
    /// Unit of bare numbers: "mm", "cm" or "in". Millimetres if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub unit: Option<Unit>,
    /// The pantry.
    pub pantry: Pantry,
}

/// What the maker owns, mixes, buys and charges. Whatever is left out is as in the pantry that comes with
/// the program.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Pantry {
    /// The pans that are there. Replaces the whole list.
    #[serde(default, rename = "pan", skip_serializing_if = "Option::is_none")]
    pub pans: Option<Vec<OwnedPan>>,
    /// The oven.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub oven: Option<Oven>,
    /// Kinds of board for inside the cake. Replaces the whole list.
    #[serde(default, rename = "board", skip_serializing_if = "Option::is_none")]
    pub boards: Option<Vec<OwnedBoard>>,
    /// Kinds of dowel. Replaces the whole list.
    #[serde(default, rename = "dowel", skip_serializing_if = "Option::is_none")]
    pub dowels: Option<Vec<OwnedDowel>>,
    /// What cake, fillings and coverings are mixed from, by the name of the material.
    #[serde(default, rename = "recipe", skip_serializing_if = "BTreeMap::is_empty")]
    pub recipes: BTreeMap<String, Recipe>,
    /// What is bought, and in which packs.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub goods: BTreeMap<String, Goods>,
    /// How stacks are found.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stacking: Option<Stacking>,
    /// How much more is made than lies on the cake.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub extra: Option<Extra>,
    /// Portions.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub servings: Option<Servings>,
    /// What the cake has to fit into, as a fridge shelf or a car boot: [width, depth, height].
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub spaces: BTreeMap<String, [Size; 3]>,
    /// Money.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub money: Option<Money>,
    /// Who makes the cake, as it stands on quotes.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub maker: Option<Maker>,
    /// Whose list of allergens counts, and whose way of writing money and dates: "EU", "UK", "US", "AU" or "NZ".
    /// If left out, that of the currency: GBP, USD, AUD and NZD are their countries', any other is "EU".
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub region: Option<Region>,
    /// Minutes of work.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub work: Option<Work>,
    /// Hours of waiting, and the working day.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub times: Option<Times>,
    /// Paper, where the cake file says nothing.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub paper: Option<Paper>,
    /// How the knife is used.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub carving: Option<Carving>,
    /// How rolled icing is cut.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub icing: Option<IcingSheets>,
    /// Units that reports put first, for every cake that does not say otherwise.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub units: Option<Units>,
    /// The printer, where the cake file says nothing.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub printing: Option<Printing>,
}

impl Pantry {
    /// Whether it says where the maker's logo is.
    pub fn names_logo(&self) -> bool {
        self.maker.as_ref().is_some_and(|maker| maker.logo.is_some())
    }
}

/// A size of pan. Give exactly one of `round`, `square`, `rectangle` and `half_ball`; sizes are inside sizes.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct OwnedPan {
    /// Diameter of a round pan.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub round: Option<Size>,
    /// Side of a square pan.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub square: Option<Size>,
    /// [width, depth] of a rectangular pan.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rectangle: Option<[Size; 2]>,
    /// Diameter of a half-ball pan.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub half_ball: Option<Size>,
    /// How deep it is inside; a half-ball is half its diameter deep.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub depth: Option<Size>,
    /// How high a bake out of it stands once it is levelled.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub level: Option<Size>,
    /// How many there are; 1 if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub count: Option<u32>,
}

/// The oven.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Oven {
    /// How many pans bake at once.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at_once: Option<u32>,
    /// The most loads that may be baked for one cake.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub most_loads: Option<u32>,
}

/// A kind of board for inside the cake. Without a size it is cut from a sheet.
#[derive(Debug, Clone, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct OwnedBoard {
    /// Diameter of a round board.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub round: Option<Size>,
    /// Thickness.
    pub thickness: Size,
    /// What it is made of; "card board" if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub material: Option<String>,
    /// Price of one board; of a sheet that is cut, for each square metre.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0, max = MOST_PRICE))]
    pub price: Option<f64>,
}

/// A kind of dowel.
#[derive(Debug, Clone, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct OwnedDowel {
    /// Diameter.
    pub diameter: Size,
    /// Length as it is bought.
    pub length: Size,
    /// What it is made of; "wooden dowel" if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub material: Option<String>,
    /// Price of one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0, max = MOST_PRICE))]
    pub price: Option<f64>,
}

/// What a material is mixed from, and how it bakes if it is baked.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Recipe {
    /// Parts by mass, as { "dark chocolate" = 2, cream = 1 }.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub parts: Option<BTreeMap<String, f64>>,
    /// Grams that one mixing makes, if only whole mixings are made.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0.001, max = 1_000_000))]
    pub mixing: Option<f64>,
    /// Share of the pan that is filled with batter. Give `fill` or `batter_per_litre`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fill: Option<f64>,
    /// Grams of batter for each litre of pan.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub batter_per_litre: Option<f64>,
    /// Density of the batter, g/mL.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub batter_density: Option<f64>,
    /// Minutes in the oven in a round pan of 8 in, for a bake that stands 55 mm high; other sizes follow. The pantry's
    /// `oven` under [pantry.work] if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 1, max = 1_440))]
    pub minutes: Option<f64>,
    /// Temperature of the oven without its fan, °C.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 50, max = 300))]
    pub temperature: Option<f64>,
    /// Height of the bake, with its dome, as a multiple of that of the batter: the batter's density over the cake's,
    /// less what is lost in the oven.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rise: Option<f64>,
    /// Density as it is used, g/mL, where the cake file gives none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub density: Option<f64>,
    /// Grams of syrup brushed on for each kilogram.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0, max = 10_000))]
    pub syrup: Option<f64>,
}

/// A thing that is bought.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Goods {
    /// Grams in a pack. If left out, that of the shipped pantry, of butter, flour and the like as sold in the region; other
    /// goods are bought by the gram.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0.001, max = 1_000_000))]
    pub pack: Option<f64>,
    /// Grams of one, where it is counted in the kitchen and not weighed, as eggs: lists then say how many.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0.001, max = 1_000_000))]
    pub each: Option<f64>,
    /// Price of a pack; for each kilogram where there is no pack. 0 only for what comes without a pack and for
    /// nothing, as water out of the tap.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0, max = MOST_PRICE))]
    pub price: Option<f64>,
    /// Allergens in it, in the words that the local law asks for, as its label says; [] if the label names none. If
    /// left out, nothing is declared, which quotes tell.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub allergens: Option<Vec<String>>,
}

/// How stacks are found, and what is saved at what cost.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Stacking {
    /// Heights of slabs are whole steps of this.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub step: Option<Size>,
    /// The thinnest slab.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub thinnest: Option<Size>,
    /// Sponge to be carved off at the side everywhere; the cake file's `[limits]` spare if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub shave: Option<Length>,
    /// Sponge to be carved off on top.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub shave_top: Option<Length>,
    /// The highest cake without a board.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub board_every: Option<Size>,
    /// How far what is carved of a slab may reach beyond what carries it, as a share of half its width.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub overhang: Option<f64>,
    /// What the foot is pressed from where the shape is undercut; "none" to build all of sponge.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub foot: Option<String>,
    /// A foot is put where the shape above is wider: the share of its area that hangs free.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub undercut: Option<f64>,
    /// The highest foot.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub foot_height: Option<Size>,
    /// How much of the shape may be missing and be patched, mL.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub shortfall: Option<f64>,
    /// What the slabs are baked of.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sponge: Option<String>,
    /// What lies between them, where the cake file has no tier that says so.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub filling: Option<Filling>,
    /// One more bake counts as much as so many grams of offcut.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bake_cost: Option<f64>,
    /// One more oven load counts as much as so many grams of offcut.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub load_cost: Option<f64>,
    /// One more board counts as much as so many grams of offcut.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub board_cost: Option<f64>,
    /// A slab that hangs over further than `[limits]` overhang until it is carved, or half as far then, counts as much as
    /// so many grams of offcut.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub overhang_cost: Option<f64>,
    /// What a piece in a layer of pieces is worth, in grams of offcut: it is cut, laid and joined.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub piece_cost: Option<f64>,
}

/// How much more is made than lies on the cake, as shares of it.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Extra {
    /// Batter that stays in bowls and on spatulas.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0, max = 100))]
    pub batter: Option<f64>,
    /// Filling that is squeezed out or stays in the bowl.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0, max = 100))]
    pub filling: Option<f64>,
    /// Coating that is scraped off again.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0, max = 100))]
    pub coating: Option<f64>,
    /// Icing that goes in rolling, beyond the sheet or the pattern with its allowance.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0, max = 100))]
    pub icing: Option<f64>,
    /// Paste for details beyond what stays on the cake.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0, max = 100))]
    pub details: Option<f64>,
}

/// Portions.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Servings {
    /// The maker's own portion: [width, length, height].
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub portion: Option<[Size; 3]>,
    /// Grams of one cake truffle out of the offcut.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0.001, max = 1_000_000))]
    pub truffle: Option<f64>,
}

/// Money.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Money {
    /// ISO 4217 code, as "EUR".
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub currency: Option<String>,
    /// Decimal places of the currency.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub decimals: Option<u32>,
    /// An hour of work.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0, max = MOST_PRICE))]
    pub hour: Option<f64>,
    /// Rent, power and cleaning for each hour of work.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0, max = MOST_PRICE))]
    pub overhead: Option<f64>,
    /// A kilogram of printed plastic.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0, max = MOST_PRICE))]
    pub plastic: Option<f64>,
    /// The presentation board with its ribbon.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0, max = MOST_PRICE))]
    pub presentation: Option<f64>,
    /// An hour on the road, the vehicle counted.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0, max = MOST_PRICE))]
    pub road: Option<f64>,
    /// Margin on everything, as a share of the costs.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0, max = 100))]
    pub margin: Option<f64>,
    /// Tax on the price, as a share of it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0, max = 1))]
    pub tax: Option<f64>,
    /// What the tax is called where the maker lives, as "VAT"; the region's usual name if left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tax_name: Option<String>,
    /// Deposit, as a share of the price with tax.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0, max = 1))]
    pub deposit: Option<f64>,
    /// Days that a quote is valid.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 1, max = 365))]
    pub valid_days: Option<u32>,
}

/// Who makes the cake, as it stands on quotes.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Maker {
    /// Name of the business.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub name: Option<String>,
    /// Lines of the address, and of what reaches the maker.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub address: Option<Vec<String>>,
    /// The e-mail address that clients answer to.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub email: Option<String>,
    /// The colour of bands, buttons and headings on what clients are given, as "#6a3a52". Letters on it are black or white,
    /// whichever is read better.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub accent: Option<Colour>,
    /// The colour that clients' pages lie on.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ground: Option<Colour>,
    /// A file with the logo, PNG, JPEG or SVG, in the folder of the file that names it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub logo: Option<String>,
}

/// A region with its law on allergens and its way of writing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Deserialize, Serialize, JsonSchema)]
pub enum Region {
    /// The European Union.
    #[serde(rename = "EU")]
    Eu,
    /// The United Kingdom.
    #[serde(rename = "UK")]
    Uk,
    /// The United States.
    #[serde(rename = "US")]
    Us,
    /// Australia.
    #[serde(rename = "AU")]
    Au,
    /// New Zealand.
    #[serde(rename = "NZ")]
    Nz,
}

impl Region {
    /// The cups and spoons that are sold there.
    pub fn cups(self) -> Cups {
        match self {
            Self::Us => Cups::Us,
            Self::Au => Cups::Australian,
            Self::Eu | Self::Uk | Self::Nz => Cups::Metric,
        }
    }
}

/// Minutes of work.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Work {
    /// Mixing and filling the pans, for each bake.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0, max = 100_000))]
    pub mix: Option<f64>,
    /// In the oven, for each load whose recipe has no `minutes`; counted in the timetable, not in the hours.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0, max = 100_000))]
    pub oven: Option<f64>,
    /// Levelling and splitting, for each layer.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0, max = 100_000))]
    pub level: Option<f64>,
    /// Filling and stacking, for each layer.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0, max = 100_000))]
    pub stack: Option<f64>,
    /// Boards and dowels cut and set, for each of them.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0, max = 100_000))]
    pub board: Option<f64>,
    /// Carving, for each 100 cm² of the shape's surface.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0, max = 100_000))]
    pub carve: Option<f64>,
    /// Coating, for each 100 cm² and coat.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0, max = 100_000))]
    pub coat: Option<f64>,
    /// Covering with rolled icing, for each 100 cm².
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0, max = 100_000))]
    pub cover: Option<f64>,
    /// The first of each kind of cut or add.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0, max = 100_000))]
    pub detail: Option<f64>,
    /// Each further one like it, as of twelve petals.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0, max = 100_000))]
    pub detail_again: Option<f64>,
    /// Rolling and laying a roll, for each metre of sausage.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0, max = 100_000))]
    pub roll: Option<f64>,
    /// Painting and dusting, for each 100 cm² and coat.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0, max = 100_000))]
    pub finish: Option<f64>,
    /// Talking, drawing, shopping, boxing: once for each cake.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0, max = 100_000))]
    pub each_cake: Option<f64>,
}

/// Hours of waiting, and the working day.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Times {
    /// Hours that modelled parts up to 4 mm thick dry; thicker ones longer in the same measure.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0, max = 10_000))]
    pub dry: Option<f64>,
    /// Hours that bakes cool.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0, max = 10_000))]
    pub cool: Option<f64>,
    /// Hours that bakes chill before they are levelled.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0, max = 10_000))]
    pub chill: Option<f64>,
    /// Hours that the filled stack settles under its own weight.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0, max = 10_000))]
    pub settle: Option<f64>,
    /// Hours in the cold before carving. If left out, as long as a stack of this size takes to be cold in its middle.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0, max = 10_000))]
    pub firm: Option<f64>,
    /// Hours between ganache being made and being used.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0, max = 10_000))]
    pub ganache: Option<f64>,
    /// Hours that marzipan dries before icing goes over it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0, max = 10_000))]
    pub marzipan: Option<f64>,
    /// Hours that each coat sets.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0, max = 10_000))]
    pub set: Option<f64>,
    /// Hours that the icing rests before details go on.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0, max = 10_000))]
    pub rest: Option<f64>,
    /// Hours that what is painted on dries before the cake is boxed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0, max = 10_000))]
    pub paint: Option<f64>,
    /// Hour of the day at which work begins.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub from: Option<f64>,
    /// Hour of the day at which it ends.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub to: Option<f64>,
}

/// Who ordered the cake, for when and for how many.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Order {
    /// Who ordered it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub client: Option<String>,
    /// When it is handed over, as "2026-12-05 10:00".
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub deliver: Option<LocalTime>,
    /// Minutes on the road.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 0, max = 1_440))]
    pub travel: Option<f64>,
    /// How many are to be served.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 1, max = 100_000))]
    pub serves: Option<u32>,
    /// What must not be in it, as ["nuts", "gluten"]: allergens of the region's list, or other things by name.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub without: Option<Vec<String>>,
    /// What the client asks for beside that, in their own words.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub remarks: Option<String>,
}
