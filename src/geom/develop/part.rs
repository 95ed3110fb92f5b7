//! A part of a turned surface under one flat sheet, and how the sheet strains on it.

use glam::DVec2;

use super::FlatPattern;

/// How a flat sheet is laid on a part of a turned surface.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PartForm {
    /// A disc, laid on from its middle.
    Disc,
    /// A rectangle or an annular sector, wrapped round.
    Band,
    /// A rectangle as long as the widest girth, wrapped round, its edges gathered in.
    Strip,
}

/// How a flat sheet is strained round the axis at one place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Strain {
    /// (radius, height) of the place, mm.
    pub at: DVec2,
    /// Arc length of the meridian from its foot, mm.
    pub along: f64,
    /// Girth of the surface over that of the sheet, less 1: the sheet stretches by this share, or gathers by it where it
    /// is below 0.
    pub share: f64,
    /// Girth of the surface less that of the sheet, mm.
    pub off: f64,
}

impl Strain {
    /// A smaller share is round-off.
    pub const FELT: f64 = 1e-9;
}

/// A part of a turned surface under one flat sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct Part {
    /// How the sheet is laid.
    pub form: PartForm,
    /// The sheet; a disc has its radius as `lower` and as `slant`.
    pub flat: FlatPattern,
    /// (radius, height) of its lower end, mm.
    pub bottom: DVec2,
    /// (radius, height) of its upper end, mm.
    pub top: DVec2,
    /// What is turned over the edge below and above, arc length, mm.
    pub turned: [f64; 2],
    /// The strain from its lower to its upper end.
    pub strains: Vec<Strain>,
}

impl Part {
    /// The strains of what is not turned over an edge.
    pub fn main_strains(&self) -> impl Iterator<Item = &Strain> {
        let is_main = self.is_main();
        self.strains.iter().filter(move |strain| is_main(strain))
    }

    /// The strains of what is turned over an edge.
    pub fn turned_strains(&self) -> impl Iterator<Item = &Strain> {
        let is_main = self.is_main();
        self.strains.iter().filter(move |strain| !is_main(strain))
    }

    fn is_main(&self) -> impl Fn(&Strain) -> bool + use<> {
        is_main(self.strains[0].along, self.strains[self.strains.len() - 1].along, self.turned)
    }

    /// Where it gathers most, if it gathers anywhere.
    pub fn most_gathered(&self) -> Option<&Strain> {
        self.strains.iter().filter(|s| s.share < -Strain::FELT).min_by(|a, b| a.share.total_cmp(&b.share))
    }

    /// Where it stretches most, if it stretches anywhere.
    pub fn most_stretched(&self) -> Option<&Strain> {
        self.strains.iter().filter(|s| s.share > Strain::FELT).max_by(|a, b| a.share.total_cmp(&b.share))
    }
}

/// Whether a strain is one of what is not turned over an edge, in a part from one arc length to another of which that much
/// is turned over below and above.
pub(super) fn is_main(from: f64, to: f64, turned: [f64; 2]) -> impl Fn(&Strain) -> bool {
    /// Round-off of an arc length, mm.
    const SAME: f64 = 1e-9;
    let (low, high) = (from + turned[0], to - turned[1]);
    move |strain| strain.along >= low - SAME && strain.along <= high + SAME
}
