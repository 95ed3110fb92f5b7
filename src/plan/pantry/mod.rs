//! What the maker owns, mixes, buys and charges.
//!
//! Three layers lie one over the other: the pantry that comes with the program ([`USUAL`]), the maker's own
//! file, and what the cake file says under `[pantry]`. Each is checked where it is written, so that every
//! wrong number is told with its file and line. Beside each number of the first stands its source, or
//! "common practice".

mod allergen;
mod bakes;
mod packs;
mod price;
mod read;
mod regulated;
mod settings;
mod sheet_cuts;
mod trouble;

use std::{collections::BTreeMap, sync::Arc};

use crate::design;
pub use allergen::{Allergen, Declared};
pub use bakes::{Bake, Slab, bakes_needed, by_pan, loads_needed, pack};
pub use cakefile::schema_pantry::PantryFile;
pub use cakefile::schema_pantry::Region;
use cakefile::{CakeFile, CakeFileError, Diagnostic, FieldPath, schema};
use geom::real;
use geom::units::{Cups, Unit};
pub use price::{Price, share_of};
pub use regulated::{AllergenGroup, is_of, list_of, regulated};
pub use settings::{Extra, LogoFile, Maker, Money, Stacking, Times, Work};
pub use sheet_cuts::{CutSheet, CutSheets, SheetCut, SheetPiece, cheapest_pans, cut_sheets};
pub use trouble::{About, Trouble};

/// The pantry that comes with the program, as text to start one's own from.
pub const USUAL: &str = include_str!("usual.pantry.toml");

/// What the maker owns, mixes, buys and charges. Lengths in mm, masses in g, volumes in mm³, shares from 0 to 1.
#[derive(Debug, Clone, PartialEq)]
pub struct Pantry {
    /// Pans, as they are written.
    pub pans: Vec<Pan>,
    /// How many pans bake at once.
    pub at_once: u32,
    /// The most oven loads for one cake, if that is limited.
    pub most_loads: Option<u32>,
    /// Kinds of board.
    pub boards: Vec<BoardKind>,
    /// Kinds of dowel.
    pub dowels: Vec<DowelKind>,
    /// Recipes by the name of the material.
    pub recipes: BTreeMap<String, Recipe>,
    /// What is bought.
    pub goods: BTreeMap<String, Goods>,
    /// How stacks are found.
    pub stacking: Stacking,
    /// What is made beyond what lies on the cake.
    pub extra: Extra,
    /// The maker's own portion: width, length, height.
    pub portion: [f64; 3],
    /// Mass of a cake truffle.
    pub truffle: f64,
    /// What the cake has to fit into: width, depth, height.
    pub spaces: BTreeMap<String, [f64; 3]>,
    /// Money.
    pub money: Money,
    /// Who makes it, as clients read it.
    pub maker: Maker,
    /// Whose law and whose way of writing count, if that is written.
    pub written_region: Option<Region>,
    /// Minutes of work.
    pub work: Work,
    /// Hours of waiting.
    pub times: Times,
    /// Paper, where the cake file says nothing.
    pub paper: Option<schema::Paper>,
    /// How the knife is used, where the cake file says nothing.
    pub carving: Option<schema::Carving>,
    /// How rolled icing is cut, where the cake file says nothing.
    pub icing: Option<schema::IcingSheets>,
    /// Units that reports put first, where the cake file says nothing.
    pub units: schema::Units,
    /// The printer, where the cake file says nothing.
    pub printing: Option<schema::Printing>,
}

/// Outline of a pan seen from above, or a half-ball.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum PanShape {
    /// Round, by its diameter.
    Round(f64),
    /// Square or rectangular: width and depth.
    Rectangle(f64, f64),
    /// Half a ball, by its diameter.
    HalfBall(f64),
}

/// A size of pan.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pan {
    /// Its shape.
    pub shape: PanShape,
    /// How deep it is.
    pub depth: f64,
    /// How high a bake out of it stands, levelled.
    pub level: f64,
    /// How many there are.
    pub count: u32,
}

