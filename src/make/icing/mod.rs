//! How rolled icing is laid, in words: the same on the cutting sheet, in the report, the amounts and the timetable.
//! What is said comes from [`Plan::icing`], the one rule.

mod steps;
mod strained;

use geom::units::UnitStyle;
use plan::{
    Plan,
    design::{Covering, IcingWay, Material, Zone},
    icing::{Covers, Icing, Piece, Sheet},
};

use crate::language::{Language, filled};
pub use steps::steps;

/// A rolled covering of a plan and how it is laid.
#[derive(Clone, Copy)]
pub struct LaidIcing<'a> {
    /// The covering.
    pub covering: &'a Covering,
    /// How it is laid.
    pub icing: &'a Icing,
    /// The zone that it is, if it is one.
    pub zone: Option<&'a Zone>,
    allowance: f64,
    style: UnitStyle,
    language: &'a Language,
}

impl<'a> LaidIcing<'a> {
    /// Every rolled covering of `plan`, from the outside in, told in `language`.
    pub fn all(plan: &'a Plan, language: &'a Language) -> impl Iterator<Item = Self> {
        let (allowance, style) = (plan.design.paper.allowance, language.style(plan.design.style));
        plan.icing().iter().filter_map(move |icing| {
            let covering = plan.design.coverings.get(icing.covering)?;
            let zone = icing.zone.and_then(|zone| covering.zones.get(zone));
            Some(Self { covering, icing, zone, allowance, style, language })
        })
    }

    /// The parts of the covering with this number, counted from the outside in, in the order in which they are laid: one
    /// without zones, none if it is not rolled.
    pub fn of(plan: &'a Plan, covering: usize, language: &'a Language) -> Vec<Self> {
        Self::all(plan, language).filter(|laid| laid.icing.covering == covering).collect()
    }

    /// What it is made of, in its own colour.
    pub fn material(&self) -> &'a Material {
        self.zone.map_or(&self.covering.material, |zone| &zone.material)
    }

    /// What it is called: its zone, if it is one, with its material.
    pub fn name(&self) -> String {
        let material = self.language.name(&self.material().name);
        match self.zone {
            Some(zone) => filled(&self.language.icing.zone, &[("zone", &zone.name), ("material", material)]),
            None => material.to_owned(),
        }
    }

    /// The bearing at which it is joined, degrees.
    pub fn seam_bearing(&self) -> f64 {
        self.zone.map_or(self.covering.seam, |zone| zone.seam)
    }

    /// How it is laid in a few words, as "in one draped sheet 456 mm across".
    pub fn brief(&self) -> String {
        let Icing { way, pieces, .. } = self.icing;
        let count = |covers: &[Covers]| pieces.iter().filter(|piece| covers.contains(&piece.covers)).count();
        let words = &self.language.icing;
        let seamed = |words: &str| filled(words, &[("seam", &self.seam())]);
        let counted =
            |words: &str, n: usize| filled(words, &[("count", &n.to_string()), ("seam", &self.seam())]);
        match way {
            IcingWay::Draped => match pieces.first() {
                Some(piece) => filled(&words.draped_of, &[("size", &self.size(&piece.sheet))]),
                None => words.draped.clone(),
            },
            IcingWay::DiscAndWrap if count(&[Covers::Side]) == 0 => words.cap.clone(),
            IcingWay::DiscAndWrap => {
                let (sides, top) = (count(&[Covers::Side]) > 1, count(&[Covers::Top]) > 0);
                seamed(match (top, sides) {
                    (true, false) => &words.top_and_side,
                    (true, true) => &words.top_and_sides,
                    (false, false) => &words.side,
                    (false, true) => &words.sides,
                })
            }
            IcingWay::Panels if count(&[Covers::Outline]) > 0 => words.by_outline.clone(),
            IcingWay::Panels => match count(&[Covers::Panel]) {
                1 => words.panel.clone(),
                n => counted(&words.panels, n),
            },
            IcingWay::Bands => match (count(&[Covers::Band]), count(&[Covers::Top, Covers::Cap])) {
                (0, 0) => words.by_hand.clone(),
                (0, _) => words.cap.clone(),
                (1, 0) => seamed(&words.band),
                (1, _) => seamed(&words.band_and_cap),
                (bands, 0) => counted(&words.bands, bands),
                (bands, _) => counted(&words.bands_and_cap, bands),
            },
        }
    }

    /// What each sheet is called, as "panel 2 of 6".
    pub fn names(&self) -> Vec<String> {
        let (pieces, words) = (&self.icing.pieces, &self.language.icing);
        let called = |covers: Covers| match covers {
            Covers::Whole => &words.name_whole,
            Covers::Top => &words.name_top,
            Covers::Cap => &words.name_cap,
            Covers::Side => &words.name_side,
            Covers::Panel => &words.name_panel,
            Covers::Band => &words.name_band,
            Covers::Outline => &words.name_outline,
        };
        let name = |(i, piece): (usize, &Piece)| {
            let alike = |others: &[Piece]| others.iter().filter(|other| other.covers == piece.covers).count();
            match alike(pieces) {
                1 => called(piece.covers).clone(),
                all => {
                    let (number, all) = (alike(&pieces[..=i]).to_string(), all.to_string());
                    let name = called(piece.covers);
                    filled(&words.numbered, &[("name", name), ("number", &number), ("count", &all)])
                }
            }
        };
        pieces.iter().enumerate().map(name).collect()
    }

    /// Where it is joined, as "at the back".
    pub fn seam(&self) -> String {
        self.language.at_bearing(self.seam_bearing())
    }

    /// The size of a sheet as it is rolled or cut, allowance included, as "456 mm across".
    pub fn size(&self, sheet: &Sheet) -> String {
        let out = |mm: f64| self.mm(mm + 2.0 * self.allowance);
        match sheet {
            Sheet::Round { diameter } => filled(&self.language.icing.across, &[("size", &out(*diameter))]),
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
