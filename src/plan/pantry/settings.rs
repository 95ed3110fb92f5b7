//! How stacks are found, what is made beyond what lies on the cake, money, work and waiting.

use std::sync::Arc;

use super::Price;
use cakefile::CakeFile;
use formats::model::Rgb;

/// How stacks are found.
#[derive(Debug, Clone, PartialEq)]
pub struct Stacking {
    /// Heights of slabs are whole steps of this.
    pub step: f64,
    /// The thinnest slab.
    pub thinnest: f64,
    /// Least sponge shaved off at the side; the design's own where `None`.
    pub shave: Option<f64>,
    /// Least sponge shaved off on top.
    pub shave_top: f64,
    /// The highest cake without a board.
    pub board_every: f64,
    /// How far a slab may reach beyond its carrier, by its own half width.
    pub overhang: f64,
    /// Material of a foot; `None` for none.
    pub foot: Option<String>,
    /// Free share of area from which a foot is put.
    pub undercut: f64,
    /// The highest foot.
    pub foot_height: f64,
    /// How much may be patched, mm³.
    pub shortfall: f64,
    /// What slabs are baked of.
    pub sponge: String,
    /// What lies between them: material and thickness.
    pub filling: (String, f64),
    /// Worth of a bake, g.
    pub bake_cost: f64,
    /// Worth of an oven load, g.
    pub load_cost: f64,
    /// Worth of a board, g.
    pub board_cost: f64,
    /// Worth of a slab that hangs over further than the design's limit, g.
    pub overhang_cost: f64,
    /// What a piece in a layer of pieces is worth, in grams of offcut.
    pub piece_cost: f64,
}

/// What is made beyond what lies on the cake, as shares.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Extra {
    /// Batter.
    pub batter: f64,
    /// Filling.
    pub filling: f64,
    /// Coating.
    pub coating: f64,
    /// Icing.
    pub icing: f64,
    /// Paste for details.
    pub details: f64,
}

/// Money.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Money {
    /// ISO 4217 code.
    pub currency: String,
    /// Decimal places.
    pub decimals: u32,
    /// An hour of work.
    pub hour: Price,
    /// Overhead for each hour.
    pub overhead: Price,
    /// A kilogram of plastic.
    pub plastic: Price,
    /// The presentation board.
    pub presentation: Price,
    /// An hour on the road.
    pub road: Price,
    /// Share of the costs.
    pub margin: f64,
    /// Share of the price.
    pub tax: f64,
    /// What the tax is called there; `None` for the region's usual name.
    pub tax_name: Option<String>,
    /// Share of the price with tax.
    pub deposit: f64,
    /// Days that a quote is valid.
    pub valid_days: u32,
}

/// Who makes the cake, as clients read it.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Maker {
    /// Name of the business.
    pub name: Option<String>,
    /// Lines of the address, with what reaches the maker.
    pub address: Vec<String>,
    /// The e-mail address that clients answer to.
    pub email: Option<String>,
    /// The colour of bands, buttons and headings.
    pub accent: Option<Rgb>,
    /// The colour that everything lies on.
    pub ground: Option<Rgb>,
    /// The file with the logo.
    pub logo: Option<LogoFile>,
}

/// A file with a logo, and where it is named.
#[derive(Debug, Clone, PartialEq)]
pub struct LogoFile {
    /// Its name, as written.
    pub name: String,
    /// The pantry file that names it; `None` where the cake file does.
    pub pantry: Option<Arc<CakeFile>>,
}

/// Minutes of work.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Work {
    /// For each bake.
    pub mix: f64,
    /// In the oven, for each load whose recipe has no minutes.
    pub oven: f64,
    /// Levelling, for each layer.
    pub level: f64,
    /// Filling and stacking, for each layer.
    pub stack: f64,
    /// For each board and dowel.
    pub board: f64,
    /// For each 100 cm² of the shape's surface.
    pub carve: f64,
    /// Coating, for each 100 cm² and coat.
    pub coat: f64,
    /// Icing, for each 100 cm².
    pub cover: f64,
    /// For the first of each kind of cut or add.
    pub detail: f64,
    /// For each further one like it.
    pub detail_again: f64,
    /// For each metre of sausage of a roll.
    pub roll: f64,
    /// Painting and dusting, for each 100 cm² and coat.
    pub finish: f64,
    /// Once for each cake.
    pub each_cake: f64,
}

/// Hours of waiting, and the working day.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Times {
    /// Modelled parts up to 4 mm thick dry.
    pub dry: f64,
    /// Bakes cool.
    pub cool: f64,
    /// Bakes chill.
    pub chill: f64,
    /// The stack settles.
    pub settle: f64,
    /// In the cold before carving; `None` for what a stack of its size takes.
    pub firm: Option<f64>,
    /// Ganache stands before it is used.
    pub ganache: f64,
    /// Marzipan dries before icing goes over it.
    pub marzipan: f64,
    /// Each coat sets.
    pub set: f64,
    /// The icing rests.
    pub rest: f64,
    /// What is painted on dries.
    pub paint: f64,
    /// Hour at which work begins.
    pub from: f64,
    /// Hour at which it ends.
    pub to: f64,
}
