//! What is painted, brushed or dusted on at the end, as numbers.

use cakefile::FieldPath;
pub use cakefile::schema::FinishKind;
use formats::model::{Rgb, Tint};

/// Colour or shine that is put on a covering, a zone of it or a detail.
#[derive(Debug, Clone, PartialEq)]
pub struct Finish {
    /// What it is.
    pub kind: FinishKind,
    /// Its colour.
    pub colour: Rgb,
    /// How many times it is put on.
    pub coats: u32,
    /// Heights above the board, mm: full at the first, gone at the second; `None` for all over.
    pub fade: Option<[f64; 2]>,
    /// Whether it is for show only, and not to be eaten.
    pub for_show: bool,
    /// Where it stands in the cake file.
    pub field: FieldPath,
}

impl Finish {
    /// The most coats of one finish.
    pub const MOST_COATS: u32 = 6;

    /// How often one is put on unless the cake file says so (common practice, no source).
    pub fn usual_coats(kind: FinishKind) -> u32 {
        match kind {
            FinishKind::Paint | FinishKind::Lustre => 2,
            FinishKind::Pearl | FinishKind::Dust => 1,
        }
    }

    /// How it looks on a part: each coat hides the same share of what is under it, as pictures of painted and dusted icing
    /// look (common practice, no source).
    pub fn tint(&self) -> Tint {
        let (hides, metal): (f64, f64) = match self.kind {
            FinishKind::Paint => (0.85, 0.0),
            FinishKind::Lustre => (0.8, 0.9),
            FinishKind::Pearl => (0.3, 0.45),
            FinishKind::Dust => (0.5, 0.0),
        };
        let opacity = 1.0 - geom::real::powi(1.0 - hides, self.coats as i32);
        Tint { colour: self.colour, opacity, metal, fade: self.fade }
    }

    /// What it is bought as: the name that the pantry has for it.
    pub fn goods(&self) -> &'static str {
        match self.kind {
            FinishKind::Paint => "edible paint",
            FinishKind::Lustre => "lustre dust",
            FinishKind::Pearl => "pearl dust",
            FinishKind::Dust => "petal dust",
        }
    }

    /// Mass in grams that a coat takes on 100 cm² (common practice, no source): paint lies about 0.05 mm thick, powders
    /// that are brushed on dry a good deal thinner; weigh the pot before and after, and write down your own.
    pub fn grams(kind: FinishKind) -> f64 {
        match kind {
            FinishKind::Paint => 0.6,
            FinishKind::Lustre => 0.25,
            FinishKind::Pearl | FinishKind::Dust => 0.1,
        }
    }
}

/// Colour of pearl unless the cake file says so.
pub const PEARL: Rgb = Rgb(250, 248, 242);