/// A kind of board for inside the cake.
#[derive(Debug, Clone, PartialEq)]
pub struct BoardKind {
    /// Its diameter; `None` if it is cut from a sheet.
    pub round: Option<f64>,
    /// Thickness.
    pub thickness: f64,
    /// Material, by name.
    pub material: String,
    /// Price of one, or of a square metre.
    pub price: Option<Price>,
}

/// A kind of dowel.
#[derive(Debug, Clone, PartialEq)]
pub struct DowelKind {
    /// Diameter.
    pub diameter: f64,
    /// Length as bought.
    pub length: f64,
    /// Material, by name.
    pub material: String,
    /// Price of one.
    pub price: Option<Price>,
}

/// What a material is mixed from, and how it bakes.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Recipe {
    /// Parts by mass; empty if it is bought as it is.
    pub parts: BTreeMap<String, f64>,
    /// Mass of one mixing, if only whole ones are made.
    pub mixing: Option<f64>,
    /// How much batter goes in a pan.
    pub filled: Option<Filled>,
    /// Density of the batter, g/mL.
    pub batter_density: Option<f64>,
    /// Minutes in the oven in a round pan of 8 in, for a bake 55 mm high.
    pub minutes: Option<f64>,
    /// Temperature of the oven without its fan, °C.
    pub temperature: Option<f64>,
    /// Height of the bake over that of the batter.
    pub rise: Option<f64>,
    /// Density as used, g/mL, where the cake file gives none.
    pub density: Option<f64>,
    /// Syrup for each kilogram, g.
    pub syrup: f64,
}

/// How much batter goes in a pan.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Filled {
    /// A share of its volume.
    Share(f64),
    /// Grams for each litre of it.
    PerLitre(f64),
}

/// A thing that is bought.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Goods {
    /// Mass of a pack; `None` if it is bought by the gram.
    pub pack: Option<f64>,
    /// Whether the maker wrote that down; else it is as sold in the region.
    pub is_own_pack: bool,
    /// Mass of one, g, where it is counted, as eggs.
    pub each: Option<f64>,
    /// Price of a pack, or of a kilogram.
    pub price: Option<Price>,
    /// What is declared of its allergens.
    pub allergens: Declared,
}

impl Pantry {
    /// The pantry that comes with the program.
    pub fn usual() -> Self {
        let file = CakeFile::from_text("usual.pantry.toml", "", USUAL);
        let mut usual = Self::blank().with_file(&file).expect("a unit test reads the pantry that is shipped");
        usual.goods.values_mut().for_each(|goods| goods.is_own_pack = false);
        packs::by_region(&mut usual);
        usual
    }

    /// This pantry with what `file` says over it.
    ///
    /// # Errors
    /// Every problem of the file at once.
    pub fn with_file(&self, file: &CakeFile) -> Result<Self, CakeFileError> {
        let mut read = file.parse_as::<PantryFile>();
        let mut pantry = self.clone();
        let mut problems = Vec::new();
        if let Some(written) = &read.document {
            let unit = written.unit.unwrap_or_default();
            read::apply(&mut pantry, &written.pantry, unit, &FieldPath::root().key("pantry"), &mut problems);
        }
        if let Some(logo) = &mut pantry.maker.logo
            && read.document.as_ref().is_some_and(|written| written.pantry.names_logo())
        {
            logo.pantry = Some(Arc::new(file.clone()));
        }
        read.add(problems);
        if read.has_errors() { Err(file.error(read.problems)) } else { Ok(pantry) }
    }

    /// This pantry with what the cake file under `[pantry]` says over it; what is wrong there is left out and put
    /// into `problems`.
    #[must_use]
    pub fn with_cake(&self, cake: &schema::Cake, problems: &mut Vec<Diagnostic>) -> Self {
        let mut pantry = self.clone();
        if let Some(written) = &cake.pantry {
            let field = FieldPath::root().key("pantry");
            read::apply(&mut pantry, written, cake.unit.unwrap_or_default(), &field, problems);
        }
        pantry
    }

