//! How rolled icing is laid, in words: the same on the cutting sheet, in the report, the amounts and the timetable.
//! What is said comes from [`Plan::icing`], the one rule.

mod steps;
mod strained;

use geom::units::UnitStyle;
use plan::{
    Plan,
    design::{Covering, IcingWay},
    icing::{Covers, Icing, Piece, Sheet},
};

use crate::bearing_words::at_bearing_words;
pub use steps::steps;

/// A rolled covering of a plan and how it is laid.
#[derive(Clone, Copy)]
pub struct LaidIcing<'a> {
    /// The covering.
    pub covering: &'a Covering,
    /// How it is laid.
    pub icing: &'a Icing,
    allowance: f64,
    style: UnitStyle,
}

impl<'a> LaidIcing<'a> {
    /// Every rolled covering of `plan`, from the outside in.
    pub fn all(plan: &'a Plan) -> impl Iterator<Item = Self> {
        let (allowance, style) = (plan.design.paper.allowance, plan.design.style);
        plan.icing().iter().filter_map(move |icing| {
            let covering = plan.design.coverings.get(icing.covering)?;
            Some(Self { covering, icing, allowance, style })
        })
    }

    /// The covering with this number, counted from the outside in, if it is rolled.
    pub fn of(plan: &'a Plan, covering: usize) -> Option<Self> {
        Self::all(plan).find(|laid| laid.icing.covering == covering)
    }

    /// How it is laid in a few words, as "in one draped sheet 456 mm across".
    pub fn brief(&self) -> String {
        let Icing { way, pieces, .. } = self.icing;
        let count = |covers: &[Covers]| pieces.iter().filter(|piece| covers.contains(&piece.covers)).count();
        let many = |n: usize, what: &str| if n == 1 { format!("a {what}") } else { format!("{n} {what}s") };
        match way {
            IcingWay::Draped => match pieces.first() {
                Some(piece) => format!("in one draped sheet {}", self.size(&piece.sheet)),
                None => "in one draped sheet".into(),
            },
            IcingWay::DiscAndWrap => {
                let sides = if count(&[Covers::Side]) > 1 { "sides" } else { "a side" };
                let top = if count(&[Covers::Top]) > 0 { "as a top and " } else { "as " };
                format!("{top}{sides} wrapped round, seam {}", self.seam())
            }
            IcingWay::Panels => format!("as a top and {}", many(count(&[Covers::Panel]), "panel")),
            IcingWay::Bands => {
                let (bands, tops) = (count(&[Covers::Band]), count(&[Covers::Top, Covers::Cap]));
                let over = if tops > 0 { "a sheet over the top" } else { "" };
                match (bands, tops) {
                    (0, 0) => "by hand, in what is left over".into(),
                    (0, _) => format!("in {over}"),
                    (_, 0) => format!("in {}, seams {}", many(bands, "band"), self.seam()),
                    _ => format!("in {} and {over}, seams {}", many(bands, "band"), self.seam()),
                }
            }
        }
    }

    /// What each sheet is called, as "panel 2 of 6".
    pub fn names(&self) -> Vec<String> {
        let pieces = &self.icing.pieces;
        let called = |covers: Covers| match covers {
            Covers::Whole => "sheet",
            Covers::Top => "top",
            Covers::Cap => "sheet over the top",
            Covers::Side => "side",
            Covers::Panel => "panel",
            Covers::Band => "band",
        };
        let name = |(i, piece): (usize, &Piece)| {
            let alike = |others: &[Piece]| others.iter().filter(|other| other.covers == piece.covers).count();
            match alike(pieces) {
                1 => called(piece.covers).to_owned(),
                all => format!("{} {} of {all}", called(piece.covers), alike(&pieces[..=i])),
            }
        };
        pieces.iter().enumerate().map(name).collect()
    }

    /// Where it is joined, as "at the back".
    pub fn seam(&self) -> String {
        at_bearing_words(self.covering.seam)
    }

    /// The size of a sheet as it is rolled or cut, allowance included, as "456 mm across".
    pub fn size(&self, sheet: &Sheet) -> String {
        let out = |mm: f64| self.mm(mm + 2.0 * self.allowance);
        match sheet {
            Sheet::Round { diameter } => format!("{} across", out(*diameter)),
            Sheet::Rectangle { across, along } => format!("{} × {}", out(*across), out(*along)),
            Sheet::Strip { length, height } => format!("{} × {}", out(*length), out(*height)),
            Sheet::Outline(region) => {
                let size = region.bounds().map_or(glam::DVec2::ZERO, |(lo, hi)| hi - lo);
                format!("{} × {}", out(size.x), out(size.y))
            }
            Sheet::Developed(flat) => {
                let round = std::f64::consts::TAU * flat.lower.max(flat.upper);
                format!("{} × {}", out(round), out(flat.slant))
            }
        }
    }

    /// A length in the maker's own unit.
    fn mm(&self, mm: f64) -> String {
        self.style.length_alone(mm)
    }
}
