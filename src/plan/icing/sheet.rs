//! A sheet of icing and what of the cake it covers.

use std::f64::consts::{PI, TAU};

use glam::DVec2;

use geom::{
    Region,
    develop::{FlatPattern, Part, PartForm, PatternForm, Strain},
};

/// What of the cake a sheet covers.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Covers {
    /// All of it.
    Whole,
    /// The top, up to its edge.
    Top,
    /// The top and what hangs down from it.
    Cap,
    /// The side, all round.
    Side,
    /// One side of a straight-sided shape.
    Panel,
    /// What lies between two heights, all round.
    Band,
    /// What lies within an outline on the surface.
    Outline,
}

/// A sheet of icing without allowance, lengths in mm.
#[derive(Debug, Clone, PartialEq)]
pub enum Sheet {
    /// Rolled round, and laid on from its middle.
    Round {
        /// Diameter.
        diameter: f64,
    },
    /// Rolled to a rectangle, and laid on from its middle.
    Rectangle {
        /// Over the cake from left to right.
        across: f64,
        /// Over it from front to back.
        along: f64,
    },
    /// Cut by a flat pattern: a disc, a ring, a sector or a rectangle.
    Developed(FlatPattern),
    /// Cut by an outline seen from above.
    Outline(Region),
    /// A strip.
    Strip {
        /// Length round.
        length: f64,
        /// From the foot to the edge.
        height: f64,
    },
}

impl Sheet {
    /// Area with `allowance` all round, mm²: for outlines by Steiner's formula, their re-entrant corners left out.
    pub fn area(&self, allowance: f64) -> f64 {
        match self {
            Self::Round { diameter } => PI * (diameter / 2.0 + allowance) * (diameter / 2.0 + allowance),
            Self::Rectangle { across, along } => (across + 2.0 * allowance) * (along + 2.0 * allowance),
            Self::Strip { length, height } => (length + 2.0 * allowance) * (height + 2.0 * allowance),
            Self::Outline(region) => {
                region.area() + allowance * region.perimeter() + PI * allowance * allowance
            }
            Self::Developed(flat) => match flat.form() {
                PatternForm::AnnularSector { outer, inner, angle } if angle > FULL => {
                    let hole = (inner - allowance).max(0.0);
                    PI * ((outer + allowance) * (outer + allowance) - hole * hole)
                }
                _ => flat.area() + allowance * (TAU * (flat.lower + flat.upper) + 2.0 * flat.slant),
            },
        }
    }

    /// Whether it is cut by a pattern, not rolled to a size.
    pub(super) fn is_pattern(&self) -> bool {
        !matches!(self, Self::Round { .. } | Self::Rectangle { .. })
    }
}

/// Sectors of more are full rings, degrees.
const FULL: f64 = 359.999;

/// A sheet of icing on the cake.
#[derive(Debug, Clone, PartialEq)]
pub struct Piece {
    /// What it covers.
    pub covers: Covers,
    /// The sheet.
    pub sheet: Sheet,
    /// Heights of its lowest and highest edge on the cake, mm.
    pub heights: (f64, f64),
    /// How it is strained round, from its lower to its upper edge; none for a sheet that lies flat.
    pub strains: Vec<Strain>,
    /// What of it is turned over the edge below and above, mm.
    pub turned: [f64; 2],
    /// The middle of a panel seen from above, mm, and the direction from there into the cake.
    pub at: Option<(DVec2, DVec2)>,
}

impl Piece {
    /// A sheet that lies flat and is not strained.
    pub(super) fn flat(covers: Covers, sheet: Sheet, heights: (f64, f64)) -> Self {
        Self { covers, sheet, heights, strains: Vec::new(), turned: [0.0; 2], at: None }
    }

    /// A part of a turned surface: a disc that lies flat is cut by its pattern, one that hangs down is rolled round.
    pub(super) fn of(part: Part, covers: Covers) -> Self {
        let sheet = match part.form {
            PartForm::Disc if covers != Covers::Top => Sheet::Round { diameter: 2.0 * part.flat.slant },
            _ => Sheet::Developed(part.flat),
        };
        let heights = part.strains.iter().map(|s| s.at.y);
        let heights =
            heights.fold((f64::INFINITY, 0.0), |(low, high): (f64, f64), z| (low.min(z), high.max(z)));
        Self { covers, sheet, heights, strains: part.strains, turned: part.turned, at: None }
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

#[cfg(test)]
mod tests {
    use glam::dvec2;

    use super::*;

    #[test]
    fn excess_goes_all_round() {
        let ring = FlatPattern { lower: 50.0, upper: 20.0, slant: 30.0 };
        let square = Region::rectangle(dvec2(0.0, 0.0), dvec2(100.0, 100.0));
        for (sheet, area) in [
            (Sheet::Round { diameter: 200.0 }, PI * 125.0 * 125.0),
            (Sheet::Rectangle { across: 100.0, along: 50.0 }, 150.0 * 100.0),
            (Sheet::Strip { length: 300.0, height: 90.0 }, 350.0 * 140.0),
            (Sheet::Developed(ring), PI * 75.0 * 75.0),
            (Sheet::Outline(square), 1e4 + 25.0 * 400.0 + PI * 625.0),
        ] {
            assert!((sheet.area(25.0) - area).abs() < 1e-6, "{sheet:?}");
        }
    }
}