    /// Whose law and whose way of writing count; by the currency where the pantry does not say.
    pub fn region(&self) -> Region {
        self.told_region().unwrap_or(Region::Eu)
    }

    /// The region as far as the pantry tells: by its name, or by a currency of one country.
    fn told_region(&self) -> Option<Region> {
        self.written_region.or(match self.money.currency.as_str() {
            "GBP" => Some(Region::Uk),
            "USD" => Some(Region::Us),
            "AUD" => Some(Region::Au),
            "NZD" => Some(Region::Nz),
            _ => None,
        })
    }

    /// The recipe of `material`; one that is bought as it is where none is written.
    pub fn recipe(&self, material: &str) -> Recipe {
        self.recipes.get(material).cloned().unwrap_or_default()
    }

    /// The longest kind of dowel of this material whose diameter is the same within half a millimetre.
    pub fn dowel(&self, diameter: f64, material: &str) -> Option<&DowelKind> {
        let fitting = self.dowels.iter().filter(|kind| kind.material == material);
        fitting
            .filter(|kind| (kind.diameter - diameter).abs() < 0.5)
            .max_by(|a, b| a.length.total_cmp(&b.length))
    }

    /// The pan of this shape, sizes within a millimetre.
    pub fn pan(&self, shape: PanShape) -> Option<&Pan> {
        self.pans.iter().find(|pan| pan.shape.is(shape))
    }

    /// An empty pantry to lay the shipped one over.
    fn blank() -> Self {
        Self {
            pans: Vec::new(),
            at_once: 1,
            most_loads: None,
            boards: Vec::new(),
            dowels: Vec::new(),
            recipes: BTreeMap::new(),
            goods: BTreeMap::new(),
            stacking: Stacking {
                step: 5.0,
                thinnest: 20.0,
                shave: None,
                shave_top: 0.0,
                board_every: 150.0,
                overhang: 0.5,
                foot: None,
                undercut: 1.0,
                foot_height: 0.0,
                shortfall: 0.0,
                sponge: String::new(),
                filling: (String::new(), 0.0),
                bake_cost: 0.0,
                load_cost: 0.0,
                board_cost: 0.0,
                overhang_cost: 0.0,
                piece_cost: 0.0,
            },
            extra: Extra::default(),
            portion: [0.0; 3],
            truffle: 1.0,
            spaces: BTreeMap::new(),
            money: Money::default(),
            maker: Maker::default(),
            written_region: None,
            work: Work::default(),
            times: Times::default(),
            paper: None,
            carving: None,
            icing: None,
            units: schema::Units::default(),
            printing: None,
        }
    }

    /// Puts the pantry's paper, printer and densities into `cake` where it gives none of its own.
    pub fn lend(&self, cake: &mut schema::Cake) {
        for (name, recipe) in &self.recipes {
            // A recipe alone does not say what its material is like: only those that are known are lent.
            let known = cake.materials.contains_key(name) || design::material::built_in(name).is_some();
            if recipe.density.is_some() && known {
                let material = cake.materials.entry(name.clone()).or_default();
                material.density = material.density.or(recipe.density);
            }
        }
        // Who writes in inches and says of no region counts in the cups of the United States.
        let inches = cake.unit == Some(Unit::Inch);
        let cups = self.told_region().map_or(if inches { Cups::Us } else { Cups::Metric }, Region::cups);
        let units = cake.units.get_or_insert_default();
        units.mass = units.mass.or(self.units.mass);
        units.volume = units.volume.or(self.units.volume);
        units.temperature = units.temperature.or(self.units.temperature);
        units.cups = units.cups.or(self.units.cups).or(Some(cups));
        if cake.paper.is_none() {
            cake.paper.clone_from(&self.paper);
        }
        if cake.carving.is_none() {
            cake.carving.clone_from(&self.carving);
        }
        if cake.icing.is_none() {
            cake.icing.clone_from(&self.icing);
        }
        if cake.printing.is_none() {
            cake.printing.clone_from(&self.printing);
        }
    }
}

impl PanShape {
    /// Area seen from above, mm².
    pub fn area(self) -> f64 {
        match self {
            Self::Round(d) | Self::HalfBall(d) => std::f64::consts::PI * d * d / 4.0,
            Self::Rectangle(w, d) => w * d,
        }
    }

    /// Distance of the furthest point of its outline from the middle, mm.
    pub fn reach(self) -> f64 {
        match self {
            Self::Round(d) | Self::HalfBall(d) => d / 2.0,
            Self::Rectangle(w, d) => real::hypot(w, d) / 2.0,
        }
    }

    /// Whether both are the same size, within a millimetre; a rectangle may be turned.
    pub fn is(self, other: Self) -> bool {
        let near = |a: f64, b: f64| (a - b).abs() < 1.0;
        match (self, other) {
            (Self::Round(a), Self::Round(b)) | (Self::HalfBall(a), Self::HalfBall(b)) => near(a, b),
            (Self::Rectangle(a, b), Self::Rectangle(c, d)) => {
                (near(a, c) && near(b, d)) || (near(a, d) && near(b, c))
            }
            _ => false,
        }
    }

    /// Its name, as "round 8 in" for an inch maker.
    pub fn name(self, unit: Unit) -> String {
        let mm = |x: f64| geom::units::UnitStyle::new(unit).pan_size(x);
        match self {
            Self::Round(d) => format!("round {}", mm(d)),
            Self::HalfBall(d) => format!("half-ball {}", mm(d)),
            Self::Rectangle(w, d) if (w - d).abs() < 1e-6 => format!("square {}", mm(w)),
            Self::Rectangle(w, d) => format!("{} × {}", mm(w), mm(d)),
        }
    }
}

impl Pan {
    /// Room inside, mm³.
    pub fn capacity(&self) -> f64 {
        match self.shape {
            // Two thirds of the cylinder around it (any handbook of mathematics).
            PanShape::HalfBall(d) => self.shape.area() * d / 3.0,
            _ => self.shape.area() * self.depth,
        }
    }

    /// Volume of a bake `height` mm high, mm³; of a half-ball from its rim up.
    pub fn volume(&self, height: f64) -> f64 {
        match self.shape {
            PanShape::HalfBall(d) => {
                let (r, h) = (d / 2.0, height.min(d / 2.0));
                std::f64::consts::PI * h * (r * r - h * h / 3.0)
            }
            _ => self.shape.area() * height,
        }
    }
}

impl Recipe {
    /// Batter for a full pan, g; `density` is the cake's own, for a material that tells nothing of batter.
    pub fn batter(&self, pan: &Pan, density: f64) -> f64 {
        let litres = pan.capacity() / 1e6;
        match self.filled {
            Some(Filled::PerLitre(grams)) => grams * litres,
            Some(Filled::Share(share)) => share * litres * 1000.0 * self.batter_density.unwrap_or(1.0),
            None => pan.volume(pan.level) / 1000.0 * density,
        }
    }

    /// Minutes in the oven for a bake out of `pan`, if the recipe says them. In proportion to the height of the bake
    /// and to the diameter of the pan, or of the round pan of the same area: what published charts for fruit cakes
    /// from 6 to 12 in follow within a sixth.
    pub fn minutes_in(&self, pan: &Pan) -> Option<f64> {
        /// Diameter, and height of the bake, that `minutes` are given for, mm.
        const GIVEN_FOR: (f64, f64) = (203.2, 55.0);
        let across = 2.0 * (pan.shape.area() / std::f64::consts::PI).sqrt();
        Some(self.minutes? * across / GIVEN_FOR.0 * pan.level / GIVEN_FOR.1)
    }

    /// Share of the pan that the batter fills, if the recipe says so.
    pub fn fill(&self) -> Option<f64> {
        match self.filled? {
            Filled::Share(share) => Some(share),
            Filled::PerLitre(grams) => self.batter_density.map(|density| grams / 1000.0 / density),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_shipped_pantry_reads() {
        let pantry = Pantry::usual();
        assert!(pantry.pans.len() >= 6 && pantry.at_once > 0);
        assert_eq!(pantry.recipe("ganache").parts["dark chocolate"], 2.0);
    }
}
